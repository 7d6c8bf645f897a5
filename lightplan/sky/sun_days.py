"""The sun's events around a local day: noon, sunrise and sunset, dawn and dusk.

They use geometric altitudes, as `windows` does. A day without one (midnight sun,
polar night) is an ordinary answer: None, or NaT in arrays.
"""

import datetime as dt
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from lightplan.arrays import FloatArray, Instants
from lightplan.sky import localtime, sun
from lightplan.sky.windows import CIVIL_DEG, SUNRISE_DEG, passages

_HALF_DAY = np.timedelta64(12, "h")


class SunDay(NamedTuple):
    """The sun's events around one local day; None where there is none.

    ``noon_utc`` is the sun's transit nearest the middle of the local day. The
    other events belong to the twelve hours before or after it, so an evening
    whose sun sets after midnight still has its sunset.
    """

    noon_utc: np.datetime64
    sunrise_utc: np.datetime64 | None
    sunset_utc: np.datetime64 | None
    dawn_utc: np.datetime64 | None
    dusk_utc: np.datetime64 | None
    lowest_before_utc: np.datetime64
    lowest_after_utc: np.datetime64
    noon_altitude_deg: float
    lowest_altitude_deg: float


def sun_days(
    latitude_deg: float, longitude_deg: float, timezone: str, dates: Sequence[dt.date]
) -> list[SunDay]:
    """Return the sun's events around each of several local days, all at once.

    Arguments and errors as for `windows.crossings`.
    """
    bounds = [localtime.day_utc(timezone, date) for date in dates]
    middles = np.array([start + (end - start) // 2 for start, end in bounds])
    noons = sun.transit_utc(middles, longitude_deg)
    before, after = noons - _HALF_DAY, noons + _HALF_DAY

    def altitude(utc: Instants) -> FloatArray:
        return sun.position(utc, latitude_deg, longitude_deg).altitude_deg

    # All events together, so that NumPy is called once and not once per event.
    levels = np.repeat([SUNRISE_DEG, CIVIL_DEG], 2 * len(dates))
    edges = np.concatenate([before, after, before, after])
    instants = _between_low_and_noon(altitude, edges, np.tile(noons, 4), levels)
    rises, sets, dawns, dusks = (
        [None if np.isnat(instant) else instant for instant in part]
        for part in np.split(instants, 4)
    )
    heights = altitude(noons)
    lowest = np.minimum(altitude(before), altitude(after))
    return [
        SunDay(
            noon_utc=noons[i],
            sunrise_utc=rises[i],
            sunset_utc=sets[i],
            dawn_utc=dawns[i],
            dusk_utc=dusks[i],
            lowest_before_utc=before[i],
            lowest_after_utc=after[i],
            noon_altitude_deg=float(heights[i]),
            lowest_altitude_deg=float(lowest[i]),
        )
        for i in range(len(dates))
    ]


def _between_low_and_noon(
    altitude: Callable[[Instants], FloatArray],
    edge: Instants,
    noon: Instants,
    level_deg: float | FloatArray,
) -> Instants:
    """Return when the sun passes a level between its lowest and highest, else NaT.

    In those twelve hours its altitude only rises or only falls, so it passes once,
    even if it barely grazes the level.
    """
    exists = (altitude(edge) < level_deg) & (altitude(noon) >= level_deg)
    instants = np.full(len(noon), np.datetime64("NaT", "ms"))
    level = np.broadcast_to(level_deg, noon.shape)[exists]
    instants[exists] = passages(
        lambda utc: altitude(utc) - level, edge[exists], noon[exists]
    )
    return instants


def altitude_times(
    latitude_deg: float,
    longitude_deg: float,
    days: Sequence[SunDay],
    altitude_deg: float,
) -> tuple[Instants, Instants]:
    """Return when the sun rises to and falls from an altitude, day by day.

    Parameters
    ----------
    latitude_deg, longitude_deg : float
        Place, north and east positive. [°]
    days : sequence of SunDay
        From `sun_days`.
    altitude_deg : float
        Geometric altitude. [°]

    Returns
    -------
    tuple of ndarray of datetime64[ms], shape (days,)
        Rising before and falling after each noon; NaT where there is none.
    """
    noons = np.array([day.noon_utc for day in days])

    def altitude(utc: Instants) -> FloatArray:
        return sun.position(utc, latitude_deg, longitude_deg).altitude_deg

    before = np.array([day.lowest_before_utc for day in days])
    after = np.array([day.lowest_after_utc for day in days])
    return (
        _between_low_and_noon(altitude, before, noons, altitude_deg),
        _between_low_and_noon(altitude, after, noons, altitude_deg),
    )
