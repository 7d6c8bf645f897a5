"""Where the sun is: NOAA's solar equations over arrays of instants.

Altitudes are geometric unless a name says *apparent* (refracted). Azimuths run
clockwise from true north. The equations are those of NOAA's Solar Calculator
workbook, which follow Meeus, "Astronomical Algorithms", chapters 25 and 28.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lightplan.arrays import FloatArray

_J2000 = np.datetime64("2000-01-01T12:00:00", "us")
_DAY = np.timedelta64(1, "D")
_DAYS_PER_CENTURY = 36525.0


class Position(NamedTuple):
    """Geometric altitude and azimuth of the sun's centre, in degrees."""

    altitude_deg: FloatArray
    azimuth_deg: FloatArray


class Ephemeris(NamedTuple):
    """The slowly changing quantities of NOAA's workbook, column by column."""

    mean_longitude_deg: FloatArray
    mean_anomaly_deg: FloatArray
    eccentricity: FloatArray
    equation_of_centre_deg: FloatArray
    true_longitude_deg: FloatArray
    true_anomaly_deg: FloatArray
    radius_au: FloatArray
    apparent_longitude_deg: FloatArray
    mean_obliquity_deg: FloatArray
    obliquity_deg: FloatArray
    right_ascension_deg: FloatArray
    declination_deg: FloatArray
    equation_of_time_min: FloatArray


def ephemeris(century: ArrayLike) -> Ephemeris:
    """Return the sun's slow quantities.

    Parameters
    ----------
    century : array_like, shape (...)
        Julian centuries of 36525 days since J2000.0. Universal time is good
        enough: in its minute from dynamical time the sun moves 0.001°.

    Returns
    -------
    Ephemeris
        Arrays of shape (...); units are in the field names.

    References
    ----------
    .. [1] NOAA Global Monitoring Laboratory, Solar Calculator workbook
       "NOAA_Solar_Calculations_day", columns I to V.
    """
    t = np.asarray(century, dtype=np.float64)
    sin, cos, rad, deg = np.sin, np.cos, np.radians, np.degrees
    mean_longitude = (280.46646 + t * (36000.76983 + t * 0.0003032)) % 360.0
    mean_anomaly = 357.52911 + t * (35999.05029 - 0.0001537 * t)
    m = rad(mean_anomaly)
    eccentricity = 0.016708634 - t * (0.000042037 + 0.0000001267 * t)
    centre = (
        sin(m) * (1.914602 - t * (0.004817 + 0.000014 * t))
        + sin(2 * m) * (0.019993 - 0.000101 * t)
        + sin(3 * m) * 0.000289
    )
    true_longitude = mean_longitude + centre
    true_anomaly = mean_anomaly + centre
    radius = (1.000001018 * (1 - eccentricity**2)) / (
        1 + eccentricity * cos(rad(true_anomaly))
    )
    node = rad(125.04 - 1934.136 * t)
    apparent_longitude = true_longitude - 0.00569 - 0.00478 * sin(node)
    arcseconds = 21.448 - t * (46.815 + t * (0.00059 - t * 0.001813))
    mean_obliquity = 23 + (26 + arcseconds / 60) / 60
    obliquity = mean_obliquity + 0.00256 * cos(node)
    lam, eps = rad(apparent_longitude), rad(obliquity)
    right_ascension = deg(np.arctan2(cos(eps) * sin(lam), cos(lam)))
    declination = deg(np.arcsin(sin(eps) * sin(lam)))
    y = np.tan(eps / 2) ** 2
    twice_longitude = 2 * rad(mean_longitude)
    equation_of_time = 4 * deg(
        y * sin(twice_longitude)
        - 2 * eccentricity * sin(m)
        + 4 * eccentricity * y * sin(m) * cos(twice_longitude)
        - 0.5 * y**2 * sin(2 * twice_longitude)
        - 1.25 * eccentricity**2 * sin(2 * m)
    )
    return Ephemeris(
        mean_longitude,
        mean_anomaly,
        eccentricity,
        centre,
        true_longitude,
        true_anomaly,
        radius,
        apparent_longitude,
        mean_obliquity,
        obliquity,
        right_ascension,
        declination,
        equation_of_time,
    )


def _slow_terms(days: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Declination (rad) and equation of time (min) at days since J2000.

    Both are computed at whole hours only and interpolated to the instant by a
    parabola through the nearest hour and its neighbours. The error, the third
    difference, is below 1e-9°; a year of minutes needs sixty times fewer
    evaluations.
    """
    hours = days * 24.0
    nearest = np.rint(hours).astype(np.int64)
    first, last = (nearest.min(), nearest.max()) if nearest.size else (0, 0)
    if last - first < 4 * nearest.size + 4:
        nodes, index = np.arange(first, last + 1), nearest - first
    else:
        nodes, index = np.unique(nearest, return_inverse=True)
    steps = nodes[:, None] + np.array([-1, 0, 1])
    slow = ephemeris(steps / (24.0 * _DAYS_PER_CENTURY))
    x = hours - nearest

    def interpolated(values: FloatArray) -> FloatArray:
        before, here, after = values.T
        slope, bend = (after - before) / 2, (after + before) / 2 - here
        result: FloatArray = here[index] + x * (slope[index] + x * bend[index])
        return result

    return (
        interpolated(np.radians(slow.declination_deg)),
        interpolated(slow.equation_of_time_min),
    )


def position(
    utc: ArrayLike, latitude_deg: ArrayLike, longitude_deg: ArrayLike
) -> Position:
    """Return the sun's geometric altitude and azimuth.

    Parameters
    ----------
    utc : array_like of datetime64, shape (...)
        Instants in UTC.
    latitude_deg, longitude_deg : array_like, shape (...)
        North and east positive. [°] All three arguments broadcast.

    Returns
    -------
    Position
        ``altitude_deg`` in [-90, 90] without refraction and ``azimuth_deg`` in
        [0, 360), of the broadcast shape; NaN where ``utc`` is NaT or a
        coordinate is NaN.

    Raises
    ------
    ValueError
        If a latitude is outside [-90, 90] or a longitude outside [-180, 180].

    References
    ----------
    .. [1] NOAA Solar Calculator workbook, columns AB to AH.
    """
    instants = np.asarray(utc, dtype="datetime64[us]")
    latitude = _checked(latitude_deg, 90.0, "latitude_deg")
    longitude = _checked(longitude_deg, 180.0, "longitude_deg")
    missing = np.isnat(instants)
    days = (np.where(missing, _J2000, instants) - _J2000) / _DAY
    declination, equation_of_time = _slow_terms(np.asarray(days))
    # J2000.0 is a noon at Greenwich, so the day fraction is the hour angle there.
    hour_angle = np.radians((days % 1.0) * 360.0 + longitude + equation_of_time / 4.0)
    phi = np.radians(latitude)
    sin_phi, cos_phi = np.sin(phi), np.cos(phi)
    sin_dec, cos_dec = np.sin(declination), np.cos(declination)
    cos_dec_cos_h = cos_dec * np.cos(hour_angle)
    up = sin_phi * sin_dec + cos_phi * cos_dec_cos_h
    north = cos_phi * sin_dec - sin_phi * cos_dec_cos_h
    west = cos_dec * np.sin(hour_angle)
    altitude = np.degrees(np.arctan2(up, np.hypot(north, west)))
    azimuth = np.degrees(np.arctan2(-west, north)) % 360.0
    azimuth = np.where(azimuth >= 360.0, 0.0, azimuth)  # -1e-15 % 360 gives 360
    if missing.any():
        altitude = np.where(missing, np.nan, altitude)
        azimuth = np.where(missing, np.nan, azimuth)
    return Position(np.asarray(altitude), np.asarray(azimuth))


def transit_utc(
    near_utc: ArrayLike, longitude_deg: ArrayLike
) -> NDArray[np.datetime64]:
    """Return the sun's transit (solar noon) nearest each instant.

    Parameters
    ----------
    near_utc : array_like of datetime64, shape (...)
        Instants in UTC.
    longitude_deg : array_like, shape (...)
        East positive. [°]

    Returns
    -------
    ndarray of datetime64[ms], shape (...)
        Within twelve hours of ``near_utc``; good to four seconds. Not for NaT.
    """
    near = np.asarray(near_utc, dtype="datetime64[ms]")
    from_j2000 = np.asarray((near.astype("datetime64[us]") - _J2000) / _DAY)
    days = from_j2000
    for _ in range(2):  # the equation of time moves under 30 s in a day
        _, equation_of_time = _slow_terms(days)
        turns = from_j2000 + (np.asarray(longitude_deg) + equation_of_time / 4) / 360
        past = (turns + 0.5) % 1.0 - 0.5  # J2000.0 is a noon: whole turns are transits
        days = from_j2000 - past
    offset = np.rint(past * 86_400_000).astype("timedelta64[ms]")
    return np.asarray(near - offset)


def refraction_deg(altitude_deg: ArrayLike) -> FloatArray:
    """Return atmospheric refraction for a geometric altitude.

    Parameters
    ----------
    altitude_deg : array_like, shape (...)
        Geometric altitude. [°]

    Returns
    -------
    ndarray, shape (...)
        Degrees to add for the apparent altitude, at sea level and 10 °C.

    References
    ----------
    .. [1] NOAA Solar Calculator workbook, column AF (four branches).
    """
    h = np.asarray(altitude_deg, dtype=np.float64)
    with np.errstate(divide="ignore", over="ignore", invalid="ignore"):
        tan_h = np.tan(np.radians(h))
        high = 58.1 / tan_h - 0.07 / tan_h**3 + 0.000086 / tan_h**5
        below = -20.772 / tan_h
    low = 1735 + h * (-518.2 + h * (103.4 + h * (-12.79 + h * 0.711)))
    arcseconds = np.where(h > 5, high, np.where(h > -0.575, low, below))
    return np.where(np.isnan(h), np.nan, np.where(h > 85, 0.0, arcseconds)) / 3600.0


def apparent_altitude_deg(altitude_deg: ArrayLike) -> FloatArray:
    """Return the altitude at which the sun is seen: geometric plus refraction.

    Shape and unit as ``altitude_deg``; see `refraction_deg`.
    """
    h = np.asarray(altitude_deg, dtype=np.float64)
    return h + refraction_deg(h)


def _checked(value: ArrayLike, limit: float, name: str) -> FloatArray:
    array = np.asarray(value, dtype=np.float64)
    outside = np.abs(array) > limit
    if outside.any():
        worst = float(array[outside].flat[0])
        raise ValueError(
            f"{name} must be in [-{limit:g}, {limit:g}], got {worst:.10g} "
            "(are latitude and longitude swapped?)"
        )
    return array
