"""Where to stop, as people meet it: minute, aim and drive change what is said."""

from urllib.parse import urlsplit

import pytest
from playwright.sync_api import expect

from lightplan import naming
from lightplan.choices import state, table
from lightplan.choices.raw import Raw
from lightplan.stop import answer as stop_answer
from lightplan.stop import rim, stop
from lightplan.trip import plan

EVENING = "2027-08-12-evening"


@pytest.fixture
def says(catalog, drive_of):
    """Hold the answer against the plan, aim and minute that the page shows."""

    def check(page, minute) -> None:
        raw = Raw.from_search(urlsplit(page.url).query)
        of = plan.make(state.read(raw, catalog))
        found = rim.make(of, drive_of(page), table.AIM.of(raw, catalog))
        at = stop.stop_at(of, found, minute, table.DISTANCE.of(raw, catalog))
        answer = naming.plain(stop_answer.answer(of, found, at)).strip()
        expect(page.locator("#stop-answer")).to_have_text(answer)

    return check


@pytest.fixture(scope="module")
def page(visitors, link):
    with visitors() as visit:
        yield visit("stop" + link(drive=EVENING))


def minute_of(page) -> int:
    thumb = page.locator("#stop-minute [role=slider]")
    return int(thumb.get_attribute("aria-valuenow"))


def test_the_page_opens_amid_the_rim_of_the_links_drive(page, says):
    says(page, minute_of(page))
    expect(page.locator("#stop-readout")).to_contain_text("rim: works")


def test_the_slider_moves_time_sentence_and_drawing(page, says):
    before = minute_of(page)
    name = page.locator("#stop-chart .annotation", has_text="sun ")
    drawn = name.text_content()
    page.locator("#stop-minute [role=slider]").focus()
    for _ in range(5):
        page.keyboard.press("ArrowRight")
    expect(name).not_to_have_text(drawn)
    assert minute_of(page) == before + 5
    says(page, before + 5)
    time = page.locator("#stop-readout .time").inner_text()
    expect(name).to_have_text(f"sun {time}")


def test_a_minute_that_nobody_chose_is_not_in_the_address(visit, link, in_address):
    page = visit("stop" + link(drive=EVENING))
    expect(page.locator("#stop-readout")).to_contain_text("rim: works")
    field = page.get_by_label("Aim, degrees from true north")
    field.and_(page.locator("input")).fill("250")
    in_address(page, "aim", "250")
    page.wait_for_load_state("networkidle")
    assert not Raw.from_search(urlsplit(page.url).query)["at"]


def test_a_minute_chosen_on_one_drive_leaves_the_address_with_it(
    visit, link, choose, in_address
):
    page = visit("stop" + link({"at": "16:20"}, drive=EVENING))
    expect(page.locator("#stop-readout .time")).to_have_text("16:20")
    in_address(page, "at", "16:20")
    choose(page, "Drive", "Thu 12 Aug, morning")
    in_address(page, "drive", "2027-08-12-morning")
    page.wait_for_function("() => !new URLSearchParams(location.search).has('at')")


def test_the_minute_is_in_the_address_and_stays_on_reload(visit, link, in_address):
    page = visit("stop" + link({"at": "16:20"}, drive=EVENING))
    time = page.locator("#stop-readout .time")
    expect(time).to_have_text("16:20")
    page.locator("#stop-minute [role=slider]").focus()
    page.keyboard.press("ArrowRight")
    in_address(page, "at", "16:21")
    page.reload()
    expect(time).to_have_text("16:21")
    expect(page.locator("#stop-answer")).to_contain_text("No rim light at 16:21")


def test_an_aim_is_answered_and_kept_in_the_address_and_the_minute_stays(
    page, says, in_address
):
    minute = minute_of(page)
    field = page.get_by_label("Aim, degrees from true north")
    field.and_(page.locator("input")).fill("250")
    in_address(page, "aim", "250")
    expect(page.locator("#stop-answer")).to_contain_text("your aim, 250° WSW")
    says(page, minute)


def test_a_wrong_aim_is_told_and_the_page_stays(page):
    said = page.locator("#stop-answer").inner_text()
    field = page.get_by_label("Aim, degrees from true north").and_(
        page.locator("input")
    )
    field.fill("400")
    expect(page.get_by_role("status")).to_contain_text("Aim must be 0 to 360°")
    assert page.locator("#stop-answer").inner_text() == said
    field.fill("250")
    expect(page.locator("#problem")).to_be_hidden()  # as it is while empty


def test_another_drive_changes_the_answer_and_the_address(page, choose, in_address):
    choose(page, "Drive", "Thu 12 Aug, morning")
    in_address(page, "drive", "2027-08-12-morning")
    expect(page.locator("#stop-answer")).to_contain_text("Thu 12 Aug, morning")


def test_the_page_fits_a_phone(visit, link):
    page = visit("stop" + link(drive=EVENING), phone=True)
    wide = page.evaluate("document.documentElement.scrollWidth")
    assert wide <= 390
    inside = """() => {
        const box = document.querySelector('#stop-chart').getBoundingClientRect();
        return [...document.querySelectorAll('#stop-chart .annotation')].every((t) => {
            const r = t.getBoundingClientRect();
            return r.left >= box.left - 1 && r.right <= box.right + 1;
        });
    }"""
    assert page.evaluate(inside)


def test_on_a_phone_the_tables_answers_stand_within_the_screen(visit, link):
    page = visit("stop" + link(drive=EVENING), phone=True)
    inside = """([box, head]) => [...document.querySelectorAll(`#${box} thead th`)]
        .filter((th) => th.textContent === head)
        .map((th) => {
            const at = th.getBoundingClientRect();
            return at.left >= 0 && at.right <= window.innerWidth;
        })"""
    answers = ("For the face", "For the rim", "For a silhouette", "From the animal")
    for head in answers:
        assert page.evaluate(inside, ["stop-tables", head]) == [True], head
    assert page.evaluate(inside, ["stop-times", "Rim"]) == [True]
