"""When the sun crosses an altitude, and the named windows of light between.

Events use the sun's geometric altitude: −0.833° for sunrise and sunset (16′ of
radius and 34′ of refraction), −6° for civil twilight. A day without a crossing
(midnight sun, polar night) is an ordinary answer: an empty tuple.
"""

import datetime as dt
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lightplan.arrays import FloatArray, Instants, runs
from lightplan.sky import localtime, sun

SUNRISE_DEG = -0.833  # upper limb on a level horizon, standard refraction
CIVIL_DEG = -6.0

_MINUTE = np.timedelta64(1, "m")
_MILLISECOND = np.timedelta64(1, "ms")
_STRAIGHT = np.timedelta64(11, "s")


class Window(NamedTuple):
    """A named range of sun altitude; ``lower_deg`` belongs to it."""

    key: str
    label: str
    lower_deg: float
    upper_deg: float

    @property
    def short(self) -> str:
        """The label in one word, for a narrow band: ``golden``."""
        return self.label.removeprefix("civil ").removesuffix(" light")


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


def light_windows(limits: Limits = DEFAULT_LIMITS) -> tuple[Window, ...]:
    """Return the windows from dark to hard light; together they cover all altitudes.

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
        Window("open", "daylight", high, hard),
        Window("hard", "hard light", hard, 90.1),
    )


def minutes(start_utc: np.datetime64, end_utc: np.datetime64) -> Instants:
    """Return the whole minutes from start to end, both included."""
    first, last = (t.astype("datetime64[m]") for t in (start_utc, end_utc))
    return np.arange(first, last + _MINUTE, _MINUTE)


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
    # From a minute before, to catch a crossing at the very start.
    grid = np.append(np.arange(start - _MINUTE, end, _MINUTE), end)
    up = above(grid) >= 0
    index = np.flatnonzero(up[1:] != up[:-1])
    instants = passages(above, grid[index], grid[index + 1])
    return tuple(
        Crossing(instant, bool(rises))
        for instant, rises in zip(instants, up[index + 1], strict=True)
        if start <= instant < end
    )


def passages(
    above: Callable[[Instants], FloatArray], start: Instants, end: Instants
) -> Instants:
    """Return when a curve passes zero within each of several spans.

    Parameters
    ----------
    above : callable
        Gives, for an array of instants, how far a body stands above what it
        crosses. [°]
    start, end : ndarray of datetime64, shape (n,)
        Each span's ends, in either order, with the curve below zero at one and
        not at the other, and one passage between.

    Returns
    -------
    ndarray of datetime64[ms], shape (n,)
        Instants within the spans.
    """
    a, b = start.astype("datetime64[ms]"), end.astype("datetime64[ms]")
    up = above(b) >= 0
    # Halve the spans until the sun's path in them is straight; then one secant step.
    while (np.abs(b - a) > _STRAIGHT).any():
        middle = a + (b - a) // 2
        like_b = (above(middle) >= 0) == up
        a, b = np.where(like_b, a, middle), np.where(like_b, middle, b)
    low, high = above(a), above(b)
    share = (b - a) / _MILLISECOND * (low / (low - high))
    instants: Instants = a + np.rint(share).astype("timedelta64[ms]")
    return instants


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
    return tuple(Stretch(windows[which[a]], utc[a], utc[b]) for a, b in runs(which))


def window_index(
    altitude_deg: FloatArray, windows: tuple[Window, ...]
) -> NDArray[np.int64]:
    """Return for each geometric altitude [°] the index of its window."""
    edges = np.array([w.lower_deg for w in windows[1:]])
    return np.searchsorted(edges, altitude_deg, side="right").astype(np.int64)
