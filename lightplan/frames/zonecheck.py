"""Whether frames fit another setting of the camera's clock much better.

A clock in the wrong zone turns dusk into afternoon: metered light then no
longer follows the sun, or the sun is not even up. Whole and half hours are
tried. A clock half an hour off may go unnoticed if all frames are from dusk, and one
only minutes off always does.
"""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from lightplan.arrays import FloatArray
from lightplan.frames import calibrate
from lightplan.frames.calibrate import Sample

SHIFTS_MIN = np.arange(-14 * 60, 14 * 60 + 1, 30)  # zones run from UTC−12 to +14
FEWEST_BURSTS = 12
MOST_BURSTS = 400  # of a group; more add nothing
MOST_IN_ALL = 8000  # of all groups together: each is tried at 57 settings of the clock
NO_LIGHT_STOPS = 4.0  # the most a frame may be off; one taken in the dark counts so

# Both must hold, so that a warning by chance is rare: in 1,700 made-up trips of 12 to
# 200 bursts, with noise of 0.5 or 1 stop and the right zone, no shift got below 0.69.
MUCH_BETTER = 0.6
LEAST_GAIN_STOPS = 0.4


class Misfit(NamedTuple):
    """A shift of the clock that fits better: add ``shift_min`` to its instants.

    ``miss_stops`` is how far frames lie from their group's middle as the clock
    is read now, ``shifted_miss_stops`` with the shift.
    """

    shift_min: int
    miss_stops: float
    shifted_miss_stops: float


def misfit(
    samples: Sequence[Sample], latitude_deg: float, longitude_deg: float
) -> Misfit | None:
    """Return the shift that fits the frames much better than none does.

    Parameters
    ----------
    samples : sequence of Sample
        All groups whose frames were timed by one clock.
    latitude_deg, longitude_deg : float
        Where they were taken. [°]

    Returns
    -------
    Misfit or None
        None where no shift is much better, or there are too few bursts to say.
    """
    most = min(MOST_BURSTS, max(1, MOST_IN_ALL // max(1, len(samples))))
    thinned = [_thinned(sample, most) for sample in samples]
    if sum(len(sample.utc) for sample in thinned) < FEWEST_BURSTS:
        return None
    at = (latitude_deg, longitude_deg)
    each = calibrate.each_taken(thinned, *at)
    now = float(_miss(taken[:, None] for taken in each)[0])
    if now < LEAST_GAIN_STOPS:  # no shift can gain as much
        return None
    shifts = SHIFTS_MIN.astype("timedelta64[m]")
    miss = _miss(
        calibrate.stops_taken(s.utc[:, None] + shifts, s.ev100[:, None], *at, s.group)
        for s in thinned
    )
    best = int(miss.argmin())
    shifted = float(miss[best])
    if shifted > MUCH_BETTER * now or now - shifted < LEAST_GAIN_STOPS:
        return None
    return Misfit(int(SHIFTS_MIN[best]), now, shifted)


def _miss(each: Iterable[FloatArray]) -> FloatArray:
    """Return how far bursts are from their group's middle at each shift, on average.

    Of each group the stops taken, shape (bursts, shifts).
    """
    misses: FloatArray = np.concatenate([_away(taken) for taken in each])
    return np.asarray(misses.mean(axis=0))


def _away(taken: FloatArray) -> FloatArray:
    """Return how far each burst is from the group's middle: (bursts, shifts)."""
    middle = np.zeros(taken.shape[1])
    lit = ~np.isnan(taken)
    some = lit.any(axis=0)
    middle[some] = np.nanmedian(taken[:, some], axis=0)
    away = np.minimum(np.abs(taken - middle), NO_LIGHT_STOPS)
    return np.where(lit, away, NO_LIGHT_STOPS)


def _thinned(sample: Sample, most: int) -> Sample:
    """Return some bursts: the instant of the first frame and the median EV."""
    _, first = np.unique(calibrate.bursts(sample.utc), return_index=True)
    ev100 = calibrate.votes(sample.utc, sample.ev100)
    some = np.linspace(0, len(first) - 1, min(len(first), most)).astype(int)
    return Sample(sample.group, sample.utc[first[some]], ev100[some])
