"""When the sun crosses an altitude, and the named windows of light between.

Events use the sun's geometric altitude: −0.833° for sunrise and sunset (16′ of
radius and 34′ of refraction), −6° for civil twilight. A day without a crossing
(midnight sun, polar night) is an ordinary answer: an empty tuple.
"""

import datetime as dt
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lightplan import localtime, sun

FloatArray = NDArray[np.float64]
Instants = NDArray[np.datetime64]

SUNRISE_DEG = -0.833  # upper limb on a level horizon, standard refraction
CIVIL_DEG = -6.0

_MINUTE = np.timedelta64(1, "m")
_MILLISECOND = np.timedelta64(1, "ms")
_HALF_DAY = np.timedelta64(12, "h")


class Window(NamedTuple):
    """A named range of sun altitude; ``lower_deg`` belongs to it."""

    key: str
    label: str
    lower_deg: float
    upper_deg: float


class Limits(NamedTuple):
    """Where golden light begins and ends, and hard light begins. [°]

    The defaults are common practice; a user may change them.
    """

    golden_low_deg: float = -4.0
    golden_high_deg: float = 6.0
    hard_deg: float = 30.0


DEFAULT_LIMITS = Limits()


class Crossing(NamedTuple):
    """An instant (datetime64[ms], UTC) at which an altitude is crossed."""

    utc: np.datetime64
    rising: bool


class Stretch(NamedTuple):
    """A window of light between two instants (datetime64[m], UTC)."""

    window: Window
    start_utc: np.datetime64
    end_utc: np.datetime64

    @property
    def minutes(self) -> int:
        """Length in whole minutes."""
        return int((self.end_utc - self.start_utc) / _MINUTE)


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


def light_windows(limits: Limits = DEFAULT_LIMITS) -> tuple[Window, ...]:
    """Return the windows from dark to hard light; together they cover all.

    Raises
    ------
    ValueError
        If the limits are not in order, −6 < low < high < hard < 90.
    """
    low, high, hard = limits
    if not CIVIL_DEG < low < high < hard < 90:
        raise ValueError(
            "light window limits must be in order, "
            f"-6 < golden low < golden high < hard < 90, got {low:g}, {high:g}, {hard:g}"
        )
    return (
        Window("dark", "dark", -90.0, CIVIL_DEG),
        Window("twilight", "civil twilight", CIVIL_DEG, low),
        Window("golden", "golden light", low, high),
        Window("open", "open light", high, hard),
        Window("hard", "hard light", hard, 90.1),
    )


def minutes(start_utc: np.datetime64, end_utc: np.datetime64) -> Instants:
    """Return the whole minutes from start to end, both included."""
    first = start_utc.astype("datetime64[m]")
    return np.arange(first, end_utc.astype("datetime64[m]") + 1)


def crossings(
    latitude_deg: float,
    longitude_deg: float,
    timezone: str,
    date: dt.date,
    altitude_deg: float,
) -> tuple[Crossing, ...]:
    """Return when the sun crosses an altitude on one local day, in order.

    Parameters
    ----------
    latitude_deg, longitude_deg : float
        Place, north and east positive. [°]
    timezone : str
        IANA zone that says when the local day begins and ends.
    date : datetime.date
        Local date, 1950–2037.
    altitude_deg : float
        Geometric altitude of the sun's centre, in [-90, 90]. [°]

    Returns
    -------
    tuple of Crossing
        Empty where the sun does not cross the altitude that day.

    Raises
    ------
    ValueError
        If a coordinate, the altitude, the zone or the date is out of range.
    """
    if not -90 <= altitude_deg <= 90:
        raise ValueError(f"altitude_deg must be in [-90, 90], got {altitude_deg:g}")
    if not (np.isfinite(latitude_deg) and np.isfinite(longitude_deg)):
        raise ValueError(
            "latitude_deg and longitude_deg must be numbers, got "
            f"{latitude_deg:g} and {longitude_deg:g}"
        )
    start, end = localtime.day_utc(timezone, date)
    return crossings_between(latitude_deg, longitude_deg, start, end, altitude_deg)


def crossings_between(
    latitude_deg: float,
    longitude_deg: float,
    start_utc: np.datetime64,
    end_utc: np.datetime64,
    altitude_deg: float,
) -> tuple[Crossing, ...]:
    """Return when the sun crosses an altitude within [start, end), in order.

    Arguments and errors as for `crossings`.
    """

    def above(utc: Instants) -> FloatArray:
        position = sun.position(utc, latitude_deg, longitude_deg)
        return position.altitude_deg - altitude_deg

    return crossings_of(above, start_utc, end_utc)


def crossings_of(
    above: Callable[[Instants], FloatArray],
    start_utc: np.datetime64,
    end_utc: np.datetime64,
) -> tuple[Crossing, ...]:
    """Return when a curve changes sign within [start, end), in order.

    ``above`` gives, for an array of instants, how far a body stands above what
    it crosses [°]; it must be smooth within a minute.
    """
    start, end = (t.astype("datetime64[ms]") for t in (start_utc, end_utc))
    if end <= start:
        return ()
    # From a minute before, so that a crossing at the very start is met.
    grid = np.append(np.arange(start - _MINUTE, end, _MINUTE), end)
    heights = above(grid)
    up = heights >= 0
    index = np.flatnonzero(up[1:] != up[:-1])
    left, right = grid[index], grid[index + 1]
    low, high = heights[index], heights[index + 1]
    # Within a minute the altitude is straight to 0.001°; one more secant step
    # through the found instant brings the crossing to a few milliseconds.
    instants = left + ((right - left) * (low / (low - high))).astype("timedelta64[ms]")
    slope = (high - low) / ((right - left) / _MILLISECOND)
    instants = instants - np.rint(above(instants) / slope).astype("timedelta64[ms]")
    instants = np.clip(instants, left, right)
    return tuple(
        Crossing(instant, bool(rises))
        for instant, rises in zip(instants, up[index + 1], strict=True)
        if start <= instant < end
    )


def sun_day(
    latitude_deg: float, longitude_deg: float, timezone: str, date: dt.date
) -> SunDay:
    """Return the sun's events around one local day.

    Arguments and errors as for `crossings`.
    """
    return sun_days(latitude_deg, longitude_deg, timezone, [date])[0]


def sun_days(
    latitude_deg: float, longitude_deg: float, timezone: str, dates: Sequence[dt.date]
) -> list[SunDay]:
    """Return the sun's events around each of some local days, all at once.

    Arguments and errors as for `crossings`.
    """
    bounds = [localtime.day_utc(timezone, date) for date in dates]
    middles = np.array([start + (end - start) // 2 for start, end in bounds])
    noons = sun.transit_utc(middles, longitude_deg)
    before, after = noons - _HALF_DAY, noons + _HALF_DAY

    def altitude(utc: Instants) -> FloatArray:
        return sun.position(utc, latitude_deg, longitude_deg).altitude_deg

    def events(edge: Instants, level_deg: float) -> list[np.datetime64 | None]:
        found = _between_low_and_noon(altitude, edge, noons, level_deg)
        return [None if np.isnat(instant) else instant for instant in found]

    rises, sets = events(before, SUNRISE_DEG), events(after, SUNRISE_DEG)
    dawns, dusks = events(before, CIVIL_DEG), events(after, CIVIL_DEG)
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
    level_deg: float,
) -> Instants:
    """Find where the sun passes a level between its lowest and highest; NaT if not.

    In those twelve hours its altitude only rises or only falls, so halving
    the span finds the one passage; a secant step ends the search.
    """
    dark, light = edge.copy(), noon.copy()
    exists = (altitude(edge) < level_deg) & (altitude(noon) >= level_deg)
    for _ in range(12):  # twelve hours to eleven seconds
        middle = dark + (light - dark) // 2
        high = altitude(middle) >= level_deg
        dark, light = np.where(high, dark, middle), np.where(high, middle, light)
    below, above = altitude(dark) - level_deg, altitude(light) - level_deg
    share = np.divide(below, below - above, out=np.zeros_like(below), where=exists)
    instants = dark + np.rint((light - dark) / _MILLISECOND * share).astype(
        "timedelta64[ms]"
    )
    return np.where(exists, instants, np.datetime64("NaT", "ms"))


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


def stretches(
    utc: Instants, altitude_deg: FloatArray, windows: tuple[Window, ...]
) -> tuple[Stretch, ...]:
    """Cut a run of minutes into the windows it passes through, in order.

    Parameters
    ----------
    utc : ndarray of datetime64[m], shape (n,)
        Consecutive minutes; minute i stands for [utc[i], utc[i+1]).
    altitude_deg : ndarray, shape (n,)
        Geometric sun altitude at each. [°]
    windows : tuple of Window
        From `light_windows`.

    Returns
    -------
    tuple of Stretch
        The last ends at ``utc[-1]``; lengths in minutes add up to n - 1.
    """
    if len(utc) < 2:
        return ()
    which = window_index(altitude_deg[:-1], windows)
    starts = np.flatnonzero(np.diff(which, prepend=-1))
    ends = np.append(starts[1:], len(utc) - 1)
    return tuple(
        Stretch(windows[which[a]], utc[a], utc[b])
        for a, b in zip(starts, ends, strict=True)
    )


def window_index(
    altitude_deg: FloatArray, windows: tuple[Window, ...]
) -> NDArray[np.int64]:
    """Return for each geometric altitude [°] the index of its window."""
    edges = np.array([w.lower_deg for w in windows[1:]])
    return np.searchsorted(edges, altitude_deg, side="right").astype(np.int64)
