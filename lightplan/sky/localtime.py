"""Local days and clock times to UTC and back; the only module that knows pytz.

All computing is in UTC. Local time is for people, in the place's own IANA zone.
pytz carries clock changes up to 2037, so dates end there.

The rule for clock changes: a wall time that the change skips is read as the
first instant after it; one that it repeats is read as the first of the two.
"""

import datetime as dt
from difflib import get_close_matches
from functools import lru_cache
from typing import Literal, NamedTuple

import numpy as np
import pytz
from numpy.typing import ArrayLike, NDArray

from lightplan.arrays import Instants

FIRST_YEAR, LAST_YEAR = 1950, 2037

Change = Literal["", "skipped", "repeated"]

_MINUTE = np.timedelta64(1, "m")
_DAY = np.timedelta64(1, "D")
_FAR = np.timedelta64(26, "h")  # an offset of up to 14 h, and a jump of up to a day


class Wall(NamedTuple):
    """A wall time turned into UTC, and what a clock change did to it."""

    utc: np.datetime64
    change: Change


@lru_cache(maxsize=256)
def zone(name: str) -> pytz.BaseTzInfo:
    """Return the IANA zone of that name.

    Raises
    ------
    ValueError
        If the name is unknown; the message proposes the nearest one.
    """
    if not is_zone(name):
        raise ValueError(unknown_zone(name))
    return pytz.timezone(name)


def is_zone(name: str) -> bool:
    """Return whether there is an IANA zone of that name."""
    return name in pytz.all_timezones_set


def unknown_zone(name: str) -> str:
    """Say that there is no such zone, and propose the nearest; this is slow."""
    near = get_close_matches(name, pytz.all_timezones, n=1, cutoff=0.5)
    hint = f"did you mean {near[0]}?" if near else "for example Africa/Lusaka"
    return f"timezone {name!r} is not an IANA zone name ({hint})"


def checked_date(date: dt.date) -> dt.date:
    """Return the date, or raise ValueError outside 1950–2037."""
    if not FIRST_YEAR <= date.year <= LAST_YEAR:
        raise ValueError(
            f"date must be in {FIRST_YEAR}–{LAST_YEAR} (clock changes are known "
            f"for those years), got {date.isoformat()}"
        )
    return date


def day_utc(timezone: str, date: dt.date) -> tuple[np.datetime64, np.datetime64]:
    """Return the UTC instants at which a local day begins and ends.

    Parameters
    ----------
    timezone : str
        IANA zone name.
    date : datetime.date
        The local date, 1950–2037.

    Returns
    -------
    tuple of datetime64[s]
        Local midnight and the next one: 23 to 25 hours apart, or none where
        a zone skipped the date.

    Raises
    ------
    ValueError
        If the zone is unknown or the date out of range.
    """
    checked_date(date)
    following = date + dt.timedelta(days=1)
    return (
        wall_to_utc(timezone, date, dt.timedelta(0)).utc,
        wall_to_utc(timezone, following, dt.timedelta(0)).utc,
    )


@lru_cache(maxsize=16_384)  # nine years of a place: midnights and four gates a day
def wall_to_utc(timezone: str, date: dt.date, since_midnight: dt.timedelta) -> Wall:
    """Turn a wall time into UTC by the rule at the top of this module.

    Parameters
    ----------
    timezone : str
        IANA zone name.
    date : datetime.date
        Local date.
    since_midnight : datetime.timedelta
        Clock reading; 24 hours and more belong to the next date.

    Returns
    -------
    Wall
        ``utc`` as datetime64[s]; ``change`` is "skipped" or "repeated" where a
        clock change affects it, else "".

    Raises
    ------
    ValueError
        If the zone is unknown.
    """
    tz = zone(timezone)
    naive = dt.datetime.combine(date, dt.time()) + since_midnight
    change: Change = ""
    try:
        aware = tz.localize(naive, is_dst=None)
    except pytz.AmbiguousTimeError:
        change = "repeated"
        aware = min(tz.localize(naive, is_dst=dst) for dst in (True, False))
    except pytz.NonExistentTimeError:
        # The wall reading with either offset lies an hour off the jump, one on
        # each side; the jump is the first instant of the later offset.
        change = "skipped"
        aware = _first_after_jump(tz, naive)
    return Wall(_datetime64(aware), change)


def to_utc(timezone: str, walls: ArrayLike) -> Instants:
    """Turn wall times into UTC, each as `wall_to_utc` does.

    Parameters
    ----------
    timezone : str
        IANA zone name.
    walls : array_like of datetime64, shape (n,)
        Naive local times.

    Returns
    -------
    ndarray of datetime64[s], shape (n,)
        Instants in UTC.

    Raises
    ------
    ValueError
        If the zone is unknown.
    """
    utc = np.asarray(walls, dtype="datetime64[s]").copy()
    # A wall time read as UTC is at most 14 hours off. If the offset is the same on
    # both sides of that span, it is the same within it: no zone has changed its
    # clocks and back within a few days.
    before, after = (offset_minutes(timezone, utc + side) for side in (-_FAR, _FAR))
    for i in np.flatnonzero(before != after):
        wall: dt.datetime = utc[i].item()
        midnight = dt.datetime.combine(wall, dt.time())
        utc[i] = wall_to_utc(timezone, wall.date(), wall - midnight).utc
    same = before == after
    utc[same] -= before[same] * _MINUTE
    return utc


def offset_minutes(timezone: str, utc: ArrayLike) -> NDArray[np.int64]:
    """Return local time minus UTC, in whole minutes, for each instant.

    Parameters
    ----------
    timezone : str
        IANA zone name.
    utc : array_like of datetime64, shape (...)
        Instants in UTC.

    Returns
    -------
    ndarray of int64, shape (...)
        Minutes to add to UTC for local time, rounded to whole minutes.
    """
    instants = np.asarray(utc, dtype="datetime64[s]")
    if instants.ndim == 0:  # a year's page asks thousands of times for one instant
        offset = _offset_on_its_day(timezone, instants.flat[0])
        return np.array(offset, dtype=np.int64)
    days, inverse = np.unique(instants.astype("datetime64[D]"), return_inverse=True)
    at_start = np.array([_offset(timezone, d) for d in days], dtype=np.int64)
    at_end = np.array([_offset(timezone, d + _DAY) for d in days], dtype=np.int64)
    inverse = inverse.reshape(instants.shape)
    offsets = np.array(at_start[inverse])
    # Only days on which the offset changes are checked instant by instant.
    changing = np.asarray((at_start != at_end)[inverse])
    if changing.any():
        each, back = np.unique(instants[changing], return_inverse=True)
        offsets[changing] = np.array([_offset(timezone, i) for i in each])[back]
    return offsets


def to_wall(timezone: str, utc: ArrayLike) -> Instants:
    """Return naive local wall times (datetime64[s]) for UTC instants.

    On the night a clock goes back two instants share a wall time.
    """
    instants = np.asarray(utc, dtype="datetime64[s]")
    return np.asarray(instants + offset_minutes(timezone, instants) * _MINUTE)


def aware(timezone: str, utc: np.datetime64) -> dt.datetime:
    """Return one UTC instant as an aware datetime in the zone."""
    moment: dt.datetime = utc.astype("datetime64[s]").item()
    return moment.replace(tzinfo=pytz.utc).astimezone(zone(timezone))


@lru_cache(maxsize=8192)  # a page names the same minutes again and again
def clock(timezone: str, utc: np.datetime64) -> str:
    """Return the local clock reading of an instant, ``HH:MM``."""
    return aware(timezone, utc).strftime("%H:%M")


def offset_text(timezone: str, utc: np.datetime64) -> str:
    """Return the offset from UTC at an instant: ``UTC+2``, ``UTC+5:30``."""
    minutes = int(offset_minutes(timezone, utc))
    sign = "−" if minutes < 0 else "+"
    hours, rest = divmod(abs(minutes), 60)
    return f"UTC{sign}{hours}" + (f":{rest:02d}" if rest else "")


def date_at(timezone: str, moment: dt.datetime) -> dt.date:
    """Return the local date in the zone at an aware moment."""
    return moment.astimezone(zone(timezone)).date()


def _offset_on_its_day(timezone: str, instant: np.datetime64) -> int:
    day = instant.astype("datetime64[D]")
    at_start, at_end = _offset(timezone, day), _offset(timezone, day + _DAY)
    return at_start if at_start == at_end else _offset(timezone, instant)


@lru_cache(maxsize=8192)
def _offset(timezone: str, instant: np.datetime64) -> int:
    offset = aware(timezone, instant).utcoffset()
    assert offset is not None  # pytz zones always know theirs
    return round(offset.total_seconds() / 60)


def _first_after_jump(tz: pytz.BaseTzInfo, naive: dt.datetime) -> dt.datetime:
    low = min(tz.localize(naive, is_dst=dst) for dst in (True, False))
    high = max(tz.localize(naive, is_dst=dst) for dst in (True, False))
    low, high = low.astimezone(pytz.utc), high.astimezone(pytz.utc)
    after = high.astimezone(tz).utcoffset()
    while high - low > dt.timedelta(milliseconds=1):
        middle = low + (high - low) / 2
        if middle.astimezone(tz).utcoffset() == after:
            high = middle
        else:
            low = middle
    return high


def _datetime64(moment: dt.datetime) -> np.datetime64:
    naive = moment.astimezone(pytz.utc).replace(tzinfo=None)
    return np.datetime64(
        (naive + dt.timedelta(milliseconds=500)).replace(microsecond=0), "s"
    )


def zone_names() -> tuple[str, ...]:
    """Return the IANA zone names in common use, sorted."""
    return tuple(pytz.common_timezones)
