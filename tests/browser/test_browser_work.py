"""What the browser is spared: rows, answers, controls unseen, scripts too early."""

import re
from collections.abc import Callable, Iterator

import pytest
import wild
from browsing import DESKTOP
from playwright.sync_api import Browser, Page, expect

from lightplan.web.figures import theme
from lightplan.web.trip import booking

UPDATE = "**/_dash-update-component?*"
MORNING, EVENING = "2027-08-13-morning", "2027-08-12-evening"

# Rows of the trip and of its table that are changed in any way.
WATCH = """() => {
    window.changed = new Set();
    new MutationObserver((all) => all.forEach(({target}) => {
        const of = target.nodeType === 1 ? target : target.parentElement;
        const row = of?.closest('#drives .drive-row, #bookable tr');
        if (of?.closest('#drives, #bookable'))
            window.changed.add(row ? row.innerText.slice(0, 10) : of.outerHTML.slice(0, 80));
    })).observe(document.querySelector('#plan'),
        {subtree: true, childList: true, attributes: true, characterData: true});
}"""


@pytest.fixture(scope="module")
def page(visitors, link):
    with visitors() as visit:
        page = visit(link({"to": "2027-08-14"}))
        page.wait_for_load_state("networkidle")
        yield page


def waited_for(page: Page, done: Callable[[], object]) -> None:
    """Let the page go on until something is there; fail if it never is."""
    for _ in range(1500):
        if done():
            return
        page.wait_for_timeout(20)
    pytest.fail("it never came")


def marked(page: Page):
    return page.locator(".drive-row .marked").filter(has_text="marked")


def test_no_control_is_made_before_it_is_shown(page):
    # Two rigs of six, their settings folded: the rest is most of a page's controls.
    unseen = """() => [...document.querySelectorAll('.mantine-Input-input')]
        .filter((e) => !e.checkVisibility()).map((e) => e.id)"""
    assert page.evaluate(unseen) == []
    page.locator("#slot-0 summary").click()
    expect(page.get_by_label("ISO ceiling").and_(page.locator("input"))).to_be_visible()


def test_a_mark_changes_its_row_and_asks_for_its_sum_alone(page, in_address, plan_of):
    asked: list[str] = []

    def note(request) -> None:
        if request.method == "POST":
            asked.append(request.post_data_json["output"])

    page.on("request", note)
    page.evaluate(WATCH)
    mark = page.get_by_role("button", name="mark Fri 13 Aug, morning")
    at_once = "(e) => { e.click(); return [e.ariaPressed, e.innerText]; }"
    assert mark.evaluate(at_once) == ["true", "marked"]
    in_address(page, "book", MORNING)
    said = booking.total_sentence(plan_of(page), frozenset({MORNING}))
    expect(page.locator("#booked")).to_have_text(said)
    expect(marked(page)).to_have_count(1)
    spoken = page.get_by_role("button", name="Fri 13 Aug, morning, ").first
    expect(spoken).to_have_attribute("aria-label", re.compile("; marked$"))
    page.remove_listener("request", note)
    assert asked == ["..booked.children.."]
    assert set(page.evaluate("[...changed]")) == {"Fri 13 Aug"}
    expect(page.get_by_role("link", name="Year")).to_have_attribute(
        "href", re.compile(f"book={MORNING}")
    )


def test_an_answer_that_comes_late_neither_undoes_a_mark_nor_a_newer_answer(
    page, press, in_address, shows
):
    late, asked = [], set()

    def hold(route):
        output = route.request.post_data_json["output"]
        asked.add(output)
        if "drives.html" in output or "bookable.html" in output:
            late.append(route)
        else:
            route.continue_()

    def choose(pace: str, held: int) -> None:
        press(page, "The animal is", pace)
        waited_for(page, lambda: len(late) >= held)

    page.route(UPDATE, hold)
    choose("flying", 1)
    choose("resting", 2)
    # The sentence comes first; table and picture wait for the rows, here and there.
    expect(page.locator("#answer")).to_contain_text("resting")
    assert not any("bookable.html" in out or "chart.figure" in out for out in asked)
    mark = page.get_by_role("button", name="mark Thu 12 Aug, evening")
    mark.click()
    for route in reversed(late):
        route.continue_()
    waited_for(page, lambda: len(late) == 3)
    other = page.get_by_role("button", name="mark Sat 14 Aug, morning")
    other.click()
    late[2].continue_()
    in_address(page, "pace", "resting")
    page.wait_for_load_state("networkidle")
    page.unroute(UPDATE)
    shows(page)
    days = ["Thu 12 Aug", "Fri 13 Aug", "Sat 14 Aug"]
    expect(marked(page).locator("..")).to_have_count(len(days))
    for day in days:
        row = page.locator("#drives").get_by_role(
            "button", name=re.compile(f"^{day}.*marked$")
        )
        expect(row).to_have_count(1)
    expect(mark).to_have_attribute("aria-pressed", "true")
    expect(other).to_be_focused()


# ------------------------------------------------------------- before the picture

# What each sentence was when a page asked for the plotting script.
EARLY = """window.early = [];
new MutationObserver((all) => all.forEach(({addedNodes}) => addedNodes.forEach((node) => {
    if (node.src?.includes('plotly'))
        window.early.push(document.querySelector('.answer')?.textContent);
}))).observe(document, {subtree: true, childList: true});"""
GROUNDS = """() => [...document.querySelectorAll('.chart, .chart > [aria-hidden=true] *')]
    .map((e) => getComputedStyle(e).backgroundColor)
    .filter((colour) => colour !== 'rgba(0, 0, 0, 0)')"""


@pytest.fixture
def dark(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(color_scheme="dark", **DESKTOP)
    context.set_default_timeout(40_000)
    yield context.new_page()
    context.close()


@pytest.mark.parametrize(
    "path", ["", "year", *map(wild.again, ("stop", "spots", "loop"))]
)
def test_the_sentence_comes_before_the_plotting_script_and_its_box_is_never_white(
    path, dark, address, link
):
    surface = [int(theme.DUSK.surface[i : i + 2], 16) for i in (1, 3, 5)]
    dusk = f"rgb({', '.join(map(str, surface))})"
    answers, scripts = [], []
    dark.add_init_script(EARLY)
    dark.route(UPDATE, lambda route: answers.append(route))
    dark.route(re.compile(r"/plotly[^/]*\.js"), lambda route: scripts.append(route))
    with dark.expect_request(UPDATE):
        dark.goto(f"{address}{path}{link()}")
    expect(dark.locator(".chart")).to_be_visible()
    assert set(dark.evaluate(GROUNDS)) == {dusk}
    dark.unroute(UPDATE)
    for route in answers:
        route.continue_()
    expect(dark.locator(".answer")).not_to_be_empty()
    dark.wait_for_function("() => window.early.length")
    assert all(dark.evaluate("window.early"))
    assert set(dark.evaluate(GROUNDS)) == {dusk}
    waited_for(dark, lambda: scripts)
    scripts[0].continue_()
    expect(dark.locator(".chart .main-svg").first).to_be_attached()
    assert set(dark.evaluate(GROUNDS)) == {dusk}
