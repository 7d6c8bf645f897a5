"""Array types, runs of equal values, and the minute nearest an instant."""

from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
Instants = NDArray[np.datetime64]
Mask = NDArray[np.bool_]


def runs(values: ArrayLike) -> list[tuple[int, int]]:
    """Return the start and end index, end excluded, of each run of equal values.

    ``values`` has shape (n,); the runs cover it without a gap, none if it is empty.
    """
    array = np.asarray(values)
    if len(array) == 0:
        return []
    turns = (np.flatnonzero(array[1:] != array[:-1]) + 1).tolist()
    return list(pairwise([0, *turns, len(array)]))


def true_runs(mask: ArrayLike) -> list[tuple[int, int]]:
    """Return the start and end index, end excluded, of each run of true values."""
    array = np.asarray(mask, dtype=np.bool_)
    return [(first, end) for first, end in runs(array) if array[first]]


def nearest_minute(utc: np.datetime64) -> np.datetime64:
    """Return the whole minute nearest an instant, the later one at half past."""
    nearest: np.datetime64 = (
        utc.astype("datetime64[ms]") + np.timedelta64(30, "s")
    ).astype("datetime64[m]")
    return nearest
