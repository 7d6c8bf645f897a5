"""The named windows of light, and a run of minutes cut into them."""

import datetime as dt
from itertools import pairwise

import numpy as np
import pytest

from lightplan.sky import sun, windows

MINUTE = np.timedelta64(1, "m")

# Latitude, longitude, zone; from memory, no claim rests on them.
SOUTH_13 = (-13.10, 31.80, "Africa/Lusaka")
MADRID = (40.42, -3.70, "Europe/Madrid")
LORD_HOWE = (-31.55, 159.08, "Australia/Lord_Howe")
TROMSO = (69.65, 18.96, "Europe/Oslo")

KEYS = ["dark", "twilight", "golden", "open", "hard"]


def test_sunrise_is_16_arcminutes_of_radius_and_34_of_refraction():
    # USNO's and the Astronomical Almanac's definition, to the three decimals used.
    limb_deg = (16 + 34) / 60
    assert abs(windows.SUNRISE_DEG + limb_deg) <= 5e-4


def test_civil_twilight_ends_six_degrees_below_the_horizon():
    assert windows.CIVIL_DEG == -6.0  # USNO's definition


def test_golden_light_lies_between_four_below_and_six_above():
    limits = windows.Limits()  # common practice
    assert (limits.golden_low_deg, limits.golden_high_deg) == (-4.0, 6.0)


def test_light_windows_follow_one_another_and_cover_every_altitude():
    light = windows.light_windows()
    assert [w.key for w in light] == KEYS
    assert light[0].lower_deg == -90.0
    assert light[-1].upper_deg > 90.0  # a sun overhead is in the last
    for lower, upper in pairwise(light):
        assert lower.upper_deg == upper.lower_deg


def test_a_user_may_move_the_limits():
    light = windows.light_windows(windows.Limits(-5.0, 10.0, 40.0))
    assert [w.lower_deg for w in light] == [-90.0, -6.0, -5.0, 10.0, 40.0]


@pytest.mark.parametrize(
    "limits",
    [
        (-6.0, 6.0, 30.0),  # golden light may not begin where twilight does
        (-7.0, 6.0, 30.0),
        (6.0, -4.0, 30.0),
        (4.0, 4.0, 30.0),
        (-4.0, 30.0, 30.0),
        (-4.0, 40.0, 30.0),
        (-4.0, 6.0, 90.0),
        (float("nan"), 6.0, 30.0),
        (-4.0, float("nan"), 30.0),
        (-4.0, 6.0, float("nan")),
    ],
)
def test_limits_out_of_order_are_named_with_their_order(limits):
    with pytest.raises(ValueError, match="must be in order, -6 < ") as e:
        windows.light_windows(windows.Limits(*limits))
    assert all(f"{value:g}" in str(e.value) for value in limits)


@pytest.mark.parametrize(
    ("altitude_deg", "key"),
    [
        (-90.0, "dark"),
        (np.nextafter(-6.0, -90.0), "dark"),
        (-6.0, "twilight"),
        (np.nextafter(-4.0, -90.0), "twilight"),
        (-4.0, "golden"),
        (np.nextafter(6.0, -90.0), "golden"),
        (6.0, "open"),
        (np.nextafter(30.0, -90.0), "open"),
        (30.0, "hard"),
        (90.0, "hard"),
    ],
)
def test_a_windows_lower_limit_belongs_to_it(altitude_deg, key):
    light = windows.light_windows()
    (index,) = windows.window_index(np.array([altitude_deg]), light)
    assert light[index].key == key


def test_minutes_include_both_ends():
    start, end = np.datetime64("2027-08-12T04:00"), np.datetime64("2027-08-12T04:03")
    found = windows.minutes(start, end)
    assert found.dtype == "datetime64[m]"
    assert (found - start).astype(int).tolist() == [0, 1, 2, 3]


def test_minutes_are_whole():
    start, end = (
        np.datetime64("2027-08-12T04:00:59"),
        np.datetime64("2027-08-12T04:02:01"),
    )
    found = windows.minutes(start, end)
    expected = np.datetime64("2027-08-12T04:00") + np.arange(3).astype("timedelta64[m]")
    np.testing.assert_array_equal(found, expected)


@pytest.fixture(scope="module")
def cut(local_day):
    """Cut a local day into its light windows."""

    def stretches(place, date):
        utc = windows.minutes(*local_day(place[2], date))
        altitude = sun.position(utc, *place[:2]).altitude_deg
        return windows.stretches(utc, altitude, windows.light_windows())

    return stretches


@pytest.mark.parametrize(
    ("place", "date", "hours"),
    [
        pytest.param(SOUTH_13, dt.date(2027, 8, 12), 24, id="an ordinary day"),
        pytest.param(MADRID, dt.date(2024, 3, 31), 23, id="23 hours"),
        pytest.param(MADRID, dt.date(2024, 10, 27), 25, id="25 hours"),
        pytest.param(LORD_HOWE, dt.date(2023, 10, 1), 23.5, id="23.5 hours"),
        pytest.param(TROMSO, dt.date(2027, 12, 21), 24, id="polar night"),
        pytest.param(TROMSO, dt.date(2027, 6, 21), 24, id="midnight sun"),
    ],
)
def test_stretches_join_and_add_up_to_the_day(cut, local_day, place, date, hours):
    found = cut(place, date)
    start, end = local_day(place[2], date)
    assert found[0].start_utc == start
    assert found[-1].end_utc == end
    for one, following in pairwise(found):
        assert one.end_utc == following.start_utc
        assert one.window != following.window
    assert sum(s.minutes for s in found) == hours * 60


def test_a_day_in_the_bush_passes_through_every_window_up_and_down(cut):
    found = cut(SOUTH_13, dt.date(2027, 8, 12))
    assert [s.window.key for s in found] == KEYS + KEYS[-2::-1]


def test_stretches_change_in_the_minute_after_a_crossing(cut):
    date = dt.date(2027, 8, 12)
    changes = [s.start_utc for s in cut(SOUTH_13, date)[1:]]
    limits = [w.lower_deg for w in windows.light_windows()[1:]]
    found = sorted(
        c.utc for deg in limits for c in windows.crossings(*SOUTH_13, date, deg)
    )
    assert len(changes) == len(found) == 8
    for change, crossing in zip(changes, found, strict=True):
        assert np.timedelta64(0, "m") <= change - crossing < MINUTE


@pytest.mark.parametrize("length", [0, 1])
def test_less_than_two_minutes_are_no_stretch(length):
    utc = np.datetime64("2027-08-12T04:00") + np.arange(length).astype("timedelta64[m]")
    assert windows.stretches(utc, np.zeros(length), windows.light_windows()) == ()


def test_one_minute_is_a_stretch():
    utc = np.datetime64("2027-08-12T04:00") + np.arange(2).astype("timedelta64[m]")
    light = windows.light_windows()
    (found,) = windows.stretches(utc, np.array([10.0, 50.0]), light)
    assert found == (light[3], utc[0], utc[1])
    assert found.minutes == 1


@pytest.mark.parametrize("index", range(len(KEYS)), ids=KEYS)
def test_a_run_that_stays_in_one_window_is_one_stretch(index):
    light = windows.light_windows()
    utc = np.datetime64("2027-08-12T04:00") + np.arange(3).astype("timedelta64[m]")
    altitude = np.full(3, light[index].lower_deg)
    assert windows.stretches(utc, altitude, light) == ((light[index], utc[0], utc[2]),)
