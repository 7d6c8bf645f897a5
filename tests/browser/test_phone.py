"""The page on a phone: nothing sideways, everything large enough for a thumb."""

import pytest
from playwright.sync_api import expect

from lightplan.web import layout

FINGER_PX = 44  # WCAG 2.2, 2.5.5: target size (enhanced)
SIDEWAYS = "document.documentElement.scrollWidth - document.documentElement.clientWidth"

# What a thumb may aim at, as the box that answers to it, and its height.
TARGETS = """() => {
    const shown = (box) => box.width > 2 && box.height > 2;
    const all = [...document.querySelectorAll(
        'button, input, summary, a[href], .mantine-SegmentedControl-label')];
    return all
        .filter((e) => e.type !== 'radio')  // its label is what is touched
        .filter((e) => !e.closest('.skip') && e.checkVisibility())
        .map((e) => e.closest('.drive-row') || e)
        .map((e) => e.type === 'checkbox' ? e.labels[0] : e)  // so is a box's
        .map((e) => [e, e.getBoundingClientRect()])
        .filter(([, box]) => shown(box))
        .map(([e, box]) => [
            (e.getAttribute('aria-label') || e.innerText || e.id || e.className)
                .trim().slice(0, 40),
            e.tagName.toLowerCase(), Math.round(box.height)]);
}"""


@pytest.fixture(scope="module")
def page(visitors):
    """A phone's page, its choices shut."""
    with visitors() as visit:
        page = visit(phone=True)
        expect(page.locator("#choices")).to_be_hidden()
        yield page


@pytest.fixture
def with_choices(page):
    """The same with the choices open, and what can be unfolded unfolded."""
    button = page.locator("#choices-button")
    button.tap()
    expect(page.locator("#choices")).to_be_visible()
    for summary in page.locator("summary:visible").all():
        summary.tap()
    yield page
    for summary in page.locator("summary:visible").all():
        summary.tap()
    button.tap()
    expect(page.locator("#choices")).to_be_hidden()


def test_the_button_says_whether_the_choices_are_open(page, request):
    button = page.locator("#choices-button")
    expect(button).to_have_attribute("aria-expanded", "false")
    request.getfixturevalue("with_choices")
    expect(button).to_have_attribute("aria-expanded", "true")


def test_nothing_runs_off_sideways_with_the_choices_open(with_choices):
    assert with_choices.evaluate(SIDEWAYS) <= 0


def test_everything_a_thumb_aims_at_is_large_enough(with_choices):
    small = [row for row in with_choices.evaluate(TARGETS) if row[2] < FINGER_PX]
    assert small == []


def test_swiping_over_the_picture_scrolls_the_page(page):
    page.locator("#chart").scroll_into_view_if_needed()
    box = page.locator("#chart").bounding_box()
    before = page.evaluate("window.scrollY")
    ranges = "JSON.stringify(document.querySelector('#chart .js-plotly-plot').layout.yaxis.range)"
    drawn = page.evaluate(ranges)
    session = page.context.new_cdp_session(page)
    x, y = box["x"] + box["width"] / 2, box["y"] + 200
    touch = "Input.dispatchTouchEvent"
    session.send(touch, {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for step in range(1, 9):
        points = [{"x": x, "y": y - 20 * step}]
        session.send(touch, {"type": "touchMove", "touchPoints": points})
    session.send(touch, {"type": "touchEnd", "touchPoints": []})
    page.wait_for_function("(before) => window.scrollY > before + 50", arg=before)
    assert page.evaluate(ranges) == drawn


@pytest.mark.parametrize("path", [path for _, path in layout.PAGES.values()])
def test_no_page_is_wider_than_a_phone(visit, link, address, path):
    page = visit(link({}), phone=True)
    page.wait_for_load_state("networkidle")
    page.goto(address.rstrip("/") + path + link({}))
    expect(
        page.locator(f'header a[aria-current="page"][href^="{path}"]')
    ).to_be_visible()
    page.wait_for_load_state("networkidle")
    assert page.evaluate(SIDEWAYS) == 0
