"""What holds for any place, instant, level and zone."""

import datetime as dt
from itertools import pairwise

import numpy as np
import pytest
import pytz
from hypothesis import assume, given
from hypothesis import strategies as st

from lightplan.sky import localtime, sun, windows

# Two paths to one number differ in the last digits of doubles.
DIGITS_DEG = 1e-9
# A crossing is given to a millisecond, in which the sun climbs 4e-6°.
MILLISECOND_DEG = 1e-5
# Within a minute the sun may graze a level by this much and be gone again.
GRAZE_DEG = 0.001
# The sun's hour angle gains 15° an hour; nothing in its altitude is faster.
FASTEST_DEG_PER_MINUTE = 0.2514  # 0.25 and the equation of time's 30 s a day
# NOAA's branches of refraction meet within 1.8 arcseconds below 85°.
BRANCH_STEP_DEG = 1.8 / 3600.0
# The largest of any branch, at the lowest apparent altitude: 2070 arcseconds.
MOST_REFRACTION_DEG = 0.58

SECOND, MINUTE = np.timedelta64(1, "s"), np.timedelta64(1, "m")

latitudes = st.floats(-90.0, 90.0)
longitudes = st.floats(-180.0, 180.0)
inhabited = st.floats(-78.0, 78.0)
altitudes = st.floats(-90.0, 90.0)
levels = st.floats(-18.0, 60.0)
instants = st.datetimes(
    dt.datetime(1950, 1, 1),  # noqa: DTZ001 - datetime64 wants UTC without a zone
    dt.datetime(2037, 12, 31),  # noqa: DTZ001
).map(lambda moment: np.datetime64(moment, "s"))
dates = st.dates(dt.date(1950, 1, 1), dt.date(2037, 12, 31))
zones = st.sampled_from(pytz.common_timezones)


# --- Position.


@given(instants, latitudes, longitudes)
def test_altitude_and_azimuth_stay_in_their_ranges(utc, latitude, longitude):
    altitude, azimuth = sun.position(utc, latitude, longitude)
    assert -90.0 <= altitude <= 90.0
    assert 0.0 <= azimuth < 360.0


@given(instants, latitudes, longitudes)
def test_the_sun_is_below_the_horizon_of_the_other_side_of_the_earth(
    utc, latitude, longitude
):
    antipode = -latitude, longitude - 180.0 if longitude > 0 else longitude + 180.0
    altitude = sun.position(utc, latitude, longitude).altitude_deg
    other = sun.position(utc, *antipode).altitude_deg
    assert altitude == pytest.approx(-other, abs=DIGITS_DEG)


@given(instants, longitudes)
def test_the_poles_see_the_declination(utc, longitude):
    north = sun.position(utc, 90.0, longitude).altitude_deg
    south = sun.position(utc, -90.0, longitude).altitude_deg
    assert north == pytest.approx(-south, abs=DIGITS_DEG)
    assert abs(north) <= 23.5  # the obliquity of the ecliptic


@given(instants, latitudes, longitudes)
def test_altitude_moves_no_faster_than_the_earth_turns(utc, latitude, longitude):
    # Over an hour, so that it crosses from one hourly node to the next.
    minutes = utc + np.arange(61) * MINUTE
    steps = np.diff(sun.position(minutes, latitude, longitude).altitude_deg)
    assert np.abs(steps).max() <= FASTEST_DEG_PER_MINUTE


@given(instants, st.floats(-179.0, 179.0))
def test_transit_is_the_highest_sun_at_the_equator(utc, longitude):
    transit = sun.transit_utc(utc, longitude)
    around = transit + np.arange(-60, 61) * MINUTE
    highest = sun.position(around, 0.0, longitude).altitude_deg.argmax()
    assert abs(highest - 60) <= 1  # declination shifts the top by seconds


# --- Refraction.


@given(altitudes)
def test_refraction_lifts_and_never_by_more_than_at_the_horizon(altitude):
    assert 0.0 <= sun.refraction_deg(altitude) <= MOST_REFRACTION_DEG


@given(st.floats(-90.0, 85.0), st.floats(0.0, 5.0))
def test_a_higher_sun_is_seen_higher(altitude, more):
    higher = min(altitude + more, 85.0)
    seen, seen_higher = sun.apparent_altitude_deg(np.array([altitude, higher]))
    assert seen_higher >= seen - BRANCH_STEP_DEG


# --- Crossings.


@given(inhabited, longitudes, zones, dates, levels)
def test_crossings_alternate_within_the_day_and_lie_at_the_level(
    latitude, longitude, zone, date, level
):
    found = windows.crossings(latitude, longitude, zone, date, level)
    start, end = localtime.day_utc(zone, date)
    assert all(start <= crossing.utc < end for crossing in found)
    for one, following in pairwise(found):
        assert one.utc < following.utc
        assert one.rising != following.rising
    for crossing in found:
        altitude = sun.position(crossing.utc, latitude, longitude).altitude_deg
        assert altitude == pytest.approx(level, abs=MILLISECOND_DEG)


@given(inhabited, longitudes, zones, dates, levels)
def test_the_sun_changes_sides_at_the_crossings_and_nowhere_else(
    latitude, longitude, zone, date, level
):
    found = windows.crossings(latitude, longitude, zone, date, level)
    start, end = localtime.day_utc(zone, date)
    # Off the whole minutes, on which a search might look.
    utc = np.arange(start + 17 * SECOND, end, 217 * SECOND)
    height = sun.position(utc, latitude, longitude).altitude_deg - level
    clear = np.abs(height) > GRAZE_DEG
    passed = np.searchsorted(np.array([c.utc for c in found], "datetime64[ms]"), utc)
    began_above = sun.position(start, latitude, longitude).altitude_deg >= level
    above = (passed % 2 == 1) != began_above
    assert (above == (height > 0))[clear].all()


@given(inhabited, longitudes, instants, levels, st.integers(1, 86_399))
def test_cutting_a_span_in_two_neither_loses_nor_adds_a_crossing(
    latitude, longitude, start, level, seconds
):
    cut, end = start + seconds * SECOND, start + 86_400 * SECOND
    whole = windows.crossings_between(latitude, longitude, start, end, level)
    parts = windows.crossings_between(
        latitude, longitude, start, cut, level
    ) + windows.crossings_between(latitude, longitude, cut, end, level)
    # A day that only just reaches the level may cross and return within a minute.
    apart = np.diff([c.utc for c in whole]) if len(whole) > 1 else [2 * MINUTE]
    assume(min(apart) > MINUTE)
    assert [c.rising for c in parts] == [c.rising for c in whole]
    for one, other in zip(parts, whole, strict=True):
        assert abs(one.utc - other.utc) <= np.timedelta64(100, "ms")


# --- Light windows.


@given(inhabited, longitudes, instants, st.integers(2, 400))
def test_stretches_join_change_and_add_up(latitude, longitude, start, length):
    utc = start.astype("datetime64[m]") + np.arange(length) * MINUTE
    altitude = sun.position(utc, latitude, longitude).altitude_deg
    light = windows.light_windows()
    found = windows.stretches(utc, altitude, light)
    assert found[0].start_utc == utc[0]
    assert found[-1].end_utc == utc[-1]
    assert sum((s.end_utc - s.start_utc).astype(int) for s in found) == length - 1
    for one, following in pairwise(found):
        assert one.end_utc == following.start_utc
        assert one.window != following.window
    for stretch in found:
        inside = altitude[(utc >= stretch.start_utc) & (utc < stretch.end_utc)]
        assert (inside >= stretch.window.lower_deg).all()
        assert (inside < stretch.window.upper_deg).all()


@given(altitudes)
def test_every_altitude_lies_in_the_window_it_is_given(altitude):
    light = windows.light_windows()
    (index,) = windows.window_index(np.array([altitude]), light)
    assert light[index].lower_deg <= altitude < light[index].upper_deg


# --- Local time.


@given(zones, instants)
def test_wall_times_lead_back_to_their_instant_or_to_its_twin(zone, utc):
    wall = localtime.to_wall(zone, utc)
    date = wall.astype("datetime64[D]").item()
    since_midnight = (wall - wall.astype("datetime64[D]")).item()
    back = localtime.wall_to_utc(zone, date, since_midnight)
    assert back.change != "skipped"
    assert localtime.to_wall(zone, back.utc) == wall
    if back.change == "":
        assert back.utc == utc
    else:
        assert back.utc <= utc


@given(zones, dates)
def test_days_follow_one_another_without_gap_or_overlap(zone, date):
    assume(date < dt.date(2037, 12, 31))
    start, end = localtime.day_utc(zone, date)
    following, _ = localtime.day_utc(zone, date + dt.timedelta(days=1))
    assert start <= end == following


@given(zones, st.lists(instants, max_size=20))
def test_offsets_of_many_instants_are_those_of_each(zone, utc):
    many = localtime.offset_minutes(zone, np.array(utc, "datetime64[s]"))
    assert many.tolist() == [localtime.offset_minutes(zone, one) for one in utc]
