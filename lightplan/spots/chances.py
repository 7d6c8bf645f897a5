"""When a fixed spot has the light waited for: single chances, runs, weeks."""

import datetime as dt
from collections.abc import Iterable, Iterator
from itertools import groupby, islice
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lightplan.arrays import true_runs
from lightplan.catalog.gates import SESSIONS
from lightplan.sky import localtime
from lightplan.sky.windows import DEFAULT_LIMITS
from lightplan.spots.spots import INDEX, LIGHTS, NO_SUN, TOP, SpotYear
from lightplan.trip import drives
from lightplan.trip.drives import Drive

WITHIN_DEG = 10.0
UP_TO_DEG = DEFAULT_LIMITS.hard_deg
# The kinds of light to wait for, the most sought first.
WISHES = tuple(reversed(LIGHTS[:TOP]))
# A shorter chance is not worth going to a spot for. Judgement.
WORTH_MIN = 5
_MINUTE = np.timedelta64(1, "m")
# Days without a session that do not end a run of chances: a weekday's closure.
_BRIDGED_DAYS = 7


class Wish(NamedTuple):
    """The light to wait for: a key of `LIGHTS`, with the sun not too high.

    For "back" the sun stands within ``within_deg`` of straight behind the animal;
    ``up_to_deg`` bounds its apparent altitude.
    """

    key: str = "back"
    within_deg: float = WITHIN_DEG
    up_to_deg: float = UP_TO_DEG

    def met(self, of: SpotYear) -> NDArray[np.bool_]:
        """Return for every minute of a year whether the spot has it, shape (n,)."""
        if self.key == "back":
            here = of.facing_deg >= 180.0 - self.within_deg
        else:
            here = of.light == INDEX[self.key]
        return np.asarray(self.low(of) & here)

    def low(self, of: SpotYear) -> NDArray[np.bool_]:
        """Return where the sun is up, not too high, and to one side; shape (n,)."""
        sided = (of.light != NO_SUN) & (of.light != TOP)
        return np.asarray(sided & (of.apparent_deg <= self.up_to_deg))


class Chance(NamedTuple):
    """Minutes of one drive, end excluded, that have the light waited for.

    ``lowest_deg`` and ``highest_deg`` are apparent altitudes of the sun,
    ``least_off_deg`` and ``most_off_deg`` its angles from straight behind the animal.
    """

    drive: Drive
    start_utc: np.datetime64
    end_utc: np.datetime64
    lowest_deg: float
    highest_deg: float
    least_off_deg: float
    most_off_deg: float

    @property
    def minutes(self) -> int:
        """Length in whole minutes."""
        return int((self.end_utc - self.start_utc) / _MINUTE)


class Week(NamedTuple):
    """A week from Monday to Sunday, cut at the ends of the year.

    ``light_min`` holds minutes inside the gates by `LIGHTS`; ``middle`` is the
    index of its middle day.
    """

    first: dt.date
    last: dt.date
    middle: int
    light_min: tuple[int, ...]
    chances: tuple[Chance, ...]


def chances(of: SpotYear, wish: Wish) -> tuple[Chance, ...]:
    """Return every stretch of a year's drives that has the light waited for."""
    met = wish.met(of)
    return tuple(c for drive in of.drives for c in _of_drive(of, met, drive))


def _of_drive(of: SpotYear, met: NDArray[np.bool_], drive: Drive) -> Iterator[Chance]:
    inside = of.inside(drive)
    for start, stop in true_runs(met[inside]):
        first, end = start + inside.start, stop + inside.start
        heights, facing = of.apparent_deg[first:end], of.facing_deg[first:end]
        yield Chance(
            drive,
            of.utc[first],
            of.utc[first] + (end - first) * _MINUTE,
            float(heights.min()),
            float(heights.max()),
            float(180.0 - facing.max()),
            float(180.0 - facing.min()),
        )


def upcoming(
    years: Iterable[SpotYear], wish: Wish, first: dt.date, count: int = 10
) -> tuple[Chance, ...]:
    """Return the next chances from a date on that last at least `WORTH_MIN`.

    Parameters
    ----------
    years : iterable of SpotYear
        Years in order; only as many as needed are taken.
    wish : Wish
        The light waited for.
    first : datetime.date
        The first local date that counts.
    count : int
        How many chances to return at most.
    """
    every = (chance for of in years for chance in chances(of, wish))
    good = (c for c in every if c.drive.date >= first and c.minutes >= WORTH_MIN)
    return tuple(islice(good, count))


def runs(of: SpotYear, every: Iterable[Chance]) -> tuple[tuple[Chance, ...], ...]:
    """Join a year's chances into runs of neighbouring dates, in order of dates.

    A run belongs to one session (morning, evening or night). It continues over up to
    a week of days without that session, and ends where the clock changes.
    """
    index: dict[str, list[dt.date]] = {}
    for drive in of.drives:
        index.setdefault(drive.session, []).append(drive.date)
    joined: list[list[Chance]] = []
    by_session = sorted(every, key=lambda c: (c.drive.session, c.start_utc))
    for chance in by_session:
        dates = index[chance.drive.session]
        if joined and _continues(of.place.timezone, dates, joined[-1][-1], chance):
            joined[-1].append(chance)
        else:
            joined.append([chance])
    return tuple(sorted((tuple(run) for run in joined), key=lambda r: r[0].start_utc))


def spells(of: SpotYear, every: Iterable[Chance]) -> tuple[tuple[Chance, ...], ...]:
    """Return `runs`, joined where only New Year cuts them.

    What lasts to 31 December and from 1 January on is one spell; it comes last and
    begins in autumn.
    """
    joined = list(runs(of, every))
    for session in SESSIONS:
        own = [run for run in joined if run[0].drive.session == session]
        if len(own) > 1 and _goes_round(of, own[-1][-1], own[0][0]):
            joined = [run for run in joined if run not in (own[0], own[-1])]
            joined.append(own[-1] + own[0])
    return tuple(joined)


def _goes_round(of: SpotYear, last: Chance, first: Chance) -> bool:
    dates = [d.date for d in of.drives if d.session == first.drive.session]
    a, b = last.drive.date, first.drive.date
    days = (of.days[-1].date - a).days + (b - of.days[0].date).days + 1
    held_between = dates[-1] > a or dates[0] < b
    return not held_between and _joins(of.place.timezone, days, last, first)


def _continues(zone: str, dates: list[dt.date], last: Chance, chance: Chance) -> bool:
    if last.drive.session != chance.drive.session:
        return False
    a, b = last.drive.date, chance.drive.date
    days = (b - a).days
    held_between = any(a < date < b for date in dates) if days > 1 else False
    return not held_between and _joins(zone, days, last, chance)


def _joins(zone: str, days: int, last: Chance, chance: Chance) -> bool:
    offsets = localtime.offset_minutes(
        zone, np.array([last.start_utc, chance.start_utc])
    )
    return days <= _BRIDGED_DAYS + 1 and bool(offsets[0] == offsets[1])


def weeks(of: SpotYear, every: Iterable[Chance]) -> tuple[Week, ...]:
    """Return the year week by week, with its chances."""
    by_date: dict[dt.date, list[Chance]] = {}
    for chance in every:
        by_date.setdefault(chance.drive.date, []).append(chance)
    numbered = enumerate(of.days)
    grouped = groupby(numbered, lambda pair: _monday(pair[1].date))
    return tuple(_week(of, list(days), by_date) for _, days in grouped)


def _monday(date: dt.date) -> dt.date:
    return date - dt.timedelta(days=date.weekday())


def _week(
    of: SpotYear,
    days: list[tuple[int, drives.Day]],
    by_date: dict[dt.date, list[Chance]],
) -> Week:
    counts = np.zeros(len(LIGHTS) + 1, dtype=np.int64)
    for _, day in days:
        for session in day.sessions:
            if isinstance(session, Drive):
                lights = of.light[of.inside(session)] - NO_SUN
                counts += np.bincount(lights, minlength=len(counts))
    _, *minutes = counts.tolist()  # the first is without sun
    return Week(
        first=days[0][1].date,
        last=days[-1][1].date,
        middle=days[len(days) // 2][0],
        light_min=tuple(minutes),
        chances=tuple(c for _, day in days for c in by_date.get(day.date, [])),
    )


def nearest(of: SpotYear, wish: Wish) -> tuple[np.datetime64, float] | None:
    """Return the minute inside the gates at which the sun comes closest to behind.

    ``wish`` limits how high the sun may be.

    Returns
    -------
    tuple or None
        The instant (datetime64[m], UTC) and the angle from straight behind the
        animal [°]; None where no minute inside the gates has such a sun.
    """
    best: tuple[np.datetime64, float] | None = None
    facing = np.where(wish.low(of), of.facing_deg, -1.0)
    for drive in of.drives:
        inside = of.inside(drive)
        i = inside.start + int(facing[inside].argmax())
        if facing[i] >= 0 and (best is None or 180.0 - facing[i] < best[1]):
            best = (of.utc[i], float(180.0 - facing[i]))
    return best
