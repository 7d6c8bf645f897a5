"""The local horizon: how high the skyline stands in every direction."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from lightplan.arrays import FloatArray

Points = Sequence[tuple[float, float]]


def altitude_deg(points: Points, bearing_deg: ArrayLike) -> FloatArray:
    """Return the altitude of a skyline.

    Parameters
    ----------
    points : sequence of (bearing, altitude)
        In any order; bearings clockwise from true north. [°] The skyline runs
        straight between them, and from the last through north to the first.
        Without points it is level.
    bearing_deg : array_like, shape (...)
        Where to look. [°]

    Returns
    -------
    ndarray, shape (...)
        Apparent altitude of the skyline. [°]
    """
    bearing = np.asarray(bearing_deg, dtype=np.float64)
    if not points:
        return np.zeros_like(bearing)
    x, y = np.array(sorted(points), dtype=np.float64).T
    return np.asarray(np.interp(bearing, x % 360.0, y, period=360.0))


def widest_gap_deg(points: Points) -> tuple[float, float, float]:
    """Return the widest stretch without a point: its start, its end, its width.

    Without points that is the whole circle, (0, 360, 360).
    """
    if not points:
        return 0.0, 360.0, 360.0
    x = np.sort(np.array([bearing % 360.0 for bearing, _ in points]))
    widths = np.diff(np.append(x, x[0] + 360.0))
    i = int(widths.argmax())
    return float(x[i]), float(x[(i + 1) % len(x)]), float(widths[i])
