"""Bearings: which side the sun lights, where the vehicle stands, how long shadows are.

Expected bearings are worked by hand from one sentence: whoever looks along a
bearing stands on the opposite side of what is looked at.
"""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lightplan.light import backlight
from lightplan.sky import sun

EXACT_DEG = 1e-9  # sums of a few degrees in floating point
# Our azimuth is NOAA's own equations; the sheet rounds nothing either.
NOAA_DEG = 0.01
# NREL's worked example is good to 0.0003°; ours is within 0.016° of JPL's ephemeris,
# which at 40° altitude moves a shadow by less than a thousandth of its length.
SHADOW_SHARE = 0.001

bearings = st.floats(0.0, 360.0, exclude_max=True)


# ------------------------------------------------------------- the angle at the animal


@pytest.mark.parametrize(
    ("look", "azimuth", "facing"),
    [
        (90, 90, 180),  # into the sun
        (270, 90, 0),  # the sun behind one's back
        (0, 90, 90),
        (180, 90, 90),
        (350, 10, 160),  # over north, 20° apart
        (10, 350, 160),
        (0, 360, 180),  # both are north
    ],
)
def test_facing_is_a_half_turn_less_the_angle_between_look_and_sun(
    look, azimuth, facing
):
    assert backlight.facing_deg(look, azimuth) == pytest.approx(facing, abs=EXACT_DEG)


@given(bearings, bearings)
def test_facing_does_not_tell_left_from_right(azimuth, off):
    left = backlight.facing_deg(azimuth - off, azimuth)
    right = backlight.facing_deg(azimuth + off, azimuth)
    assert left == pytest.approx(float(right), abs=1e-6)


@pytest.mark.parametrize(
    ("facing", "key"),
    [
        (0, "front"),
        (44.9, "front"),
        (45, "side"),
        (119.9, "side"),
        (120, "rim"),
        (159.9, "rim"),
        (160, "back"),
        (180, "back"),
    ],
)
def test_a_sectors_first_degree_is_its_own_and_its_last_the_nexts(facing, key):
    assert backlight.SECTORS[int(backlight.sector_index(facing))].key == key


# ------------------------------------------------------------- where to look


def test_looks_at_a_sun_in_the_west_north_west_are_those_worked_by_hand():
    # Sun at 285°. Backlight within 20° of it, rim 20–60° beside it, side 60–135°.
    found = [
        (look.sector.key, look.from_deg, look.to_deg) for look in backlight.looks(285.0)
    ]
    assert found == [
        ("front", 60.0, 150.0),
        ("side", 150.0, 225.0),
        ("side", 345.0, 60.0),
        ("rim", 225.0, 265.0),
        ("rim", 305.0, 345.0),
        ("back", 265.0, 305.0),
    ]


def test_the_middle_of_a_look_over_north_is_that_worked_by_hand():
    # From 345° to 60° are 75°; half of them, 37.5°, end 22.5° past north.
    look = backlight.Look(backlight.SECTORS[1], 345.0, 60.0)
    assert look.middle_deg == 22.5


@given(bearings)
def test_looks_go_once_round(azimuth):
    looks = backlight.looks(azimuth)
    widths = [(look.to_deg - look.from_deg) % 360.0 for look in looks]
    assert sum(widths) == pytest.approx(360.0)


@given(bearings)
def test_the_middle_of_a_look_has_the_light_it_is_named_for(azimuth):
    for look in backlight.looks(azimuth):
        facing = backlight.facing_deg(look.middle_deg, azimuth)
        index = int(backlight.sector_index(facing))
        assert backlight.SECTORS[index].key == look.sector.key


@given(bearings)
def test_of_two_looks_the_first_has_the_sun_on_its_right(azimuth):
    for key in ("side", "rim"):
        left, right = (x for x in backlight.looks(azimuth) if x.sector.key == key)
        assert (azimuth - left.middle_deg) % 360 < 180
        assert (azimuth - right.middle_deg) % 360 > 180


@pytest.mark.parametrize("azimuth", [math.nan, math.inf])
def test_a_bearing_that_is_none_is_refused_in_a_sentence(azimuth):
    with pytest.raises(ValueError, match="bearing must be a number of degrees, got"):
        backlight.looks(azimuth)


# Azimuths of NOAA's own workbook (tests/data/README.md, N1 to N6): the middle of
# backlight is that bearing, and the vehicle stands half a turn from it.
def test_backlight_at_noaas_azimuths_is_looked_at_along_them(rows):
    checked = 0
    for row in rows("noaa_spreadsheet_rows.csv"):
        zone = float(row["timezone_h_e"])
        minutes = round(float(row["local_time_dayfrac"]) * 24 * 60 * 60)
        utc = np.datetime64(row["date"], "s") + np.timedelta64(
            round(minutes - zone * 3600), "s"
        )
        place = float(row["latitude_deg_n"]), float(row["longitude_deg_e"])
        ours = float(sun.position(utc, *place).azimuth_deg)
        published = float(row["solar_azimuth_deg_cw_from_n"])
        back = next(x for x in backlight.looks(ours) if x.sector.key == "back")
        apart = (back.middle_deg - published + 180) % 360 - 180
        assert abs(apart) < NOAA_DEG, row["source"]
        stand = backlight.stand_deg(back.middle_deg)
        opposite = (stand - published) % 360
        assert opposite == pytest.approx(180, abs=NOAA_DEG)
        checked += 1
    assert checked == 40


# ------------------------------------------------------------- where to stand


@pytest.mark.parametrize(("look", "stand"), [(118, 298), (298, 118), (0, 180)])
def test_the_vehicle_stands_half_a_turn_from_its_look(look, stand):
    assert backlight.stand_deg(look) == stand


@pytest.mark.parametrize(
    ("bearing", "name"),
    [
        (0, "north"),
        (11.2, "north"),
        (11.3, "north-north-east"),
        (22.5, "north-north-east"),
        (45, "north-east"),
        (67.5, "east-north-east"),
        (90, "east"),
        (135, "south-east"),
        (180, "south"),
        (225, "south-west"),
        (270, "west"),
        (293, "west-north-west"),
        (310, "north-west"),
        (359, "north"),
    ],
)
def test_a_side_is_the_nearest_of_sixteen(bearing, name):
    assert backlight.side_name(bearing) == name


@pytest.mark.parametrize("azimuth", range(0, 360, 5))
def test_the_places_for_rim_light_and_backlight_have_three_names(azimuth):
    names = {
        backlight.side_name(look.middle_deg)
        for look in backlight.looks(azimuth)
        if look.sector.key in ("rim", "back")
    }
    assert len(names) == 3


# 30 m at 45° is 30/√2 m either way; at 150° cos is −√3/2 and sin is 1/2.
@pytest.mark.parametrize(
    ("bearing", "north", "east"),
    [
        (0, 30, 0),
        (45, 21.2132, 21.2132),
        (90, 0, 30),
        (150, -25.9808, 15),
        (270, 0, -30),
    ],
)
def test_metres_from_the_animal_are_those_of_the_right_triangle(bearing, north, east):
    assert backlight.offset_m(bearing, 30.0) == pytest.approx((north, east), abs=1e-4)


# Common practice of navigation: "east is least", magnetic = true − declination east.
@pytest.mark.parametrize(
    ("true", "declination", "magnetic"),
    [(100, 5, 95), (100, -5, 105), (2, 5, 357), (358, -5, 3)],
)
def test_the_compass_reads_less_where_the_needle_points_east(
    true, declination, magnetic
):
    assert backlight.magnetic_deg(true, declination) == magnetic


# ------------------------------------------------------------- shadows


# Cotangents of angles whose tangent is known: 1, 1/√3, √3, 1/2, 1/10, 1/100.
@pytest.mark.parametrize(
    ("apparent", "length"),
    [
        (45, 1),
        (30, math.sqrt(3)),
        (60, 1 / math.sqrt(3)),
        (math.degrees(math.atan(0.5)), 2),
        (math.degrees(math.atan(0.1)), 10),
        (math.degrees(math.atan(0.01)), 100),  # 0.57°: the sun just up
    ],
)
def test_a_metre_throws_the_cotangent_of_the_suns_altitude(apparent, length):
    assert backlight.shadow_per_m(apparent) == pytest.approx(length, rel=1e-12)


def test_a_sun_overhead_throws_no_shadow():
    assert backlight.shadow_per_m(90.0) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("apparent", [0.0, -3.0])
def test_a_sun_that_is_not_up_throws_an_endless_one(apparent):
    assert backlight.shadow_per_m(apparent) == np.inf


def test_an_unknown_altitude_gives_no_length_and_keeps_the_shape():
    found = backlight.shadow_per_m([[np.nan, 45.0]])
    assert found.shape == (1, 2)
    assert np.isnan(found[0, 0])
    assert found[0, 1] == pytest.approx(1.0)


def test_the_shadow_of_nrels_worked_example_has_the_length_of_its_zenith_angle():
    # NREL/TP-560-34302 (rev. 2008): 2003-10-17 12:30:30 at UTC−7, 39.742476° N,
    # 105.1786° W: topocentric zenith angle 50.11162°, refraction within it.
    at = sun.position(
        np.datetime64("2003-10-17T19:30:30"), 39.742476, -105.1786
    ).altitude_deg
    length = float(backlight.shadow_per_m(sun.apparent_altitude_deg(at)))
    expected = math.tan(math.radians(50.11162))
    assert length == pytest.approx(expected, rel=SHADOW_SHARE)
