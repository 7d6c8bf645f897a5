"""Shapes, missing values and errors of the sun's functions."""

import numpy as np
import pytest

from lightplan.sky import sun

UTC = np.datetime64("2027-08-12T04:17:31")
NOT_A_TIME = np.datetime64("NaT", "s")
NAN = float("nan")


@pytest.fixture
def minutes():
    return np.arange("2027-08-12", "2027-08-14", 7, dtype="datetime64[m]")


def test_a_scalar_gives_exactly_the_arrays_element(minutes):
    whole = sun.position(minutes, -13.1, 31.8)
    for i, minute in enumerate(minutes):
        one = sun.position(minute, -13.1, 31.8)
        assert one.altitude_deg == whole.altitude_deg[i]
        assert one.azimuth_deg == whole.azimuth_deg[i]


def test_the_value_does_not_depend_on_the_other_instants(minutes):
    # Scattered instants take another path to the hourly grid than dense ones.
    far = np.datetime64("1950-01-01T00:30")
    mixed = sun.position(np.append(minutes, far), -13.1, 31.8)
    alone = sun.position(minutes, -13.1, 31.8)
    np.testing.assert_array_equal(mixed.altitude_deg[:-1], alone.altitude_deg)
    np.testing.assert_array_equal(mixed.azimuth_deg[:-1], alone.azimuth_deg)


def test_a_scalar_transit_gives_exactly_the_arrays_element():
    near = np.arange("2027-01-01", "2028-01-01", 9, dtype="datetime64[D]")
    whole = sun.transit_utc(near, 31.8)
    assert [sun.transit_utc(day, 31.8) for day in near] == list(whole)


def test_transits_of_places_down_and_days_across_broadcast():
    near = np.arange("2027-01-01", "2027-01-08", dtype="datetime64[D]")
    longitude = np.array([[31.8], [-90.0]])
    table = sun.transit_utc(near, longitude)
    assert table.shape == (2, 7)
    np.testing.assert_array_equal(table[1], sun.transit_utc(near, -90.0))


def test_a_scalar_refraction_gives_exactly_the_arrays_element():
    altitude = np.linspace(-90.0, 90.0, 721)
    whole = sun.refraction_deg(altitude)
    assert [float(sun.refraction_deg(h)) for h in altitude] == whole.tolist()


def test_places_down_and_instants_across_broadcast(minutes):
    latitude = np.array([[-13.1], [0.0], [60.0]])
    longitude = np.array([[31.8], [-90.0], [179.5]])
    table = sun.position(minutes, latitude, longitude)
    assert table.altitude_deg.shape == table.azimuth_deg.shape == (3, minutes.size)
    for i in range(3):
        row = sun.position(minutes, latitude[i, 0], longitude[i, 0])
        np.testing.assert_array_equal(table.altitude_deg[i], row.altitude_deg)
        np.testing.assert_array_equal(table.azimuth_deg[i], row.azimuth_deg)


def test_a_coordinate_alone_may_be_the_array():
    position = sun.position(UTC, np.linspace(-90.0, 90.0, 7), 31.8)
    assert position.altitude_deg.shape == (7,)
    assert position.altitude_deg[3] == sun.position(UTC, 0.0, 31.8).altitude_deg


def test_a_scalar_gives_an_array_without_dimensions():
    position = sun.position(UTC, -13.1, 31.8)
    assert position.altitude_deg.shape == position.azimuth_deg.shape == ()


@pytest.mark.parametrize("shape", [(0,), (0, 3), (3, 0)])
def test_empty_in_empty_out(shape):
    position = sun.position(np.empty(shape, "datetime64[s]"), -13.1, 31.8)
    assert position.altitude_deg.shape == position.azimuth_deg.shape == shape
    assert sun.refraction_deg(np.empty(shape)).shape == shape
    assert sun.ephemeris(np.empty(shape)).declination_deg.shape == shape


@pytest.mark.parametrize("unit", ["D", "h", "m", "s", "ms", "us", "ns"])
def test_the_unit_of_the_instants_does_not_matter(unit):
    day = np.datetime64("2027-08-12")
    coarse = sun.position(day, -13.1, 31.8)
    assert sun.position(day.astype(f"datetime64[{unit}]"), -13.1, 31.8) == coarse


# pytest turns every warning into an error (pyproject.toml), so these tests also
# claim silence.


def test_not_a_time_gives_nan_and_leaves_the_others_alone():
    utc = np.array([UTC, NOT_A_TIME, UTC])
    position = sun.position(utc, -13.1, 31.8)
    expected = sun.position(UTC, -13.1, 31.8)
    for ours, single in zip(position, expected, strict=True):
        np.testing.assert_array_equal(ours, [single, np.nan, single])


def test_not_a_time_spreads_over_every_place():
    utc = np.array([UTC, NOT_A_TIME])
    altitude = sun.position(utc, np.array([[0.0], [50.0]]), 0.0).altitude_deg
    assert np.isnan(altitude).tolist() == [[False, True], [False, True]]


def test_nothing_but_not_a_time_gives_nothing_but_nan():
    for utc in (NOT_A_TIME, np.array([NOT_A_TIME, NOT_A_TIME])):
        position = sun.position(utc, -13.1, 31.8)
        assert np.isnan(position.altitude_deg).all()
        assert np.isnan(position.azimuth_deg).all()


@pytest.mark.parametrize(("latitude", "longitude"), [(NAN, 0.0), (0.0, NAN)])
def test_a_missing_coordinate_gives_nan(latitude, longitude):
    position = sun.position(UTC, latitude, longitude)
    assert np.isnan(position.altitude_deg)
    assert np.isnan(position.azimuth_deg)


def test_a_missing_coordinate_leaves_the_other_places_alone():
    altitude = sun.position(UTC, np.array([NAN, 10.0]), 0.0).altitude_deg
    assert np.isnan(altitude[0])
    assert altitude[1] == sun.position(UTC, 10.0, 0.0).altitude_deg


def test_a_missing_altitude_gives_nan_for_refraction_and_apparent_altitude():
    altitude = np.array([NAN, -90.0, -0.575, 0.0, 5.0, 85.0, 90.0])
    for result in (sun.refraction_deg(altitude), sun.apparent_altitude_deg(altitude)):
        assert np.isnan(result).tolist() == [True] + 6 * [False]


@pytest.mark.parametrize("value", [90.001, -95.0, float("inf"), -float("inf")])
def test_a_latitude_outside_the_globe_is_named_with_its_range(value):
    with pytest.raises(ValueError, match=r"^latitude_deg must be in \[-90, 90\]") as e:
        sun.position(UTC, np.array([0.0, value]), 0.0)
    assert f"got {value:g}" in str(e.value)


@pytest.mark.parametrize("value", [180.001, -181.0, 360.0])
def test_a_longitude_outside_the_globe_is_named_with_its_range(value):
    with pytest.raises(
        ValueError, match=r"^longitude_deg must be in \[-180, 180\]"
    ) as e:
        sun.position(UTC, 0.0, value)
    assert f"got {value:g}" in str(e.value)


@pytest.mark.parametrize(
    "place", [(90.0, 0.0), (-90.0, 0.0), (0.0, 180.0), (0.0, -180.0)]
)
def test_the_edges_of_the_globe_are_on_it(place):
    assert np.isfinite(sun.position(UTC, *place)).all()


def test_the_two_names_of_the_date_line_are_one_place(minutes):
    east, west = sun.position(minutes, 50.0, 180.0), sun.position(minutes, 50.0, -180.0)
    np.testing.assert_allclose(east.altitude_deg, west.altitude_deg, rtol=0, atol=1e-9)


def test_azimuth_comes_round_to_zero_and_never_reaches_360():
    # Longitudes on either side of the meridian the sun stands over, as near to it
    # as doubles lie: due north may be missed by less than 360° can tell.
    noon = np.datetime64("2027-06-21T12:00")
    century = (noon - np.datetime64("2000-01-01T12")) / np.timedelta64(36525, "D")
    under = -float(sun.ephemeris(century).equation_of_time_min) / 4.0
    longitude = under + np.arange(-2000, 2001) * np.spacing(under)
    azimuth = sun.position(noon, -60.0, longitude).azimuth_deg
    assert azimuth.min() == 0.0
    assert azimuth.max() > 359.0
    assert (azimuth < 360.0).all()
    assert np.minimum(azimuth, 360.0 - azimuth).max() < 1e-9  # north, all of them


def test_refraction_where_noaas_branches_meet_is_that_of_the_lower_one():
    # Column AF: IF(h>85, 0, IF(h>5, …, IF(h>-0.575, …, …))). At 5° the third one is
    # 1735 − 518.2·5 + 103.4·25 − 12.79·125 + 0.711·625 = 574.625″.
    tan = np.tan(np.radians(-0.575))
    cot = 1 / np.tan(np.radians(85.0))
    arcseconds = 3600 * sun.refraction_deg([-0.575, 5.0, 85.0])
    below, high = -20.772 / tan, 58.1 * cot - 0.07 * cot**3 + 0.000086 * cot**5
    np.testing.assert_allclose(arcseconds, [below, 574.625, high], rtol=1e-9)


def test_refraction_ends_five_degrees_from_the_zenith():
    # NOAA's workbook, column AF: nothing above 85°.
    high = np.array([85.0, np.nextafter(85.0, 90.0), 90.0])
    assert (sun.refraction_deg(high) > 0.0).tolist() == [True, False, False]
