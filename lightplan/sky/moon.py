"""Where the moon is and how full.

Positions come from astral's low-precision series. They are computed every six
hours, interpolated to the instant and made topocentric: seen from the surface,
the moon stands up to a degree lower than from the earth's centre. Altitudes are
geometric, without refraction.
"""

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from astral.moon import moon_position
from numpy.typing import ArrayLike

from lightplan.arrays import FloatArray
from lightplan.sky import sun

EARTH_RADIUS_KM = 6378.137  # equatorial, WGS 84
_FLATTENING = 1 / 298.257223563  # WGS 84
_AU_KM = 149_597_870.7  # IAU 2012 Resolution B2

SYNODIC_MONTH_DAYS = 29.530589  # mean, Meeus ch. 49

_J2000 = np.datetime64("2000-01-01T12:00:00", "us")
_DAY = np.timedelta64(1, "D")
_NODES_PER_DAY = 4
# The series needs dynamical time; in 1950–2037 that is 29 to 75 s ahead of UTC.
_DYNAMICAL_DAYS = 60 / 86_400


class Position(NamedTuple):
    """The moon from a place: arrays of one shape.

    ``altitude_deg`` and ``azimuth_deg`` of its centre, ``distance_km`` from the
    earth's centre, ``elongation_deg`` from the sun, ``fraction`` lit, 0 to 1.
    """

    altitude_deg: FloatArray
    azimuth_deg: FloatArray
    distance_km: FloatArray
    elongation_deg: FloatArray
    fraction: FloatArray


def position(
    utc: ArrayLike, latitude_deg: ArrayLike, longitude_deg: ArrayLike
) -> Position:
    """Return where the moon stands, topocentric and without refraction.

    Parameters
    ----------
    utc : array_like of datetime64, shape (...)
        Instants in UTC.
    latitude_deg, longitude_deg : array_like, shape (...)
        North and east positive. [°] All three arguments broadcast.

    Returns
    -------
    Position
        Arrays of the broadcast shape.

    References
    ----------
    .. [1] T. van Flandern, K. Pulkkinen, ApJS 41 (1979) 391–411, by astral.
    .. [2] J. Meeus, Astronomical Algorithms (1998), 12.4, ch. 11, 40 and 48.
    """
    days = np.asarray((np.asarray(utc, dtype="datetime64[us]") - _J2000) / _DAY)
    moon = geocentric_km(days)
    distance = np.linalg.norm(moon, axis=-1)
    phi = np.radians(np.asarray(latitude_deg, dtype=np.float64))
    theta = np.radians(_sidereal_deg(days) + np.asarray(longitude_deg))
    seen = moon - _observer_km(phi, theta)
    up, north, east = _local(seen, phi, theta)
    altitude = np.degrees(np.arctan2(up, np.hypot(north, east)))
    azimuth = np.degrees(np.arctan2(east, north)) % 360.0
    elongation, fraction = _phase(days, moon, distance)
    shape = altitude.shape
    return Position(
        altitude,
        azimuth,
        np.broadcast_to(distance, shape),
        np.broadcast_to(elongation, shape),
        np.broadcast_to(fraction, shape),
    )


def age_days(utc: ArrayLike) -> FloatArray:
    """Return the moon's age: days since new moon, by its mean month.

    ``utc`` is an array of datetime64 of shape (...); the result, in [0, 29.53),
    is the difference of the ecliptic longitudes of moon and sun as a share of
    the mean synodic month. [d]
    """
    days = np.asarray((np.asarray(utc, dtype="datetime64[us]") - _J2000) / _DAY)
    slow = sun.ephemeris(days / 36525.0)
    x, y, z = np.moveaxis(geocentric_km(days), -1, 0)
    tilt = np.radians(slow.obliquity_deg)
    longitude = np.degrees(np.arctan2(np.cos(tilt) * y + np.sin(tilt) * z, x))
    result: FloatArray = (longitude - slow.apparent_longitude_deg) % 360.0
    return result * (SYNODIC_MONTH_DAYS / 360.0)


def parallax_deg(distance_km: ArrayLike) -> FloatArray:
    """Return the moon's horizontal parallax at a distance [km]. [°]."""
    return np.degrees(np.arcsin(EARTH_RADIUS_KM / np.asarray(distance_km)))


def geocentric_km(days: ArrayLike) -> FloatArray:
    """Return the moon from the earth's centre, equator of date.

    Parameters
    ----------
    days : array_like, shape (...)
        Days since J2000.0. [UTC]

    Returns
    -------
    ndarray, shape (..., 3)
        x towards the equinox, z towards the pole. [km]
    """
    at = (np.asarray(days, dtype=np.float64) + _DYNAMICAL_DAYS) * _NODES_PER_DAY
    before = np.floor(at).astype(np.int64)
    needed, index = np.unique(before[..., None] + np.arange(-1, 3), return_inverse=True)
    nodes = np.array([_node(int(n)) for n in needed]).reshape(-1, 3)
    index = index.reshape(*before.shape, 4)
    # Lagrange's cubic through the two nodes on either side; with 3° of motion
    # between nodes its error is below 1e-5 of the moon's distance.
    x = (at - before)[..., None]
    weights = np.concatenate(
        [
            -x * (x - 1) * (x - 2) / 6,
            (x + 1) * (x - 1) * (x - 2) / 2,
            -(x + 1) * x * (x - 2) / 2,
            (x + 1) * x * (x - 1) / 6,
        ],
        axis=-1,
    )
    result: FloatArray = np.einsum("...k,...kc->...c", weights, nodes[index])
    return result


@lru_cache(maxsize=8192)
def _node(number: int) -> tuple[float, float, float]:
    at = moon_position(number / _NODES_PER_DAY)
    radius = at.distance * EARTH_RADIUS_KM
    cos_dec = np.cos(at.declination)
    return (
        float(radius * cos_dec * np.cos(at.right_ascension)),
        float(radius * cos_dec * np.sin(at.right_ascension)),
        float(radius * np.sin(at.declination)),
    )


def _sidereal_deg(days: FloatArray) -> FloatArray:
    # Mean sidereal time at Greenwich, Meeus 12.4 without its 1e-8 terms.
    century = days / 36525.0
    whole = np.floor(days)
    turned: FloatArray = 280.46061837 + 0.98564736629 * days + 360.0 * (days - whole)
    return turned + 0.000387933 * century**2


def _observer_km(phi: FloatArray, theta: FloatArray) -> FloatArray:
    # On the ellipsoid, Meeus chapter 11: parametric latitude u.
    u = np.arctan((1 - _FLATTENING) * np.tan(phi))
    equator, axis = np.cos(u), (1 - _FLATTENING) * np.sin(u)
    return EARTH_RADIUS_KM * np.stack(
        np.broadcast_arrays(
            equator * np.cos(theta), equator * np.sin(theta), axis + 0 * theta
        ),
        axis=-1,
    )


def _local(
    seen: FloatArray, phi: FloatArray, theta: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    x, y, z = seen[..., 0], seen[..., 1], seen[..., 2]
    outward = np.cos(theta) * x + np.sin(theta) * y
    east = np.cos(theta) * y - np.sin(theta) * x
    up = np.cos(phi) * outward + np.sin(phi) * z
    north = np.cos(phi) * z - np.sin(phi) * outward
    return up, north, east


def _phase(
    days: FloatArray, moon: FloatArray, distance: FloatArray
) -> tuple[FloatArray, FloatArray]:
    slow = sun.ephemeris(days / 36525.0)
    dec, right = np.radians(slow.declination_deg), np.radians(slow.right_ascension_deg)
    towards_sun = np.stack(
        [np.cos(dec) * np.cos(right), np.cos(dec) * np.sin(right), np.sin(dec)], axis=-1
    )
    cosine = np.clip((moon * towards_sun).sum(axis=-1) / distance, -1, 1)
    elongation = np.arccos(cosine)
    sun_km = slow.radius_au * _AU_KM
    # Meeus 48.3 and 48.1
    angle = np.arctan2(sun_km * np.sin(elongation), distance - sun_km * cosine)
    return np.degrees(elongation), (1 + np.cos(angle)) / 2
