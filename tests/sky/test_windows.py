"""Crossings, the events of a day and the light windows, against SPA and zoneinfo."""

import datetime as dt
from typing import NamedTuple

import numpy as np
import pytest
import wild

from lightplan.sky import sun, sun_days, windows

# NOAA's equations stay within 0.016° of JPL DE421 (tried); SPA subtracts the
# sun's parallax (0.0024°) besides. A time may differ by as much as the sun takes
# to climb that far.
SPA_DEG = 0.02
# What that comes to at sunrise (4 s and 6 s against DE421, tried), with a
# second for SPA's parallax and the search below.
BELOW_50_S, BELOW_60_S = 5.0, 7.0
# The earth turns 0.016° in 3.8 s.
TRANSIT_S = 4.0
# The two searches, of a span and of a half day, end with a secant step of another
# length; where the sun's path is nearly level they part by milliseconds.
SAME_INSTANT = np.timedelta64(20, "ms")
# Between a place's meridian and twelve hours from noon the equation of time moves
# 15 s, 0.06° of hour angle; near its lowest point the sun's altitude is flat.
LOWEST_DEG = 0.02

SEED = 20270812
LEVELS_DEG = (windows.SUNRISE_DEG, windows.CIVIL_DEG, -4.0, 6.0, 30.0)

MINUTE = np.timedelta64(1, "m")
SECOND = np.timedelta64(1, "s")


class Place(NamedTuple):
    latitude_deg: float
    longitude_deg: float
    timezone: str


# Where a clock change matters, dates are past: no government can move them.
# Coordinates to a hundredth of a degree, from memory: no claim rests on them.
SOUTH_13 = Place(-13.10, 31.80, "Africa/Lusaka")
GREENWICH = Place(51.48, 0.0, "Europe/London")
MADRID = Place(40.42, -3.70, "Europe/Madrid")
KATHMANDU = Place(27.72, 85.32, "Asia/Kathmandu")  # UTC+5:45
KIRITIMATI = Place(1.87, -157.43, "Pacific/Kiritimati")  # UTC+14
PAGO_PAGO = Place(-14.28, -170.70, "Pacific/Pago_Pago")  # UTC-11
CHATHAM = Place(-43.95, -176.55, "Pacific/Chatham")  # UTC+12:45, +13:45
MARQUESAS = Place(-8.91, -140.10, "Pacific/Marquesas")  # UTC-9:30
LORD_HOWE = Place(-31.55, 159.08, "Australia/Lord_Howe")  # half an hour of DST
KASHGAR = Place(39.47, 75.99, "Asia/Shanghai")  # noon after 15:00
APIA = Place(-13.83, -171.76, "Pacific/Apia")
REYKJAVIK = Place(64.14, -21.94, "Atlantic/Reykjavik")
AKUREYRI = Place(65.68, -18.10, "Atlantic/Reykjavik")
FAIRBANKS = Place(64.84, -147.72, "America/Anchorage")
ANCHORAGE = Place(61.22, -149.87, "America/Anchorage")
BODO = Place(67.28, 14.40, "Europe/Oslo")
TROMSO = Place(69.65, 18.96, "Europe/Oslo")
NORTH_78 = Place(78.0, 15.6, "Arctic/Longyearbyen")
SOUTH_78 = Place(-78.0, 166.7, "Antarctica/McMurdo")


class Found(NamedTuple):
    """What a plain search finds on a day, and whether a hair would change it."""

    utc: np.ndarray
    rising: list
    degrees_a_second: np.ndarray
    clear: bool


@pytest.fixture(scope="module")
def searched(spa, local_day):
    """Search a local day with SPA every minute, straight in between.

    Within a minute the sun's path bends by at most 0.0002°, 0.05 s of time.
    """

    def search(place, date, level_deg):
        start, end = local_day(place.timezone, date)
        utc = np.arange(start, end + SECOND, 60 * SECOND)
        height = spa(utc, *place[:2]).altitude_deg - level_deg
        before, after = height[:-1], height[1:]
        at = np.flatnonzero((before < 0) != (after < 0))
        rise = after[at] - before[at]
        into = -before[at] / rise * 60_000.0
        # Turning points and the day's ends decide how many crossings there are.
        bend = np.flatnonzero(np.diff(np.sign(np.diff(height)))) + 1
        deciding = np.abs(height[np.concatenate([[0, -1], bend])])
        return Found(
            utc[at] + np.rint(into).astype("timedelta64[ms]"),
            (rise > 0).tolist(),
            np.abs(rise) / 60.0,
            bool((deciding > SPA_DEG).all()),
        )

    return search


def sun_day(*place_and_date):
    *place, date = place_and_date
    (day,) = sun_days.sun_days(*place, [date])
    return day


def crossings(place, date, level_deg=windows.SUNRISE_DEG):
    return windows.crossings(*place, date, level_deg)


def setting_and_rising(found):
    return [crossing.rising for crossing in found]


def times(found):
    return np.array([crossing.utc for crossing in found], dtype="datetime64[ms]")


def check_against(found, expected):
    assert setting_and_rising(found) == expected.rising
    apart = np.abs(times(found) - expected.utc) / SECOND
    assert (apart <= SPA_DEG / expected.degrees_a_second).all()


# --- Which crossings, and when.


@pytest.mark.parametrize("level_deg", LEVELS_DEG)
@pytest.mark.parametrize(
    ("place", "date"),
    [
        pytest.param(SOUTH_13, dt.date(2027, 8, 12), id="south"),
        pytest.param(GREENWICH, dt.date(2027, 5, 1), id="north"),
        pytest.param(KASHGAR, dt.date(2027, 1, 15), id="far from its zone's meridian"),
        pytest.param(KATHMANDU, dt.date(2027, 8, 12), id="UTC+5:45"),
        pytest.param(CHATHAM, dt.date(2027, 7, 1), id="UTC+12:45"),
        pytest.param(KIRITIMATI, dt.date(2027, 8, 12), id="UTC+14"),
        pytest.param(PAGO_PAGO, dt.date(2027, 8, 12), id="UTC-11"),
        pytest.param(MARQUESAS, dt.date(2027, 8, 12), id="UTC-9:30"),
        pytest.param(MADRID, dt.date(2024, 3, 31), id="23 hours"),
        pytest.param(MADRID, dt.date(2024, 10, 27), id="25 hours"),
        pytest.param(LORD_HOWE, dt.date(2023, 10, 1), id="23.5 hours"),
        pytest.param(LORD_HOWE, dt.date(2024, 4, 7), id="24.5 hours"),
        pytest.param(APIA, dt.date(2011, 12, 29), id="before the missing day"),
        pytest.param(APIA, dt.date(2011, 12, 30), id="the missing day"),
        pytest.param(APIA, dt.date(2011, 12, 31), id="after the missing day"),
        pytest.param(REYKJAVIK, dt.date(2023, 6, 21), id="sunset after midnight"),
        pytest.param(BODO, dt.date(2023, 7, 18), id="two sunsets"),
        pytest.param(NORTH_78, dt.date(2027, 3, 10), id="78 north in March"),
        pytest.param(NORTH_78, dt.date(2027, 10, 20), id="78 north in October"),
        pytest.param(SOUTH_78, dt.date(2027, 3, 10), id="78 south in March"),
        pytest.param(SOUTH_78, dt.date(2027, 9, 20), id="78 south in September"),
    ],
)
def test_crossings_of_a_local_day_are_those_a_plain_search_finds(
    searched, place, date, level_deg
):
    expected = searched(place, date, level_deg)
    assert expected.clear, "choose a day that a hair's breadth does not decide"
    check_against(crossings(place, date, level_deg), expected)


def zone_of(longitude_deg):
    """The nautical zone; IANA counts its names westward."""
    hours = round(longitude_deg / 15.0)
    return f"Etc/GMT{-hours:+d}" if hours else "Etc/GMT"


@pytest.fixture(scope="module")
def anywhere():
    """Places between 78° south and north, dates from 1950 to 2037, levels."""
    random = np.random.default_rng(SEED)
    cases = []
    for level in np.tile(LEVELS_DEG, 40):
        latitude, longitude = random.uniform((-78.0, -180.0), (78.0, 180.0))
        days = int(random.integers(0, 88 * 365))
        place = Place(latitude, longitude, zone_of(longitude))
        cases.append((place, dt.date(1950, 1, 1) + dt.timedelta(days=days), level))
    return wild.some(cases)  # every level among them


def test_crossings_anywhere_are_those_a_plain_search_finds(anywhere, searched):
    close = 0
    for place, date, level_deg in anywhere:
        expected = searched(place, date, level_deg)
        if not expected.clear:  # the two theories may count differently
            close += 1
            continue
        check_against(crossings(place, date, level_deg), expected)
    assert close <= len(anywhere) / 50


def test_spa_puts_the_sun_at_the_level_at_every_crossing(anywhere, spa):
    found = [
        (crossing.utc, place.latitude_deg, place.longitude_deg, level_deg)
        for place, date, level_deg in anywhere
        for crossing in crossings(place, date, level_deg)
    ]
    utc, latitude, longitude, level = map(np.array, zip(*found, strict=True))
    altitude = spa(utc, latitude, longitude).altitude_deg
    assert len(found) > len(anywhere)
    assert np.abs(altitude - level).max() <= SPA_DEG


def test_our_own_sun_is_at_the_level_at_every_crossing(anywhere):
    # A crossing is given to a millisecond, in which the sun moves 4e-6°.
    for place, date, level_deg in anywhere:
        for crossing in crossings(place, date, level_deg):
            altitude = sun.position(crossing.utc, *place[:2]).altitude_deg
            assert abs(altitude - level_deg) <= 1e-5


@pytest.mark.parametrize(
    ("south", "north", "limit_s"),
    [(-50.0, 50.0, BELOW_50_S), (50.0, 60.0, BELOW_60_S), (-60.0, -50.0, BELOW_60_S)],
)
def test_sunrise_and_sunset_are_within_seconds_of_spas(searched, south, north, limit_s):
    random = np.random.default_rng(SEED)
    for _ in wild.some(range(60)):
        latitude, longitude = random.uniform((south, -180.0), (north, 180.0))
        place = Place(latitude, longitude, zone_of(longitude))
        days = int(random.integers(0, 88 * 365))
        date = dt.date(1950, 1, 1) + dt.timedelta(days=days)
        expected = searched(place, date, windows.SUNRISE_DEG)
        apart = np.abs(times(crossings(place, date)) - expected.utc) / SECOND
        assert apart.max() <= limit_s, (place, date)


# --- Days that are not like the others. What happens on them is confirmed with
# SPA above or here; that they are such days is what is claimed.


@pytest.mark.parametrize(
    ("place", "date"),
    [
        (TROMSO, dt.date(2027, 6, 21)),
        (NORTH_78, dt.date(2027, 6, 21)),
        (SOUTH_78, dt.date(2027, 12, 21)),
    ],
)
def test_the_midnight_sun_has_no_crossing(spa, local_day, place, date):
    start, end = local_day(place.timezone, date)
    altitude = spa(np.arange(start, end, MINUTE), *place[:2]).altitude_deg
    assert altitude.min() > windows.SUNRISE_DEG
    assert crossings(place, date) == ()


@pytest.mark.parametrize(
    ("place", "date"),
    [
        (TROMSO, dt.date(2027, 12, 21)),
        (NORTH_78, dt.date(2027, 12, 21)),
        (SOUTH_78, dt.date(2027, 6, 21)),
    ],
)
def test_the_polar_night_has_no_crossing(spa, local_day, place, date):
    start, end = local_day(place.timezone, date)
    altitude = spa(np.arange(start, end, MINUTE), *place[:2]).altitude_deg
    assert altitude.max() < windows.SUNRISE_DEG
    assert crossings(place, date) == ()


def test_the_day_samoa_left_out_has_no_crossing():
    # Samoa went from 2011-12-29 to 2011-12-31 (IANA, australasia file).
    assert crossings(APIA, dt.date(2011, 12, 30)) == ()


def test_the_sun_rises_in_samoa_a_day_after_the_day_before_the_missing_one():
    last = crossings(APIA, dt.date(2011, 12, 29))
    first = crossings(APIA, dt.date(2011, 12, 31))
    assert setting_and_rising(last) == setting_and_rising(first) == [True, False]
    apart = (times(first) - times(last)) / MINUTE
    assert np.abs(apart - 24 * 60).max() < 1.0  # 14° south: under a minute a day


def test_a_sunset_after_local_midnight_belongs_to_the_date_it_falls_on(iana):
    # Reykjavik keeps UTC, an hour and a half ahead of its sun.
    date = dt.date(2023, 6, 21)
    sunset, sunrise = crossings(REYKJAVIK, date)
    assert (sunset.rising, sunrise.rising) == (False, True)
    clock = sunset.utc.item().replace(tzinfo=dt.UTC)
    clock = clock.astimezone(iana("Atlantic/Reykjavik"))
    assert (clock.date(), clock.hour) == (date, 0)


@pytest.mark.parametrize(
    ("place", "date"),
    [
        (AKUREYRI, dt.date(2023, 7, 10)),
        (FAIRBANKS, dt.date(2023, 7, 15)),
        (BODO, dt.date(2023, 7, 18)),
    ],
)
def test_a_local_day_may_hold_two_sunsets(searched, place, date):
    expected = searched(place, date, windows.SUNRISE_DEG)
    assert expected.rising == [False, True, False]
    check_against(crossings(place, date), expected)


@pytest.mark.parametrize("longitude_deg", [170.0, -100.0], ids=["rising", "setting"])
def test_a_crossing_at_the_stroke_of_midnight_belongs_to_the_day_that_begins(
    longitude_deg,
):
    # A day is [midnight, next midnight): one of the two days has the crossing.
    place = Place(40.0, longitude_deg, "UTC")
    midnight = np.datetime64("2027-03-20T00:00", "ms")
    level_deg = float(sun.position(midnight, *place[:2]).altitude_deg)
    before = crossings(place, dt.date(2027, 3, 19), level_deg)
    after = crossings(place, dt.date(2027, 3, 20), level_deg)
    assert midnight not in times(before)
    assert midnight in times(after)


def test_a_span_that_has_no_length_has_no_crossing():
    noon = np.datetime64("2027-08-12T12:00")
    for end in (noon, noon - MINUTE):
        assert windows.crossings_between(-13.1, 31.8, noon, end, 30.0) == ()


def test_crossings_of_a_span_shorter_than_a_minute(searched):
    sunset = searched(SOUTH_13, dt.date(2027, 8, 12), windows.SUNRISE_DEG).utc[1]
    span = sunset - 20 * SECOND, sunset + 20 * SECOND
    (found,) = windows.crossings_between(*SOUTH_13[:2], *span, windows.SUNRISE_DEG)
    assert not found.rising
    assert abs(found.utc - sunset) <= BELOW_50_S * 1000 * np.timedelta64(1, "ms")


# --- What cannot be answered is said in a sentence.


either = pytest.mark.parametrize(
    "ask",
    [lambda *place_and_date: windows.crossings(*place_and_date, 0.0), sun_day],
    ids=["crossings", "sun_day"],
)


@pytest.mark.parametrize("level_deg", [90.5, -91.0, float("nan")])
def test_an_altitude_that_does_not_exist_is_named_with_its_range(level_deg):
    with pytest.raises(ValueError, match=r"altitude_deg must be in \[-90, 90\]") as e:
        crossings(SOUTH_13, dt.date(2027, 8, 12), level_deg)
    assert f"got {level_deg:g}" in str(e.value)


@pytest.mark.parametrize("level_deg", [-90.0, 90.0])
def test_zenith_and_nadir_are_altitudes_that_a_sun_at_13_south_does_not_cross(
    level_deg,
):
    # At 13.1° south in August the sun is north of the zenith: 13.1 + 15 ≠ 0.
    assert crossings(SOUTH_13, dt.date(2027, 8, 12), level_deg) == ()


@pytest.mark.parametrize(
    ("place", "said"),
    [
        ((float("nan"), 31.8), "got nan and 31.8$"),
        ((-13.1, float("inf")), "got -13.1 and inf$"),
    ],
)
def test_a_place_that_is_no_number_has_no_crossings(place, said):
    with pytest.raises(ValueError, match=rf"must be numbers, {said}"):
        windows.crossings(*place, "Africa/Lusaka", dt.date(2027, 8, 12), 0.0)


@pytest.mark.parametrize("date", [dt.date(1949, 12, 31), dt.date(2038, 1, 1)])
@either
def test_a_date_outside_the_known_years_is_named_with_their_range(ask, date):
    with pytest.raises(ValueError, match=r"1950.2037") as e:
        ask(*SOUTH_13, date)
    assert date.isoformat() in str(e.value)


@either
@pytest.mark.parametrize(
    ("latitude_deg", "longitude_deg", "sentence"),
    [
        (95.0, 31.8, r"latitude_deg must be in \[-90, 90\], got 95"),
        (-13.1, -190.0, r"longitude_deg must be in \[-180, 180\], got -190"),
    ],
)
def test_a_place_outside_the_globe_is_named_with_the_range(
    ask, latitude_deg, longitude_deg, sentence
):
    with pytest.raises(ValueError, match=sentence):
        ask(latitude_deg, longitude_deg, "Africa/Lusaka", dt.date(2027, 8, 12))


# --- The events of a day.

ORDINARY = [
    pytest.param(SOUTH_13, dt.date(2027, 8, 12), id="south"),
    pytest.param(GREENWICH, dt.date(2027, 5, 1), id="north"),
    pytest.param(KATHMANDU, dt.date(2027, 8, 12), id="UTC+5:45"),
    pytest.param(KIRITIMATI, dt.date(2027, 8, 12), id="UTC+14"),
    pytest.param(PAGO_PAGO, dt.date(2027, 8, 12), id="UTC-11"),
    pytest.param(MADRID, dt.date(2024, 3, 31), id="23 hours"),
    pytest.param(MADRID, dt.date(2024, 10, 27), id="25 hours"),
]


@pytest.mark.parametrize(("place", "date"), ORDINARY)
def test_an_ordinary_days_events_are_its_crossings(place, date):
    day = sun_day(*place, date)
    sunrise, sunset = crossings(place, date, windows.SUNRISE_DEG)
    dawn, dusk = crossings(place, date, windows.CIVIL_DEG)
    for event, crossing in (
        (day.sunrise_utc, sunrise),
        (day.sunset_utc, sunset),
        (day.dawn_utc, dawn),
        (day.dusk_utc, dusk),
    ):
        assert abs(event - crossing.utc) <= SAME_INSTANT


@pytest.mark.parametrize(("place", "date"), ORDINARY)
def test_an_ordinary_days_events_are_in_order(place, date):
    day = sun_day(*place, date)
    assert (
        day.lowest_before_utc
        < day.dawn_utc
        < day.sunrise_utc
        < day.noon_utc
        < day.sunset_utc
        < day.dusk_utc
        < day.lowest_after_utc
    )


EVERY_KIND = [
    *ORDINARY,
    pytest.param(KASHGAR, dt.date(2027, 1, 15), id="far from its zone's meridian"),
    pytest.param(REYKJAVIK, dt.date(2023, 6, 20), id="sunset after midnight"),
    pytest.param(TROMSO, dt.date(2027, 6, 21), id="midnight sun"),
    pytest.param(TROMSO, dt.date(2027, 12, 21), id="polar night"),
    pytest.param(SOUTH_78, dt.date(2027, 3, 10), id="78 south"),
]


@pytest.mark.parametrize(("place", "date"), EVERY_KIND)
def test_noon_is_the_days_highest_sun(spa, local_day, place, date):
    day = sun_day(*place, date)
    start, end = local_day(place.timezone, date)
    assert start <= day.noon_utc < end
    altitude = spa(np.arange(start, end, MINUTE), *place[:2]).altitude_deg
    # Toward the pole the sun's declination moves its highest point off the
    # meridian, but there the altitude is flat.
    assert day.noon_altitude_deg == pytest.approx(altitude.max(), abs=SPA_DEG)


@pytest.mark.parametrize(("place", "date"), EVERY_KIND)
def test_the_lowest_sun_lies_twelve_hours_from_noon(spa, place, date):
    day = sun_day(*place, date)
    half_a_day = np.timedelta64(12, "h")
    assert day.lowest_before_utc == day.noon_utc - half_a_day
    assert day.lowest_after_utc == day.noon_utc + half_a_day
    around = np.arange(day.lowest_before_utc, day.lowest_after_utc + MINUTE, MINUTE)
    altitude = spa(around, *place[:2]).altitude_deg
    assert day.lowest_altitude_deg == pytest.approx(altitude.min(), abs=LOWEST_DEG)


def test_events_anywhere_are_the_crossings_within_twelve_hours_of_noon(anywhere):
    found = 0
    for place, date, _ in anywhere:
        day = sun_day(*place, date)
        morning = day.lowest_before_utc, day.noon_utc
        evening = day.noon_utc, day.lowest_after_utc
        for event, span, level_deg in (
            (day.sunrise_utc, morning, windows.SUNRISE_DEG),
            (day.sunset_utc, evening, windows.SUNRISE_DEG),
            (day.dawn_utc, morning, windows.CIVIL_DEG),
            (day.dusk_utc, evening, windows.CIVIL_DEG),
        ):
            crossed = windows.crossings_between(*place[:2], *span, level_deg)
            assert len(crossed) == (event is not None), (place, date)
            if event is not None:
                assert abs(event - crossed[0].utc) <= SAME_INSTANT
                assert crossed[0].rising == (span == morning)
                found += 1
    assert found > 3 * len(anywhere)


def test_days_asked_for_together_are_those_asked_for_one_by_one():
    # A month in which Tromso's midnight sun ends.
    dates = [dt.date(2027, 7, 10) + dt.timedelta(days=n) for n in range(31)]
    together = sun_days.sun_days(*TROMSO, dates)
    assert together == [sun_day(*TROMSO, date) for date in dates]
    assert {day.sunset_utc is None for day in together} == {True, False}


def test_no_dates_have_no_days():
    assert sun_days.sun_days(*TROMSO, []) == []


def test_an_evening_whose_sun_sets_after_midnight_has_its_sunset(searched):
    day = sun_day(*REYKJAVIK, dt.date(2023, 6, 20))
    after_midnight = searched(REYKJAVIK, dt.date(2023, 6, 21), windows.SUNRISE_DEG)
    apart = abs(day.sunset_utc - after_midnight.utc[0]) / SECOND
    assert apart <= SPA_DEG / after_midnight.degrees_a_second[0]
    assert day.sunset_utc > day.noon_utc


def test_the_midnight_sun_is_a_day_without_sunrise_or_twilight():
    day = sun_day(*TROMSO, dt.date(2027, 6, 21))
    assert (day.sunrise_utc, day.sunset_utc, day.dawn_utc, day.dusk_utc) == 4 * (None,)
    assert day.lowest_altitude_deg > windows.SUNRISE_DEG


def test_the_polar_night_has_a_dawn_and_a_dusk_where_the_sun_comes_near():
    # At 69.65° north the solstice sun culminates 3° below the horizon: 90 - 69.65
    # - 23.44 (obliquity).
    day = sun_day(*TROMSO, dt.date(2027, 12, 21))
    assert day.sunrise_utc is None
    assert day.sunset_utc is None
    assert day.dawn_utc < day.noon_utc < day.dusk_utc
    assert day.noon_altitude_deg == pytest.approx(90 - 69.65 - 23.44, abs=SPA_DEG)


def test_a_white_night_has_a_sunset_and_no_dusk():
    # Civil twilight lasts all night at Anchorage on 15 June (USNO tables).
    day = sun_day(*ANCHORAGE, dt.date(2020, 6, 15))
    assert day.sunrise_utc < day.noon_utc < day.sunset_utc
    assert (day.dawn_utc, day.dusk_utc) == (None, None)
