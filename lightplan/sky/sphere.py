"""Lengths and bearings on the ground, the earth taken as a sphere.

Lengths differ from the ellipsoid's by at most 0.6 %, bearings by 0.2°. Bearings run
clockwise from true north.
"""

import numpy as np
from numpy.typing import ArrayLike

from lightplan.arrays import FloatArray

EARTH_KM = 6371.0088  # mean radius R1, IUGG 1980 (Moritz, Geodetic Reference System)


def distance_km(
    latitude_deg: ArrayLike,
    longitude_deg: ArrayLike,
    to_latitude_deg: ArrayLike,
    to_longitude_deg: ArrayLike,
) -> FloatArray:
    """Return great-circle distances [km] by the haversine formula.

    Parameters
    ----------
    latitude_deg, longitude_deg, to_latitude_deg, to_longitude_deg : array_like
        Of both ends, shapes that broadcast. [°]
    """
    phi, to_phi = np.radians(latitude_deg), np.radians(to_latitude_deg)
    east = np.radians(np.subtract(to_longitude_deg, longitude_deg))
    h = (
        np.sin((to_phi - phi) / 2) ** 2
        + np.cos(phi) * np.cos(to_phi) * np.sin(east / 2) ** 2
    )
    result: FloatArray = 2 * EARTH_KM * np.arcsin(np.sqrt(np.clip(h, 0, 1)))
    return result


def bearing_deg(
    latitude_deg: ArrayLike,
    longitude_deg: ArrayLike,
    to_latitude_deg: ArrayLike,
    to_longitude_deg: ArrayLike,
) -> FloatArray:
    """Return the bearings [°] at which great circles start; as `distance_km`.

    At a pole they count from the meridian of the longitude given.
    """
    phi, to_phi = np.radians(latitude_deg), np.radians(to_latitude_deg)
    east = np.radians(np.subtract(to_longitude_deg, longitude_deg))
    north = np.cos(phi) * np.sin(to_phi) - np.sin(phi) * np.cos(to_phi) * np.cos(east)
    angle = np.degrees(np.arctan2(np.sin(east) * np.cos(to_phi), north))
    result: FloatArray = angle % 360.0
    return result


def destination(
    latitude_deg: ArrayLike,
    longitude_deg: ArrayLike,
    bearing: ArrayLike,
    length_km: ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    """Return latitude and longitude [°] after a length [km] on a bearing [°].

    Shapes broadcast; longitudes are in [−180, 180).
    """
    phi, theta = np.radians(latitude_deg), np.radians(bearing)
    arc = np.asarray(length_km, np.float64) / EARTH_KM
    sine = np.sin(phi) * np.cos(arc) + np.cos(phi) * np.sin(arc) * np.cos(theta)
    to_phi = np.arcsin(np.clip(sine, -1, 1))
    east = np.arctan2(
        np.sin(theta) * np.sin(arc) * np.cos(phi),
        np.cos(arc) - np.sin(phi) * np.sin(to_phi),
    )
    longitude = (np.asarray(longitude_deg) + np.degrees(east) + 180.0) % 360.0 - 180.0
    return np.degrees(to_phi), longitude


def plane_km(
    latitude_deg: ArrayLike, longitude_deg: ArrayLike, start: tuple[float, float]
) -> tuple[FloatArray, FloatArray]:
    """Return km east and north of a start, true to distance and bearing from it.

    The azimuthal equidistant projection, which has no seam at the 180° meridian.
    """
    away = distance_km(*start, latitude_deg, longitude_deg)
    way = np.radians(bearing_deg(*start, latitude_deg, longitude_deg))
    return away * np.sin(way), away * np.cos(way)
