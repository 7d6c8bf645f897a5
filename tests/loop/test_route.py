"""Routes: how legs are written and read, and where they run on the ground."""

import re

import numpy as np
import pytest
from gpxpy.geo import haversine_distance
from pyproj import Geod

from lightplan.loop import route
from lightplan.loop.route import Leg, Route
from lightplan.sky import sphere

WGS84 = Geod(ellps="WGS84")
# A sphere against the ellipsoid: at most 0.56 % (the ellipsoid's radii of curvature
# run from 6335 to 6400 km, WGS 84), bearings by 0.2° (the geodetic latitude is up to
# 0.19° from the geocentric one).
LENGTH_SHARE, BEARING_DEG = 0.0056, 0.2
# gpxpy's sphere has the equator's radius, 6378.137 km.
GPXPY_SHARE = 6378.137 / 6371.0088
SAME = 1e-9

rng = np.random.default_rng(20270812)
STARTS = [
    (float(lat), float(lon))
    for lat, lon in zip(
        rng.uniform(-80, 80, 12), rng.uniform(-180, 180, 12), strict=True
    )
]
NEAR = [  # a drive's ways: 0.3 to 80 km, in every direction
    (lat, lon, float(bearing), float(km))
    for (lat, lon), bearing, km in zip(
        STARTS, rng.uniform(0, 360, 12), np.geomspace(0.3, 80, 12), strict=True
    )
]


def apart_deg(a: float, b: float) -> float:
    return abs((a - b + 180) % 360 - 180)


# ------------------------------------------------------------- geometry


@pytest.mark.parametrize(("lat", "lon", "bearing", "km"), NEAR)
def test_lengths_and_bearings_agree_with_the_geodesic(lat, lon, bearing, km):
    # PROJ's geodesic on WGS 84 (Karney 2013).
    to_lon, to_lat, _ = WGS84.fwd(lon, lat, bearing, km * 1000)
    assert sphere.distance_km(lat, lon, to_lat, to_lon) == pytest.approx(
        km, rel=LENGTH_SHARE
    )
    way = float(sphere.bearing_deg(lat, lon, to_lat, to_lon))
    assert apart_deg(way, bearing) < BEARING_DEG


@pytest.mark.parametrize(("lat", "lon", "bearing", "km"), NEAR)
def test_a_destination_agrees_with_the_geodesic(lat, lon, bearing, km):
    to_lat, to_lon = sphere.destination(lat, lon, bearing, km)
    way, _, metres = WGS84.inv(lon, lat, float(to_lon), float(to_lat))
    assert metres / 1000 == pytest.approx(km, rel=LENGTH_SHARE)
    assert apart_deg(way, bearing) < BEARING_DEG


@pytest.mark.parametrize(("lat", "lon", "bearing", "km"), NEAR)
def test_lengths_agree_with_the_parsers_own_haversine(lat, lon, bearing, km):
    to_lat, to_lon = (float(v) for v in sphere.destination(lat, lon, bearing, km))
    theirs = haversine_distance(lat, lon, to_lat, to_lon) / 1000
    assert theirs / GPXPY_SHARE == pytest.approx(km, rel=1e-6)


def test_a_quarter_of_a_meridian_is_ten_thousand_kilometres():
    # The metre's first definition; 10,001.966 km on WGS 84.
    assert sphere.distance_km(0, 20, 90, 20) == pytest.approx(10_001.966, rel=0.001)


def test_across_the_180th_meridian_a_way_is_short():
    # A degree of longitude on the equator is 111.32 km (WGS 84).
    assert sphere.distance_km(0, 179.5, 0, -179.5) == pytest.approx(111.32, rel=0.002)
    assert sphere.bearing_deg(0, 179.5, 0, -179.5) == pytest.approx(90)
    _, longitude = sphere.destination(0, 179.9, 90, 40)
    assert -180 <= longitude < -179


@pytest.mark.parametrize("bearing", [0.0, 90.0, 123.0])
def test_from_a_pole_every_way_goes_towards_the_equator(bearing):
    latitude, _ = sphere.destination(90, 0, bearing, 10)
    # 10 km of a meridian near the pole, 111.69 km a degree (WGS 84).
    assert latitude == pytest.approx(90 - 10 / 111.69, abs=0.001)


@pytest.mark.parametrize("start", [(0.0, 180.0), (52.0, 5.0), (-13.1, 31.8)])
def test_a_square_of_a_kilometre_closes(start):
    legs = tuple(Leg(bearing, 1.0) for bearing in (0, 90, 180, 270))
    laid = route.track(Route(legs, start), 0, 0, 20)
    end = laid.latitude_deg[-1], laid.longitude_deg[-1]
    # Meridians converge: 1 km · 1 km · tan(latitude) / 6371 km.
    assert sphere.distance_km(*start, *end) < 0.001


@pytest.mark.parametrize("start", [(-13.1, 31.8), (0.0, 180.0), (90.0, 0.0)])
def test_the_plane_keeps_distance_from_the_start(start):
    latitude, longitude = sphere.destination(*start, np.arange(0, 360, 30), 7.0)
    east, north = sphere.plane_km(latitude, longitude, start)
    assert np.hypot(east, north) == pytest.approx(np.full(12, 7.0), rel=1e-6)


def test_on_the_plane_north_is_up_and_east_is_right():
    east, north = sphere.plane_km([-13.0, -13.1], [31.8, 31.9], (-13.1, 31.8))
    assert north[0] > 10
    assert abs(east[0]) < 0.01
    assert east[1] > 10
    assert abs(north[1]) < 0.02


# ------------------------------------------------------------- legs as text


@pytest.mark.parametrize(
    ("text", "leg"),
    [
        ("45 3.2 km", Leg(45, 3.2)),
        ("45° 3.2km", Leg(45, 3.2)),
        ("45 800 m", Leg(45, 0.8)),
        ("120 15 min", Leg(120, None, 15)),
        ("120 2 km 15 min", Leg(120, 2, 15)),
        ("NE 1 km", Leg(45, 1)),
        ("wnw 1 km", Leg(292.5, 1)),  # three quarters of a circle and a sixteenth
        ("360 1 km", Leg(0, 1)),
    ],
)
def test_a_leg_is_read(text, leg):
    assert route.read_legs(text).legs == (leg,)


def test_a_stop_has_no_way():
    assert route.read_legs("N 1 km\nstop 10 min").legs[1] == Leg(None, None, 10)


def test_lines_may_be_parted_by_semicolons_and_blank_lines():
    assert len(route.read_legs("N 1 km; E 1 km\n\n S 1 km").legs) == 3


def test_a_first_line_may_say_where_it_starts():
    assert route.read_legs("from -18.25 25.5\nN 1 km").start == (-18.25, 25.5)
    assert route.read_legs("N 1 km").start is None


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "at least one leg"),
        ("stop 10 min", "at least one leg"),
        ("45 0 km", "at least one leg"),
        ("45", "leg 1 must be written like"),
        ("N 1 km\nforty five 3 km", "leg 2 must be written like"),
        ("45 -3 km", "leg 1 must be written like"),
        ("45 nan km", "leg 1 must be written like"),
        ("365 3 km", "0 to 360° or a compass point like NE, got 365"),
        (
            "XYZ 3 km",
            "bearing of leg 1 must be 0 to 360° or a compass point like NE, got 'XYZ'",
        ),
        ("45 501 km", "leg 1 must be at most 500 km, got 501"),
        ("45 1441 min", "leg 1 must be at most 1440 min, got 1441"),
        ("stop 3 km", "leg 1 is a stop"),
        ("N 1 km; 45 3 km 0 min", "leg 2 goes 3 km in 0 min: give it more minutes"),
        (
            "45 500 km 1 min",
            "leg 1 must be at most 120 km/h, got 500 km in 1 min, which is 30,000 km/h",
        ),
        ("from 91 0\nN 1 km", "latitude of -90 to 90°"),
        ("from here\nN 1 km", "the start must be written like"),
        ("\n".join(["N 1 km"] * 61), "at most 60 legs, got 61"),
        ("N 1 km" + " " * 5000, "at most 4000 characters"),
    ],
)
def test_a_wrong_text_is_refused_in_one_sentence(text, said):
    with pytest.raises(ValueError, match=re.escape(said)) as refused:
        route.read_legs(text)
    assert "\n" not in str(refused.value)


def test_a_run_of_spaces_is_one():
    # As written, the pattern for a start would try such runs for minutes.
    with pytest.raises(ValueError, match="got 'from 1 x'"):
        route.read_legs("from 1" + " " * 3900 + "x")
    assert route.read_legs("45   3.2\t km").legs == (Leg(45, 3.2),)


def test_legs_of_no_length_are_left_out_and_counted():
    found = route.read_legs("N 1 km\nE 0 km\nE 0 min\nS 1 km")
    assert [leg.bearing_deg for leg in found.legs] == [0, 180]
    assert found.skipped == 2


def test_a_leg_of_no_length_with_minutes_is_a_stop():
    found = route.read_legs("45 0 km 10 min; 90 2 km; 30 0 m 0 min")
    assert found.legs == (Leg(None, None, 10), Leg(90, 2))
    assert found.skipped == 1


def test_a_leg_may_be_as_fast_as_the_speed_that_counts_for_all():
    # 2 km a minute are 120 km/h.
    assert route.read_legs("45 2 km 1 min").legs == (Leg(45, 2, 1),)


def test_legs_between_points_in_a_hurry_can_be_read_back():
    # Times to the minute, points a second apart: 1.1 km in none.
    latitude, minutes = np.array([0, 0.01, 0.02, 0.1]), np.array([0.0, 0, 1, 40])
    found = route.through(latitude, np.zeros(4), minutes)
    assert sum(leg.minutes for leg in found.legs) == pytest.approx(40)
    assert route.read_legs(route.write_legs(found)).legs == found.legs


def test_what_is_written_is_read_back():
    legs = (Leg(45, 3.21), Leg(120, None, 15), Leg(None, None, 4.5), Leg(0, 0.125, 2))
    whole = Route(legs, (-13.1, 131.86))
    assert route.read_legs(route.write_legs(whole)) == whole


def test_a_start_is_written_to_a_hundredth_of_a_degree():
    # What a GPX file becomes goes into the address: a car park to a metre would too.
    whole = Route((Leg(45, 3.21),), (-13.17341, 131.86529))
    assert route.write_legs(whole).splitlines() == ["from -13.17 131.87", "45 3.21 km"]


@pytest.mark.parametrize(
    ("typed", "linked"),
    [
        ("from -13.17341 131.86529\n45 0.256 km", "from -13.17 131.87\n45 0.256 km"),
        (
            " From  -.17341°,  31.8 ; NE 1.234 km ",
            " From  -0.17°,  31.8 ; NE 1.234 km ",
        ),
        # Wrong lines are in the address too, so that they are not lost.
        ("-13.17341, 131.86529", "-13.17, 131.87"),
        ("N 5 km\nfrom -13,17341 131,86529", "N 5 km\nfrom -13,17 131,87"),
        ("from 1.25,125.50", "from 1.25,125.50"),
        ("from -13.1 31.80\n45.125 3 km", "from -13.1 31.80\n45.125 3 km"),
    ],
)
def test_legs_tell_no_position_to_a_metre_and_keep_their_lengths(typed, linked):
    assert route.coarse_start(typed) == linked


# ------------------------------------------------------------- on the ground


def test_a_speed_gives_minutes_and_minutes_give_a_length():
    laid = route.track(route.read_legs("N 5 km\nE 15 min\nS 5 km 40 min"), 0, 0, 20)
    # 5 km at 20 km/h take 15 min; 15 min at 20 km/h are 5 km.
    assert laid.minutes == pytest.approx([0, 15, 30, 70])
    assert laid.km == pytest.approx([0, 5, 10, 15])


def test_a_stop_keeps_the_heading_and_the_place():
    laid = route.track(route.read_legs("E 1 km\nstop 10 min\nS 1 km"), 0, 0, 60)
    assert laid.heading_deg == pytest.approx([90, 90, 180])
    assert laid.minutes == pytest.approx([0, 1, 11, 12])
    assert laid.longitude_deg[1] == laid.longitude_deg[2]


def test_a_stop_at_the_start_has_the_heading_of_the_first_way():
    laid = route.track(route.read_legs("stop 10 min\nS 1 km"), 0, 0, 60)
    assert laid.heading_deg == pytest.approx([180, 180])


def test_a_route_of_more_than_a_day_is_refused():
    with pytest.raises(ValueError, match="at most 24 hours, got 50 h at 10 km/h"):
        route.track(route.read_legs("N 500 km"), 0, 0, 10)


def test_roundings_of_sixty_legs_do_not_add_up():
    turns = np.radians(np.linspace(0, 360, 61))
    latitude, longitude = -13.1 + 0.03 * np.sin(turns), 31.8 + 0.03 * np.cos(turns)
    found = route.through(latitude, longitude, None)
    laid = route.track(found, 0, 0, 15)
    off = sphere.distance_km(laid.latitude_deg, laid.longitude_deg, latitude, longitude)
    # One leg's own rounding: half a degree of 0.35 km, and half a metre.
    assert off.max() < 0.35 * np.radians(0.5) + 0.001


def test_repeated_points_make_no_leg_and_waiting_makes_a_stop():
    latitude = np.array([0.0, 0.0, 0.01, 0.01])
    found = route.through(latitude, np.zeros(4), np.array([0.0, 0.0, 5.0, 12.0]))
    assert found.skipped == 1
    assert found.legs == (Leg(0, 1.11, 5.0), Leg(None, None, 7.0))
