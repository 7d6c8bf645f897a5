"""Print the README's table "How accurate it is": python tests/bench/accuracy.py.

The tests hold limits; this prints how far from the same sources we really are.
Samples are drawn from a fixed seed, so that a second run prints the same table.
"""

import datetime as dt
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pandas as pd
from pvlib import solarposition

from lightplan.camera import exposure
from lightplan.light import chromaticity, daylight, spectrum
from lightplan.sky import moon, sun, windows

sys.path.extend(
    str(Path(__file__).resolve().parents[1] / name)
    for name in (".", "sky", "light", "camera")
)

from conftest import rows
from test_air import (
    ROUND,
    ROUND_STOPS,
    SPECTRAL,
    SPECTRAL_K,
    SPECTRAL_SHARE,
    low_enough,
    numbers,
)
from test_daylight_published import STATED_LOG10
from test_daylight_tmy3 import (
    BEAM_BANDS,
    BEAM_HOURS,
    BEAM_STOPS,
    CLEAR,
    CLEAR_STOPS,
    STATIONS,
    in_own_air,
    level_error,
    read,
)
from test_exposure_published import EV_ROUNDING, seconds
from test_moon import ASTROPY_DEG, SKIES, seen_by_astropy, skies
from test_sun_libraries import SPA_DEG, separation_deg
from test_sun_published import LEVEL_DEG, MINUTE_TABLE_S

PLACES, INSTANTS = 100, 500
FIRST, LAST = np.datetime64("1950-01-01", "s"), np.datetime64("2038-01-01", "s")


class Row(NamedTuple):
    """One line of the table."""

    what: str
    source: str
    sample: str
    found: str
    held: str


def position_against_spa() -> Row:
    random = np.random.default_rng(1)
    off = []
    for _ in range(PLACES):
        latitude = float(np.degrees(np.arcsin(random.uniform(-1, 1))))
        longitude = float(random.uniform(-180, 180))
        since = np.sort(random.integers(0, (LAST - FIRST).astype(int), INSTANTS))
        utc = FIRST + since.astype("timedelta64[s]")
        theirs = solarposition.spa_python(
            pd.DatetimeIndex(utc, tz="UTC"), latitude, longitude, delta_t=None
        )
        ours = sun.position(utc, latitude, longitude)
        off.append(separation_deg(ours, (theirs["elevation"], theirs["azimuth"])))
    found = np.concatenate(off)
    return Row(
        "sun's position",
        "NREL SPA (pvlib)",
        f"{found.size:,} instants 1950–2037, anywhere",
        f"median {np.median(found):.3f}°, largest {found.max():.3f}°",
        f"{SPA_DEG:g}°",
    )


def moon_against_astropy() -> Row:
    utc, latitude, longitude = skies()
    theirs = seen_by_astropy(utc, latitude, longitude)
    ours = moon.position(utc, latitude, longitude)
    off = separation_deg(ours[:2], (theirs.altitude_deg, theirs.azimuth_deg))
    return Row(
        "moon's position",
        "astropy (ERFA's moon98)",
        f"{SKIES} instants 1970–2037, anywhere",
        f"median {np.median(off):.3f}°, largest {off.max():.3f}°",
        f"{ASTROPY_DEG:g}°",
    )


def crossings_against_usno() -> Row:
    off = []
    for row in rows("usno_sun_tables.csv"):
        if row["day_type"] != "NORMAL" or row["event_kind"] not in LEVEL_DEG:
            continue
        date = row["table_date_ut"]
        for crossing in windows.crossings(
            float(row["lat_deg_n"]),
            float(row["lon_deg_e"]),
            "UTC",
            dt.date.fromisoformat(date),
            LEVEL_DEG[row["event_kind"]],
        ):
            key = "rise_or_begin" if crossing.rising else "set_or_end"
            printed = np.datetime64(f"{date}T{row[f'{key}_ut_hhmm']}")
            off.append(abs((crossing.utc - printed) / np.timedelta64(1, "s")))
    printed_right = np.mean(np.array(off) <= 30)
    return Row(
        "sunrise, sunset, civil twilight",
        "US Naval Observatory tables, to the minute",
        f"{len(off)} times of 2020 at three places",
        f"largest {max(off):.0f} s; {printed_right:.0%} round to the printed minute",
        f"{MINUTE_TABLE_S:g} s",
    )


def level_against_supplement() -> Row:
    column = "sun_lux_A_explanatory_supplement_1992"
    table = [
        (float(row["altitude_deg_apparent"]), float(row[column]))
        for row in rows("natural_illuminance_vs_altitude.csv")
        if row[column]
    ]
    altitude_deg, lux = np.array([row for row in table if row[0] <= 0]).T
    off = np.abs(daylight.horizontal_lux(altitude_deg) / lux - 1)
    return Row(
        "twilight on level ground",
        "Explanatory Supplement to the Astronomical Almanac (1992), the model itself",
        f"{lux.size} altitudes",
        f"largest {off.max():.1%}",
        f"{10**STATED_LOG10 - 1:.0%}",
    )


def level_against_tmy3() -> Iterator[Row]:
    for station in STATIONS:
        off = level_error(read(station).with_cloud(CLEAR), "clear")
        near = np.mean(np.abs(off) <= 0.5)
        yield Row(
            "light on level ground, clear",
            "TMY3 at " + station.replace("_", " ").title() + ", itself modelled",
            f"{off.size} clear hours",
            f"median {np.median(off):+.2f} stop; {near:.0%} within ±0.5 stop",
            f"median {CLEAR_STOPS:g} stop",
        )


def spectrum_against_pvlib() -> Row:
    lux, kelvin = [], []
    for row in SPECTRAL:
        h, m, aod = numbers(row, "altitude_deg", "relative_airmass", "aod500")
        for ours, level, colour in zip(
            spectrum.clear(h, m, m, aod),
            numbers(row, "beam_normal_lux", "diffuse_horizontal_lux"),
            numbers(row, "cct_beam", "cct_diffuse"),
            strict=True,
        ):
            if level > 1:
                lux.append(abs(ours[1] * 0.9996 / level - 1))
            if colour > 1667:
                kelvin.append(abs(chromaticity.temperature_k(ours) - colour))
    return Row(
        "beam and sky of clear air, light and colour",
        "SPCTRAL2 (Bird & Riordan 1986) by pvlib, Ohno 2013",
        f"{len(SPECTRAL)} altitudes and airs",
        f"largest {max(lux):.2%} and {max(kelvin):.0f} K",
        f"{SPECTRAL_SHARE:.0%}, {SPECTRAL_K} K",
    )


def beam_against_round_air() -> Row:
    off = []
    for row in ROUND:
        aod, h, lux = numbers(row, "aod500", "altitude_deg", "mc_beam_normal_lux")
        if not low_enough(aod, h):
            off.append(abs(np.log2(daylight.beam_lux(h, aod500=aod) / lux)))
    return Row(
        "beam of a low sun",
        "a Monte Carlo of a round atmosphere, our own",
        f"{len(off)} altitudes and airs, from 4° (8° in dust)",
        f"largest {max(off):.2f} stop",
        f"{ROUND_STOPS:g} stop",
    )


def beam_against_tmy3() -> Iterator[Row]:
    for station in STATIONS:
        shining = read(station).with_cloud(CLEAR)
        shining = shining.where(shining.beam_lux > 0)
        medians = [
            np.median(
                np.log2(in_own_air(daylight.beam_lux, band, station) / band.beam_lux)
            )
            for band in shining.bands(BEAM_BANDS, BEAM_HOURS)
        ]
        yield Row(
            "beam, each month's own air",
            "TMY3 at "
            + station.replace("_", " ").title()
            + ", air by Meteotest (pvlib)",
            f"{shining.beam_lux.size} clear hours in {len(medians)} bands of altitude",
            f"medians {min(medians):+.2f} to {max(medians):+.2f} stop",
            f"median {BEAM_STOPS:g} stop, 0.5 at 4 to 6°",
        )


def light_against_iso_2720() -> Row:
    table = rows("exposure_ev100_luminance_illuminance.csv")
    lux = np.array([float(row["illuminance_lx_C250"]) for row in table])
    ev = np.array([float(row["ev100"]) for row in table])
    off = np.abs(exposure.ev100(lux) - ev)
    return Row(
        "EV from light",
        "ISO 2720:1974 with C = 250",
        f"{ev.size} values, EV {ev.min():.0f} to {ev.max():.0f}",
        f"largest {off.max():.5f} EV",
        f"{EV_ROUNDING:.5f} EV",
    )


def settings_against_table() -> Row:
    table = rows("exposure_ev_from_n_t.csv")
    ours = exposure.ev(
        [float(row["f_number_nominal"]) for row in table],
        [seconds(row["shutter_nominal_s"]) for row in table],
    )
    ev = [float(row["ev_from_nominal_numbers_log2_N2_over_t"]) for row in table]
    return Row(
        "EV of f-number and time",
        "log2(N²/t) to four decimals",
        f"{len(table)} settings",
        f"largest {np.abs(ours - ev).max():.5f} EV",
        f"{EV_ROUNDING:.5f} EV",
    )


def table() -> str:
    """Return all of it as Markdown."""
    head = "| what | source | sample | found | held by the tests |\n"
    rule = "|---|---|---|---|---|\n"
    measured = [
        position_against_spa(),
        moon_against_astropy(),
        crossings_against_usno(),
        level_against_supplement(),
        *level_against_tmy3(),
        spectrum_against_pvlib(),
        beam_against_round_air(),
        *beam_against_tmy3(),
        light_against_iso_2720(),
        settings_against_table(),
    ]
    text = "".join(f"| {' | '.join(row)} |\n" for row in measured)
    return f"{head}{rule}{text.replace(' -', ' −').replace('%', ' %')}"


if __name__ == "__main__":
    print(table(), end="")
