"""What a person meets who opens the page for the first time."""

import pytest
import wild
from playwright.sync_api import expect

MEGABYTE = 1_000_000
SIDEWAYS = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture(scope="module")
def far_away(visitors):
    """A first visit from New York, and the bytes that came over the wire."""
    sizes = []

    def measure(page):
        session = page.context.new_cdp_session(page)
        session.send("Network.enable")
        # As transferred: compressed, headers included.
        session.on(
            "Network.loadingFinished", lambda e: sizes.append(e["encodedDataLength"])
        )

    with visitors() as visit:
        yield visit(timezone="America/New_York", first=True, before=measure), sizes


@pytest.mark.parametrize(
    ("device", "dark"),
    [
        ("desktop", False),
        wild.again("desktop", True),
        wild.again("phone", False),
        ("phone", True),
    ],
)
def test_the_coming_week_is_answered_at_once(
    device, dark, visit, far_away, plan_of, shows
):
    usual = (device, dark) == ("desktop", False)
    page = (
        far_away[0] if usual else visit(phone=device == "phone", dark=dark, first=True)
    )
    of = plan_of(page)
    assert of.request.place.name == "Mopane Loop"
    # The day after Wednesday 11 August 2027, and six more.
    assert (f"{of.request.first}", f"{of.request.last}") == ("2027-08-12", "2027-08-18")
    shows(page)
    expect(page.get_by_text("closed Friday evenings")).to_be_visible()
    theme = "dusk" if dark else "paper"
    expect(page.locator("html")).to_have_attribute("data-theme", theme)
    assert page.evaluate(SIDEWAYS) <= 0


def test_a_browser_far_away_shows_the_places_own_clock(far_away, shows):
    page, _ = far_away
    shows(page)
    # The gates of the dry season, 06:00 to 10:00 in Lusaka: midnight in New York.
    hours = page.locator("#chart .xtick text").all_text_contents()
    assert hours == ["06:00", "07:00", "08:00", "09:00", "10:00"]


def test_the_first_page_comes_over_the_wire_in_less_than_two_megabytes(far_away):
    _, sizes = far_away
    assert len(sizes) > 15
    assert sum(sizes) < 2 * MEGABYTE


def test_the_largest_script_is_asked_for_once_and_with_its_version(far_away):
    # Else Dash's address for it, which no browser may keep; tests/web/test_fixed.py.
    page, _ = far_away
    asked = page.evaluate(
        """performance.getEntriesByType('resource').map(e => e.name)
            .filter(name => name.includes('plotly.'))"""
    )
    kept = page.locator('meta[name="plotting-script"]').get_attribute("content")
    assert [name.partition("/_dash")[2] for name in asked] == [
        kept.partition("/_dash")[2]
    ]


def test_the_skip_link_leads_past_the_choices(far_away):
    page, _ = far_away
    page.keyboard.press("Tab")
    expect(page.get_by_text("Skip to the plan")).to_be_focused()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    inside = "document.querySelector('main').contains(document.activeElement)"
    assert page.evaluate(inside)
