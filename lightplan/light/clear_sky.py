"""Light of sun and moon on level ground under a clear sky.

The polynomials of the Explanatory Supplement to the Astronomical Almanac (1992),
chapter 9. Altitudes are *apparent*, results in lux.
"""

import numpy as np
from numpy.typing import ArrayLike

from lightplan.arrays import FloatArray

# log10 lux = l0 + l1·x + l2·x² + l3·x³, x = apparent altitude / 90°, valid from
# the altitude in the first column up to the next row's. Explanatory Supplement
# to the Astronomical Almanac (1992), chapter 9, pp. 490–493.
_ALTITUDES = np.array([-18.0, -12.0, -5.0, -0.8, 5.0, 20.0, 90.0])
_POLYNOMIALS = np.array(
    [
        [13.84, 262.72, 1447.42, 2797.93],
        [2.7, 12.17, -431.69, -1899.83],
        [2.88, 21.81, -258.11, -858.36],
        [2.88, 22.26, -207.64, 1034.3],
        [3.05, 13.28, -45.98, 64.33],
        [3.74, 3.97, -4.07, 1.47],
    ]
)
_BLEND_DEG = 0.3  # neighbours differ by up to 0.005 in log10 where they meet

# The same for a full moon at mean distance; below −0.8° it gives nothing.
_MOON_ALTITUDES = np.array([-0.8, 5.0, 20.0, 90.0])
_MOON_POLYNOMIALS = np.array(
    [
        [-2.79, 24.27, -252.95, 1321.29],
        [-2.58, 12.58, -42.58, 59.06],
        [-1.95, 4.06, -4.24, 1.56],
    ]
)
_MEAN_PARALLAX_DEG = 0.951  # of the moon, in the same source


def sun_lux(altitude_deg: ArrayLike) -> FloatArray:
    """Return the illuminance on level open ground by day and in twilight.

    Parameters
    ----------
    altitude_deg : array_like, shape (...)
        Apparent altitude of the sun. [°] Below −18° the value at −18° is used.

    Returns
    -------
    ndarray, shape (...)
        Illuminance. [lx] NaN stays NaN.
    """
    h = np.clip(np.asarray(altitude_deg, dtype=np.float64), -18.0, 90.0)
    return _piecewise_lux(h, _ALTITUDES, _POLYNOMIALS)


def moon_lux(
    altitude_deg: ArrayLike, elongation_deg: ArrayLike, parallax_deg: ArrayLike
) -> FloatArray:
    """Return the moon's illuminance on level open ground.

    Parameters
    ----------
    altitude_deg : array_like, shape (...)
        Apparent altitude of the moon. [°] Below −0.8° it gives no light.
    elongation_deg : array_like, shape (...)
        Angle between moon and sun: 180 at full moon. [°]
    parallax_deg : array_like, shape (...)
        Horizontal parallax, a measure of its distance. [°]

    Returns
    -------
    ndarray, shape (...)
        Illuminance, 0.27 at most for a full moon overhead. [lx]

    References
    ----------
    .. [1] Explanatory Supplement to the Astronomical Almanac (1992), ch. 9.
    """
    h = np.asarray(altitude_deg, dtype=np.float64)
    full = _piecewise_lux(np.clip(h, -0.8, 90.0), _MOON_ALTITUDES, _MOON_POLYNOMIALS)
    f = 180.0 - np.asarray(elongation_deg, dtype=np.float64)
    phase = 10.0 ** (-8.68e-3 * f - 2.2e-9 * f**4)
    nearness = (np.asarray(parallax_deg) / _MEAN_PARALLAX_DEG) ** 2
    return np.where(h < -0.8, 0.0, full * phase * nearness)


def _piecewise_lux(
    h: FloatArray, altitudes: FloatArray, polynomials: FloatArray
) -> FloatArray:
    x = (h / 90.0)[..., None]
    powers = np.concatenate([np.ones_like(x), x, x**2, x**3], axis=-1)
    joints = altitudes[1:-1]
    piece = np.searchsorted(joints, h, side="right")
    log_lux = np.einsum("...k,...k->...", powers, polynomials[piece])
    # Near a joint, go from one polynomial to the next over ±_BLEND_DEG.
    near = np.abs(h[..., None] - joints).argmin(axis=-1)
    offset = (h - joints[near]) / _BLEND_DEG
    blended = np.abs(offset) < 1
    weight = np.where(blended, (1 + offset) / 2, 0.0)
    lower = np.einsum("...k,...k->...", powers, polynomials[near])
    upper = np.einsum("...k,...k->...", powers, polynomials[near + 1])
    log_lux = np.where(blended, lower + weight * (upper - lower), log_lux)
    result: FloatArray = 10.0**log_lux
    return result
