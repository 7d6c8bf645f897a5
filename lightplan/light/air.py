"""How clear the air is: the aerosol's optical depth, its names, and its airmass."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from lightplan import errors
from lightplan.arrays import FloatArray

# What a model of aerosol is good for, and more than was ever measured at length.
AOD_RANGE = (0.01, 2.0)
ANGSTROM_AT_550 = (550 / 500) ** 1.14  # depth at 500 nm over depth at 550 nm


@dataclass(frozen=True, slots=True)
class Air:
    """A step of clearness: the aerosol's optical depth at 500 nm."""

    key: str
    label: str
    aod500: float


# Judgement, from monthly means of sun photometers: 0.05 far from dust and smoke, 0.1
# to 0.2 most land, 0.4 a dusty season, 0.8 days of bush fires.
AIRS = {
    air.key: air
    for air in (
        Air("very-clean", "very clean air", 0.05),
        Air("clean", "clean air", 0.1),
        Air("usual", "usual air", 0.2),
        Air("dusty", "dusty air", 0.4),
        Air("smoke", "smoke", 0.8),
    )
}
USUAL = AIRS["usual"]

_EARTH_KM = 6371 * 7 / 6  # of a ray bent by the air, its straight line's earth
_HEIGHT_KM = 1.5  # in which the aerosol thins to 1/e


def air_named(name: str) -> Air:
    """Return the air of that name; ValueError lists the known ones."""
    if name not in AIRS:
        raise ValueError(errors.one_of("air", name, AIRS))
    return AIRS[name]


def nearest(aod500: float) -> Air:
    """Return the step whose optical depth is nearest, by ratio."""
    return min(AIRS.values(), key=lambda air: abs(np.log(air.aod500 / aod500)))


def checked_aod(aod500: float | None) -> float:
    """Return an optical depth, the usual for None; ValueError if out of range."""
    if aod500 is None:
        return USUAL.aod500
    low, high = AOD_RANGE
    if not low <= aod500 <= high:
        raise ValueError(
            f"aerosol optical depth must be {low:g} to {high:g}, got {aod500:g}"
        )
    return float(aod500)


def aerosol_airmass(altitude_deg: ArrayLike) -> FloatArray:
    """Return the aerosol's relative airmass.

    It lies lower than the air, so a low beam passes through more of it: 90 at the
    horizon, where the air has 38.

    Parameters
    ----------
    altitude_deg : array_like, shape (...)
        Apparent altitude of the sun. [°] Below the horizon the horizon's value.

    Returns
    -------
    ndarray, shape (...)
        Path through an aerosol that thins with height, over the path straight up.
    """
    sine = np.sin(np.radians(np.maximum(np.asarray(altitude_deg, np.float64), 0.0)))
    # Along the ray, in steps that grow with the distance.
    s = np.geomspace(1e-3, 1500.0, 240)
    up = np.sqrt(_EARTH_KM**2 + s**2 + 2 * _EARTH_KM * s * sine[..., None]) - _EARTH_KM
    path: FloatArray = np.trapezoid(np.exp(-up / _HEIGHT_KM), s, axis=-1) / _HEIGHT_KM
    return path


def aod_from_linke(turbidity: ArrayLike, water_cm: float = 1.4) -> FloatArray:
    """Return the optical depth at 500 nm that a Linke turbidity stands for.

    ``turbidity`` has any shape. At sea level; never below very clean air, since the
    formula turns negative for the cleanest, and no month's mean is cleaner than that.

    References
    ----------
    .. [1] Ineichen, Solar Energy 82 (2008) 1095-1097.
    """
    at_550 = (np.asarray(turbidity, np.float64) - 2.20 - 0.376 * np.log(water_cm)) / (
        3.91 * np.exp(0.689)
    )
    result: FloatArray = np.maximum(at_550 * ANGSTROM_AT_550, AIRS["very-clean"].aod500)
    return result
