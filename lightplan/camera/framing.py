"""What a lens takes in, and where the sun stands against its frame.

The camera is held level and upright in landscape: its axis runs along a bearing
at altitude 0, so the sun's *apparent* altitude is used.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lightplan.arrays import FloatArray

# Half the sun's disc. [°] Physics: 32′ across, give or take half a minute.
SUN_RADIUS_DEG = 0.27
# Judgement: nearer to the frame than this, stray light veils the picture with most
# lenses; how near is too near depends on the lens, its hood and its cleanness.
NEAR_DEG = 10.0


class Nearness(NamedTuple):
    """How the sun stands against a frame, in a word or two."""

    key: str
    label: str


INSIDE = Nearness("inside", "inside the frame")
NEAR = Nearness("near", "near the frame")
CLEAR = Nearness("clear", "well clear")


def field_of_view_deg(size_mm: float, focal_mm: float) -> float:
    """Return the angle that one side of a sensor takes in: 2·atan(size ÷ 2f).

    Parameters
    ----------
    size_mm : float
        Width, height or diagonal of the sensor. [mm]
    focal_mm : float
        Focal length, converter included. [mm]

    Returns
    -------
    float
        For a lens without distortion, focused far away. [°]

    Raises
    ------
    ValueError
        If a length is not positive.
    """
    if not (size_mm > 0 and focal_mm > 0):
        raise ValueError(
            f"sensor and focal length must be more than 0 mm, got {size_mm:g} mm and "
            f"{focal_mm:g} mm"
        )
    return float(np.degrees(2 * np.arctan(size_mm / (2 * focal_mm))))


def from_axis_deg(
    apparent_deg: ArrayLike, azimuth_deg: ArrayLike, look_deg: ArrayLike
) -> FloatArray:
    """Return the angle between the lens's axis and the sun. [°] All broadcast.

    ``apparent_deg`` and ``azimuth_deg`` are the sun's, ``look_deg`` is the bearing
    along which the camera looks.
    """
    x, y, z = _toward_sun(apparent_deg, azimuth_deg, look_deg)
    result: FloatArray = np.degrees(np.arctan2(np.hypot(x, y), z))
    return result


def outside_frame_deg(
    apparent_deg: ArrayLike,
    azimuth_deg: ArrayLike,
    look_deg: ArrayLike,
    sensor_mm: tuple[float, float],
    focal_mm: float,
) -> FloatArray:
    """Return how far beyond the frame's edge the sun's centre stands.

    Parameters
    ----------
    apparent_deg, azimuth_deg : array_like, shape (...)
        Of the sun. [°]
    look_deg : array_like, shape (...)
        Bearing along which the camera looks. [°]
    sensor_mm : (float, float)
        Width and height of the sensor. [mm]
    focal_mm : float
        Focal length, converter included. [mm]

    Returns
    -------
    ndarray, shape (...)
        Counted from the edge towards the sun, along the line from the middle of
        the frame through it; negative inside the frame. [°]
    """
    x, y, z = _toward_sun(apparent_deg, azimuth_deg, look_deg)
    across = np.hypot(x, y)
    half_width, half_height = (side / (2 * focal_mm) for side in sensor_mm)
    with np.errstate(divide="ignore", over="ignore", invalid="ignore"):
        # The frame is flat: along a slanted line it ends at whichever side is met.
        reach = np.minimum(
            half_width * across / np.abs(x), half_height * across / np.abs(y)
        )
    reach = np.where(across > 0, reach, min(half_width, half_height))
    result: FloatArray = np.degrees(np.arctan2(across, z) - np.arctan(reach))
    return result


def nearness(outside_deg: float) -> Nearness:
    """Return whether a sun so far outside a frame [°] is in it, near it or clear."""
    if outside_deg < SUN_RADIUS_DEG:
        return INSIDE
    return NEAR if outside_deg < NEAR_DEG else CLEAR


def shines_on_front(
    apparent_deg: ArrayLike, azimuth_deg: ArrayLike, look_deg: ArrayLike
) -> NDArray[np.bool_]:
    """Return where the sun shines on the front element.

    Arguments as for `from_axis_deg`. A hood or a hand keeps it off.
    """
    up = np.asarray(apparent_deg, np.float64) > 0
    return up & (from_axis_deg(apparent_deg, azimuth_deg, look_deg) < 90.0)


def _toward_sun(
    apparent_deg: ArrayLike, azimuth_deg: ArrayLike, look_deg: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the sun's direction to the right of, above and along the axis."""
    h = np.radians(np.asarray(apparent_deg, np.float64))
    off = np.radians(
        np.asarray(azimuth_deg, np.float64) - np.asarray(look_deg, np.float64)
    )
    return np.cos(h) * np.sin(off), np.sin(h) + 0 * off, np.cos(h) * np.cos(off)
