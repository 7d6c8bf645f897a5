"""Which side of an animal the sun lights, as one looks along a bearing.

Bearings run clockwise from true north. *Looking along* is the direction from
the camera to the animal; the camera stands on the opposite side of it.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lightplan.arrays import FloatArray


class Sector(NamedTuple):
    """A kind of light by the angle between camera and sun, seen from the animal.

    ``from_deg`` belongs to the sector, ``to_deg`` to the next.
    """

    key: str
    label: str
    from_deg: float
    to_deg: float


# The names are the trade's; where one ends and the next begins is judgement.
SECTORS = (
    Sector("front", "front light", 0.0, 45.0),
    Sector("side", "side light", 45.0, 120.0),
    Sector("rim", "rim light", 120.0, 160.0),
    Sector("back", "backlight", 160.0, 180.1),
)


def facing_deg(look_deg: ArrayLike, sun_azimuth_deg: ArrayLike) -> FloatArray:
    """Return the angle between the directions animal→camera and animal→sun.

    Parameters
    ----------
    look_deg : array_like, shape (...)
        Bearing along which the camera looks. [°]
    sun_azimuth_deg : array_like, shape (...)
        Bearing of the sun. [°] Broadcasts with the other.

    Returns
    -------
    ndarray, shape (...)
        0 where the sun stands behind the camera, 180 where behind the animal;
        left and right of it are the same. [°]
    """
    apart = np.asarray(look_deg, np.float64) - np.asarray(sun_azimuth_deg, np.float64)
    result: FloatArray = 180.0 - np.abs((apart + 180.0) % 360.0 - 180.0)
    return result


def sector_index(facing: ArrayLike) -> NDArray[np.int64]:
    """Return the index in `SECTORS` of angles [°] in [0, 180], shape (...)."""
    edges = [sector.to_deg for sector in SECTORS[:-1]]
    return np.searchsorted(edges, np.asarray(facing, np.float64), side="right")


class Look(NamedTuple):
    """Bearings to look along for one kind of light.

    From ``from_deg`` clockwise to ``to_deg``, both in [0, 360); may run over
    north. The vehicle stands on the opposite side of the animal.
    """

    sector: Sector
    from_deg: float
    to_deg: float

    @property
    def middle_deg(self) -> float:
        """The bearing half-way. [°]."""
        return (self.from_deg + (self.to_deg - self.from_deg) % 360.0 / 2) % 360.0


def looks(sun_azimuth_deg: float) -> tuple[Look, ...]:
    """Return the bearings to look along for every kind of light.

    Parameters
    ----------
    sun_azimuth_deg : float
        Bearing of the sun. [°]

    Returns
    -------
    tuple of Look
        In the order of `SECTORS`; together the full circle. Side and rim light
        come twice: first the range in which the camera has the sun on its right.

    Raises
    ------
    ValueError
        If the bearing is not a finite number.
    """
    if not np.isfinite(sun_azimuth_deg):
        raise ValueError(
            f"the sun's bearing must be a number of degrees, got {sun_azimuth_deg:g}"
        )
    ranges = []
    for sector in SECTORS:
        near, far = 180.0 - min(sector.to_deg, 180.0), 180.0 - sector.from_deg
        sides = [(-far, -near), (near, far)]
        if near == 0:  # round the sun's own bearing
            sides = [(-far, far)]
        elif far == 180:  # round the bearing away from it
            sides = [(near, 360.0 - near)]
        ranges += [
            Look(sector, (sun_azimuth_deg + a) % 360.0, (sun_azimuth_deg + b) % 360.0)
            for a, b in sides
        ]
    return tuple(ranges)


def stand_deg(look_deg: float) -> float:
    """Return the bearing from the animal to a camera that looks along ``look_deg``."""
    return (look_deg + 180.0) % 360.0


_SIDES = (
    "north", "north-north-east", "north-east", "east-north-east",
    "east", "east-south-east", "south-east", "south-south-east",
    "south", "south-south-west", "south-west", "west-south-west",
    "west", "west-north-west", "north-west", "north-north-west",
)  # fmt: skip


def side_name(bearing_deg: float) -> str:
    """Return a side of the animal in words, the nearest of 16: ``west-north-west``.

    With eight, two neighbouring kinds of light could get the same name.
    """
    return _SIDES[round(bearing_deg / 22.5) % 16]


def offset_m(bearing_deg: float, distance_m: float) -> tuple[float, float]:
    """Return how far north and how far east a bearing and a distance lead. [m]."""
    angle = np.radians(bearing_deg)
    return float(distance_m * np.cos(angle)), float(distance_m * np.sin(angle))


def magnetic_deg(true_deg: float, declination_deg: float) -> float:
    """Return what a compass reads along a true bearing.

    ``declination_deg`` is positive where the needle points east of true north.
    """
    return (true_deg - declination_deg) % 360.0


def shadow_per_m(apparent_deg: ArrayLike) -> FloatArray:
    """Return the length of shadow that a metre of height throws on level ground.

    Parameters
    ----------
    apparent_deg : array_like, shape (...)
        Apparent altitude of the sun. [°]

    Returns
    -------
    ndarray, shape (...)
        1 ÷ tan(altitude); inf where the sun is not above the horizon, NaN where
        its altitude is. [m/m]
    """
    h = np.asarray(apparent_deg, np.float64)
    up = np.where(h > 0, h, np.nan)
    with np.errstate(divide="ignore"):
        length = np.maximum(1.0 / np.tan(np.radians(up)), 0.0)
    result: FloatArray = np.where(h <= 0, np.inf, length)
    return result
