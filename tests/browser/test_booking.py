"""Marking drives to book, ordering them, and a sky of a drive's own."""

import pytest
from playwright.sync_api import expect

from lightplan.trip import compare
from lightplan.web.trip import booking

DAYS = {"to": "2027-08-13"}  # two mornings, one evening
MORNING, EVENING = "2027-08-13-morning", "2027-08-12-evening"


@pytest.fixture(scope="module")
def page(visitors, link):
    """A page whose tests each change a choice of their own."""
    with visitors() as visit:
        yield visit(link(DAYS))


def test_drives_can_be_marked_and_their_minutes_are_summed_up(
    page, in_address, plan_of
):
    mark = page.get_by_role("button", name="mark Fri 13 Aug, morning")
    mark.focus()
    page.keyboard.press("Enter")
    in_address(page, "book", MORNING)
    expect(mark).to_have_attribute("aria-pressed", "true")
    expect(mark).to_be_focused()
    page.get_by_role("button", name="mark Thu 12 Aug, evening").click()
    in_address(page, "book", f"{EVENING},{MORNING}")
    both = booking.total_sentence(plan_of(page), frozenset({MORNING, EVENING}))
    expect(page.locator("#booking .said")).to_have_text(both)
    expect(page.locator(".drive-row .marked").filter(has_text="marked")).to_have_count(
        2
    )
    mark.click()
    in_address(page, "book", EVENING)
    one = booking.total_sentence(plan_of(page), frozenset({EVENING}))
    expect(page.locator("#booking .said")).to_have_text(one)


def test_drives_are_ordered_by_what_is_wanted(page, choose, in_address, plan_of):
    for want in compare.WANTS[1:]:
        option = page.get_by_label("Order by").and_(page.locator("input"))
        option.click()
        page.get_by_role("option", name=want.label, exact=True).click()
        in_address(page, "order", want.key)
        scores = [score for score, _ in booking.ordered(plan_of(page), want.key)]
        assert scores == sorted(scores, reverse=True)
        column = page.locator("#booking tbody td:nth-child(2)")
        expect(column).to_have_text([str(score) for score in scores])


def test_a_drive_can_have_a_sky_of_its_own(page, in_address, shows):
    sky = page.get_by_label("Sky on this drive").and_(page.locator("input"))
    expect(sky).to_have_value("same as the trip")
    sky.click()
    page.get_by_role("option", name="storm cloud", exact=True).click()
    in_address(page, "skies", "2027-08-12-morning:storm")
    shows(page)
    page.locator(".drive-row button").nth(1).click()
    in_address(page, "drive", MORNING)
    expect(sky).to_have_value("same as the trip")
    shows(page)
    page.locator(".drive-row button").nth(0).click()
    expect(sky).to_have_value("storm cloud")
    in_address(page, "skies", "2027-08-12-morning:storm")
