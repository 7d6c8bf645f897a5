"""Wrong input gets a sentence; what was typed and the last plan stay."""

import pytest
from playwright.sync_api import expect

# A control, what is typed, and what the sentence names.
WRONG = [
    ("Minutes back to the gate", "999", ["'999'", "0 to 600 min"]),
    ("Last day", "2027-08-01", ["2027-08-01", "2027-08-12"]),
    ("Focal length, mm", "900", ["150–600 zoom", "150–600 mm", "900 mm"]),
]


@pytest.fixture(scope="module")
def kept():
    """Everything that a plan shows, to be compared."""
    parts = ("#answer", "#drives", "#chart-title", "#chart-text", "#tables", "#readout",
             "#lenses", "#booking")  # fmt: skip
    return lambda page: [page.locator(part).inner_text() for part in parts]


def test_bad_input_is_told_in_one_sentence_and_changes_nothing(
    visit, link, kept, shows
):
    page = visit(link(rigs=(("150–600 zoom",),)))
    before = kept(page), page.url
    page.locator("#slot-0 summary").click()
    for label, typed, named in WRONG:
        field = page.get_by_label(label, exact=True).and_(page.locator("input")).first
        usual = field.input_value()
        field.fill(typed)
        problem = page.get_by_role("status").filter(has_text="Showing the last")
        expect(problem).to_have_count(1)
        for part in named:
            expect(problem).to_contain_text(part)
        assert "\n" not in problem.inner_text()
        expect(field).to_have_value(typed)
        assert (kept(page), page.url) == before
        field.fill(usual)
        shows(page)


def test_wrong_legs_come_back_with_their_sentence(visit, link):
    page = visit("loop" + link())
    legs = "N 5 km\nbanana\nS 5 km"
    field = page.get_by_label("Legs of the loop")
    told = page.locator("#problem")
    field.fill(legs)
    expect(told).to_contain_text("Leg 2 must be written like")
    expect(page.locator("nav a[href*='banana']")).not_to_have_count(0)
    page.get_by_role("link", name="Year").click()
    expect(page.locator("#year-answer")).to_contain_text("Most light")
    expect(told).to_be_hidden()  # the year needs no legs
    page.go_back()
    expect(field).to_have_value(legs)
    expect(told).to_contain_text("Leg 2 must be written like")


def test_a_wrong_value_taken_to_another_page_is_told_there(visit, link):
    page = visit(link())
    page.get_by_label("Minutes back to the gate").and_(page.locator("input")).fill(
        "999"
    )
    expect(page.locator("nav a[href*='back=999']")).not_to_have_count(0)
    page.get_by_role("link", name="Year").click()
    expect(page.locator("p.problem").first).to_contain_text("0 to 600 min, got '999'")
