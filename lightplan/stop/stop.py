"""Where to stop and which way to look, at one minute of a drive.

Bearings and sides follow from the sun alone (`backlight`), frames from the lens
(`framing`); light and exposure are those of a `RimDrive`.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lightplan.camera import framing
from lightplan.light import backlight
from lightplan.stop.rim import SILHOUETTE_STOPS, RimDrive
from lightplan.trip.minutes import iso_by_rig
from lightplan.trip.plan import TripPlan
from lightplan.trip.request import RigChoice

# Within a degree of the zenith the bearing swings round in minutes. Judgement.
ZENITH_DEG = 89.0
# Nautical twilight's end: with the sun lower, no side of the sky looks brighter, and
# no side of an animal is lit by it.
NIGHT_DEG = -12.0
POLE_DEG = 89.99  # within a kilometre of a pole, every direction is south or north


class RigStop(NamedTuple):
    """One rig at one minute: the ISO it needs and how far the sun is from its frame.

    ISO for the side that the camera sees, for the edge, for a silhouette.
    ``view_deg`` and ``frame_m`` are width and height of the picture, as an angle and
    at the animal's distance; ``outside_deg`` is how far outside the frame the sun
    stands, negative inside; ``on_front`` whether it shines on the front element.
    """

    face_iso: float
    rim_iso: float
    silhouette_iso: float
    view_deg: tuple[float, float]
    frame_m: tuple[float, float]
    outside_deg: float
    on_front: bool


@dataclass(frozen=True, slots=True)
class Stop:
    """Where to stop and which way to look at one minute of a drive.

    ``looks`` is empty at night and where the sun has no usable bearing. ``trouble``
    is why there is no rim, a key for `words.trouble`, or empty. Altitudes and
    bearings are in degrees, ``shadow_per_m`` in metres for a metre of height,
    infinite where the sun throws no shadow.
    """

    minute: int
    utc: np.datetime64
    azimuth_deg: float
    apparent_deg: float
    skyline_deg: float
    look_deg: float
    facing_deg: float
    distance_m: float
    shadow_per_m: float
    stops: float
    looks: tuple[backlight.Look, ...]
    rigs: tuple[RigStop, ...]
    trouble: str

    @property
    def sector(self) -> backlight.Sector:
        """The kind of light along the aim."""
        return backlight.SECTORS[int(backlight.sector_index(self.facing_deg))]


def stop_at(plan: TripPlan, rim: RimDrive, minute: int, distance_m: float) -> Stop:
    """Return where to stop at one minute of a drive.

    Parameters
    ----------
    plan : TripPlan
        The trip, for its place and rigs.
    rim : RimDrive
        The drive and the aim, see `make`.
    minute : int
        Whole minutes from the opening of the drive.
    distance_m : float
        From the camera to the animal. [m]

    Raises
    ------
    ValueError
        If the minute is outside the drive, or the distance not positive.
    """
    last = len(rim.drive.utc) - 1
    if not 0 <= minute <= last:
        raise ValueError(f"minute must be 0 to {last} of this drive, got {minute}")
    if not 0 < distance_m < np.inf:
        raise ValueError(f"distance must be more than 0 m, got {distance_m:g} m")
    drive = rim.drive
    azimuth = float(drive.azimuth_deg[minute])
    apparent = float(drive.apparent_deg[minute])
    sided = np.isfinite(azimuth) and NIGHT_DEG < apparent < ZENITH_DEG
    return Stop(
        minute=minute,
        utc=drive.utc[minute],
        azimuth_deg=azimuth,
        apparent_deg=apparent,
        skyline_deg=float(rim.skyline_deg[minute]),
        look_deg=float(rim.look_deg[minute]),
        facing_deg=float(rim.facing_deg[minute]),
        distance_m=distance_m,
        shadow_per_m=float(rim.shadow_per_m[minute]),
        stops=float(rim.stops[minute]),
        looks=backlight.looks(azimuth) if sided else (),
        rigs=_rigs(plan.request.rigs, rim, minute, distance_m),
        trouble=_trouble(plan, rim, minute),
    )


def _trouble(plan: TripPlan, rim: RimDrive, minute: int) -> str:
    drive = rim.drive
    apparent = drive.apparent_deg[minute]
    if not np.isfinite(apparent + drive.azimuth_deg[minute]):
        return "unknown"
    if apparent >= ZENITH_DEG:
        return "zenith"
    if apparent <= 0:
        return "down"
    if not rim.sun_shows[minute]:
        return "skyline"
    if not drive.kind.has_beam:
        return "overcast"
    if abs(plan.request.place.latitude_deg) > POLE_DEG:
        return "pole"
    return "" if rim.low[minute] else "high"


def _rigs(
    rigs: tuple[RigChoice, ...], rim: RimDrive, minute: int, distance_m: float
) -> tuple[RigStop, ...]:
    face, edge = float(rim.face_lux[minute]), float(rim.rim_lux[minute])
    iso = iso_by_rig(np.array([face, edge, face * 2.0**SILHOUETTE_STOPS]), rigs)
    drive, look = rim.drive, rim.look_deg[minute]
    sun = drive.apparent_deg[minute], drive.azimuth_deg[minute]
    on_front = bool(rim.sun_shows[minute] & framing.shines_on_front(*sun, look))
    return tuple(
        _rig(choice, needed, sun, float(look), distance_m, on_front)
        for choice, needed in zip(rigs, iso, strict=True)
    )


def _rig(
    choice: RigChoice,
    iso: NDArray[np.float64],
    sun: tuple[float, float],
    look_deg: float,
    distance_m: float,
    on_front: bool,
) -> RigStop:
    body, focal = choice.rig.body, choice.focal_mm
    sensor = body.width_mm, body.height_mm
    return RigStop(
        face_iso=float(iso[0]),
        rim_iso=float(iso[1]),
        silhouette_iso=float(iso[2]),
        view_deg=(
            framing.field_of_view_deg(sensor[0], focal),
            framing.field_of_view_deg(sensor[1], focal),
        ),
        frame_m=(sensor[0] / focal * distance_m, sensor[1] / focal * distance_m),
        outside_deg=float(framing.outside_frame_deg(*sun, look_deg, sensor, focal)),
        on_front=on_front,
    )
