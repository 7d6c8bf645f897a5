"""The colour of the light on the animal and the sun on it, by the minute."""

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lightplan.arrays import FloatArray, Mask
from lightplan.light import chromaticity, colour, daylight
from lightplan.trip.request import FACINGS

_STEP_DEG = 0.05


class Sunlight(NamedTuple):
    """Over n minutes: kelvin of shape (3, n) by facing, NaN in the dark; sunlit, (n,)."""

    kelvin: FloatArray
    sunlit: Mask


def by_minute(
    apparent_deg: FloatArray,
    skies: list[daylight.Sky],
    sky_index: NDArray[np.int64],
    cover: str | daylight.Cover,
) -> Sunlight:
    """Return colour and sun on the animal; arguments as for `minutes.light`."""
    kelvin = np.empty((len(FACINGS), len(apparent_deg)))
    sunlit = np.empty(len(apparent_deg), bool)
    for i, sky in enumerate(skies):
        here = sky_index == i
        altitude, mired, stops = _by_altitude(sky, daylight.cover_named(cover))
        h = apparent_deg[here]
        for side, column in enumerate(mired):
            kelvin[side, here] = 1e6 / np.interp(h, altitude, column, left=np.nan)
        sunlit[here] = np.interp(h, altitude, stops) >= daylight.SUNLIT_STOPS
    return Sunlight(kelvin, sunlit)


# Colours take a hundred times as long as light, and depend on the altitude alone.
@lru_cache(maxsize=64)
def _by_altitude(
    sky: daylight.Sky, cover: daylight.Cover
) -> tuple[FloatArray, FloatArray, FloatArray]:
    altitude = np.arange(colour.DARK_DEG, 90.0 + _STEP_DEG, _STEP_DEG)
    angles = np.array([facing.angle_deg for facing in FACINGS])[:, None]
    mired = chromaticity.mired(daylight.subject_xyz(altitude, angles, sky, cover))
    return altitude, mired, daylight.sunlit_stops(altitude, sky, cover)
