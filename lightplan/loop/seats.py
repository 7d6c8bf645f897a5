"""Where to sit in a vehicle whose sides have the light wanted at different times."""

import numpy as np
from numpy.typing import NDArray

SIDES = ("left", "right")
LEFT, RIGHT, EITHER = 0, 1, -1

# Judgement: with bags, lenses and neighbours, changing seats is worth the trouble
# only for this many minutes more of the light wanted.
CHANGE_MIN = 2.0


def choose(light: NDArray[np.bool_], step_min: float) -> NDArray[np.int64]:
    """Return where to sit for most of the light wanted, with few changes of seat.

    Of all ways to sit, this one has the most minutes of light, less two for every
    change of seats: people stay on a side that has nearly as much, and change as late
    as that allows.

    Parameters
    ----------
    light : ndarray of bool, shape (2, n)
        In which steps left and right have the light wanted.
    step_min : float
        Length of a step. [min]

    Returns
    -------
    ndarray of int, shape (n,)
        `LEFT` or `RIGHT`; `EITHER` all the way if both have the same.
    """
    count = light.shape[1]
    if (light[LEFT] == light[RIGHT]).all():
        return np.full(count, EITHER)
    # Dynamic programming: the best score so far for someone now on either side, and
    # whether they have just changed seats.
    best = np.zeros(2)
    came = np.zeros((2, count), bool)
    for i in range(1, count):
        best += light[:, i - 1]
        over = best[::-1] - CHANGE_MIN / step_min
        came[:, i] = over >= best
        best = np.maximum(best, over)
    seat = np.empty(count, np.int64)
    side = _last_side(best + light[:, -1], light)
    for i in reversed(range(count)):
        seat[i] = side
        if came[side, i]:
            side = RIGHT + LEFT - side
    return seat


def _last_side(score: NDArray[np.float64], light: NDArray[np.bool_]) -> int:
    """Return the side to end on; of two equal ones the one whose light comes first."""
    if score[LEFT] != score[RIGHT]:
        return int(np.argmax(score))
    return int(np.argmin([np.append(side, True).argmax() for side in light]))
