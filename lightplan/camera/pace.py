"""How fast an animal smears across the picture at its pace, while the camera follows.

Speeds of bodies are those of `animals`; following takes out most of them, not all.
"""

from math import pi, sqrt
from typing import NamedTuple

from lightplan import errors
from lightplan.camera.animals import ANIMALS, Animal

# Share of the body's speed that a following camera leaves. Judgement.
FOLLOWING = 0.15
# Of an animal at rest: a head that turns by 20° a second, its nose 0.3 m from the
# neck; breathing is slower. Judgement.
RESTING_M_S = 0.1

# Share of the stride for which a foot stands. Walking as in Alexander & Jayes 1983,
# half for a trot, both from memory; galloping as horses measured by Witte et al.,
# J. Exp. Biol. 209 (2006) 4389.
STANDS = {"walking": 0.65, "trotting": 0.5, "running": 0.25}
# Wings beat through about 80° from top to bottom. Pennycuick 1996, from memory.
WING_STROKE_RAD = 1.4


class Pace(NamedTuple):
    """What an animal does, and which share of the frames should be sharp.

    An animal at rest holds its pose for several frames, and six sharp ones in ten
    are enough; a stride is there once, so eight in ten. Judgement.
    """

    key: str
    label: str
    sharp_wanted: float


# From slow to fast.
PACES = {
    pace.key: pace
    for pace in (
        Pace("resting", "resting", 0.6),
        Pace("walking", "walking", 0.8),
        Pace("trotting", "trotting", 0.8),
        Pace("running", "running", 0.8),
        Pace("flying", "flying", 0.8),
    )
}


def animal_named(key: str) -> Animal:
    """Return an animal; ValueError with the nearest if there is none of that key."""
    if key not in ANIMALS:
        raise ValueError(errors.unknown("animal", key, ANIMALS))
    return ANIMALS[key]


def nearest_pace(animal: str, pace: str) -> str:
    """Return the pace that an animal has: the one asked for, or the nearest to it.

    No lion flies and no kingfisher runs. Of two as near it is the faster one.

    Raises
    ------
    ValueError
        If animal or pace is unknown.
    """
    if pace not in PACES:
        raise ValueError(errors.one_of("pace", pace, PACES))
    order = list(PACES)
    has = ["resting", *animal_named(animal).speeds_m_s]
    wanted = order.index(pace)
    return min(has, key=lambda key: (abs(order.index(key) - wanted), -order.index(key)))


def smear_m_s(animal: str, pace: str) -> float:
    """Return how fast head and body move across a following camera's picture. [m/s]

    Root mean square along one axis, at `nearest_pace`; ValueError as there.
    """
    taken = nearest_pace(animal, pace)
    if taken == "resting":
        return RESTING_M_S
    # A duck walks more slowly than a head turns.
    return max(FOLLOWING * ANIMALS[animal].speeds_m_s[taken], RESTING_M_S)


def limbs_m_s(animal: str, pace: str) -> float:
    """Return how fast feet or wing tips move beside the body; 0 at rest. [m/s]

    Root mean square at `nearest_pace`; ValueError as there. A foot that stands for
    the share β of the stride must swing at v·β/(1 − β), which makes v·√(β/(1 − β))
    in all: exact. A wing tip swings like a pendulum, as often as its wings beat.
    """
    taken = nearest_pace(animal, pace)
    of = ANIMALS[animal]
    if taken in STANDS:
        stands = STANDS[taken]
        return of.speeds_m_s[taken] * sqrt(stands / (1 - stands))
    if taken == "flying" and of.wings is not None:
        reach_m = WING_STROKE_RAD / 2 * of.wings.span_m / 2
        return sqrt(0.5) * 2 * pi * of.wings.beat_hz * reach_m
    return 0.0
