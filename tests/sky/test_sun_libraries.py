"""The sun against general-purpose libraries, anywhere, at any time from 1950 to 2037."""

import datetime as dt

import astral
import astral.sun
import numpy as np
import pytest
from pvlib import spa as pvlib_spa

from lightplan.sky import sun

# NOAA's equations stay within 0.016° of JPL DE421 (tried); SPA subtracts the
# sun's parallax (0.0024°) besides.
SPA_DEG = 0.02
# astral computes the same NOAA equations (only with_refraction=False is geometric):
# a difference would be a slip in one of us, not a matter of theory.
ASTRAL_DEG = 1e-6
# The earth turns 0.016° in 3.8 s.
TRANSIT_S = 4.0
# NOAA fits refraction in branches; SPA takes Bennett's inverse (Saemundsson).
REFRACTION_DEG = 0.0025

# NOAA's low branch passes 0.006° above the conventional 34 arcminutes.
HORIZON_DEG = 0.01

PLACES = 4000
SEED = 20270812


def direction(altitude_deg, azimuth_deg):
    """Unit vectors east, north, up."""
    altitude, azimuth = np.radians(altitude_deg), np.radians(azimuth_deg)
    return np.stack(
        [
            np.cos(altitude) * np.sin(azimuth),
            np.cos(altitude) * np.cos(azimuth),
            np.sin(altitude),
        ]
    )


def separation_deg(one, other):
    """Angle on the sky between two positions.

    An azimuth means little when the sun stands overhead; the angle between the
    two directions weighs it by the cosine of the altitude, so the zenith needs
    no exception. At the earth's poles south and north are told by the given
    longitude's meridian, in SPA as in ours.
    """
    chord = np.linalg.norm(direction(*one) - direction(*other), axis=0)
    return np.degrees(2.0 * np.arcsin(chord / 2.0))


@pytest.fixture(scope="module")
def anywhere():
    """Instants and places, even over the globe and over 1950-2037."""
    random = np.random.default_rng(SEED)
    first, last = np.datetime64("1950-01-01", "s"), np.datetime64("2038-01-01", "s")
    span = (last - first).astype(int)
    utc = first + random.integers(0, span, PLACES).astype("timedelta64[s]")
    latitude = np.degrees(np.arcsin(random.uniform(-1.0, 1.0, PLACES)))
    return utc, latitude, random.uniform(-180.0, 180.0, PLACES)


def test_altitude_agrees_with_spa(anywhere, spa):
    ours, theirs = sun.position(*anywhere), spa(*anywhere)
    difference = np.abs(ours.altitude_deg - theirs.altitude_deg)
    assert difference.max() <= SPA_DEG


def test_direction_agrees_with_spa(anywhere, spa):
    assert separation_deg(sun.position(*anywhere), spa(*anywhere)).max() <= SPA_DEG


def test_azimuth_agrees_with_spa_where_the_sun_is_low(anywhere, spa):
    # Below 30° the cosine of the altitude hides little of the azimuth.
    ours, theirs = sun.position(*anywhere), spa(*anywhere)
    low = np.abs(theirs.altitude_deg) < 30.0
    turn = (ours.azimuth_deg - theirs.azimuth_deg + 180.0) % 360.0 - 180.0
    assert low.sum() > PLACES / 3
    assert np.abs(turn[low]).max() <= SPA_DEG / np.cos(np.radians(30.0))


@pytest.mark.parametrize("latitude_deg", [90.0, -90.0, 89.9, -89.9])
def test_direction_agrees_with_spa_at_the_poles(anywhere, spa, latitude_deg):
    utc, _, longitude = anywhere
    ours = sun.position(utc, latitude_deg, longitude)
    assert separation_deg(ours, spa(utc, latitude_deg, longitude)).max() <= SPA_DEG


def test_direction_agrees_with_astral(anywhere):
    utc, latitude, longitude = anywhere
    settled = np.abs(latitude) <= 89.8  # astral moves places nearer the pole to 89.8°
    utc, latitude, longitude = utc[settled], latitude[settled], longitude[settled]
    theirs = [
        astral.sun.zenith_and_azimuth(
            astral.Observer(float(phi), float(lam)),
            moment.replace(tzinfo=dt.UTC),
            with_refraction=False,
        )
        for moment, phi, lam in zip(utc.tolist(), latitude, longitude, strict=True)
    ]
    zenith, azimuth = np.transpose(theirs)
    ours = sun.position(utc, latitude, longitude)
    assert np.abs(ours.altitude_deg - (90.0 - zenith)).max() <= ASTRAL_DEG
    assert separation_deg(ours, (90.0 - zenith, azimuth)).max() <= ASTRAL_DEG


def test_a_year_of_minutes_at_one_place_agrees_with_spa(spa):
    # Every 37th minute: all hours, all seasons, and no step in tune with the
    # hourly grid on which the slow terms are computed.
    utc = np.arange("2027-01-01", "2028-01-01", 37, dtype="datetime64[m]")
    place = -13.1, 31.8
    assert separation_deg(sun.position(utc, *place), spa(utc, *place)).max() <= SPA_DEG


@pytest.mark.parametrize("scatter", ["dense", "scattered"])
def test_hourly_slow_terms_cost_nothing(scatter):
    # astral computes declination and equation of time at the instant itself.
    random = np.random.default_rng(SEED)
    span = 2 if scatter == "dense" else 30_000  # days; either path to the nodes
    seconds = random.integers(0, span * 86_400, 300)
    utc = np.datetime64("1951-06-01", "s") + seconds.astype("timedelta64[s]")
    observer = astral.Observer(-13.1, 31.8)
    theirs = [
        90.0
        - astral.sun.zenith(observer, m.replace(tzinfo=dt.UTC), with_refraction=False)
        for m in utc.tolist()
    ]
    ours = sun.position(utc, -13.1, 31.8).altitude_deg
    assert np.abs(ours - theirs).max() <= ASTRAL_DEG


def test_transit_agrees_with_spa(spa):
    random = np.random.default_rng(SEED)
    days = np.datetime64("1950-01-01") + random.integers(0, 88 * 365, 200).astype(
        "timedelta64[D]"
    )
    # Farther from Greenwich transit may leave the UT day in which SPA looks for it.
    longitudes = random.uniform(-170.0, 170.0, days.size)
    for day, longitude in zip(days, longitudes, strict=True):
        midnight = np.array([day.astype("datetime64[s]").astype(float)])
        delta_t = pvlib_spa.calculate_deltat(day.item().year, day.item().month)
        transit, _, _ = pvlib_spa.transit_sunrise_sunset(
            midnight, 0.0, longitude, delta_t, 1
        )
        theirs = np.datetime64(round(1000 * transit[0]), "ms")
        ours = sun.transit_utc(
            day.astype("datetime64[h]") + np.timedelta64(12, "h"), longitude
        )
        apart = abs((ours - theirs) / np.timedelta64(1, "s"))
        assert apart <= TRANSIT_S, (day, longitude)


def test_transit_is_the_one_nearest_the_given_instant(anywhere):
    utc, _, longitude = anywhere
    half_a_day = np.timedelta64(12, "h")
    # From one transit to the next it is up to 30 s longer than a day: the equation
    # of time's fastest change, around 22 December (from memory, not confirmed).
    slack = np.timedelta64(15, "s")
    for near, lam in zip(utc[:500], longitude[:500], strict=True):
        assert abs(sun.transit_utc(near, lam) - near) <= half_a_day + slack


def test_the_sun_stands_south_or_north_at_transit(anywhere, spa):
    utc, latitude, longitude = anywhere
    far = np.abs(latitude) > 24.0  # outside the tropics it is plain which
    utc, latitude, longitude = utc[far][:500], latitude[far][:500], longitude[far][:500]
    pairs = zip(utc, longitude, strict=True)
    transit = np.array([sun.transit_utc(near, lam) for near, lam in pairs])
    sky = spa(transit, latitude, longitude)
    meridian = np.where(latitude > 0, 180.0, 0.0)
    assert separation_deg(sky, (sky.altitude_deg, meridian)).max() <= SPA_DEG


def test_refraction_agrees_with_spas():
    # Saemundsson's formula at NOAA's conditions, sea level (1010 hPa) and 10 °C.
    altitude = np.arange(-0.57, 85.0, 0.01)
    theirs = pvlib_spa.atmospheric_refraction_correction(1010.0, 10.0, altitude, 0.5667)
    assert np.abs(sun.refraction_deg(altitude) - theirs).max() <= REFRACTION_DEG


def test_refraction_lifts_the_sun_by_34_arcminutes_at_the_horizon():
    # The Astronomical Almanac's standard horizon, behind 90°50' for sunrise.
    geometric = -34.0 / 60.0
    assert sun.apparent_altitude_deg(geometric) == pytest.approx(0.0, abs=HORIZON_DEG)
