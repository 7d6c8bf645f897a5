"""The page of fixed spots, as people meet it."""

import datetime as dt
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import expect

from lightplan import naming
from lightplan.choices import state, table
from lightplan.choices.raw import Raw
from lightplan.sky import localtime
from lightplan.spots import chances, spots
from lightplan.spots import words as spot_words
from lightplan.web import clock

CHANGES = {"place": "Mopane Loop", "spot": "Ebony bend", "pace": "flying"}
BEHIND = "Widest angle from straight behind, °"
RIGS = (("600 prime", "600", "8"),)


@pytest.fixture
def says(catalog):
    """Hold the answer against the year that the page's address names."""

    def check(page) -> None:
        raw = Raw.from_search(urlsplit(page.url).query)
        place = table.PLACE.of(raw, catalog)
        spot = table.SPOT.of(raw, catalog)
        wish, year = state.wish(raw, catalog), table.YEAR.of(raw, catalog)
        of = spots.make(place, spot, year)
        following = spots.make(place, spot, year + 1)
        today = localtime.date_at(place.timezone, clock.now())
        first = max(dt.date.fromisoformat(raw["from"]), today)
        coming = chances.upcoming([of, following], wish, first)
        said = naming.plain(spot_words.answer(of, wish, coming, first, today))
        expect(page.locator("#spots-answer")).to_have_text(said.strip())

    return check


@pytest.fixture(scope="module")
def page(visitors, link):
    """The spots of a link, for tests that go on from one another."""
    with visitors() as visit:
        yield visit("spots" + link(CHANGES, RIGS))


def test_the_spot_is_answered_from_the_links_choices(page, says):
    says(page)
    expect(
        page.get_by_label("Spot", exact=True).and_(page.locator("input"))
    ).to_have_value("Ebony bend")
    carried = Raw.from_search(page.url.split("?")[1])
    assert {name: carried[name] for name in CHANGES} == CHANGES


def test_another_spot_changes_answer_and_address(page, choose, in_address, says):
    choose(page, "Spot", "Oxbow hide")
    in_address(page, "spot", "Oxbow hide")
    says(page)
    expect(page.locator("#spots-answer")).to_contain_text("Oxbow hide")


def test_another_light_changes_the_answer(page, press, in_address, says):
    press(page, "Light you wait for", "rim")
    in_address(page, "wait", "rim")
    says(page)


def test_only_backlight_asks_for_an_angle(page, press, in_address):
    field = page.get_by_label(BEHIND).and_(page.locator("input"))
    expect(field).to_be_hidden()  # rim light was chosen
    press(page, "Light you wait for", "back")
    expect(field).to_be_visible()
    in_address(page, "wait", "back")


def test_another_place_brings_its_own_spots(page, choose, in_address, says):
    choose(page, "Place", "Two Rivers Plain")
    in_address(page, "spot", "Salt lick")
    says(page)
    carried = Raw.from_search(page.url.split("?")[1])
    assert carried["pace"] == "flying"


def test_a_place_without_spots_says_how_to_add_one_and_back_again(
    page, choose, in_address, says
):
    choose(page, "Place", "Teak Hollow")
    in_address(page, "place", "Teak Hollow")
    expect(page.locator("#spots-answer")).to_contain_text("Teak Hollow has no spot yet")
    expect(page.locator("#spots-chart")).to_be_hidden()
    choose(page, "Place", "Mopane Loop")
    in_address(page, "spot", "Oxbow hide")
    says(page)
    expect(page.locator("#spots-chart .xtick").first).to_be_attached()


def test_a_wrong_angle_is_told_and_loses_nothing(page, in_address):
    field = page.get_by_label(BEHIND).and_(page.locator("input"))
    field.fill("300")
    expect(page.locator("#problem")).to_contain_text(
        "Widest angle from straight behind must be"
    )
    expect(page.locator("#spots-answer")).to_contain_text("Oxbow hide")
    field.fill("20")
    in_address(page, "behind", "20")
    expect(page.locator("#problem")).to_be_empty()


def test_a_wrong_angle_can_be_mended_whatever_the_light(page, press):
    field = page.get_by_label(BEHIND).and_(page.locator("input"))
    field.fill("300")
    expect(page.locator("#problem")).not_to_be_empty()
    press(page, "Light you wait for", "rim")
    expect(field).to_be_visible()
    field.fill("20")
    expect(page.locator("#problem")).to_be_empty()
    expect(field).to_be_hidden()


@pytest.fixture(scope="module")
def phone(visitors, link):
    """The spots of a link on a phone, the table of weeks open."""
    with visitors() as visit:
        page = visit("spots" + link(CHANGES, RIGS), phone=True)
        page.locator("#spots-next tbody tr").first.wait_for()
        page.get_by_text("Week by week", exact=True).click()
        yield page


# Of texts in one row; a pixel is of rounding.
LEVEL_PX = 1.0
TEXTS = """row => [...row.cells].map(cell => {
    const range = document.createRange();
    range.selectNodeContents(cell.querySelector("a") || cell);
    return range.getClientRects()[0].top;
})"""


def test_on_a_phone_date_and_times_stand_on_one_line(phone):
    tops = phone.locator("#spots-next tbody tr").first.evaluate(TEXTS)
    assert max(tops) - min(tops) <= LEVEL_PX


def test_on_a_phone_a_weeks_chances_are_not_cut(phone):
    cell = phone.locator("#spots-weeks tbody tr").first.locator("td").nth(1)
    expect(cell).to_be_visible()
    box = cell.bounding_box()
    assert box["x"] + box["width"] <= 390


def test_the_table_of_weeks_is_shut_until_asked_for(page):
    expect(page.locator("#spots-weeks")).to_be_hidden()


def test_a_chance_opens_as_a_trip(visit, link, drawn, shows, in_address):
    page = visit("spots" + link(CHANGES, RIGS))
    page.locator("#spots-next tbody th a").first.click()
    page.wait_for_url(lambda url: urlsplit(url).path == "/")
    drawn(page)
    shows(page)
    in_address(page, "side", "back")
    in_address(page, "cover", "shade")
    in_address(page, "pace", "flying")
    back = page.get_by_role("link", name="Spots").get_attribute("href")
    assert Raw.from_search(urlsplit(back).query)["spot"] == "Ebony bend"
