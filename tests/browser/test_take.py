"""Taking a trip along, in the browser: files and the pocket plan as a page."""

import io

from playwright.sync_api import expect
from pypdf import PdfReader

from lightplan.choices import state
from lightplan.choices.raw import Raw
from lightplan.export.pocket import page as pocket
from lightplan.web import cache


def test_the_pocket_plan_is_saved_as_the_file_it_is(visit, link, catalog, tmp_path):
    search = link({"to": "2027-08-13"})
    page = visit(search)
    with page.expect_download() as download:
        page.get_by_role("button", name="Pocket plan and cards").click()
    name = "lightplan-mopane-loop-2027-08-12-to-2027-08-13-pocket.html"
    assert download.value.suggested_filename == name
    download.value.save_as(tmp_path / name)
    plan = cache.trip(state.read(Raw.from_search(search), catalog))
    assert (tmp_path / name).read_bytes() == pocket.page(plan)
    expect(page.locator("#take-said")).to_contain_text(name)


def test_a_wrong_time_to_leave_is_told_and_nothing_is_saved(visit, link):
    page = visit(link({}))
    page.get_by_label("leave camp", exact=True).check()
    page.get_by_label("Leave camp before the gates open, min").fill("900")
    page.wait_for_timeout(600)  # the field waits for a pause in typing
    page.get_by_role("button", name="Calendar with alarms").click()
    said = "Minutes to leave camp before the gates open must be 0 to 600, got '900'."
    expect(page.locator("#take-said")).to_have_text(said)


def test_alarms_are_remembered_by_the_browser(visit, link):
    page = visit(link({}))
    page.get_by_label("turn back").check()
    page.reload()
    expect(page.get_by_label("turn back")).to_be_checked()


def test_the_pocket_plan_runs_as_a_page(visit, link):
    page = visit(link({}))
    page.get_by_role("link", name="open the pocket plan here").click()
    shown = page.frame_locator("iframe")
    expect(shown.get_by_text("Mopane Loop").first).to_be_visible()
    expect(shown.get_by_text("Thu 12 Aug, morning").first).to_be_visible()
    page.get_by_role("link", name="Trip").click()
    expect(page.locator("#answer")).to_contain_text("Thu 12 Aug")


def test_in_the_page_a_reload_keeps_the_chosen_minute(visit, link):
    page = visit("pocket" + link({}))
    shown = page.frame_locator("iframe")
    shown.get_by_label("Drive", exact=True).select_option("Thu 12 Aug, evening")
    shown.get_by_role("button", name="10 minutes later").click()
    expect(shown.locator("#time")).to_have_text("15:40")
    page.reload()
    expect(shown.locator("#time")).to_have_text("15:40")
    shown.get_by_role("button", name="Now").click()
    page.reload()
    expect(shown.get_by_role("button", name="Now")).to_have_attribute(
        "aria-pressed", "true"
    )


def test_printed_by_the_browser_the_page_says_how_its_cards_are_printed(visit, link):
    page = visit("pocket" + link({}))
    sheets = PdfReader(io.BytesIO(page.pdf())).pages
    assert len(sheets) == 1
    said = " ".join(sheets[0].extract_text().split())
    assert "Press “Print the cards” at the end of the pocket plan" in said
    assert "Needed ISO" not in said
