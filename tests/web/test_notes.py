"""Notes on a whole trip, and the small words that all sentences share."""

import ast
import datetime as dt
import re
from pathlib import Path

import pytest

import lightplan
from lightplan import naming
from lightplan.catalog.places import Place
from lightplan.choices import state
from lightplan.trip import plan as planning
from lightplan.trip import words

PACKAGE = Path(lightplan.__file__).parent

# ------------------------------------------------------------- notes


def test_a_place_without_gates_says_how_its_drives_run(own, usual, catalog):
    of = planning.make(state.read(usual(own), catalog))
    assert words.notes(of)[0] == (
        "24.5° S 31.25° E has no gate times: drives run for up to four hours after "
        "civil dawn and for the four before civil dusk."
    )


def test_an_ordinary_trip_needs_no_note(trip):
    assert words.notes(trip("Mopane Loop", "2027-08-12", "2027-08-18")) == ()


def test_midnight_sun_is_noted(trip):
    said = words.notes(trip("Ptarmigan Fjord", "2027-06-10"))
    assert said == ("On these dates the sun does not set.",)


def test_polar_night_is_noted(trip):
    # 77.5° N: the sun is below the horizon from late October to mid February
    # (90° − 77.5° − 23.4° declination = 10.9° below at the solstice).
    said = words.notes(trip("Ptarmigan Fjord", "2027-12-21"))
    assert "On these dates the sun does not rise." in said


def test_a_clock_change_is_noted_on_the_day_it_comes_into_force(trip):
    # Directive 2000/84/EC: summer time begins on the last Sunday in March.
    said = words.notes(trip("Heron Marsh", "2027-03-26", "2027-03-29"))
    assert "Clocks change before Sun 28 Mar: UTC+1 to UTC+2." in said


def test_a_clock_change_in_the_last_night_is_noted(gated, trip):
    # Directive 2000/84/EC, kept by the UK: summer time ends on the last Sunday in
    # October at 01:00 UTC.
    night = gated("22:00", "27:00", "night", 52.0, 0.0, "Europe/London")
    said = words.notes(trip(night, "2027-10-30"))
    assert "Clocks change during Sat 30 Oct, night: UTC+1 to UTC." in " ".join(
        said
    ).replace("UTC+0", "UTC")


def test_a_gate_time_that_the_clock_change_skips_is_noted(gated, trip):
    night = gated("02:30", "07:00", "morning", 37.0, -6.4, "Europe/Madrid")
    (note, *_) = words.notes(trip(night, "2027-03-28"))
    assert note.startswith("Sun 28 Mar, morning: ")
    assert "02:30" in note
    assert "03:00 (UTC+2)" in note


# ------------------------------------------------------------- small words

# The compass rose of 32 points by halves: 16 points of 22.5° (common practice).
ROSE = {
    0: "N", 22.5: "NNE", 45: "NE", 67.5: "ENE", 90: "E", 112.5: "ESE", 135: "SE",
    157.5: "SSE", 180: "S", 202.5: "SSW", 225: "SW", 247.5: "WSW", 270: "W",
    292.5: "WNW", 315: "NW", 337.5: "NNW",
}  # fmt: skip


@pytest.mark.parametrize(("middle", "point"), ROSE.items())
def test_a_compass_point_reaches_half_way_to_its_neighbours(middle, point):
    for azimuth in (middle - 11.2, middle, middle + 11.2):
        assert naming.bearing(azimuth % 360).split("° ")[1] == point


@pytest.mark.parametrize(
    ("azimuth", "text"), [(0.0, "0° N"), (359.6, "0° N"), (296.8, "297° WNW")]
)
def test_a_bearing_is_a_whole_degree_below_360(azimuth, text):
    assert naming.bearing(azimuth) == text


@pytest.mark.parametrize(
    ("minutes", "text"),
    [(0, "0 min"), (9, "9 min"), (59, "59 min"), (60, "1 h 00"), (126, "2 h 06"),
     (-5, "−5 min"), (-61, "−1 h 01")],
)  # fmt: skip
def test_a_duration_is_in_minutes_or_hours(minutes, text):
    assert naming.duration(minutes) == text


WEEK = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
YEAR = (
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
)  # fmt: skip


def test_days_and_months_are_english():
    # 1 January 2024 was a Monday.
    week = [naming.day_name(dt.date(2024, 1, day)) for day in range(1, 8)]
    assert week == [f"{name} {day} Jan" for day, name in enumerate(WEEK, 1)]
    months = [naming.day_name(dt.date(2024, m, 1)).split()[2] for m in range(1, 13)]
    assert tuple(months) == YEAR


# strftime's directives whose text depends on the locale (C11, 7.27.3.5).
LOCAL = re.compile(r"(?<!\{)%-?[aAbBcpxXhEO]")


@pytest.mark.parametrize("path", sorted(PACKAGE.rglob("*.py")), ids=lambda p: p.stem)
def test_no_text_depends_on_the_locale(path):
    strings = [
        node.value
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    ]
    assert [s for s in strings if LOCAL.search(s)] == []


def test_a_trip_into_the_midnight_sun_says_some(trip):
    # 77.5° N: the sun sets last where its declination is 11.7°, about 20 April
    # (90° − 77.5° less refraction and radius), and not again before late August.
    said = words.notes(trip("Ptarmigan Fjord", "2027-04-16", "2027-04-26"))
    assert "On some of these dates the sun does not set." in said


def at_zero(zone: str) -> Place:
    return Place(name="0° 0°", latitude_deg=0.0, longitude_deg=0.0, timezone=zone)


def test_a_zone_whose_noon_is_far_from_the_suns_is_doubted(trip):
    # At 0° E the sun is highest near 12:00 UTC, which is 21:00 in Tokyo.
    said = words.notes(trip(at_zero("Asia/Tokyo"), "2027-08-12"))
    assert any("is that the right zone?" in sentence for sentence in said)
    said = words.notes(trip(at_zero("Etc/UTC"), "2027-08-12"))
    assert not any("is that the right zone?" in sentence for sentence in said)


def test_a_sky_without_a_beam_is_said_to_turn_nothing_golden(trip):
    assert any("never golden" in s for s in words.notes(trip(sky="overcast")))
    assert not any("never golden" in s for s in words.notes(trip(sky="haze")))
