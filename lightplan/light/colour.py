"""How warm the light on an animal is."""

import numpy as np
from numpy.typing import ArrayLike

from lightplan.arrays import FloatArray
from lightplan.light import chromaticity, daylight

# Below it the light of sun and sky is as dim as a moon's or a lamp's.
DARK_DEG = -12.0


def temperature_k(
    altitude_deg: ArrayLike,
    facing_deg: ArrayLike = 0.0,
    sky: str | daylight.Sky = "clear",
    cover: str | daylight.Cover = "open",
    *,
    aod500: float | None = None,
) -> FloatArray:
    """Return the correlated colour temperature of the light on an animal.

    Arguments and errors as for `daylight.subject_lux`.

    Returns
    -------
    ndarray, shape (...)
        From 1,667 to 50,000; NaN where the sun is below -12°. [K]
    """
    h = np.asarray(altitude_deg, np.float64)
    xyz = daylight.subject_xyz(h, facing_deg, sky, cover, aod500=aod500)
    kelvin = chromaticity.temperature_k(xyz)
    return np.where(h >= DARK_DEG, kelvin, np.nan)
