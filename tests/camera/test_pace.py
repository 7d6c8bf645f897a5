"""How fast animals and their limbs cross the picture, and the paces they have."""

import math

import numpy as np
import pytest

from lightplan.camera import pace
from lightplan.camera.animals import ANIMALS
from lightplan.camera.pace import PACES


# Sources of the speeds: see the animals. Following leaves 0.15 of them (judgement).
@pytest.mark.parametrize(
    ("animal", "kept", "m_s"),
    [
        ("cheetah", "running", 0.15 * 14.9),  # Wilson et al. 2013
        ("elephant", "running", 0.15 * 6.8),  # Hutchinson et al. 2006
        ("lion", "resting", 0.1),  # judgement
        ("heron", "flying", 0.15 * 12.5),  # from memory
    ],
)
def test_following_takes_out_most_of_the_bodys_speed(animal, kept, m_s):
    assert pace.smear_m_s(animal, kept) == pytest.approx(m_s)


@pytest.mark.parametrize(
    ("animal", "asked", "taken"),
    [
        ("lion", "walking", "walking"),
        ("lion", "flying", "running"),
        ("kingfisher", "running", "flying"),
        ("kingfisher", "walking", "resting"),
        ("elephant", "trotting", "running"),
        ("heron", "trotting", "walking"),
    ],
)
def test_a_pace_that_an_animal_does_not_have_is_the_nearest_it_has(
    animal, asked, taken
):
    assert pace.nearest_pace(animal, asked) == taken


# No animal and no pace without an answer; faster paces never smear less.
@pytest.mark.parametrize("animal", ANIMALS)
def test_every_animal_has_an_answer_for_every_pace(animal):
    smears = [pace.smear_m_s(animal, each) for each in PACES]
    assert all(np.diff(smears) >= 0)
    assert all(0 < s < 4 for s in smears)


# Simulated by hand: a foot stays where it is for 65 % of the stride and goes at one
# speed for the rest, the body at 1.15 m/s; the lion's hip is 0.9 m high (a walk of
# √(0.15 · 9.81 · 0.9) = 1.151 m/s).
def test_a_walking_foot_moves_as_a_simulated_one():
    body = math.sqrt(0.15 * 9.81 * 0.9)
    steps = np.arange(1000)
    foot = np.where(steps < 650, 0.0, body * 1000 / 350)
    assert foot.mean() == pytest.approx(body)  # it keeps up with the body
    beside = np.sqrt(np.mean((foot - body) ** 2))
    assert pace.limbs_m_s("lion", "walking") == pytest.approx(beside, rel=1e-3)


# Mean speed of a heron's wing tips from flapping, by Pennycuick's law for 1.5 kg,
# 1.75 m and 0.36 m²: 7.1 m/s (recomputed). A pendulum's root mean square is
# π/(2√2) of its mean.
def test_a_wing_tip_moves_as_pennycuicks_law_says():
    expected = 7.088 * math.pi / (2 * math.sqrt(2))
    assert pace.limbs_m_s("heron", "flying") == pytest.approx(expected, rel=0.01)


def test_nothing_swings_on_a_resting_animal():
    assert pace.limbs_m_s("lion", "resting") == 0
