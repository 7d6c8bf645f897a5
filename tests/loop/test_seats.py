"""Where to sit, against every way there is to sit."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lightplan.loop.seats import CHANGE_MIN, EITHER, LEFT, RIGHT, choose

WAYS = [np.array(way) for way in product((LEFT, RIGHT), repeat=9)]


def score_min(way: np.ndarray, light: np.ndarray, step_min: float) -> float:
    """Minutes of light less what the changes cost."""
    got = np.where(way == RIGHT, light[RIGHT], light[LEFT]).sum() * step_min
    return got - CHANGE_MIN * np.count_nonzero(np.diff(way))


steps = st.lists(st.booleans(), min_size=9, max_size=9)


@given(st.tuples(steps, steps), st.sampled_from([0.25, 1.0, 1.5, 2.5]))
def test_no_way_to_sit_is_better(sides, step_min):
    light = np.array(sides)
    way = choose(light, step_min)
    if (way == EITHER).all():
        assert (light[LEFT] == light[RIGHT]).all()
        return
    best = max(score_min(other, light, step_min) for other in WAYS)
    assert score_min(way, light, step_min) == pytest.approx(best)


@pytest.mark.parametrize("first", [LEFT, RIGHT])
def test_of_two_sides_as_good_it_is_the_one_lit_first(first):
    light = np.zeros((2, 9), bool)
    light[first, 2], light[RIGHT - first, 6] = True, True
    assert set(choose(light, 1.0)) == {first}


def test_one_changes_as_late_as_it_can():
    light = np.zeros((2, 9), bool)
    light[LEFT, :3], light[RIGHT, 6:] = True, True
    assert choose(light, 1.0).tolist() == [LEFT] * 6 + [RIGHT] * 3
