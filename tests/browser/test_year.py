"""The year's page, and the way from it to a trip and back."""

import datetime as dt
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import expect

from lightplan import naming
from lightplan.choices import state, table
from lightplan.choices.raw import Raw
from lightplan.year import plan as year_plan
from lightplan.year import words as season_words

CHANGES = {"place": "Heron Marsh", "pace": "flying", "year": "2028"}
RIGS = (("600 prime", "600", "8"), ("400 prime",))


@pytest.fixture
def says(catalog):
    """Hold the answer against the year that the page's address names."""

    def check(page) -> None:
        raw = Raw.from_search(urlsplit(page.url).query)
        request = state.read(raw, catalog)
        found = year_plan.make(request, int(raw["year"]), table.SHOWN.of(raw, catalog))
        answer = naming.plain(season_words.answer(found)).strip()
        expect(page.locator("#year-answer")).to_have_text(answer)

    return check


@pytest.fixture(scope="module")
def page(visitors, link):
    """The year of a link, for tests that begin with the year as they find it."""
    with visitors() as visit:
        yield visit("year" + link(CHANGES, RIGS))


def test_the_year_is_answered_from_the_links_choices(page, says):
    says(page)
    carried = Raw.from_search(page.url.split("?")[1])
    assert {name: carried[name] for name in CHANGES} == CHANGES


def test_another_rig_changes_the_answer(page, press, in_address, says):
    press(page, "Rig in the picture", "B")
    in_address(page, "shown", "B")
    says(page)
    expect(page.locator("#year-answer")).to_contain_text("B 400 mm f/2.8")


def test_only_letters_of_rigs_in_use_are_offered(visit, link, press, in_address, says):
    page = visit("year" + link(CHANGES, RIGS))
    letters = page.get_by_role("radiogroup", name="Rig in the picture").locator("label")
    offered = letters.filter(visible=True)
    expect(offered).to_have_text(["A", "B"])
    page.get_by_role("button", name="Add a rig").click()
    expect(offered).to_have_text(["A", "B", "C"])
    press(page, "Rig in the picture", "C")
    in_address(page, "shown", "C")
    page.locator("#slot-2-summary").click()
    page.get_by_role("button", name="Remove rig C").click()
    expect(offered).to_have_text(["A", "B"])
    in_address(page, "shown", "B")
    says(page)


def test_another_year_changes_the_answer(page, in_address, says):
    page.get_by_label("Year", exact=True).and_(page.locator("input")).fill("2030")
    in_address(page, "year", "2030")
    says(page)


def test_a_week_opens_as_a_trip_with_the_same_choices(
    visit, link, drawn, shows, plan_of, in_address
):
    page = visit("year" + link(CHANGES, RIGS))
    week = page.locator("#year-table tbody th a").nth(10)
    week.click()
    page.wait_for_url(lambda url: urlsplit(url).path == "/")
    drawn(page)
    shows(page)
    of = plan_of(page)
    assert of.request.last - of.request.first == dt.timedelta(days=6)
    assert of.request.first.year == 2028
    carried = Raw.from_search(page.url.split("?")[1])
    assert {name: carried[name] for name in CHANGES} == CHANGES
    back = page.get_by_role("link", name="Year").get_attribute("href")
    assert urlsplit(back).path == "/year"
    kept = Raw.from_search(urlsplit(back).query)
    assert kept["from"] == carried["from"]
    assert {name: kept[name] for name in CHANGES} == CHANGES
