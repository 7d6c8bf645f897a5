"""What a person chooses for the loop, as typed: turned into values or refused."""

import datetime as dt
import re
from dataclasses import replace
from typing import NamedTuple

from lightplan.catalog import positions
from lightplan.light.backlight import SECTORS
from lightplan.loop import route
from lightplan.loop.route import Route
from lightplan.web import ids
from lightplan.web.choices import typed
from lightplan.web.choices.raw import Raw

NO_DAY, DAY = dt.timedelta(), dt.timedelta(days=1)

USUAL_SPEED_KMH = 15.0  # common practice: a drive with stops, well below the limit
USUAL_LIGHT = SECTORS[0].key

# Shown where nothing is typed: an invented loop of an hour and a half.
EXAMPLE = """\
320 3.4 km
275 2.6 km
stop 10 min
215 3 km
NE 1.2 km
150 3.8 km
95 2.2 km
35 2.7 km"""


def legs(text: str) -> Route:
    """Return the route typed, the example for nothing; raises as `read_legs`.

    Its start is rounded as in a link, so that a link opens the same loop.
    """
    found = route.read_legs(text or EXAMPLE)
    if found.start is None:
        return found
    latitude, longitude = map(positions.coarse_deg, found.start)
    return replace(found, start=(latitude, longitude))


def speed_kmh(text: str) -> float:
    """Return the speed [km/h]; ValueError outside 1–120."""
    return typed.number(text, "speed", 1, route.FASTEST_KMH, " km/h")


def light(text: str) -> str:
    """Return the key of the light wanted; ValueError if it is unknown."""
    return typed.one_of(text, {s.key: s for s in SECTORS}, "light")


def start(text: str) -> dt.timedelta | None:
    """Return the time since midnight, None for nothing (the drive's beginning)."""
    if not text:
        return None
    found = re.fullmatch(r"([01]?\d|2[0-3]):([0-5]\d)(?::[0-5]\d)?", text, re.ASCII)
    if not found:
        raise ValueError(f"start must be a time like 15:30, got {text[:40]!r}")
    return dt.timedelta(hours=int(found[1]), minutes=int(found[2]))


class Asked(NamedTuple):
    """What is asked of the loop; ``start`` is None for the drive's beginning."""

    route: Route
    start: dt.timedelta | None
    speed_kmh: float
    light: str


def read(raw: Raw) -> Asked:
    """Return what is asked of the loop.

    Raises
    ------
    ValueError
        With one sentence on the first value that is wrong.
    """
    asked = Asked(
        route=legs(raw[ids.LEGS]),
        start=start(raw[ids.START]),
        speed_kmh=speed_kmh(raw[ids.SPEED]),
        light=light(raw[ids.LIGHT]),
    )
    route.track(asked.route, 0.0, 0.0, asked.speed_kmh)  # says if it takes too long
    return asked
