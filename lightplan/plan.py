"""Put place, drives, light and kit together: from a `Request` to a `TripPlan`.

Everything a page, a file or the command line shows is read from the
`TripPlan`; nothing downstream computes light of its own.
"""

import datetime as dt
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lightplan import daylight, drives, exposure, moon, sun
from lightplan.drives import Closed, Drive
from lightplan.kit import BLUR_PX, DISTANCE_M, PACES, Rig, proposed_shutter_s
from lightplan.places import Place
from lightplan.windows import (
    CIVIL_DEG,
    DEFAULT_LIMITS,
    Limits,
    Stretch,
    SunDay,
    Window,
    light_windows,
    minutes,
    stretches,
    window_index,
)

FloatArray = NDArray[np.float64]
Instants = NDArray[np.datetime64]

MAX_RIGS = 6
LETTERS = "ABCDEF"

# What is taken where nobody said: rigs of the file, days, minutes to the gate.
USUAL_RIGS, USUAL_DAYS, USUAL_TRAVEL_MIN = 3, 7, 25


class Facing(NamedTuple):
    """A side of the sun: the angle between camera and sun seen from the animal."""

    key: str
    label: str
    angle_deg: float


FACINGS = (
    Facing("front", "lit from the front", 0.0),
    Facing("side", "lit from the side", 90.0),
    Facing("back", "lit from behind", 180.0),
)
FACING_INDEX = {facing.key: i for i, facing in enumerate(FACINGS)}


@dataclass(frozen=True, slots=True)
class RigChoice:
    """A rig as it will be used, with the highest ISO accepted from it."""

    rig: Rig
    focal_mm: float
    f_number: float
    shutter_s: float
    iso_ceiling: float

    @property
    def label(self) -> str:
        """``600 mm f/6.3``."""
        return f"{self.focal_mm:.0f} mm {exposure.f_number_text(self.f_number)}"


@dataclass(frozen=True, slots=True)
class Request:
    """Everything a person chooses; hashable, so that plans can be cached."""

    place: Place
    first: dt.date
    last: dt.date
    rigs: tuple[RigChoice, ...]
    pace: str = "walking"
    facing: str = "side"
    sky: str = "clear"
    cover: str = "open"
    travel_min: int = USUAL_TRAVEL_MIN
    limits: Limits = DEFAULT_LIMITS


class Span(NamedTuple):
    """A minute with the earliest and latest that the spread allows.

    ``earliest_utc`` or ``latest_utc`` is None where, at that end of the
    spread, the rig would not be usable at any minute of the drive.
    """

    utc: np.datetime64
    earliest_utc: np.datetime64 | None
    latest_utc: np.datetime64 | None


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one rig can do on one drive, from one side of the sun.

    ``first`` and ``last`` are None where the rig is never usable; minutes
    count whole minutes within the gates at which needed ISO ≤ ceiling.
    ``hopeful`` tells whether the bright end of the spread has a usable minute.
    """

    first: Span | None
    last: Span | None
    usable_min: int
    usable_golden_min: int
    hopeful: bool


@dataclass(frozen=True, slots=True, eq=False)
class MoonNight:
    """The moon over a drive: apparent altitude [°] by the minute, share lit.

    NaN in the minutes that are not dark.
    """

    altitude_deg: FloatArray
    fraction: float


@dataclass(frozen=True, slots=True, eq=False)
class DrivePlan:
    """One drive by the minute.

    Arrays run over the n minutes of ``utc``, both gates included:
    ``altitude_deg`` (geometric), ``apparent_deg``, ``azimuth_deg`` of shape
    (n,); ``lux`` of shape (3, n) by facing; ``iso`` of shape (rigs, 3, n).
    ``outcomes[rig][facing]`` sums them up. ``moon`` is there where the drive
    has a minute darker than civil twilight.
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

    @property
    def key(self) -> str:
        """The drive's key, ``2027-08-12-evening``."""
        return self.drive.key

    def minute(self, utc: np.datetime64) -> int:
        """Return the whole minutes from the opening to an instant."""
        return int((utc - self.drive.opens_utc) / np.timedelta64(1, "m"))

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

    def usable_min(self, rig: int, facing: int) -> int:
        """Return a rig's usable minutes over the whole trip."""
        return sum(d.outcomes[rig][facing].usable_min for d in self.drives)


def choose(
    rig: Rig,
    pace: str = "walking",
    focal_mm: float | None = None,
    f_number: float | None = None,
    shutter_s: float | None = None,
    iso_ceiling: float | None = None,
    distance_m: float = DISTANCE_M,
    blur_px: float = BLUR_PX,
) -> RigChoice:
    """Return a rig as it will be used, filling in what is left open.

    Parameters
    ----------
    rig : Rig
        Body, lens and converter.
    pace : str
        "resting", "walking", "running" or "flying"; proposes the shutter.
    focal_mm : float, optional
        Converter included; the longest if left open. [mm]
    f_number : float, optional
        The widest at that focal length if left open.
    shutter_s : float, optional
        Proposed from pace, focal length and distance if left open. [s]
    iso_ceiling : float, optional
        The body's own if left open. [ISO]
    distance_m, blur_px : float
        Subject distance [m] and tolerated blur [pixels].

    Raises
    ------
    ValueError
        If a value is not positive, or the lens does not have it.
    """
    focal = rig.checked_focal_mm(
        rig.focal_range_mm[1] if focal_mm is None else focal_mm
    )
    low, high = rig.focal_range_mm
    focal = min(max(focal, low), high)
    number = (
        rig.widest_f_number(focal)
        if f_number is None
        else rig.checked_f_number(f_number, focal)
    )
    if shutter_s is None:
        shutter_s = proposed_shutter_s(rig, focal, pace, distance_m, blur_px)
    if not 1 / 32000 <= shutter_s <= 1:
        raise ValueError(
            f"shutter of {rig.name} must be between 1/32000 s and 1 s, got "
            f"{shutter_s:g} s"
        )
    ceiling = rig.body.iso_ceiling if iso_ceiling is None else iso_ceiling
    if not 50 <= ceiling <= 1_000_000:
        raise ValueError(
            f"ISO ceiling of {rig.name} must be between 50 and 1000000, got {ceiling:g}"
        )
    return RigChoice(rig, focal, number, shutter_s, ceiling)


def make(request: Request, at_most: int = drives.MAX_DAYS) -> TripPlan:
    """Compute a trip.

    Parameters
    ----------
    request : Request
        Place, dates, kit and conditions.
    at_most : int
        How many days it may have.

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
    _check(request)
    place = request.place
    days = drives.days(place, drives.dates(request.first, request.last, at_most))
    sessions = [(day.sun, session) for day in days for session in day.sessions]
    held = [session for _, session in sessions if isinstance(session, Drive)]
    windows = light_windows(request.limits)
    spread = daylight.spread_stops(request.sky, request.cover)
    planned = iter(_drive_plans(request, held, dict(_suns(days)), windows, spread))
    rows = tuple(
        next(planned) if isinstance(session, Drive) else session
        for _, session in sessions
    )
    return TripPlan(request, windows, spread, days, rows)


def _suns(days: tuple[drives.Day, ...]) -> list[tuple[dt.date, SunDay]]:
    return [(day.date, day.sun) for day in days]


def _check(request: Request) -> None:
    daylight.sky_named(request.sky)
    daylight.cover_named(request.cover)
    if request.facing not in FACING_INDEX:
        raise ValueError(
            f"facing must be one of {', '.join(FACING_INDEX)}, got {request.facing!r}"
        )
    if request.pace not in PACES:
        raise ValueError(
            f"pace must be one of {', '.join(PACES)}, got {request.pace!r}"
        )
    if not 1 <= len(request.rigs) <= MAX_RIGS:
        raise ValueError(
            f"choose 1 to {MAX_RIGS} rigs to compare, got {len(request.rigs)}"
        )
    if not 0 <= request.travel_min <= 600:
        raise ValueError(
            f"travel time must be 0 to 600 minutes, got {request.travel_min}"
        )


def _drive_plans(
    request: Request,
    held: list[Drive],
    suns: dict[dt.date, SunDay],
    windows: tuple[Window, ...],
    spread_stops: float,
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
    angles = np.array([facing.angle_deg for facing in FACINGS])
    lux = daylight.subject_lux(apparent, angles[:, None], request.sky, request.cover)
    moon_apparent, fraction = _moonlight(request, utc, altitude, lux)
    iso = iso_by_rig(lux, request.rigs)
    usable = usable_by_spread(iso, request.rigs, spread_stops)
    golden = window_index(altitude, windows) == [w.key for w in windows].index("golden")
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
            outcomes=_outcomes(utc[s], usable[..., s], golden[s]),
            turn_back_utc=drive.closes_utc - np.timedelta64(request.travel_min, "m"),
            moon=_moon_night(moon_apparent[s], fraction[s]),
        )
        for drive, s in zip(held, slices, strict=True)
    ]


def _moonlight(
    request: Request, utc: Instants, altitude_deg: FloatArray, lux: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Add the moon's light to ``lux`` where the sun is below −6°.

    Return its apparent altitude and share lit there, NaN elsewhere. The light
    comes in over one degree, so that no step shows.
    """
    apparent = np.full_like(altitude_deg, np.nan)
    fraction = np.full_like(altitude_deg, np.nan)
    dark = altitude_deg < CIVIL_DEG
    if dark.any():
        place = request.place
        at = moon.position(utc[dark], place.latitude_deg, place.longitude_deg)
        apparent[dark] = sun.apparent_altitude_deg(at.altitude_deg)
        fraction[dark] = at.fraction
        level = daylight.moon_horizontal_lux(
            apparent[dark], at.elongation_deg, moon.parallax_deg(at.distance_km)
        )
        fade = np.minimum(CIVIL_DEG - altitude_deg[dark], 1.0)
        lux[:, dark] += fade * daylight.moonlit_lux(level, request.sky, request.cover)
    return apparent, fraction


def _moon_night(apparent_deg: FloatArray, fraction: FloatArray) -> MoonNight | None:
    if np.isnan(fraction).all():
        return None
    return MoonNight(apparent_deg, float(np.nanmean(fraction)))


def iso_by_rig(lux: FloatArray, rigs: tuple[RigChoice, ...]) -> FloatArray:
    """Return the ISO each rig needs: shape (rigs, …) for lux of shape (…)."""
    shape = (len(rigs),) + (1,) * lux.ndim
    # A lens that swallows light needs ISO as one with a larger f-number would.
    t_number = [c.f_number / c.rig.lens.transmission**0.5 for c in rigs]
    return exposure.iso_needed(
        lux,
        np.reshape(t_number, shape),
        np.reshape([c.shutter_s for c in rigs], shape),
    )


def usable_by_spread(
    iso: FloatArray, rigs: tuple[RigChoice, ...], spread_stops: float
) -> NDArray[np.bool_]:
    """Tell where needed ISO stays within the ceiling.

    Parameters
    ----------
    iso : ndarray, shape (rigs, ...)
        Needed ISO.
    rigs : tuple of RigChoice
        For their ceilings.
    spread_stops : float
        Half-width of the spread. [stops]

    Returns
    -------
    ndarray of bool, shape (3, rigs, ...)
        As expected, at the dark end of the spread, at its bright end.
    """
    ceiling = np.reshape([c.iso_ceiling for c in rigs], (-1,) + (1,) * (iso.ndim - 1))
    # A billionth of slack: ISO exactly at the ceiling is usable.
    stops = np.log2(iso / ceiling) - 1e-9
    return np.stack([stops <= 0, stops <= -spread_stops, stops <= spread_stops])


def _outcomes(
    utc: Instants, usable: NDArray[np.bool_], golden: NDArray[np.bool_]
) -> tuple[tuple[Outcome, ...], ...]:
    """Sum up (3, rigs, facings, n) usable minutes of one drive."""
    within = usable[..., :-1]  # the last minute of the grid is the gate itself
    some = np.asarray(usable.any(axis=-1))
    first = utc[usable.argmax(axis=-1)]
    last = utc[usable.shape[-1] - 1 - usable[..., ::-1].argmax(axis=-1)]
    count = within[0].sum(axis=-1)
    in_golden = (within[0] & golden[:-1]).sum(axis=-1)

    def at(
        instants: Instants, case: int, rig: int, facing: int
    ) -> np.datetime64 | None:
        here: np.datetime64 = instants[case, rig, facing]
        return here if some[case, rig, facing] else None

    def outcome(rig: int, facing: int) -> Outcome:
        bright = bool(some[2, rig, facing])
        if not some[0, rig, facing]:
            return Outcome(None, None, 0, 0, bright)
        start = Span(
            first[0, rig, facing],
            at(first, 2, rig, facing),
            at(first, 1, rig, facing),
        )
        end = Span(
            last[0, rig, facing], at(last, 1, rig, facing), at(last, 2, rig, facing)
        )
        return Outcome(
            start,
            end,
            int(count[rig, facing]),
            int(in_golden[rig, facing]),
            bright,
        )

    rigs, facings = usable.shape[1:3]
    return tuple(
        tuple(outcome(rig, facing) for facing in range(facings)) for rig in range(rigs)
    )
