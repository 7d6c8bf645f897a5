"""Put place, drives, light and kit together: from a `Request` to a `TripPlan`.

Everything a page, a file or the command line shows is read from the
`TripPlan`; nothing downstream computes light of its own.
"""

import datetime as dt
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from lightplan.arrays import FloatArray, Instants
from lightplan.catalog.gates import Session
from lightplan.catalog.places import Place
from lightplan.light import daylight
from lightplan.sky import localtime, sun
from lightplan.sky.sun_days import SunDay
from lightplan.sky.windows import (
    Stretch,
    Window,
    light_windows,
    minutes,
    stretches,
    window_index,
)
from lightplan.trip import drives, sunlight
from lightplan.trip import minutes as byminute
from lightplan.trip.drives import Closed, Drive, Said
from lightplan.trip.minutes import (
    MoonNight,
    Outcome,
    Run,
    iso_by_rig,
    usable_by_spread,
)
from lightplan.trip.request import FACING_INDEX, Request, check


def can_turn_back(drive: Drive, back_utc: np.datetime64) -> bool:
    """Return whether there is a gate to turn back for, and time to do it."""
    return drive.gated and bool(back_utc > drive.opens_utc)


def until_utc(drive: Drive, back_utc: np.datetime64) -> np.datetime64:
    """Return where usable minutes end: at turn-back, or at the drive's end."""
    return back_utc if can_turn_back(drive, back_utc) else drive.closes_utc


def minutes_of(drive: Drive, utc: np.datetime64) -> int:
    """Return the whole minutes from a drive's opening to an instant."""
    return int((utc - drive.opens_utc) / np.timedelta64(1, "m"))


@dataclass(frozen=True, slots=True, eq=False)
class DrivePlan:
    """One drive by the minute.

    Arrays run over the n minutes of ``utc``, both gates included:
    ``altitude_deg`` (geometric), ``apparent_deg``, ``azimuth_deg`` of shape
    (n,); ``lux`` of shape (3, n) by facing; ``iso`` of shape (rigs, 3, n).
    ``outcomes[rig][facing]`` sums them up. ``moon`` is there where the drive
    has a minute darker than civil twilight. ``kind`` is the sky in the air of its month.
    ``kelvin`` is of shape (3, n) by facing; ``warm`` are the stretches in which the
    light on the requested side is warm, ``sun_on`` those with the sun on the animal.
    """

    drive: Drive
    sun: SunDay
    utc: Instants
    altitude_deg: FloatArray
    apparent_deg: FloatArray
    azimuth_deg: FloatArray
    lux: FloatArray
    iso: FloatArray
    windows: tuple[Stretch, ...]
    outcomes: tuple[tuple[Outcome, ...], ...]
    turn_back_utc: np.datetime64
    moon: MoonNight | None
    sky: str
    kind: daylight.Sky
    spread_stops: float
    kelvin: FloatArray
    warm: tuple[Run, ...]
    sun_on: tuple[Run, ...]

    @property
    def key(self) -> str:
        """The drive's key, ``2027-08-12-evening``."""
        return self.drive.key

    @property
    def name(self) -> str:
        """What people read: ``Thu 12 Aug, evening``."""
        return self.drive.name

    @property
    def date(self) -> dt.date:
        """The drive's local date."""
        return self.drive.date

    @property
    def session(self) -> Session:
        """Morning, evening or night."""
        return self.drive.session

    @property
    def opens_utc(self) -> np.datetime64:
        """The gate's opening, or the start of a drive without gates."""
        return self.drive.opens_utc

    @property
    def closes_utc(self) -> np.datetime64:
        """The gate's closing, or the end."""
        return self.drive.closes_utc

    @property
    def gated(self) -> bool:
        """Whether gates bound the drive."""
        return self.drive.gated

    @property
    def until_utc(self) -> np.datetime64:
        """Where usable minutes end: at turn-back, or at the drive's end."""
        return until_utc(self.drive, self.turn_back_utc)

    @property
    def until(self) -> int:
        """The minute of `until_utc`, counted from the opening."""
        return self.minute(self.until_utc)

    @property
    def end(self) -> str:
        """What people call `until_utc`: turn-back, gate or end."""
        return "turn-back" if self.can_turn_back else self.said.end

    @property
    def the_end(self) -> str:
        """The same in a sentence: turn-back, the gate or the end."""
        return self.end if self.can_turn_back else f"the {self.end}"

    @property
    def notes(self) -> tuple[str, ...]:
        """What a reader must know of its gate times."""
        return self.drive.notes

    @property
    def said(self) -> Said:
        """Words for its start and end."""
        return self.drive.said

    @property
    def can_turn_back(self) -> bool:
        """Whether there is a gate to turn back for, and time on the drive to do it."""
        return can_turn_back(self.drive, self.turn_back_utc)

    def minute(self, utc: np.datetime64) -> int:
        """Return the whole minutes from the opening to an instant."""
        return minutes_of(self.drive, utc)

    @property
    def warm_min(self) -> int:
        """Minutes of warm light on the requested side, gates included.

        The drive's last minute, in which it ends, counts for nothing.
        """
        runs = self.warm
        whole = sum(
            self.minute(r.last_utc) + 1 - self.minute(r.first_utc) for r in runs
        )
        return whole - any(r.last_utc == self.closes_utc for r in runs)

    def window_min(self, key: str) -> int:
        """Return the minutes of a named light window inside the gates."""
        return sum(s.minutes for s in self.windows if s.window.key == key)


@dataclass(frozen=True, slots=True, eq=False)
class TripPlan:
    """A whole trip: what was asked, its days, and a row for every session."""

    request: Request
    windows: tuple[Window, ...]
    spread_stops: float
    days: tuple[drives.Day, ...]
    rows: tuple[DrivePlan | Closed, ...]

    @property
    def drives(self) -> tuple[DrivePlan, ...]:
        """The rows that are drives."""
        return tuple(row for row in self.rows if isinstance(row, DrivePlan))

    def drive(self, key: str) -> DrivePlan | None:
        """Return the drive of that key, or None."""
        return next((d for d in self.drives if d.key == key), None)

    def clock(self, utc: np.datetime64) -> str:
        """Return the place's own clock at an instant, ``17:34``."""
        return localtime.clock(self.request.place.timezone, utc)

    def best_min(self, drive: DrivePlan) -> int:
        """Return a drive's minutes of the light that was asked for, warm or golden."""
        if self.request.gold == "warm":
            return drive.warm_min
        return drive.window_min("golden")

    def usable_min(self, rig: int, facing: int) -> int:
        """Return a rig's usable minutes over the whole trip."""
        return sum(d.outcomes[rig][facing].usable_min for d in self.drives)


def make(
    request: Request, at_most: int = drives.MAX_DAYS, ladders: bool = True
) -> TripPlan:
    """Compute a trip.

    Parameters
    ----------
    request : Request
        Place, dates, kit and conditions.
    at_most : int
        How many days it may have.
    ladders : bool
        Whether outcomes have their ladders; a year does not need them.

    Returns
    -------
    TripPlan
        Light by the minute and its outcome for every drive, rig and facing.

    Raises
    ------
    ValueError
        If the dates, the number of rigs, the sky, the cover, the facing, the
        pace, the travel time or the light limits are out of range.
    """
    check(request)
    place = request.place
    days = _days(place, request.first, request.last, at_most)
    sessions = [(day.sun, session) for day in days for session in day.sessions]
    held = [session for _, session in sessions if isinstance(session, Drive)]
    windows = light_windows(request.limits)
    planned = iter(_drive_plans(request, held, dict(_suns(days)), windows, ladders))
    rows = tuple(
        next(planned) if isinstance(session, Drive) else session
        for _, session in sessions
    )
    spread = daylight.spread_stops(request.sky, request.cover)
    return TripPlan(request, windows, spread, days, rows)


# Two thirds of the work on a plan, and the same whatever the kit, pace or sky.
@lru_cache(maxsize=16)
def _days(
    place: Place, first: dt.date, last: dt.date, at_most: int
) -> tuple[drives.Day, ...]:
    return drives.days(place, drives.dates(first, last, at_most))


def _suns(days: tuple[drives.Day, ...]) -> list[tuple[dt.date, SunDay]]:
    return [(day.date, day.sun) for day in days]


def _drive_plans(
    request: Request,
    held: list[Drive],
    suns: dict[dt.date, SunDay],
    windows: tuple[Window, ...],
    with_ladders: bool,
) -> list[DrivePlan]:
    if not held:
        return []
    # All drives in one run of minutes, so that NumPy is called once and not
    # once a drive; each drive then owns a slice of it.
    grids = [minutes(drive.opens_utc, drive.closes_utc) for drive in held]
    ends = np.cumsum([len(grid) for grid in grids])
    slices = [slice(int(b) - len(g), int(b)) for b, g in zip(ends, grids, strict=True)]
    utc = np.concatenate(grids)
    place = request.place
    altitude, azimuth = sun.position(utc, place.latitude_deg, place.longitude_deg)
    apparent = sun.apparent_altitude_deg(altitude)
    skies = [request.sky_of(drive.key) for drive in held]
    of_drives = [
        request.in_air(sky, drive.date.month)
        for sky, drive in zip(skies, held, strict=True)
    ]
    kinds = list(dict.fromkeys(of_drives))
    lengths = [len(grid) for grid in grids]
    sky_index = np.repeat([kinds.index(kind) for kind in of_drives], lengths)
    spreads = np.array([daylight.spread_stops(sky, request.cover) for sky in kinds])
    lux, moon_apparent, fraction = byminute.light(
        request, utc, altitude, apparent, azimuth, kinds, sky_index
    )
    colours = sunlight.by_minute(apparent, kinds, sky_index, request.cover)
    # NaN, where it is dark, is not warm.
    warm = colours.kelvin <= request.warm_k
    of_side = warm[FACING_INDEX[request.facing]]
    iso = iso_by_rig(lux, request.rigs)
    usable = usable_by_spread(iso, request.rigs, spreads[sky_index])
    ladders = byminute.shutters(request) if with_ladders else ((),) * len(request.rigs)
    holds = byminute.holds(iso, request.rigs, ladders)
    golden = window_index(altitude, windows) == [w.key for w in windows].index("golden")
    best = warm if request.gold == "warm" else np.broadcast_to(golden, warm.shape)
    travel = np.timedelta64(request.travel_min, "m")

    def sum_up(drive: Drive, s: slice) -> tuple[tuple[Outcome, ...], ...]:
        end = minutes_of(drive, until_utc(drive, drive.closes_utc - travel))
        s = slice(s.start, s.start + end + 1)
        return byminute.outcomes(
            utc[s], usable[..., s], golden[s], best[:, s], holds[..., s], ladders
        )

    return [
        DrivePlan(
            drive=drive,
            sun=suns[drive.date],
            utc=utc[s],
            altitude_deg=altitude[s],
            apparent_deg=apparent[s],
            azimuth_deg=azimuth[s],
            lux=lux[:, s],
            iso=iso[:, :, s],
            windows=stretches(utc[s], altitude[s], windows),
            outcomes=sum_up(drive, s),
            turn_back_utc=drive.closes_utc - travel,
            moon=byminute.moon_night(moon_apparent[s], fraction[s]),
            sky=sky,
            kind=kind,
            spread_stops=float(spreads[kinds.index(kind)]),
            kelvin=colours.kelvin[:, s],
            warm=byminute.stretches_of(utc[s], of_side[s]),
            sun_on=byminute.stretches_of(utc[s], colours.sunlit[s]),
        )
        for drive, s, sky, kind in zip(held, slices, skies, of_drives, strict=True)
    ]
