"""Colours of lights: chromaticity, colour temperature, and sRGB to paint them.

References
----------
.. [1] Robertson, J. Opt. Soc. Am. 58 (1968) 1528-1535: the isotemperature lines.
.. [2] IEC 61966-2-1 (1999): sRGB.
"""

import numpy as np
from numpy.typing import ArrayLike

from lightplan.arrays import FloatArray

COLDEST_K = 50_000.0  # what is bluer has no colour temperature

# Reciprocal megakelvins, u, v (CIE 1960) on the Planckian locus, and the slope of
# the line of equal temperature there.
_LINES = np.array(
    [
        [0, 0.18006, 0.26352, -0.24341],
        [10, 0.18066, 0.26589, -0.25479],
        [20, 0.18133, 0.26846, -0.26876],
        [30, 0.18208, 0.27119, -0.28539],
        [40, 0.18293, 0.27407, -0.30470],
        [50, 0.18388, 0.27709, -0.32675],
        [60, 0.18494, 0.28021, -0.35156],
        [70, 0.18611, 0.28342, -0.37915],
        [80, 0.18740, 0.28668, -0.40955],
        [90, 0.18880, 0.28997, -0.44278],
        [100, 0.19032, 0.29326, -0.47888],
        [125, 0.19462, 0.30141, -0.58204],
        [150, 0.19962, 0.30921, -0.70471],
        [175, 0.20525, 0.31647, -0.84901],
        [200, 0.21142, 0.32312, -1.0182],
        [225, 0.21807, 0.32909, -1.2168],
        [250, 0.22511, 0.33439, -1.4512],
        [275, 0.23247, 0.33904, -1.7298],
        [300, 0.24010, 0.34308, -2.0637],
        [325, 0.24792, 0.34655, -2.4681],
        [350, 0.25591, 0.34951, -2.9641],
        [375, 0.26400, 0.35200, -3.5814],
        [400, 0.27218, 0.35407, -4.3633],
        [425, 0.28039, 0.35577, -5.3762],
        [450, 0.28863, 0.35714, -6.7262],
        [475, 0.29685, 0.35823, -8.5955],
        [500, 0.30505, 0.35907, -11.324],
        [525, 0.31320, 0.35968, -15.628],
        [550, 0.32129, 0.36011, -23.325],
        [575, 0.32931, 0.36038, -40.770],
        [600, 0.33724, 0.36051, -116.45],
    ]
)
_MIRED, _U, _V, _SLOPE = _LINES.T
_NORM = np.sqrt(1 + _SLOPE**2)

_TO_SRGB = np.array(
    [
        [3.2406, -1.5372, -0.4986],
        [-0.9689, 1.8758, 0.0415],
        [0.0557, -0.2040, 1.0570],
    ]
)


def uv(xyz: ArrayLike) -> FloatArray:
    """Return CIE 1960 u, v of X, Y, Z; both along the last axis, of 2 and of 3."""
    x, y, z = np.moveaxis(np.asarray(xyz, np.float64), -1, 0)
    total = x + 15 * y + 3 * z
    return np.stack([4 * x / total, 6 * y / total], axis=-1)


def xyz(uv: ArrayLike, lux: ArrayLike) -> FloatArray:
    """Return X, Y, Z of lights of a chromaticity u, v and an illuminance. [lx]

    ``uv`` has shape (..., 2), ``lux`` shape (...), the result (..., 3).
    """
    u, v = np.moveaxis(np.asarray(uv, np.float64), -1, 0)
    y = np.asarray(lux, np.float64)
    return np.stack([1.5 * u / v * y, y, (4 - u - 10 * v) / (2 * v) * y], axis=-1)


def mired(xyz: ArrayLike) -> FloatArray:
    """Return the correlated colour temperature as 10⁶ ÷ kelvins.

    ``xyz`` has shape (..., 3). From 20 (50,000 K, and all that is bluer) to 600
    (1,667 K); within about 1 % of Ohno's method (2013). NaN stays NaN.
    """
    u, v = np.moveaxis(uv(xyz), -1, 0)
    # How far the colour lies from each line; it rises through 0 along the locus.
    apart = ((v[..., None] - _V) - _SLOPE * (u[..., None] - _U)) / _NORM
    # Count of lines passed; between the last passed and the next the mired runs.
    after = np.clip((apart > 0).sum(axis=-1), 1, len(_MIRED) - 1)
    before = after - 1
    a = np.take_along_axis(apart, before[..., None], -1)[..., 0]
    b = np.take_along_axis(apart, after[..., None], -1)[..., 0]
    step = _MIRED[after] - _MIRED[before]
    result: FloatArray = _MIRED[before] + step * np.clip(a / (a - b), 0.0, 1.0)
    return np.maximum(result, 1e6 / COLDEST_K)


def temperature_k(xyz: ArrayLike) -> FloatArray:
    """Return the correlated colour temperature [K] of X, Y, Z, shape (..., 3)."""
    result: FloatArray = 1e6 / mired(xyz)
    return result


def srgb(xyz: ArrayLike) -> FloatArray:
    """Return sRGB, 0 to 255, of lights made as bright as the colour allows.

    ``xyz`` and the result have shape (..., 3). What no screen can show is brought to
    the nearest it can by leaving out negative parts.
    """
    linear = np.maximum(np.asarray(xyz, np.float64) @ _TO_SRGB.T, 0.0)
    linear = linear / linear.max(axis=-1, keepdims=True)
    coded = np.where(
        linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055
    )
    result: FloatArray = 255 * coded
    return result
