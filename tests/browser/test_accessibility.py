"""On a phone with a problem told axe-core finds nothing; the job needs no mouse."""

import pytest
from browsing import violations
from playwright.sync_api import expect


@pytest.fixture(scope="module")
def troubled(visitors, link):
    """A phone with its choices open, all of them, and a problem told."""
    with visitors() as visit:
        # A Thursday, and a Friday with its closed evening.
        days = link({"to": "2027-08-13"}, (("400 prime",), ("600 prime",)))
        page = visit(days, phone=True)
        page.locator("#choices-button").tap()
        expect(page.locator("#choices")).to_be_visible()
        for summary in page.locator("summary:visible").all():
            summary.click()
        page.get_by_label("Distance, m").fill("0")
        expect(page.get_by_role("status")).to_contain_text("Showing the last")
        yield page


@pytest.mark.parametrize("theme", ["paper", "dusk"])
def test_axe_finds_nothing_on_a_phone(theme, troubled, press):
    press(troubled, "Colours of the page", theme)
    # The controls' own colours come after the page's.
    scheme = {"paper": "light", "dusk": "dark"}[theme]
    html = troubled.locator("html")
    expect(html).to_have_attribute("data-mantine-color-scheme", scheme)
    assert violations(troubled, colours_only=theme == "dusk") == []


NAME = """() => {
    const e = document.activeElement;
    const label = e.labels && e.labels.length ? e.labels[0].innerText : '';
    return e.getAttribute('aria-label') || label || e.innerText || '';
}"""
# A line of at least two pixels round what has the focus (WCAG 2.2, 2.4.7 and, for its
# width, 2.4.13), or round the label that stands for a hidden radio button.
SEEN = """() => {
    const e = document.activeElement;
    const style = getComputedStyle(e.type === 'radio' ? e.labels[0] : e);
    return e === document.body
        || style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2;
}"""


def tab_to(page, name: str) -> None:
    """Go forward by the Tab key alone, in sight, until a control of that name."""
    for _ in range(150):
        page.keyboard.press("Tab")
        at = page.evaluate(NAME).strip()
        assert page.evaluate(SEEN), f"no focus to be seen on {at!r}"
        if at.startswith(name):
            return
    raise AssertionError(f"Tab never came to {name!r}")


def test_the_whole_job_can_be_done_by_keyboard(visit, link, in_address, shows):
    days = {"from": "2027-09-08", "to": "2027-09-08"}
    page = visit(link(days, (("400 prime",), ("150–600 zoom",))))
    keys = page.keyboard
    tab_to(page, "Skip to the plan")
    tab_to(page, "Place")
    keys.press("Enter")
    expect(page.get_by_role("option", name="Heron Marsh")).to_be_visible()
    for _ in range(2):  # from Mopane Loop past Two Rivers Plain
        keys.press("ArrowDown")
    keys.press("Enter")
    in_address(page, "place", "Heron Marsh")
    tab_to(page, "Last day")
    keys.type("09092027")  # alike for those who write the day and the month first
    in_address(page, "to", "2027-09-09")
    tab_to(page, "walking")
    keys.press("ArrowRight")
    in_address(page, "pace", "trotting")
    tab_to(page, "side")
    keys.press("ArrowLeft")
    in_address(page, "side", "front")
    tab_to(page, "Minutes back to the gate")
    keys.press("Control+A")
    keys.type("40")
    in_address(page, "back", "40")
    tab_to(page, "Add a rig")
    keys.press("Enter")
    expect(page.locator("#answer")).to_contain_text("C 400 mm f/5.6")
    tab_to(page, "Thu 9 Sep, evening")
    keys.press("Space")
    in_address(page, "drive", "2027-09-09-evening")
    shows(page)
    tab_to(page, "Minute of the drive")
    time = page.locator("#readout .time")
    before = time.inner_text()
    keys.press("ArrowRight")
    expect(time).not_to_have_text(before)


def test_what_is_kept_taken_along_or_on_other_pages_is_reached_by_keyboard(
    visit, link, drawn, in_address
):
    page = visit(link({"to": "2027-08-13"}, (("400 prime",),)))
    keys = page.keyboard
    tab_to(page, "mark Fri 13 Aug, morning")
    keys.press("Enter")
    in_address(page, "book", "2027-08-13-morning")
    tab_to(page, "Pocket plan and cards")
    with page.expect_download() as plan:
        keys.press("Enter")
    assert plan.value.suggested_filename.endswith("-pocket.html")
    tab_to(page, "turn back")
    keys.press("Space")
    expect(page.get_by_label("turn back")).to_be_checked()
    tab_to(page, "Where to stop")  # round by way of the page's top
    keys.press("Enter")
    page.wait_for_url("**/stop?**")
    drawn(page)
    page.wait_for_load_state("networkidle")
    tab_to(page, "Minute of the drive")
    time = page.locator("#stop-readout .time")
    before = time.inner_text()
    keys.press("ArrowRight")
    expect(time).not_to_have_text(before)
    in_address(page, "at", time.inner_text())
    assert "book=2027-08-13-morning" in page.url
    tab_to(page, "Kit and places")
    keys.press("Enter")
    page.wait_for_url("**/kit?**")
    drawn(page)
    tab_to(page, "Download as a file")
    with page.expect_download() as catalog:
        keys.press("Enter")
    assert catalog.value.suggested_filename == "locations.toml"
