"""A route as legs: how it is written, where it runs, how long it takes.

Bearings run clockwise from true north.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from lightplan.arrays import FloatArray
from lightplan.catalog import positions
from lightplan.naming import COMPASS
from lightplan.sky import sphere

MAX_LEGS = 60
LONGEST_LEG_KM = 500.0
LONGEST_MIN = 24 * 60.0
SHORTEST_KM = 0.001
FASTEST_KMH = 120.0  # no road that animals are watched from allows more
# How far a GPS receiver at rest seems to move: a shorter leg of a recording is a stop.
STANDING_KM = 0.02
LONGEST_TEXT = 4000  # characters, so that a link can carry it

_NUMBER = r"\d+(?:\.\d+)?|\.\d+"
_LEG = re.compile(
    rf"(?P<way>stop|[a-z]{{1,3}}|{_NUMBER})\s*°?"
    rf"(?:\s+(?P<length>{_NUMBER})\s*(?P<unit>km|m))?"
    rf"(?:\s+(?P<minutes>{_NUMBER})\s*min)?",
    re.IGNORECASE | re.ASCII,
)
_FROM = re.compile(
    rf"from\s+(-?(?:{_NUMBER}))\s*°?\s*,?\s+(-?(?:{_NUMBER}))\s*°?",
    re.IGNORECASE | re.ASCII,
)


class Leg(NamedTuple):
    """A straight piece of a route.

    ``bearing_deg`` is None for a stop. Without ``minutes`` the speed sets the time;
    without ``length_km`` the minutes and the speed set the length.
    """

    bearing_deg: float | None
    length_km: float | None
    minutes: float | None = None


@dataclass(frozen=True, slots=True)
class Route:
    """Legs in order; ``start`` is latitude and longitude [°], if the route has them.

    ``skipped`` counts legs of no length that were left out.
    """

    legs: tuple[Leg, ...]
    start: tuple[float, float] | None = None
    skipped: int = 0


class Track(NamedTuple):
    """A route laid on the ground: n legs, n + 1 ends.

    ``minutes`` [min] and ``km`` [km] count from the start; ``latitude_deg`` and
    ``longitude_deg`` are those of the ends; ``heading_deg`` has shape (n,), and a
    stop keeps the heading of the leg before it.
    """

    minutes: FloatArray
    km: FloatArray
    latitude_deg: FloatArray
    longitude_deg: FloatArray
    heading_deg: FloatArray


def read_legs(text: str) -> Route:
    """Read legs, one per line or separated by semicolons.

    ``45 3.2 km`` is a bearing and a length, ``NE 15 min`` a bearing and a time,
    ``45 3.2 km 15 min`` all three, ``stop 10 min`` a stop, as is ``45 0 km 10 min``.
    A first line ``from -18.25 25.50`` is where the route starts.

    Raises
    ------
    ValueError
        With one sentence on the first line that is wrong, or if there are more
        than 60 legs or none.
    """
    if len(text) > LONGEST_TEXT:
        raise ValueError(
            f"legs must be at most {LONGEST_TEXT} characters, got {len(text)}"
        )
    # One space between words: on long runs of spaces the patterns take for ever.
    lines = [" ".join(line.split()) for line in re.split(r"[\n;]", text)]
    lines = [line for line in lines if line]
    start = None
    if lines and lines[0].lower().startswith("from"):
        start = _start(lines.pop(0))
    if len(lines) > MAX_LEGS:
        raise ValueError(f"a route may have at most {MAX_LEGS} legs, got {len(lines)}")
    legs = tuple(_leg(line, number) for number, line in enumerate(lines, 1))
    kept = tuple(leg for leg in legs if not _is_nothing(leg))
    if all(leg.bearing_deg is None for leg in kept):
        raise ValueError("a route needs at least one leg with a length, got none")
    return Route(kept, start, len(legs) - len(kept))


def write_legs(route: Route) -> str:
    """Return the text that `read_legs` reads back, one leg per line.

    The start is written to 0.01°, since links and pages carry the text.
    """
    lines = []
    if route.start:
        latitude, longitude = map(positions.coarse_deg, route.start)
        lines.append(f"from {latitude:g} {longitude:g}")
    for way, length, minutes in route.legs:
        words = ["stop" if way is None else f"{way:.0f}"]
        words += [] if length is None else [f"{_short_km(length):g} km"]
        words += [] if minutes is None else [f"{minutes:.1f} min"]
        lines.append(" ".join(words))
    return "\n".join(lines)


def coarse_start(text: str) -> str:
    """Return legs as typed, with at most two decimals in positions.

    A position may stand on any line that is not a leg: the start, or a mistyped one.
    """
    pieces = re.split(r"([\n;])", text)
    return "".join(
        piece
        if _LEG.fullmatch(" ".join(piece.split()))
        else positions.coarse_text(piece)
        for piece in pieces
    )


def through(
    latitude_deg: FloatArray,
    longitude_deg: FloatArray,
    minutes: FloatArray | None,
    stands: Sequence[bool] | None = None,
) -> Route:
    """Return the route through points, with bearings and lengths rounded as written.

    Each leg starts where the rounded legs before it end, so rounding does not add up.

    Parameters
    ----------
    latitude_deg, longitude_deg : ndarray, shape (n,)
        The points. [°]
    minutes : ndarray, shape (n,), optional
        When each is reached. [min]
    stands : sequence of bool, n - 1, optional
        Whether the vehicle stands still until the next point, wherever that is;
        short moves that take time are stops in any case.
    """
    here = round(float(latitude_deg[0]), 5), round(float(longitude_deg[0]), 5)
    start, legs, skipped = here, [], 0
    since = 0.0 if minutes is None else float(minutes[0])
    for i in range(1, len(latitude_deg)):
        there = float(latitude_deg[i]), float(longitude_deg[i])
        way = float(np.rint(sphere.bearing_deg(*here, *there))) % 360
        length = _short_km(float(sphere.distance_km(*here, *there)))
        stop = length < STANDING_KM or (stands is not None and stands[i - 1])
        least = 0.0 if stop else length / FASTEST_KMH * 60
        # Rounded up to a tenth of a minute, so that no leg is written with 0 min.
        took = (
            None
            if minutes is None
            else max(round(float(minutes[i]) - since, 1), np.ceil(least * 10) / 10)
        )
        if stop and not took:
            skipped += 1
            continue
        legs.append(Leg(None, None, took) if stop else Leg(way, length, took))
        since += took or 0.0
        if stop:
            continue
        latitude, longitude = sphere.destination(*here, way, length)
        here = float(latitude), float(longitude)
    return Route(tuple(legs), start, skipped)


def track(
    route: Route, latitude_deg: float, longitude_deg: float, speed_kmh: float
) -> Track:
    """Lay a route on the ground, from its own start or else from the place given.

    Raises
    ------
    ValueError
        If it takes longer than 24 hours.
    """
    latitude, longitude = route.start or (latitude_deg, longitude_deg)
    first = next(leg.bearing_deg for leg in route.legs if leg.bearing_deg is not None)
    ends = [(0.0, 0.0, latitude, longitude)]
    headings: list[float] = []
    for leg in route.legs:
        minutes, km, latitude, longitude = ends[-1]
        length = _length_km(leg, speed_kmh)
        took = length / speed_kmh * 60 if leg.minutes is None else leg.minutes
        before = headings[-1] if headings else first
        headings.append(before if leg.bearing_deg is None else leg.bearing_deg)
        to = sphere.destination(latitude, longitude, headings[-1], length)
        ends.append((minutes + took, km + length, float(to[0]), float(to[1])))
    if ends[-1][0] > LONGEST_MIN:
        raise ValueError(
            f"a route may take at most 24 hours, got {ends[-1][0] / 60:.0f} h at "
            f"{speed_kmh:g} km/h"
        )
    columns = np.array(ends).T
    return Track(columns[0], columns[1], columns[2], columns[3], np.array(headings))


def _length_km(leg: Leg, speed_kmh: float) -> float:
    if leg.bearing_deg is None:
        return 0.0
    if leg.length_km is None:
        return speed_kmh * (leg.minutes or 0.0) / 60
    return leg.length_km


def _short_km(length_km: float) -> float:
    """Round to a metre below 1 km, else to ten."""
    return round(length_km, 3 if length_km < 1 else 2)


def _is_nothing(leg: Leg) -> bool:
    if leg.length_km is None:
        return not leg.minutes
    return leg.length_km < SHORTEST_KM


def _start(line: str) -> tuple[float, float]:
    match = _FROM.fullmatch(line)
    if not match:
        raise ValueError(
            "the start must be written like 'from -18.25 25.50' (latitude, longitude "
            f"in °), got {line[:40]!r}"
        )
    latitude, longitude = float(match[1]), float(match[2])
    if not (abs(latitude) <= 90 and abs(longitude) <= 180):
        raise ValueError(
            "the start must have a latitude of -90 to 90° and a longitude of -180 to "
            f"180°, got {latitude:g} {longitude:g}"
        )
    return latitude, longitude


def _leg(line: str, number: int) -> Leg:
    match = _LEG.fullmatch(line)
    if not match or (match["length"] is None and match["minutes"] is None):
        raise ValueError(
            f"leg {number} must be written like '45 3.2 km', 'NE 15 min' or "
            f"'stop 10 min', got {line[:40]!r}"
        )
    minutes = _within(match["minutes"], LONGEST_MIN, "min", number)
    if match["way"].lower() == "stop":
        if match["length"]:
            raise ValueError(
                f"leg {number} is a stop and can have minutes only, got a length"
            )
        return Leg(None, None, minutes)
    length = _within(
        match["length"],
        LONGEST_LEG_KM,
        "km",
        number,
        1000 if (match["unit"] or "").lower() == "m" else 1,
    )
    way = _way(match["way"], number)
    if length is None or minutes is None:
        return Leg(way, length, minutes)
    if length < SHORTEST_KM:
        return Leg(None, None, minutes)  # a stop
    _check_speed(length, minutes, number)
    return Leg(way, length, minutes)


def _check_speed(length_km: float, minutes: float, number: int) -> None:
    if not minutes:
        raise ValueError(
            f"leg {number} goes {length_km:g} km in 0 min: give it more minutes or "
            "leave them out"
        )
    kmh = length_km / minutes * 60
    if kmh > FASTEST_KMH * (1 + 1e-9):
        raise ValueError(
            f"leg {number} must be at most {FASTEST_KMH:g} km/h, got {length_km:g} km "
            f"in {minutes:g} min, which is {kmh:,.0f} km/h"
        )


def _way(text: str, number: int) -> float:
    if text.upper() in COMPASS:
        return COMPASS.index(text.upper()) * 22.5
    try:
        bearing = float(text)
    except ValueError:
        bearing = float("inf")
    if bearing > 360:
        got = f"{bearing:g}" if np.isfinite(bearing) else repr(text[:40])
        raise ValueError(
            f"the bearing of leg {number} must be 0 to 360° or a compass point like NE, "
            f"got {got}"
        )
    return bearing % 360


def _within(
    text: str | None, most: float, unit: str, number: int, divisor: float = 1
) -> float | None:
    if text is None:
        return None
    value = float(text) / divisor
    if value > most:
        raise ValueError(f"leg {number} must be at most {most:g} {unit}, got {value:g}")
    return value
