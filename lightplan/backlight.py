"""Which side of an animal the sun lights, as one looks along a bearing.

Bearings run clockwise from true north. *Looking along* is the direction from
the camera to the animal; the camera stands on the opposite side of it.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


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
        left and right of it are not told apart. [°]
    """
    apart = np.asarray(look_deg, np.float64) - np.asarray(sun_azimuth_deg, np.float64)
    result: FloatArray = 180.0 - np.abs((apart + 180.0) % 360.0 - 180.0)
    return result


def sector_index(facing: ArrayLike) -> NDArray[np.int64]:
    """Return the index in `SECTORS` of angles [°] in [0, 180], shape (...)."""
    edges = [sector.to_deg for sector in SECTORS[:-1]]
    return np.searchsorted(edges, np.asarray(facing, np.float64), side="right")
