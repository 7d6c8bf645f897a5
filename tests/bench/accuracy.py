"""Measure the README's "How accurate it is". By hand: python tests/bench/accuracy.py.

The tests hold limits; this prints how far from the sources we really are.
"""

import csv
import datetime as dt
import sys
from pathlib import Path

import numpy as np
import pandas as pd
from pvlib import solarposition

from lightplan import daylight, exposure, sun, windows

TESTS = Path(__file__).resolve().parent.parent
sys.path.append(str(TESTS))

from test_daylight_tmy3 import CLEAR, STATIONS, level_error, read  # noqa: E402


def rows(name):
    with (TESTS / "data" / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def unit_vectors(altitude_deg, azimuth_deg):
    h, a = np.radians(altitude_deg), np.radians(azimuth_deg)
    return np.stack([np.cos(h) * np.sin(a), np.cos(h) * np.cos(a), np.sin(h)])


def position_against_spa(places=100, instants=500):
    random = np.random.default_rng(1)
    first, last = (pd.Timestamp(f"{y}-01-01").timestamp() for y in (1950, 2038))
    off = []
    for _ in range(places):
        latitude = float(np.degrees(np.arcsin(random.uniform(-1, 1))))
        longitude = float(random.uniform(-180, 180))
        seconds = np.sort(random.integers(int(first), int(last), instants))
        utc = pd.DatetimeIndex(seconds.astype("datetime64[s]"), tz="UTC")
        theirs = solarposition.spa_python(utc, latitude, longitude, delta_t=None)
        ours = sun.position(seconds.astype("datetime64[s]"), latitude, longitude)
        one = unit_vectors(*ours)
        other = unit_vectors(theirs["elevation"], theirs["azimuth"])
        off.append(np.degrees(2 * np.arcsin(np.linalg.norm(one - other, axis=0) / 2)))
    off = np.concatenate(off)
    print(
        f"sun position, pvlib SPA: {off.size} instants 1950-2037 anywhere, "
        f"median {np.median(off):.4f}°, largest {off.max():.4f}°"
    )


def crossings_against_usno():
    levels = {
        "sunrise_sunset": windows.SUNRISE_DEG,
        "civil_twilight": windows.CIVIL_DEG,
    }
    off = []
    for row in rows("usno_sun_tables.csv"):
        if row["day_type"] != "NORMAL" or row["event_kind"] not in levels:
            continue
        date = row["table_date_ut"]
        for crossing in windows.crossings(
            float(row["lat_deg_n"]),
            float(row["lon_deg_e"]),
            "UTC",
            dt.date.fromisoformat(date),
            levels[row["event_kind"]],
        ):
            key = "rise_or_begin" if crossing.rising else "set_or_end"
            printed = np.datetime64(f"{date}T{row[f'{key}_ut_hhmm']}")
            off.append(abs((crossing.utc - printed) / np.timedelta64(1, "s")))
    print(
        f"crossings, USNO tables to the minute: {len(off)} times, largest {max(off):.0f} s, "
        f"{np.mean(np.array(off) <= 30):.1%} round to the printed minute"
    )


def level_against_supplement():
    table = [
        (
            float(row["altitude_deg_apparent"]),
            float(row["sun_lux_A_explanatory_supplement_1992"]),
        )
        for row in rows("natural_illuminance_vs_altitude.csv")
        if row["sun_lux_A_explanatory_supplement_1992"]
    ]
    altitude_deg, lux = np.array(table).T
    off = np.abs(daylight.horizontal_lux(altitude_deg) / lux - 1)
    print(
        f"clear level light, Explanatory Supplement: {lux.size} altitudes, "
        f"largest {off.max():.1%}"
    )


def level_against_tmy3():
    for station in STATIONS:
        off = level_error(read(station).with_cloud(CLEAR), "clear")
        print(
            f"clear level light, TMY3 {station}: {off.size} hours, "
            f"median {np.median(off):+.2f} stop, "
            f"{np.mean(np.abs(off) <= 0.5):.0%} within ±0.5"
        )


def exposure_against_iso_2720():
    table = rows("exposure_ev100_luminance_illuminance.csv")
    lux = np.array([float(row["illuminance_lx_C250"]) for row in table])
    ev = np.array([float(row["ev100"]) for row in table])
    off = np.abs(exposure.ev100(lux) - ev)
    print(f"EV from lux, ISO 2720 table: {ev.size} values, largest {off.max():.1g} EV")


if __name__ == "__main__":
    position_against_spa()
    crossings_against_usno()
    level_against_supplement()
    level_against_tmy3()
    exposure_against_iso_2720()
