"""Dates and gate times to drives in UTC, and the reasons for having none."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from lightplan.arrays import nearest_minute
from lightplan.catalog.gates import SESSIONS, Gates, Session, gate_time
from lightplan.catalog.places import Place
from lightplan.naming import day_name
from lightplan.sky import localtime
from lightplan.sky.sun_days import SunDay, sun_days
from lightplan.sky.windows import CIVIL_DEG

MAX_DAYS = 62

# Without gates: from civil dawn, and until civil dusk, at most this long.
_UNGATED = np.timedelta64(4 * 60, "m")


class Said(NamedTuple):
    """How sentences call where a drive starts and ends.

    ``opens`` and ``shuts`` head a clause, ``opening`` and ``shutting`` follow
    "before" or "after"; ``start`` and ``end`` are nouns.
    """

    opens: str
    shuts: str
    opening: str
    shutting: str
    inside: str
    start: str
    end: str


_GATES = Said(
    "gates open", "gates shut", "the gates open", "the gates shut",
    "inside the gates", "gate", "gate",
)  # fmt: skip
_NO_GATES = Said(
    "the drive begins", "the drive ends", "the drive begins", "the drive ends",
    "during the drive", "start", "end",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Drive:
    """One drive: its local date and session, and its gates as UTC minutes."""

    date: dt.date
    session: Session
    opens_utc: np.datetime64
    closes_utc: np.datetime64
    gated: bool
    notes: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        """A name that is used once in a trip: ``2027-08-12-evening``."""
        return session_key(self.date, self.session)

    @property
    def name(self) -> str:
        """What people read: ``Thu 12 Aug, evening``."""
        return _name(self.date, self.session)

    @property
    def said(self) -> Said:
        """Words for its start and end."""
        return _GATES if self.gated else _NO_GATES


@dataclass(frozen=True, slots=True)
class Closed:
    """A session without a drive, and why, in words."""

    date: dt.date
    session: Session
    reason: str

    @property
    def key(self) -> str:
        """As for `Drive`."""
        return session_key(self.date, self.session)

    @property
    def name(self) -> str:
        """As for `Drive`."""
        return _name(self.date, self.session)


@dataclass(frozen=True, slots=True)
class Day:
    """A local date at a place: the sun's events and the sessions."""

    date: dt.date
    sun: SunDay
    sessions: tuple[Drive | Closed, ...]


def session_key(date: dt.date, session: Session) -> str:
    """Return ``2027-08-12-evening``."""
    return f"{date.isoformat()}-{session}"


def _name(date: dt.date, session: Session) -> str:
    return f"{day_name(date)}, {session}"


def dates(first: dt.date, last: dt.date, at_most: int = MAX_DAYS) -> list[dt.date]:
    """Return every date from first to last.

    Raises
    ------
    ValueError
        If last is before first, the range is longer than ``at_most`` days, or
        a date is outside 1950–2037.
    """
    localtime.checked_date(first)
    localtime.checked_date(last)
    days = (last - first).days + 1
    if days < 1:
        raise ValueError(
            f"last date must not be before the first ({first.isoformat()}), "
            f"got {last.isoformat()}"
        )
    if days > at_most:
        raise ValueError(f"a trip may have at most {at_most} days, got {days}")
    return [first + dt.timedelta(days=n) for n in range(days)]


def days(place: Place, dates: Sequence[dt.date]) -> tuple[Day, ...]:
    """Return the sun's events and the sessions of some local dates.

    Parameters
    ----------
    place : Place
        Where; its gates and closures decide the sessions.
    dates : sequence of datetime.date
        Local dates, 1950–2037.

    Returns
    -------
    tuple of Day
        Sessions in order, a `Drive` or a `Closed` each. A season may offer one
        session only; a place without gates has two that follow civil twilight.

    Raises
    ------
    ValueError
        If the date is out of range.
    """
    suns = sun_days(place.latitude_deg, place.longitude_deg, place.timezone, dates)
    return tuple(_day(place, d, e) for d, e in zip(dates, suns, strict=True))


def day(place: Place, date: dt.date) -> Day:
    """Return one of `days`."""
    return days(place, [date])[0]


def _day(place: Place, date: dt.date, events: SunDay) -> Day:
    season = next((g for g in place.gates if g.cover_date(date)), None)
    begins, ends = localtime.day_utc(place.timezone, date)
    sessions: list[Drive | Closed] = []
    for session in SESSIONS:
        if session == "night" and (season is None or season.night is None):
            continue  # few places have drives after dark; theirs are named
        closure = next((c for c in place.closures if c.shuts(date, session)), None)
        if begins == ends:
            sessions.append(Closed(date, session, "the calendar skips this date here"))
        elif closure is not None:
            sessions.append(Closed(date, session, closure.reason))
        elif not place.gates:
            sessions.append(_ungated(date, session, events))
        elif season is None:
            sessions.append(Closed(date, session, "no gate times in this season"))
        elif getattr(season, session) is not None:
            sessions.append(_gated(place, season, date, session, events))
    return Day(date, events, tuple(sessions))


def _gated(
    place: Place, season: Gates, date: dt.date, session: Session, events: SunDay
) -> Drive | Closed:
    times: tuple[str, str] = getattr(season, session)
    settled: list[np.datetime64] = []
    notes: list[str] = []
    for text in times:
        gate = gate_time(text)
        if gate.event == "clock":
            wall = localtime.wall_to_utc(
                place.timezone, date, dt.timedelta(minutes=gate.minutes)
            )
            settled.append(wall.utc.astype("datetime64[m]"))
            if wall.change:
                notes.append(
                    f"the clock change makes {text} {wall.change}; it is read as "
                    f"{localtime.clock(place.timezone, wall.utc)} "
                    f"({localtime.offset_text(place.timezone, wall.utc)})"
                )
            continue
        event = events.sunrise_utc if gate.event == "sunrise" else events.sunset_utc
        if event is None:
            return Closed(
                date, session, f"no {gate.event} on this date to set the gate by"
            )
        settled.append(nearest_minute(event) + np.timedelta64(gate.minutes, "m"))
    opens, closes = settled
    if closes <= opens:
        return Closed(
            date, session, f"the gate would shut ({times[1]}) before it opens"
        )
    return Drive(date, session, opens, closes, True, tuple(notes))


def _ungated(date: dt.date, session: Session, events: SunDay) -> Drive | Closed:
    noon = nearest_minute(events.noon_utc)
    morning = session == "morning"
    edge = events.dawn_utc if morning else events.dusk_utc
    if edge is None:
        if events.noon_altitude_deg < CIVIL_DEG:
            return Closed(date, session, "no light: the sun stays below −6° all day")
        # It never gets dark: the best light is round the sun's lowest point.
        edge = events.lowest_before_utc if morning else events.lowest_after_utc
    limit = nearest_minute(edge)
    opens, closes = (
        (limit, min(limit + _UNGATED, noon))
        if morning
        else (max(limit - _UNGATED, noon), limit)
    )
    if closes <= opens:
        return Closed(date, session, "no light: the sun only touches −6°")
    return Drive(date, session, opens, closes, False)
