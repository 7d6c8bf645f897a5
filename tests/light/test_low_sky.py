"""The sides of a low sun's sky and of twilight."""

import numpy as np
import pytest

from lightplan.light import low_sky
from lightplan.light.daylight import horizontal_lux, subject_lux


def gap_stops(altitude_deg, aod500=0.1, sky="clear"):
    front, back = (
        subject_lux(altitude_deg, phi, sky, aod500=aod500) for phi in (0, 180)
    )
    return np.log2(front / back)


def test_the_glow_makes_one_side_brighter_and_most_at_the_end_of_civil_twilight():
    # Koomen et al. (1952): from about -3° all of the sky fades alike, so the gap that
    # is there by -5° stays; it has opened since sunset.
    h = np.array([0.0, -2.0, -4.0, -6.0])
    gaps = gap_stops(h)
    assert (np.diff(gaps) > 0).all()
    assert gap_stops(-8.0) == pytest.approx(gap_stops(-6.0), abs=0.3)


def test_a_round_body_over_ground_sees_less_of_the_gap_than_a_flat_one():
    # Flat, facing the glow and away: 2.2 stops at -4° (0.9 + 1.85·smoothstep of the
    # depression from 0.5 to 6°). Half the ground's light is equal all round.
    flat = 0.9 + 1.85 * (3.5 / 5.5) ** 2 * (3 - 2 * 3.5 / 5.5)
    assert 0.4 * flat < gap_stops(-4.0) < 0.9 * flat


def test_dust_and_cloud_take_the_side_away():
    clean, usual, dusty = (gap_stops(-4.0, aod500=a) for a in (0.05, 0.1, 0.3))
    assert clean > usual > dusty
    assert gap_stops(-4.0, sky="broken") < usual
    assert gap_stops(-4.0, sky="overcast") == pytest.approx(0, abs=1e-9)


def test_without_sides_again_at_twelve_degrees_below():
    assert gap_stops(-11.0) < gap_stops(-8.0)
    assert gap_stops(-12.0) == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("aod", [0.02, 0.2, 1.5])
def test_the_level_of_twilight_does_not_depend_on_the_air(aod):
    h = np.arange(-18.0, 0.1, 0.5)
    np.testing.assert_allclose(horizontal_lux(h, aod500=aod), horizontal_lux(h))


def test_outside_the_table_its_ends_hold():
    inside, beyond = low_sky.sides(20.0, 0.3), low_sky.sides(35.0, 2.0)
    for a, b in zip(inside, beyond, strict=True):
        np.testing.assert_array_equal(a, b)
