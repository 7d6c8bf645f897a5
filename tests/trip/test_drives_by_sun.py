"""Gates set by the sun, and places without gates, against NREL's SPA."""

import datetime as dt
from itertools import pairwise

import numpy as np
import pytest

from lightplan.catalog.places import Place
from lightplan.trip import drives
from lightplan.trip.drives import Closed, Drive

MINUTE = np.timedelta64(1, "m")
HALF_DAY = np.timedelta64(12, "h")
# A gate is a whole minute: up to 30 s of rounding, and 30 s between ephemerides.
ROUNDED = np.timedelta64(60, "s")
# How far the sun rises above its lowest in half a minute, and SPA's difference.
NEAR_LOWEST_DEG = 0.02

SUNRISE_DEG, CIVIL_DEG = -0.833, -6.0  # by definition: 34′ + 16′, and 6°
LONGEST = 4 * 60 * MINUTE

RESERVES = [
    ("Africa/Lusaka", -13.1, 31.8),
    ("Africa/Nairobi", 0.2, 36.9),
    ("Asia/Kolkata", 22.3, 80.6),
    ("Pacific/Kiritimati", 1.9, -157.4),
    ("America/Punta_Arenas", -51.0, -72.9),
    ("Europe/Helsinki", 65.0, 27.0),
]
DATES = ["2027-03-21", "2027-08-12", "2027-12-21"]


def place(timezone: str, latitude_deg: float, longitude_deg: float, gates=()) -> Place:
    return Place.model_validate(
        {
            "name": "Test Pan",
            "latitude_deg": latitude_deg,
            "longitude_deg": longitude_deg,
            "timezone": timezone,
            "gates": gates,
        }
    )


def day(at: Place, date: str) -> drives.Day:
    return drives.day(at, dt.date.fromisoformat(date))


def spa_crossing(spa, at: Place, noon_utc, altitude_deg: float, rising: bool):
    """The crossing in the half day before or after a noon, by SPA."""
    start = noon_utc - HALF_DAY if rising else noon_utc
    grid = start.astype("datetime64[ms]") + np.arange(721) * MINUTE
    over = spa(grid, at.latitude_deg, at.longitude_deg).altitude_deg - altitude_deg
    for (t0, a), (_, b) in pairwise(zip(grid, over, strict=True)):
        if (a < 0 <= b) if rising else (a >= 0 > b):
            return t0 + np.timedelta64(round(60_000 * a / (a - b)), "ms")
    return None


@pytest.mark.parametrize("date", DATES)
@pytest.mark.parametrize("reserve", RESERVES, ids=lambda r: r[0])
def test_relative_gates_follow_sunrise_and_sunset(spa, reserve, date):
    hours = {
        "morning": ("sunrise-00:30", "sunrise+02:00"),
        "evening": ("sunset-01:30", "sunset+00:20"),
    }
    at = place(*reserve, [hours])
    today = day(at, date)
    sunrise = spa_crossing(spa, at, today.sun.noon_utc, SUNRISE_DEG, True)
    sunset = spa_crossing(spa, at, today.sun.noon_utc, SUNRISE_DEG, False)
    morning, evening = today.sessions
    assert abs(morning.opens_utc - (sunrise - 30 * MINUTE)) <= ROUNDED
    assert abs(morning.closes_utc - (sunrise + 120 * MINUTE)) <= ROUNDED
    assert abs(evening.opens_utc - (sunset - 90 * MINUTE)) <= ROUNDED
    assert abs(evening.closes_utc - (sunset + 20 * MINUTE)) <= ROUNDED


@pytest.mark.parametrize("date", DATES)
@pytest.mark.parametrize("reserve", RESERVES, ids=lambda r: r[0])
def test_sunrise_and_sunset_belong_to_the_local_date(iana, reserve, date):
    # All of these have their sunrise and sunset on the same local date.
    events = day(place(*reserve), date).sun
    for utc in (events.sunrise_utc, events.sunset_utc):
        instant = utc.astype("datetime64[s]").item().replace(tzinfo=dt.UTC)
        assert instant.astimezone(iana(reserve[0])).date().isoformat() == date


# At 78° N the sun does not rise in December nor set in June.
@pytest.mark.parametrize(
    ("date", "hours", "event"),
    [
        ("2027-12-21", {"morning": ("sunrise-00:30", "11:00")}, "sunrise"),
        ("2027-06-21", {"evening": ("18:00", "sunset+00:20")}, "sunset"),
    ],
)
def test_gate_set_by_an_event_that_fails_is_closed_in_words(date, hours, event):
    (session,) = day(place("Arctic/Longyearbyen", 78.2, 15.6, [hours]), date).sessions
    assert isinstance(session, Closed)
    assert f"no {event} on this date" in session.reason


@pytest.mark.parametrize("date", DATES)
@pytest.mark.parametrize("reserve", RESERVES, ids=lambda r: r[0])
def test_place_without_gates_opens_at_civil_dawn_and_shuts_at_civil_dusk(
    spa, reserve, date
):
    at = place(*reserve)
    today = day(at, date)
    dawn = spa_crossing(spa, at, today.sun.noon_utc, CIVIL_DEG, True)
    dusk = spa_crossing(spa, at, today.sun.noon_utc, CIVIL_DEG, False)
    morning, evening = today.sessions
    assert abs(morning.opens_utc - dawn) <= ROUNDED
    assert abs(evening.closes_utc - dusk) <= ROUNDED
    assert not morning.gated
    assert not evening.gated


@pytest.mark.parametrize("date", DATES)
def test_drive_without_gates_takes_at_most_four_hours_and_ends_at_noon(date):
    # On 21 December 65° N has civil light for about six hours.
    today = day(place("Europe/Helsinki", 65.0, 27.0), date)
    morning, evening = today.sessions
    assert morning.closes_utc - morning.opens_utc <= LONGEST
    assert evening.closes_utc - evening.opens_utc <= LONGEST
    assert morning.closes_utc <= evening.opens_utc


def test_drive_without_gates_takes_four_hours_on_a_long_day():
    for drive in day(place("Africa/Lusaka", -13.1, 31.8), "2027-08-12").sessions:
        assert drive.closes_utc - drive.opens_utc == LONGEST


# Midnight sun at 78.2° N from late April to late August; 62.5° N has none at the
# solstice but stays within civil twilight all night.
@pytest.mark.parametrize(
    ("timezone", "latitude_deg", "longitude_deg", "date"),
    [
        ("Arctic/Longyearbyen", 78.2, 15.6, "2027-06-21"),
        ("Arctic/Longyearbyen", 78.2, 15.6, "2027-05-10"),
        ("Europe/Helsinki", 62.5, 27.0, "2027-06-21"),
    ],
)
def test_night_that_never_darkens_has_drives_round_the_lowest_sun(
    spa, timezone, latitude_deg, longitude_deg, date
):
    at = place(timezone, latitude_deg, longitude_deg)
    today = day(at, date)
    morning, evening = today.sessions
    for drive, lowest, start in (
        (morning, morning.opens_utc, today.sun.noon_utc - HALF_DAY),
        (evening, evening.closes_utc, today.sun.noon_utc),
    ):
        assert isinstance(drive, Drive)
        around = start + np.arange(-30, 751) * MINUTE
        altitude = spa(around, latitude_deg, longitude_deg).altitude_deg
        there = spa(np.array([lowest]), latitude_deg, longitude_deg).altitude_deg
        assert there[0] - altitude.min() < NEAR_LOWEST_DEG


def test_polar_night_without_gates_is_closed_in_words():
    for session in day(place("Arctic/Longyearbyen", 78.2, 15.6), "2027-12-21").sessions:
        assert isinstance(session, Closed)
        assert "below −6° all day" in session.reason


def test_civil_twilight_alone_is_a_drive(spa):
    # On 7 February the sun of 78.2° N stays below the horizon but above −6° at
    # noon: declination −15.5°, so 90 − 78.2 − 15.5 = −3.7°.
    at = place("Arctic/Longyearbyen", 78.2, 15.6)
    today = day(at, "2027-02-07")
    assert today.sun.sunrise_utc is None
    morning, evening = today.sessions
    dawn = spa_crossing(spa, at, today.sun.noon_utc, CIVIL_DEG, True)
    assert abs(morning.opens_utc - dawn) <= ROUNDED
    assert morning.closes_utc == evening.opens_utc  # both end at noon


def test_day_of_twilight_from_end_to_end_has_two_drives(spa):
    # On 1 October the declination is −3.0°: half a degree from the pole the sun
    # stays between −2.5° and −3.6° all day.
    at = place("UTC", 89.5, 0.0)
    today = day(at, "2027-10-01")
    for drive in today.sessions:
        assert isinstance(drive, Drive)
        ends = np.array([drive.opens_utc, drive.closes_utc])
        assert (spa(ends, 89.5, 0.0).altitude_deg < -2).all()


def test_sunset_after_midnight_sets_the_gate_of_its_evening(spa):
    # Just south of the polar circle, near the solstice, west of the zone's middle:
    # the sun of the 17th sets on the 18th, summer time (UTC+3, EU directive).
    at = place("Europe/Helsinki", 65.7, 24.0, [{"evening": ("20:00", "sunset+00:30")}])
    (evening,) = day(at, "2027-06-17").sessions
    sunset = spa_crossing(
        spa, at, day(at, "2027-06-17").sun.noon_utc, SUNRISE_DEG, False
    )
    local_midnight = np.datetime64("2027-06-17T21:00")
    assert sunset > local_midnight
    assert abs(evening.closes_utc - (sunset + 30 * MINUTE)) <= ROUNDED
