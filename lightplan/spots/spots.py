"""Which light a fixed spot has, minute by minute through a year.

A spot is where a photographer waits: the camera looks along one bearing, and the
skyline hides a low sun. The sun counts as up there while its centre, at its
*apparent* altitude, is above the skyline. The upper limb clears it 0.27° earlier, one
to two minutes in low latitudes; the shadow lifts with the centre.
"""

import datetime as dt
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lightplan.arrays import FloatArray, Instants
from lightplan.catalog.places import Place, Spot
from lightplan.light import backlight
from lightplan.sky import localtime, skyline, sun, windows
from lightplan.trip import drives
from lightplan.trip.drives import Drive

# From here up the sun lights back and sides equally, and at the zenith it has no
# bearing. Judgement: at 60° a shadow is little more than half the animal's height.
TOP_DEG = 60.0
STEP_MIN = 5  # between two rows of the picture
_MINUTE = np.timedelta64(1, "m")


class Light(NamedTuple):
    """A kind of light on the animal; the picture uses its letter."""

    key: str
    label: str

    @property
    def letter(self) -> str:
        """The first letter, different for each kind."""
        return self.label[0].upper()


LIGHTS = (
    *(Light(sector.key, sector.label) for sector in backlight.SECTORS),
    Light("top", "top light"),
)
TOP = len(LIGHTS) - 1
NO_SUN = -1
# All kinds that the picture shows; index `NO_SUN`, −1, is the last here too.
KINDS = (*LIGHTS, Light("none", "no sun: down, or behind the skyline"))
INDEX = {light.key: i for i, light in enumerate(LIGHTS)}


class Passage(NamedTuple):
    """An instant (datetime64[s], UTC) at which the sun clears or leaves a skyline."""

    utc: np.datetime64
    clears: bool


@dataclass(frozen=True, slots=True, eq=False)
class SpotYear:
    """A year at a spot by the minute.

    Arrays run over the n minutes of ``utc``, consecutive, from the local year's
    first to its last or to the end of a drive that runs longer: ``apparent_deg``
    (sun altitude), ``facing_deg`` (see `backlight`) and ``light``, an index into
    `LIGHTS` or `NO_SUN`, all of shape (n,). ``passages`` has an entry for each of
    ``days``.
    """

    place: Place
    spot: Spot
    year: int
    days: tuple[drives.Day, ...]
    utc: Instants
    apparent_deg: FloatArray
    facing_deg: FloatArray
    light: NDArray[np.int8]
    passages: tuple[tuple[Passage, ...], ...]

    @property
    def drives(self) -> tuple[Drive, ...]:
        """The drives of the year, in order."""
        sessions = (s for day in self.days for s in day.sessions)
        return tuple(s for s in sessions if isinstance(s, Drive))

    def inside(self, drive: Drive) -> slice:
        """Return the minutes of a drive, without the one at which the gate shuts."""
        first = int((drive.opens_utc - self.utc[0]) / _MINUTE)
        return slice(first, first + int((drive.closes_utc - drive.opens_utc) / _MINUTE))


class Picture(NamedTuple):
    """Light by date and local clock, shape (clock steps, dates).

    ``light`` as in `SpotYear`; ``known`` is False at clock times that a clock
    change, or a date the zone skipped, leaves out; ``inside`` is True inside the
    gates.
    """

    light: NDArray[np.int8]
    inside: NDArray[np.bool_]
    known: NDArray[np.bool_]


def make(place: Place, spot: Spot, year: int) -> SpotYear:
    """Compute a year at a spot.

    Parameters
    ----------
    place : Place
        Position, zone and gates.
    spot : Spot
        Bearing and skyline.
    year : int
        1950–2037.

    Returns
    -------
    SpotYear
        Light for every minute, inside the gates and outside.

    Raises
    ------
    ValueError
        If the year is out of range.
    """
    localtime.checked_date(dt.date(year, 1, 1))
    first, last = dt.date(year, 1, 1), dt.date(year, 12, 31)
    days = drives.days(place, drives.dates(first, last, at_most=366))
    utc = _minutes(place, days)
    apparent, azimuth = _sun(place, utc)
    up = apparent > skyline.altitude_deg(spot.horizon, azimuth)
    facing = backlight.facing_deg(spot.bearing_deg, azimuth)
    light = np.where(apparent < TOP_DEG, backlight.sector_index(facing), TOP)
    light = np.where(up, light, NO_SUN).astype(np.int8)
    passages = _passages(place, spot, days, utc, up)
    return SpotYear(place, spot, year, days, utc, apparent, facing, light, passages)


def _minutes(place: Place, days: tuple[drives.Day, ...]) -> Instants:
    begins, _ = localtime.day_utc(place.timezone, days[0].date)
    _, ends = localtime.day_utc(place.timezone, days[-1].date)
    sessions = [s for day in days for s in day.sessions if isinstance(s, Drive)]
    first = min([begins, *(s.opens_utc for s in sessions)])
    last = max([ends, *(s.closes_utc for s in sessions)])
    return windows.minutes(first, last - _MINUTE)


def _sun(place: Place, utc: Instants) -> tuple[FloatArray, FloatArray]:
    """Return the sun's apparent altitude and its azimuth. [°]."""
    at = sun.position(utc, place.latitude_deg, place.longitude_deg)
    return sun.apparent_altitude_deg(at.altitude_deg), at.azimuth_deg


def _passages(
    place: Place,
    spot: Spot,
    days: tuple[drives.Day, ...],
    utc: Instants,
    up: NDArray[np.bool_],
) -> tuple[tuple[Passage, ...], ...]:
    def above(utc: Instants) -> FloatArray:
        apparent, azimuth = _sun(place, utc)
        return apparent - skyline.altitude_deg(spot.horizon, azimuth)

    before = np.flatnonzero(up[1:] != up[:-1])
    crossed = windows.passages(above, utc[before], utc[before + 1])
    instants = (crossed + np.timedelta64(500, "ms")).astype("datetime64[s]")
    walls = localtime.to_wall(place.timezone, instants).astype("datetime64[D]")
    by_date: dict[dt.date, list[Passage]] = {day.date: [] for day in days}
    for date, instant, clears in zip(
        walls.tolist(), instants, up[before + 1], strict=True
    ):
        if date in by_date:  # not in a drive's last hours, after New Year
            by_date[date].append(Passage(instant, bool(clears)))
    return tuple(tuple(of_day) for of_day in by_date.values())


def picture(of: SpotYear) -> Picture:
    """Return the year's light by date and local clock, every `STEP_MIN` minutes."""
    shape = (24 * 60 // STEP_MIN, len(of.days))
    held = np.zeros(len(of.utc), dtype=np.bool_)
    for drive in of.drives:
        held[of.inside(drive)] = True
    # Steps of the place's clock, since its offset need not be a multiple of a step.
    walls = localtime.to_wall(of.place.timezone, of.utc).astype("datetime64[m]")
    since = (walls - np.datetime64(of.days[0].date, "m")).astype(np.int64)
    at = np.flatnonzero(
        (since % STEP_MIN == 0) & (since >= 0) & (since < shape[1] * 24 * 60)
    )
    # Of an hour that the clock repeats, the second pass overwrites the first.
    column, of_day = np.divmod(since[at], 24 * 60)
    cells = (of_day // STEP_MIN, column)
    light = np.full(shape, NO_SUN, dtype=np.int8)
    inside = np.zeros(shape, dtype=np.bool_)
    known = np.zeros(shape, dtype=np.bool_)
    light[cells], inside[cells], known[cells] = of.light[at], held[at], True
    return Picture(light, inside, known)
