"""How a cloudless sky brightens towards the sun and the horizon: Perez et al., 1990."""

import numpy as np
from numpy.typing import ArrayLike

from lightplan.arrays import FloatArray

BEAM_OUTSIDE_LUX = 133_800.0  # normal to the beam above the atmosphere

# Perez et al., Solar Energy 44 (1990), table 6: F11 F12 F13 F21 F22 F23 for
# eight bins of sky clearness, and the bins' edges.
EDGES = np.array([1.0, 1.065, 1.23, 1.5, 1.95, 2.8, 4.5, 6.2])
_COEFFICIENTS = np.array(
    [
        [-0.008, 0.588, -0.062, -0.06, 0.072, -0.022],
        [0.130, 0.683, -0.151, -0.019, 0.066, -0.029],
        [0.330, 0.487, -0.221, 0.055, -0.064, -0.026],
        [0.568, 0.187, -0.295, 0.109, -0.152, -0.014],
        [0.873, -0.392, -0.362, 0.226, -0.462, 0.001],
        [1.132, -1.237, -0.412, 0.288, -0.823, 0.056],
        [1.060, -1.600, -0.359, 0.264, -1.127, 0.131],
        [0.678, -0.327, -0.250, 0.156, -1.377, 0.251],
    ]
)
# Coefficients are taken at the middle of each bin and interpolated between, so that
# curves have no steps; the last, open bin gets 8 for its middle.
_MIDDLES = np.append((EDGES[:-1] + EDGES[1:]) / 2, 8.0)


def brightness(
    altitude_deg: ArrayLike,
    diffuse_lux: ArrayLike,
    beam_lux: ArrayLike,
    airmass: ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    """Return Perez's circumsolar and horizon brightness, F1 and F2.

    Parameters
    ----------
    altitude_deg : array_like, shape (...)
        Apparent altitude of the sun. [°]
    diffuse_lux, beam_lux : array_like, shape (...)
        On level ground, and normal to the beam. [lx]
    airmass : array_like, shape (...)
        Relative airmass. [unitless]

    Returns
    -------
    tuple of ndarray, shape (...)
        F1 ≥ 0 and F2. Between the middles of the published clearness bins the
        coefficients are interpolated, where the source has steps.

    References
    ----------
    .. [1] Perez et al., Solar Energy 44 (1990) 271–289, table 6.
    """
    h = np.asarray(altitude_deg, dtype=np.float64)
    diffuse, beam = np.asarray(diffuse_lux), np.asarray(beam_lux)
    zenith = np.radians(90.0 - np.maximum(h, 0.0))
    cubed = 1.041 * zenith**3
    clearness = ((diffuse + beam) / diffuse + cubed) / (1 + cubed)
    share = diffuse * np.asarray(airmass) / BEAM_OUTSIDE_LUX
    f11, f12, f13, f21, f22, f23 = (
        np.interp(clearness, _MIDDLES, column) for column in _COEFFICIENTS.T
    )
    f1 = np.maximum(f11 + f12 * share + f13 * zenith, 0.0)
    return f1, f21 + f22 * share + f23 * zenith


def relative_airmass(altitude_deg: ArrayLike) -> FloatArray:
    """Return relative airmass; below the horizon the horizon's value.

    ``altitude_deg`` is apparent [°], any shape; the result has no unit.

    References
    ----------
    .. [1] Kasten & Young, Applied Optics 28 (1989) 4735–4738.
    """
    h = np.maximum(np.asarray(altitude_deg, dtype=np.float64), 0.0)
    result: FloatArray = 1.0 / (
        np.sin(np.radians(h)) + 0.50572 * (h + 6.07995) ** -1.6364
    )
    return result
