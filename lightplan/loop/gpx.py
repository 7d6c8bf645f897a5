"""Turn a GPX file, which may come from anywhere, into a `Route` of a few legs.

GPX 1.0 and 1.1 are the open standard; Expat reads the XML. What a file may not
contain is refused before Expat sees it. Only the points are kept: building the tree
of a day's recording takes seconds.
"""

import datetime as dt
import re
from collections.abc import Collection
from itertools import pairwise
from typing import NamedTuple
from xml.parsers import expat

import numpy as np
from numpy.typing import NDArray

from lightplan.arrays import FloatArray
from lightplan.errors import one_line
from lightplan.loop import route
from lightplan.loop.route import Route
from lightplan.sky import sphere

LARGEST_BYTES = 8_000_000
MOST_POINTS = 50_000  # a point a second for 14 hours
# Opening and closing tags together, for eight elements per point; a point has two
# attributes.
MOST_TAGS = 800_000
MOST_ATTRIBUTES = 200_000
TOLERANCE_KM = 0.015  # the width of a track, and the error of a GPS receiver
# A shorter halt is no stop: it only slows the leg it is on.
STAND_MIN = 3.0
MOST_STANDS = 15  # each takes up to three legs of sixty
SAMPLES_A_MIN = 6  # points per minute among which stops are searched

Stand = tuple[int, int]

# A document type declares entities, which can grow without end or name files.
# GPX needs neither: of <!…> only comments and quoted text are let through.
_DECLARES = re.compile(r"<!(?!--|\[CDATA\[)")
_POINT = re.compile(r"<(?:\w+:)?(?:trkpt|rtept|wpt)\b")


class GpxError(ValueError):
    """A file that cannot be used; the message is one sentence."""


class Read(NamedTuple):
    """A file's route, its number of points, and sentences on how it was read."""

    route: Route
    points: int
    notes: tuple[str, ...]


def read(data: bytes, name: str) -> Read:
    """Return the route of a GPX file: its tracks, or else its routes.

    Parameters
    ----------
    data : bytes
        The file, UTF-8 or UTF-16.
    name : str
        What to call it.

    Raises
    ------
    GpxError
        If it is too large, declares a document type or entities, is in another
        encoding, is not GPX, has fewer than two places or a leg past 500 km.
    """
    points, notes = _points(_parsed(_checked(data, name), name), name)
    latitude = np.array([p.latitude for p in points], np.float64)
    longitude = np.array([p.longitude for p in points], np.float64)
    if not ((np.abs(latitude) <= 90) & (np.abs(longitude) <= 180)).all():
        raise GpxError(f"{name} has a point outside ±90° latitude, ±180° longitude")
    minutes, note = _minutes(points)
    stood = [] if minutes is None else stands(latitude, longitude, minutes)
    longest = stood[:MOST_STANDS]
    kept = simplified(latitude, longitude, longest)
    way = route.through(
        latitude[kept],
        longitude[kept],
        None if minutes is None else minutes[kept],
        [piece in longest for piece in pairwise(kept.tolist())],
    )
    if all(leg.bearing_deg is None for leg in way.legs):
        raise GpxError(f"{name} stays at one place, a route needs two")
    longest_km = max(leg.length_km or 0.0 for leg in way.legs)
    if longest_km > route.LONGEST_LEG_KM:
        raise GpxError(
            f"{name} goes {longest_km:,.0f} km in one line, a leg may have at most "
            f"{route.LONGEST_LEG_KM:g} km"
        )
    if len(points) > len(way.legs) + 1:
        legs = f"{len(way.legs)} leg" + "s" * (len(way.legs) > 1)
        notes.append(
            f"Its {len(points):,} points are drawn as {legs}, within "
            f"{_offset_m(latitude, longitude, kept):.0f} m of the file."
        )
    if len(stood) > MOST_STANDS:
        notes.append(f"Of its {len(stood)} stops the longest {MOST_STANDS} are kept.")
    return Read(way, len(points), (*notes, note))


def stands(
    latitude_deg: FloatArray, longitude_deg: FloatArray, minutes: FloatArray
) -> list[Stand]:
    """Return the first and last index of each stop, the longest first.

    A stop lasts 3 min or more and stays within what a GPS receiver at rest seems to
    move to either side. ``minutes`` are in order. [min]
    """
    # So few per minute that the work does not grow with the square of the file.
    sample = np.unique(np.floor(minutes * SAMPLES_A_MIN), return_index=True)[1]
    x, y = (axis[sample] for axis in _plane(latitude_deg, longitude_deg))
    at = minutes[sample]

    def stays(first: int, last: int) -> bool:
        wide = max(np.ptp(axis[first : last + 1]) for axis in (x, y))
        return bool(wide <= 2 * route.STANDING_KM)

    stops, first = [], 0
    while (last := int(np.searchsorted(at, at[first] + STAND_MIN))) < len(at):
        if not stays(first, last):
            first += 1
            continue
        while last + 1 < len(at) and stays(first, last + 1):
            last += 1
        stops.append((int(sample[first]), int(sample[last])))
        first = last
    return sorted(stops, key=lambda run: minutes[run[0]] - minutes[run[1]])


def simplified(
    latitude_deg: FloatArray,
    longitude_deg: FloatArray,
    stood: Collection[Stand] = (),
) -> NDArray[np.intp]:
    """Return the indices of the points that define the shape of a line.

    Douglas and Peucker's rule, the farthest point first: it goes on until no
    point is more than 15 m off, or there are 60 legs.

    Parameters
    ----------
    latitude_deg, longitude_deg : ndarray, shape (n,)
        The line. [°]
    stood : collection of (int, int)
        Runs that stand still: both ends are kept, and nothing between them.
    """
    x, y = _plane(latitude_deg, longitude_deg)
    kept = {0, len(x) - 1, *(end for run in stood for end in run)}
    pieces = [
        (*_farthest(x, y, *piece), *piece)
        for piece in pairwise(sorted(kept))
        if piece not in stood
    ]
    while pieces and len(kept) <= route.MAX_LEGS:
        off, at, first, last = max(pieces)
        if off <= TOLERANCE_KM:
            break
        pieces.remove((off, at, first, last))
        pieces += [(*_farthest(x, y, a, b), a, b) for a, b in ((first, at), (at, last))]
        kept.add(at)
    return np.array(sorted(kept), np.intp)


def _plane(latitude: FloatArray, longitude: FloatArray) -> tuple[FloatArray, ...]:
    start = float(latitude[0]), float(longitude[0])
    return sphere.plane_km(latitude, longitude, start)


def _offset_m(
    latitude: FloatArray, longitude: FloatArray, kept: NDArray[np.intp]
) -> float:
    x, y = _plane(latitude, longitude)
    pieces = pairwise(kept.tolist())
    return 1000 * max(_farthest(x, y, a, b)[0] for a, b in pieces)


def _farthest(x: FloatArray, y: FloatArray, first: int, last: int) -> tuple[float, int]:
    """Return how far [km] the farthest point between two is off their line, and which."""
    if last - first < 2:
        return 0.0, first
    east, north = x[first + 1 : last] - x[first], y[first + 1 : last] - y[first]
    to_east, to_north = x[last] - x[first], y[last] - y[first]
    square = to_east**2 + to_north**2
    share = (east * to_east + north * to_north) / square if square else 0.0
    share = np.clip(share, 0, 1)
    off = np.hypot(east - share * to_east, north - share * to_north)
    at = int(np.argmax(off))
    return float(off[at]), first + 1 + at


def _checked(data: bytes, name: str) -> str:
    """Return the file's text without its XML declaration, if it may be parsed."""
    if len(data) > LARGEST_BYTES:
        raise GpxError(
            f"{name} must be at most {LARGEST_BYTES / 1e6:.0f} MB, got "
            f"{len(data) / 1e6:.1f} MB"
        )
    wide = data[:2] in (b"\xff\xfe", b"\xfe\xff")
    try:
        text = data.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError:
        text = "\0"
    if "\0" in text:
        raise GpxError(f"{name} is not text in UTF-8 or UTF-16")
    if _DECLARES.search(text):
        raise GpxError(
            f"{name} declares a document type or entities, which GPX does not need, "
            "and for safety is not read"
        )
    count = sum(1 for _ in _POINT.finditer(text))
    if count > MOST_POINTS:
        raise GpxError(f"{name} may have at most {MOST_POINTS:,} points, got {count:,}")
    for what, sign, most in (
        ("tags", "<", MOST_TAGS),
        ("attributes", "=", MOST_ATTRIBUTES),
    ):
        if (count := text.count(sign)) > most:
            raise GpxError(
                f"{name} may have at most {most:,} {what}, got {count:,}: export the "
                "track alone"
            )
    return text


class _Point(NamedTuple):
    latitude: float
    longitude: float
    time: dt.datetime | None


_TRACK, _ROUTE = ("gpx", "trk", "trkseg"), ("gpx", "rte")
# Where each element must stand to count; the same name elsewhere is ignored.
_PLACES = {
    "trkseg": (_TRACK,),
    "rte": (_ROUTE,),
    "trkpt": ((*_TRACK, "trkpt"),),
    "rtept": ((*_ROUTE, "rtept"),),
    "time": ((*_TRACK, "trkpt", "time"), (*_ROUTE, "rtept", "time")),
    "wpt": (("gpx", "wpt"),),
}


class _Parsed:
    """What Expat reads: the lines of tracks and routes, and how many waypoints."""

    def __init__(self, text: str) -> None:
        self.lines: dict[str, list[list[_Point]]] = {"trkpt": [], "rtept": []}
        self.waypoints = 0
        self._path: list[str] = []
        self._new = True  # the next point begins a line
        self._position = (0.0, 0.0)
        self._time: list[str] = []
        self._parser = expat.ParserCreate()
        self._parser.buffer_text = True
        self._parser.StartElementHandler = self._start
        self._parser.EndElementHandler = self._end
        # As text, so that Expat ignores the encoding that the file declares.
        self._parser.Parse(text, True)

    def _counts(self) -> bool:
        known = _PLACES.get(self._path[-1])
        return known is not None and tuple(self._path[:6]) in known

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        name = tag.rpartition(":")[2]
        self._path.append(name)
        if not self._counts():
            return
        if name in self.lines:
            self._position = float(attributes["lat"]), float(attributes["lon"])
            self._time = []
        elif name == "time":
            self._parser.CharacterDataHandler = self._time.append
        elif name == "wpt":
            self.waypoints += 1
        else:
            self._new = True

    def _end(self, tag: str) -> None:
        name = self._path[-1]
        if name == "time":
            self._parser.CharacterDataHandler = None
        elif name in self.lines and self._counts():
            lines = self.lines[name]
            if self._new:
                lines.append([])
                self._new = False
            lines[-1].append(_Point(*self._position, _moment("".join(self._time))))
        self._path.pop()


def _moment(text: str) -> dt.datetime | None:
    """Read an XML Schema dateTime, the form of GPX times; None if it is malformed."""
    try:
        return dt.datetime.fromisoformat(text.strip()) if ":" in text else None
    except ValueError:
        return None


def _parsed(text: str, name: str) -> _Parsed:
    if not re.search(r"<(?:\w+:)?gpx\b", text):
        raise GpxError(f"{name} is not a GPX file")
    try:
        return _Parsed(text)
    except expat.ExpatError:
        raise GpxError(f"{name} is not well-formed XML") from None
    except KeyError as error:
        raise GpxError(f"{name} is not valid GPX (a point without {error})") from None
    except ValueError as error:  # a word for a number
        reason = one_line(" ".join(str(error).split()))[:80]
        raise GpxError(f"{name} is not valid GPX ({reason})") from None


def _points(parsed: _Parsed, name: str) -> tuple[list[_Point], list[str]]:
    """Return the points of all tracks, else of all routes, and sentences on them."""
    lines = parsed.lines["trkpt"] or parsed.lines["rtept"]
    points = [point for line in lines for point in line]
    if len(points) < 2:
        marks = parsed.waypoints
        also = f" and {marks} waypoints" if marks else ""
        raise GpxError(
            f"{name} needs a track or a route of at least two points, got "
            f"{len(points)}{also}"
        )
    notes = []
    if len(lines) > 1:
        notes.append(
            f"Its {len(lines)} pieces are driven one after another, with straight legs "
            "between them."
        )
    return points, notes


def _minutes(points: list[_Point]) -> tuple[FloatArray | None, str]:
    """Return when each point is reached [min], if the file says so, and a sentence."""
    at_speed = "the speed you set applies to every leg."
    times = [p.time for p in points if p.time is not None]
    if len(times) < len(points):
        some = "Only some points of the file have" if times else "The file has no"
        return None, f"{some} times: {at_speed}"
    # Some files leave the zone out; all times in a file have the same one.
    utc = [t if t.tzinfo else t.replace(tzinfo=dt.UTC) for t in times]
    minutes = np.array([(t - utc[0]).total_seconds() / 60 for t in utc])
    if (np.diff(minutes) < 0).any() or minutes[-1] <= 0:
        return None, f"The file’s times are not in order: {at_speed}"
    if minutes[-1] > route.LONGEST_MIN:
        return None, f"The file’s times span more than 24 hours: {at_speed}"
    return minutes, (
        "The legs have the file’s own minutes; delete the minutes to use the speed you "
        "set."
    )
