"""The page on a phone: its choices fold away, and a swipe scrolls."""

import pytest
from playwright.sync_api import expect


@pytest.fixture(scope="module")
def page(visitors):
    """A phone's page, its choices shut."""
    with visitors() as visit:
        page = visit(phone=True)
        expect(page.locator("#choices")).to_be_hidden()
        yield page


def test_the_button_says_whether_the_choices_are_open(page):
    button = page.locator("#choices-button")
    for tapped, said in ((False, "false"), (True, "true"), (True, "false")):
        if tapped:
            button.tap()
        expect(button).to_have_attribute("aria-expanded", said)
        expect(page.locator("#choices")).to_be_visible(visible=said == "true")


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
