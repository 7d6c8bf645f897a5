"""The backlit edge by the minute: when it stands out, and how to expose for it.

A low sun behind an animal lights its outline while the camera sees the shadow
side. *Rim* here is the light on the edge: all that the shadow side gets, and the
full beam, since some hair or feather of an outline always faces the sun. How fur
passes the beam on to the camera is not modelled.
"""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from lightplan.arrays import FloatArray, Mask, true_runs
from lightplan.light import backlight, daylight
from lightplan.light.air import USUAL
from lightplan.sky import skyline
from lightplan.sky.skyline import Points
from lightplan.trip.minutes import Span
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import FACING_INDEX

# Common practice: the first and the last hour of sun, about 15° in the tropics.
# Above that light falls on the back from above. The number is judgement.
BELOW_DEG = 15.0
# Common practice in portrait lighting: an edge shows from about a stop over the rest.
# Judgement for animals.
LEAST_STOPS = 1.0
# Common practice: three stops under its own exposure a subject is a black shape with
# a trace of detail (Zone II of the zone system, where V is mid-tone).
SILHOUETTE_STOPS = 3.0
# Judgement: the usual aim is the middle of the rim's sector.
_RIM = next(s for s in backlight.SECTORS if s.key == "rim")
USUAL_FACING_DEG = (_RIM.from_deg + _RIM.to_deg) / 2


class RimWindow(NamedTuple):
    """A run of minutes in which the rim works, with the spread of both ends."""

    first: Span
    last: Span
    minutes: int


@dataclass(frozen=True, slots=True, eq=False)
class RimDrive:
    """The rim by the minute of a drive, along one aim or along the usual one.

    Arrays run over the n minutes of the drive: ``look_deg`` is the camera's bearing,
    ``facing_deg`` the angle between camera and sun seen from the animal,
    ``skyline_deg`` the horizon's altitude below the sun, ``face_lux`` the light on
    the side that the camera sees, ``rim_lux`` the light on the edge, ``stops`` how
    much brighter the edge is. ``works`` has shape (3, n): as expected, at the dim and
    at the bright end of the spread. ``aim_deg`` is None for the usual aim, which
    follows the sun.
    """

    drive: DrivePlan
    aim_deg: float | None
    look_deg: FloatArray
    facing_deg: FloatArray
    skyline_deg: FloatArray
    face_lux: FloatArray
    rim_lux: FloatArray
    stops: FloatArray
    works: Mask
    windows: tuple[RimWindow, ...]

    @property
    def sun_shows(self) -> Mask:
        """Where the sun stands above the skyline or the level horizon. Shape (n,)."""
        return _shows(self.drive, self.skyline_deg)

    @property
    def beam(self) -> Mask:
        """Where the sun shows through a sky that lets a beam pass. Shape (n,)."""
        return self.sun_shows & (self.drive.kind.has_beam)

    @property
    def shadow_per_m(self) -> FloatArray:
        """Shadow of a metre of height, infinite where there is none. Shape (n,)."""
        length = backlight.shadow_per_m(self.drive.apparent_deg)
        return np.where(self.beam, length, np.inf)

    @property
    def low(self) -> Mask:
        """Where the sun is low enough for a rim. Shape (n,)."""
        return np.asarray(self.drive.apparent_deg <= BELOW_DEG)

    @property
    def behind(self) -> Mask:
        """Where the aim gives rim light or backlight. Shape (n,)."""
        return np.asarray(self.facing_deg >= _RIM.from_deg - 1e-9)


def make(
    plan: TripPlan,
    drive: DrivePlan,
    aim_deg: float | None = None,
    horizon: Points = (),
) -> RimDrive:
    """Compute the rim by the minute of a drive.

    Parameters
    ----------
    plan : TripPlan
        The trip, for its cover.
    drive : DrivePlan
        One of its drives, for sun, sky and spread.
    aim_deg : float, optional
        Bearing along which the camera looks. Without it, the camera keeps to the
        middle of the rim light, with the sun on the right. [°]
    horizon : sequence of (bearing, altitude)
        The skyline; level if empty. [°]

    Raises
    ------
    ValueError
        If the aim is not a number from 0 to 360.
    """
    if aim_deg is not None and not 0 <= aim_deg <= 360:
        raise ValueError(f"aim must be 0 to 360°, got {aim_deg:g}")
    usual = drive.azimuth_deg - (180.0 - USUAL_FACING_DEG)
    look = usual % 360.0 if aim_deg is None else np.full_like(usual, aim_deg)
    facing = backlight.facing_deg(look, drive.azimuth_deg)
    below = skyline.altitude_deg(horizon, drive.azimuth_deg)
    face, rim = _light(plan, drive, drive.kind, facing, _shows(drive, below))
    stops = np.log2(rim / face)
    rim_drive = RimDrive(
        drive,
        aim_deg,
        look,
        facing,
        below,
        face,
        rim,
        stops,
        np.empty((3, 0), bool),
        (),
    )
    ready = rim_drive.beam & rim_drive.low & rim_drive.behind
    # The contrast gets the same spread as the light: most of it comes from dust and
    # thin cloud, which weaken the beam first. Judgement.
    spread = np.array([0.0, -drive.spread_stops, drive.spread_stops])[:, None]
    works = ready & (stops + spread >= LEAST_STOPS)
    return replace(rim_drive, works=works, windows=_windows(drive, works))


def _shows(drive: DrivePlan, skyline_deg: FloatArray) -> Mask:
    return np.asarray(drive.apparent_deg > skyline_deg)


def clear_stops(plan: TripPlan, of: RimDrive) -> FloatArray:
    """Return how many stops the edge would stand out on a clear day. Shape (n,).

    In usual air, or in the drive's own where that is cleaner.
    """
    own = of.drive.kind.aod500 or USUAL.aod500
    clear = replace(daylight.SKIES["clear"], aod500=min(own, USUAL.aod500))
    face, rim = _light(plan, of.drive, clear, of.facing_deg, of.sun_shows)
    result: FloatArray = np.log2(rim / face)
    return result


def _light(
    plan: TripPlan,
    drive: DrivePlan,
    sky: daylight.Sky,
    facing_deg: FloatArray,
    sun_shows: Mask,
) -> tuple[FloatArray, FloatArray]:
    """Return lux on the side that the camera sees and on the edge."""
    over = daylight.cover_named(plan.request.cover)
    shaded = replace(over, beam_share=0.0)
    h = drive.apparent_deg
    face = np.where(
        sun_shows,
        daylight.subject_lux(h, facing_deg, sky, over),
        daylight.subject_lux(h, facing_deg, sky, shaded),
    )
    # The plan's light beyond the sun's is the moon's, even in the cosine of the side.
    towards = (1 + np.cos(np.radians(facing_deg))) / 2
    for side, angle, share in (("front", 0.0, towards), ("back", 180.0, 1 - towards)):
        sunlit = daylight.subject_lux(h, angle, drive.kind, over)
        moonlit = drive.lux[FACING_INDEX[side]] - sunlit
        face = face + share * np.maximum(moonlit, 0.0)
    return face, face + np.where(sun_shows, _beam_lux(h, sky, over), 0.0)


def _beam_lux(
    apparent_deg: FloatArray, sky: str | daylight.Sky, cover: daylight.Cover
) -> FloatArray:
    beam: FloatArray = cover.beam_share * daylight.beam_lux(apparent_deg, sky)
    return beam


def glows(
    apparent_deg: FloatArray,
    facing_deg: FloatArray,
    sky: str | daylight.Sky,
    cover: str | daylight.Cover,
) -> Mask:
    """Return where an edge stands out, under a level horizon and without a moon.

    Parameters
    ----------
    apparent_deg : ndarray, shape (n,)
        The sun's altitude with refraction. [°]
    facing_deg : ndarray, shape (..., n)
        Between the directions animal→camera and animal→sun. [°]
    sky, cover
        As for `daylight.subject_lux`.
    """
    over = daylight.cover_named(cover)
    face = daylight.subject_lux(apparent_deg, facing_deg, sky, over)
    edge = face + _beam_lux(apparent_deg, sky, over)
    return np.asarray(
        (apparent_deg <= BELOW_DEG) & (np.log2(edge / face) >= LEAST_STOPS)
    )


def _windows(drive: DrivePlan, works: Mask) -> tuple[RimWindow, ...]:
    """Return the runs of minutes that work, each with earliest and latest ends."""
    expected, dim, bright = ([(a, b - 1) for a, b in true_runs(case)] for case in works)
    utc = drive.utc
    windows = []
    free = 0  # no earliest start lies before the end of the run before
    for first, last in expected:
        wide = next((a, b) for a, b in bright if a <= first and last <= b)
        sure = [(a, b) for a, b in dim if first <= a and b <= last]
        windows.append(
            RimWindow(
                Span(
                    utc[first],
                    utc[max(wide[0], free)],
                    utc[sure[0][0]] if sure else None,
                ),
                Span(utc[last], utc[sure[-1][1]] if sure else None, utc[wide[1]]),
                # The last minute of the grid is the gate itself.
                min(last + 1, len(utc) - 1) - first,
            )
        )
        free = last + 1
    return tuple(windows)
