"""The same light over a whole year: week by week, and as one picture."""

import datetime as dt
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lightplan.arrays import FloatArray, Instants
from lightplan.camera import exposure
from lightplan.catalog.gates import SESSIONS, Session
from lightplan.light import daylight
from lightplan.sky import localtime, moon, sun
from lightplan.sky.sun_days import altitude_times
from lightplan.trip import drives, plan
from lightplan.trip.drives import Closed
from lightplan.trip.minutes import iso_by_rig
from lightplan.trip.plan import TripPlan
from lightplan.trip.request import FACING_INDEX, FACINGS, Request, RigChoice

STEP_MIN = 10  # between two rows of the picture
_MINUTE = np.timedelta64(1, "m")


class Week(NamedTuple):
    """A week from Monday to Sunday, cut at the ends of the year.

    ``best_min``, of the light asked for, and ``usable_min[rig]`` hold minutes by session (morning,
    evening, night), for the requested side of the sun. ``moon_age_days`` and
    ``moon_fraction`` are those of noon UTC in its middle.
    """

    first: dt.date
    last: dt.date
    best_min: tuple[int, ...]
    usable_min: tuple[tuple[int, ...], ...]
    usable_best_min: tuple[tuple[int, ...], ...]
    drives: int
    closed: int
    gates: tuple[str, ...]
    moon_age_days: float
    moon_fraction: float


class Picture(NamedTuple):
    """Needed ISO by date and local clock, shape (clock steps, dates), one rig."""

    dates: tuple[dt.date, ...]
    minutes: NDArray[np.int64]
    iso: FloatArray


class Edges(NamedTuple):
    """Each day's usable light without gates, for one rig; NaT where none.

    ``first_utc`` and ``last_utc`` of shape (days,); both NaT where the rig is
    usable at no hour, or at every hour, of that day.
    """

    first_utc: Instants
    last_utc: Instants


@dataclass(frozen=True, slots=True, eq=False)
class YearPlan:
    """A year at a place: the plan of all its days and what is derived from it."""

    plan: TripPlan
    weeks: tuple[Week, ...]
    picture: Picture
    edges: Edges
    rig: int


def make(request: Request, year: int, rig: int = 0) -> YearPlan:
    """Compute a year.

    Parameters
    ----------
    request : Request
        Place, kit and conditions; its dates are not used.
    year : int
        1950–2037.
    rig : int
        Index of the rig that the picture shows.

    Returns
    -------
    YearPlan
        Its minutes are those of the days' own plans, exactly.

    Raises
    ------
    ValueError
        If the year is out of range, or as for `plan.make`.
    """
    if not localtime.FIRST_YEAR <= year <= localtime.LAST_YEAR:
        raise ValueError(
            f"year must be {localtime.FIRST_YEAR} to {localtime.LAST_YEAR}, got {year}"
        )
    whole = replace(request, first=dt.date(year, 1, 1), last=dt.date(year, 12, 31))
    trip = plan.make(whole, at_most=366, ladders=False)
    return YearPlan(trip, _weeks(trip), _picture(trip, rig), _edges(trip, rig), rig)


def _weeks(trip: TripPlan) -> tuple[Week, ...]:
    days: dict[dt.date, list[drives.Day]] = {}
    for day in trip.days:
        monday = day.date - dt.timedelta(days=day.date.weekday())
        days.setdefault(monday, []).append(day)
    by_date: dict[dt.date, list[plan.DrivePlan]] = {}
    for drive in trip.drives:
        by_date.setdefault(drive.date, []).append(drive)
    middles = [week[len(week) // 2].date for week in days.values()]
    noons = np.array(middles, dtype="datetime64[D]") + np.timedelta64(12, "h")
    ages = moon.age_days(noons)
    fractions = moon.position(noons, 0.0, 0.0).fraction
    return tuple(
        _week(trip, week, by_date, float(age), float(fraction))
        for week, age, fraction in zip(days.values(), ages, fractions, strict=True)
    )


def _week(
    trip: TripPlan,
    days: list[drives.Day],
    by_date: dict[dt.date, list[plan.DrivePlan]],
    age: float,
    fraction: float,
) -> Week:
    facing = FACING_INDEX[trip.request.facing]
    held = [d for day in days for d in by_date.get(day.date, [])]
    of = {s: [d for d in held if d.session == s] for s in SESSIONS}
    rigs = range(len(trip.request.rigs))
    closed = sum(isinstance(s, Closed) for day in days for s in day.sessions)
    return Week(
        days[0].date,
        days[-1].date,
        tuple(sum(trip.best_min(d) for d in of[s]) for s in SESSIONS),
        tuple(
            tuple(
                sum(d.outcomes[r][facing].usable_min for d in of[s]) for s in SESSIONS
            )
            for r in rigs
        ),
        tuple(
            tuple(
                sum(d.outcomes[r][facing].usable_best_min for d in of[s])
                for s in SESSIONS
            )
            for r in rigs
        ),
        len(held),
        closed,
        _gates(trip, held),
        age,
        fraction,
    )


def _gates(trip: TripPlan, held: list[plan.DrivePlan]) -> tuple[str, ...]:
    """The week's first gate times of each session, ``06:00–10:00``."""
    zone = trip.request.place.timezone
    first: dict[Session, str] = {}
    for drive in held:
        opens, closes = drive.opens_utc, drive.closes_utc
        times = f"{localtime.clock(zone, opens)}–{localtime.clock(zone, closes)}"
        first.setdefault(drive.session, times)
    return tuple(first.values())


def _picture(trip: TripPlan, rig: int) -> Picture:
    request = trip.request
    place = request.place
    dates = tuple(day.date for day in trip.days)
    of_day = np.arange(0, 24 * 60, STEP_MIN)
    walls = np.array(dates, dtype="datetime64[m]") + of_day[:, None] * _MINUTE
    # The offset at a wall time, first taken as if it were UTC, then once more from
    # the result: right except in the hour of a clock change.
    near = walls - localtime.offset_minutes(place.timezone, walls) * _MINUTE
    utc = walls - localtime.offset_minutes(place.timezone, near) * _MINUTE
    altitude = sun.position(utc, place.latitude_deg, place.longitude_deg).altitude_deg
    apparent = sun.apparent_altitude_deg(altitude)
    angle = FACINGS[FACING_INDEX[request.facing]].angle_deg
    lux = np.empty_like(apparent)
    for sky, days in _by_air(request, dates):
        lux[:, days] = daylight.subject_lux(
            apparent[:, days], angle, sky, request.cover
        )
    iso = iso_by_rig(lux, (request.rigs[rig],))[0]
    return Picture(dates, of_day, iso)


def _by_air(
    request: Request, dates: tuple[dt.date, ...]
) -> list[tuple[daylight.Sky, NDArray[np.int64]]]:
    """Return the year's sky in each air that a month has, and its days' indices."""
    skies = [request.in_air(request.sky, date.month) for date in dates]
    of = np.array([skies.index(sky) for sky in skies])
    return [(skies[first], np.flatnonzero(of == first)) for first in np.unique(of)]


def _edges(trip: TripPlan, rig: int) -> Edges:
    request = trip.request
    nothing = np.full(len(trip.days), np.datetime64("NaT", "ms"))
    edges = Edges(nothing, nothing.copy())
    place = request.place
    for sky, days in _by_air(request, tuple(day.date for day in trip.days)):
        level = usable_altitude_deg(
            request.rigs[rig], request.facing, sky, request.cover
        )
        if level is None:
            continue
        suns = [trip.days[day].sun for day in days]
        times = altitude_times(place.latitude_deg, place.longitude_deg, suns, level)
        for edge, found in zip(edges, times, strict=True):
            edge[days] = found
    return edges


def usable_altitude_deg(
    choice: RigChoice,
    facing: str,
    sky: str | daylight.Sky,
    cover: str | daylight.Cover,
) -> float | None:
    """Return the geometric sun altitude from which a rig is usable.

    Parameters
    ----------
    choice : RigChoice
        The rig as it is used.
    facing, sky, cover
        As in `Request`, or a sky or a cover itself.

    Returns
    -------
    float or None
        The lowest altitude at which needed ISO is within the ceiling [°], to
        0.01°, without the moon; None if there is none up to 60°.
    """
    altitude = np.arange(-18.0, 60.0, 0.01)
    lux = daylight.subject_lux(
        sun.apparent_altitude_deg(altitude),
        FACINGS[FACING_INDEX[facing]].angle_deg,
        sky,
        cover,
    )
    iso = iso_by_rig(lux, (choice,))[0]
    enough = exposure.stops_over(iso, choice.iso_ceiling) <= 0
    return float(altitude[enough.argmax()]) if enough.any() else None
