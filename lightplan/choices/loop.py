"""The route and the start of a loop, as typed."""

import datetime as dt
import re
from dataclasses import replace

from lightplan.catalog import positions
from lightplan.loop import route
from lightplan.loop.route import Route

USUAL_SPEED_KMH = 15.0  # common practice: a drive with stops, well below the limit

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
    """Return the route typed, or the example if empty; raises as `read_legs`.

    Its start is rounded as in a link, so that a link opens the same loop.
    """
    typed = route.read_legs(text or EXAMPLE)
    if typed.start is None:
        return typed
    latitude, longitude = map(positions.coarse_deg, typed.start)
    return replace(typed, start=(latitude, longitude))


def start(text: str) -> dt.timedelta | None:
    """Return the time since midnight; None if empty: when the drive begins."""
    if not text:
        return None
    match = re.fullmatch(r"([01]?\d|2[0-3]):([0-5]\d)(?::[0-5]\d)?", text, re.ASCII)
    if not match:
        raise ValueError(f"start must be a time like 15:30, got {text[:40]!r}")
    return dt.timedelta(hours=int(match[1]), minutes=int(match[2]))
