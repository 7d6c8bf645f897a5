"""The sky of a low sun and of twilight, by side: what a flat layer of air misses.

`low_sky.csv` holds light scattered any number of times in a round, clear
atmosphere, traced backwards from an upright surface by a Monte Carlo of our own
(aerosol of 1.5 km scale height, ozone, ground of reflectance 0.2), for three optical
depths and the sun from 20° down to -8°. Levels lie within 35 % of Koomen (1952) and
Patat (2006) at the zenith; shares and colours carry noise of 2 % to -4° and 5 % to
-6°. Below -8° the light evens out, until no side is brighter at -12°.
"""

import csv
from functools import lru_cache
from importlib import resources
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from lightplan.arrays import FloatArray
from lightplan.light.spectrum import Spectral

HIGHEST_DEG = 20.0
EVEN_DEG = -12.0  # from here down no side is brighter
_DAY_DEG = 2.0  # below, a flat layer's sky is no measure
EVEN_UPRIGHT = 0.5  # light on an upright surface over that on level ground


class Sides(NamedTuple):
    """How the light of the sky falls on an upright, round body.

    ``front`` and ``back``: its semi-cylindrical illuminance towards the sun's side
    and away from it, over the light on level ground. Colours as CIE 1960 u, v of
    shape (..., 2).
    """

    front: FloatArray
    back: FloatArray
    front_uv: FloatArray
    back_uv: FloatArray
    level_uv: FloatArray


@lru_cache(maxsize=1)
def _table() -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return optical depths (3,), altitudes (n,) and columns (3, n, 9)."""
    text = (resources.files(__package__) / "low_sky.csv").read_text()
    rows = np.array(
        [list(map(float, row)) for row in list(csv.reader(text.split()))[1:]]
    )
    depths = np.unique(rows[:, 0])
    cube = rows.reshape(len(depths), -1, rows.shape[1])[:, ::-1]
    return depths, cube[0, :, 1], cube[..., 2:]


@lru_cache(maxsize=64)
def _columns(aod500: float) -> FloatArray:
    """Return the columns (n, 9) at an optical depth, the nearest within the table."""
    depths, _, cube = _table()
    at = np.interp(np.log(aod500), np.log(depths), np.arange(len(depths)))
    low = min(int(at), len(depths) - 2)
    share = at - low
    result: FloatArray = (1 - share) * cube[low] + share * cube[low + 1]
    return result


def sides(altitude_deg: ArrayLike, aod500: float) -> Sides:
    """Return the sides of a clear sky, for any altitude of the sun up to 20°.

    ``altitude_deg`` has shape (...); above 20° the values there, below -12° even.
    """
    h = np.asarray(altitude_deg, np.float64)
    _, altitudes, _ = _table()
    columns = _columns(aod500)
    front, back, *uv = (np.interp(h, altitudes, c) for c in columns[:, 1:].T)
    # Beyond the table's end the sides come together.
    side = np.clip((h - EVEN_DEG) / (altitudes[0] - EVEN_DEG), 0.0, 1.0)
    front, back = (EVEN_UPRIGHT + side * (x - EVEN_UPRIGHT) for x in (front, back))
    pairs = (np.stack(uv[i : i + 2], axis=-1) for i in (0, 2, 4))
    return Sides(front, back, *pairs)


def brighter(altitude_deg: ArrayLike, aod500: float, flat: Spectral) -> FloatArray:
    """Return how much more light this sky has on level ground than a flat layer's.

    ``flat`` is the `spectrum` of the table's altitudes at this optical depth, see
    `altitudes`. Above 20° and below 2° the values there: 1.07 and about 1.5.
    """
    _, altitudes, _ = _table()
    day = altitudes >= _DAY_DEG
    ratio = _columns(aod500)[day, 0] / flat.sky[day, 1]
    result: FloatArray = np.interp(
        np.asarray(altitude_deg, np.float64), altitudes[day], ratio
    )
    return result


def altitudes() -> FloatArray:
    """Return the altitudes of the sun in the table, rising. [°]"""
    return _table()[1]
