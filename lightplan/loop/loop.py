"""The light on either side of a vehicle that drives a route.

From the left seat one looks along heading − 90°, from the right along heading + 90°.
"""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lightplan import errors
from lightplan.arrays import FloatArray, runs, true_runs
from lightplan.catalog.places import Place
from lightplan.light import daylight
from lightplan.light.backlight import SECTORS, facing_deg, sector_index
from lightplan.loop import route
from lightplan.loop.route import Route, Track
from lightplan.loop.seats import EITHER, LEFT, RIGHT, choose
from lightplan.sky import sphere, sun, windows
from lightplan.stop import rim
from lightplan.trip.drives import Drive

STEP_MIN = 0.25
# A spell of light shorter than this is worth neither a line nor a seat. Judgement.
SHORTEST_SPELL_MIN = 1.0
# If the sun is down for this long, any seat will do.
SHORTEST_DARK_MIN = 2.0
# About the smallest difference between front light and backlight that the eye sees.
LEAST_GAP_STOPS = 0.5
# Judgement: from 60° up the light comes from above rather than from a side (its
# vertical part is tan 60° = 1.7 times the horizontal one).
HIGH_DEG = 60.0

# Why the side does not matter, in the order in which `even` checks them. The last
# is no even light: the sun is where a rim needs it, but the rim is too weak.
DIRECTED, DOWN, LOW, HIGH, FLAT, NO_RIM = range(6)
EVEN = ("", "sun down", "sun too low", "sun too high", "even light", "backlit, no rim")

_RIM = next(i for i, sector in enumerate(SECTORS) if sector.key == "rim")


class Spell(NamedTuple):
    """A stretch of time, in minutes from the start of the loop, and its value."""

    value: int
    from_min: float
    to_min: float

    @property
    def minutes(self) -> float:
        """How long it lasts. [min]"""
        return self.to_min - self.from_min


@dataclass(frozen=True, slots=True, eq=False)
class Loop:
    """A route driven on a drive, in n steps of a quarter of a minute or less.

    ``minute`` [min] is the middle of each step, ``leg`` its leg, ``even`` an
    index in `EVEN`; ``sector`` of shape (2, n) is what left and right see, an
    index in `SECTORS`; ``glows`` of shape (2, n) is true where a rim would stand out;
    ``seat`` is `LEFT`, `RIGHT` or `EITHER`. ``step_min`` [min] is the length of a
    step, ``wanted`` an index in `SECTORS`.
    """

    route: Route
    track: Track
    drive: Drive
    start_utc: np.datetime64
    wanted: int
    minute: FloatArray
    step_min: float
    leg: NDArray[np.int64]
    latitude_deg: FloatArray
    longitude_deg: FloatArray
    altitude_deg: FloatArray
    azimuth_deg: FloatArray
    sector: NDArray[np.int64]
    glows: NDArray[np.bool_]
    even: NDArray[np.int64]
    seat: NDArray[np.int64]

    @property
    def end_utc(self) -> np.datetime64:
        """When the route ends, to the second."""
        return self.at(float(self.track.minutes[-1]))

    def at(self, minute: float) -> np.datetime64:
        """Return the instant a number of minutes after the start, to the second."""
        return self.start_utc + np.timedelta64(round(minute * 60), "s")

    @property
    def inside(self) -> NDArray[np.bool_]:
        """Which steps lie inside the drive's gates, shape (n,)."""
        second = np.rint(self.minute * 60).astype("timedelta64[s]")
        utc = self.start_utc.astype("datetime64[s]") + second
        inside: NDArray[np.bool_] = (utc >= self.drive.opens_utc) & (
            utc < self.drive.closes_utc
        )
        return inside

    def got(self, side: int, sector: int) -> NDArray[np.bool_]:
        """Return in which steps a side has a kind of light, shape (n,)."""
        return np.asarray(self.kinds(side) == sector)

    def kinds(self, side: int) -> NDArray[np.int64]:
        """Return what a side sees, shape (n,).

        An index in `SECTORS`; or, where the side does not matter or a rim is too
        weak, minus an index in `EVEN`.
        """
        dull = (self.sector[side] == _RIM) & ~self.glows[side]
        lit = np.where(dull, -NO_RIM, self.sector[side])
        return np.where(self.even == DIRECTED, lit, -self.even)

    def seen(self) -> NDArray[np.int64]:
        """Return what the chosen seat sees, as `kinds`; the left if any will do."""
        return np.where(self.seat == RIGHT, self.kinds(RIGHT), self.kinds(LEFT))

    def spells(self, values: NDArray[np.int64]) -> list[Spell]:
        """Return the runs of equal values, in order."""
        return [
            Spell(int(values[a]), a * self.step_min, b * self.step_min)
            for a, b in runs(values)
        ]

    def lasting(self, got: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Return where something lasts a minute or more inside the gates, shape (n,)."""
        lasting = got & self.inside
        for first, last in true_runs(lasting):
            if (last - first) * self.step_min < SHORTEST_SPELL_MIN:
                lasting[first:last] = False
        return lasting


def make(
    way: Route,
    place: Place,
    drive: Drive,
    start_utc: np.datetime64,
    speed_kmh: float,
    wanted: str,
    sky: str | daylight.Sky = "clear",
    cover: str | daylight.Cover = "open",
) -> Loop:
    """Drive a route: work out what each side sees and where to sit.

    Parameters
    ----------
    way : Route
        The legs.
    place : Place
        Where it begins, unless the route gives a start.
    drive : Drive
        Whose gates it must keep to.
    start_utc : datetime64
        When it begins.
    speed_kmh : float
        On legs without minutes. [km/h]
    wanted : str
        The light wanted: "front", "side", "rim" or "back".
    sky, cover
        As for `daylight.subject_lux`.

    Raises
    ------
    ValueError
        If the route takes longer than 24 hours, or a name is unknown.
    """
    keys = [sector.key for sector in SECTORS]
    if wanted not in keys:
        raise ValueError(errors.one_of("light", wanted, keys))
    laid = route.track(way, place.latitude_deg, place.longitude_deg, speed_kmh)
    total = float(laid.minutes[-1])
    count = max(1, int(np.ceil(total / STEP_MIN)))
    minute = (np.arange(count) + 0.5) * total / count
    leg, latitude, longitude = _positions(laid, minute)
    utc = start_utc.astype("datetime64[ms]") + np.rint(minute * 60000).astype(
        "timedelta64[ms]"
    )
    altitude, azimuth = sun.position(utc, latitude, longitude)
    heading = laid.heading_deg[leg]
    facing = facing_deg(np.array([heading - 90, heading + 90]), azimuth)
    driven = Loop(
        route=way,
        track=laid,
        drive=drive,
        start_utc=start_utc,
        wanted=keys.index(wanted),
        minute=minute,
        step_min=total / count,
        leg=leg,
        latitude_deg=latitude,
        longitude_deg=longitude,
        altitude_deg=altitude,
        azimuth_deg=azimuth,
        sector=sector_index(facing),
        glows=rim.glows(sun.apparent_altitude_deg(altitude), facing, sky, cover),
        even=even(altitude, sky, cover),
        seat=np.full(count, EITHER),
    )
    return replace(driven, seat=_seat(driven))


def even(
    altitude_deg: FloatArray, sky: str | daylight.Sky, cover: str | daylight.Cover
) -> NDArray[np.int64]:
    """Return why the side does not matter, an index in `EVEN`; 0 where it does.

    Parameters
    ----------
    altitude_deg : ndarray, shape (n,)
        Of the sun, geometric. [°]
    sky, cover
        As for `daylight.subject_lux`.
    """
    apparent = sun.apparent_altitude_deg(altitude_deg)
    here = _gap_stops(apparent, sky, cover) < LEAST_GAP_STOPS
    clear = _gap_stops(apparent, "clear", "open") < LEAST_GAP_STOPS
    # The order counts: a sun that is down makes a clear sky even too. Down is
    # before sunrise and after sunset as everywhere else: of the upper limb.
    result: NDArray[np.int64] = np.select(
        [altitude_deg <= windows.SUNRISE_DEG, apparent >= HIGH_DEG, clear, here],
        [DOWN, HIGH, LOW, FLAT],
        DIRECTED,
    )
    return result


def _seat(loop: Loop) -> NDArray[np.int64]:
    """Return where to sit; either side where the sun is down for some time."""
    got = [loop.lasting(loop.got(side, loop.wanted)) for side in (LEFT, RIGHT)]
    seat = choose(np.array(got), loop.step_min)
    for first, last in true_runs(loop.even == DOWN):
        if (last - first) * loop.step_min >= SHORTEST_DARK_MIN:
            seat[first:last] = EITHER
    return seat


def start_of(drive: Drive, candidates: tuple[np.datetime64, ...]) -> np.datetime64:
    """Return the first candidate inside the drive's gates, else the first."""
    inside = [c for c in candidates if drive.opens_utc <= c < drive.closes_utc]
    return (inside or list(candidates))[0]


def turn_round_min(loop: Loop) -> float:
    """Return after how many minutes [min] to turn round to be back by the same way.

    The way back takes as long as the way out, so half of what the gates leave.
    """
    left = (loop.drive.closes_utc - loop.start_utc) / np.timedelta64(1, "s") / 120
    return max(0.0, min(float(left), float(loop.track.minutes[-1])))


def _positions(
    laid: Track, minute: FloatArray
) -> tuple[NDArray[np.int64], FloatArray, FloatArray]:
    """Return leg, latitude and longitude at each minute."""
    ends = laid.minutes[1:]
    leg = np.minimum(np.searchsorted(ends, minute, side="right"), len(ends) - 1)
    took = np.diff(laid.minutes)[leg]
    share = np.divide(
        minute - laid.minutes[leg], took, out=np.zeros_like(minute), where=took > 0
    )
    latitude, longitude = sphere.destination(
        laid.latitude_deg[leg],
        laid.longitude_deg[leg],
        laid.heading_deg[leg],
        np.diff(laid.km)[leg] * share,
    )
    return leg, latitude, longitude


def _gap_stops(
    apparent_deg: FloatArray, sky: str | daylight.Sky, cover: str | daylight.Cover
) -> FloatArray:
    front = daylight.subject_lux(apparent_deg, 0.0, sky, cover)
    back = daylight.subject_lux(apparent_deg, 180.0, sky, cover)
    # Deep night has no light to compare.
    ratio = np.divide(front, back, out=np.ones_like(front), where=back > 0)
    return np.log2(np.maximum(ratio, 1e-9))
