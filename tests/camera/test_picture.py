"""The animal in the frame and the light it gives, against closed forms."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from lightplan.camera import framing, picture

FULL_FRAME, APS_C = (36.0, 24.0), (23.5, 15.6)
EXACT = 1e-9
focals = st.floats(20.0, 1200.0)
f_numbers = st.floats(1.2, 22.0)
distances = st.floats(3.0, 500.0)


def test_a_fast_400_gathers_one_stop_and_a_sixth_over_a_slow_600():
    # Entrance pupils of 142.9 and 95.2 mm: (1.5)² = 2.25 times the light.
    found = picture.light_stops(600, 6.3, 400, 2.8)
    assert found == pytest.approx(math.log2(2.25), abs=EXACT)
    assert found == pytest.approx(1.17, abs=0.005)


@pytest.mark.parametrize("factor", [1.4, 2.0])
def test_a_converter_neither_gathers_nor_loses_light_of_the_animal(factor):
    # It multiplies focal length and f-number alike (common practice).
    assert picture.light_stops(400, 4, 400 * factor, 4 * factor) == pytest.approx(0)


@given(focals, f_numbers, focals, f_numbers)
def test_a_stop_of_aperture_is_a_stop_and_swapping_lenses_turns_the_sign(f, n, g, m):
    there = picture.light_stops(f, n, g, m)
    assert picture.light_stops(g, m, f, n) == pytest.approx(-there, abs=1e-9)
    wider = picture.light_stops(f, n, g, m / math.sqrt(2))
    assert wider - there == pytest.approx(1, abs=1e-9)


@given(focals, distances, st.floats(0.05, 5.0))
def test_an_animal_as_wide_as_the_field_of_view_covers_every_pixel(f, s, length):
    assume(1000 * s > 1.01 * f)
    # The field of view of a lens focused at s: 2·atan(w/2v), v = f·s/(s − f).
    behind = f * 1000 * s / (1000 * s - f)
    angle = math.radians(framing.field_of_view_deg(36.0, behind))
    width_m = 2 * s * math.tan(angle / 2)
    assert picture.pixels_on(width_m, s, f, 0.0044) == pytest.approx(36 / 0.0044)
    share = picture.frame_filled((length, 1e-6), s, f, FULL_FRAME)
    assert share == pytest.approx(length / width_m)


def test_far_away_pixels_go_by_the_plain_angle():
    # Far off, the size on the sensor is f·tan(angle): a textbook's far field.
    found = picture.pixels_on(1.9, 1000, 600, 0.0044)
    assert found == pytest.approx(600 * 1.9 / 1000 / 0.0044, rel=1e-3)


@given(focals, st.tuples(st.floats(0.05, 6.0), st.floats(0.05, 5.0)))
def test_the_distance_that_fills_a_share_fills_it(focal, size):
    at = picture.distance_filling_m(picture.FILLED, size, focal, FULL_FRAME)
    assert picture.frame_filled(size, at, focal, FULL_FRAME) == pytest.approx(0.6)


def test_the_tighter_side_of_the_frame_binds():
    # A tall animal meets the frame's height before its width.
    tall = picture.frame_filled((1.0, 1.0), 30, 600, FULL_FRAME)
    assert tall == pytest.approx(1000 * 600 / (30_000 - 600) / 24)


def test_the_share_left_of_a_frame_is_the_ratio_of_the_areas_seen():
    # 300 mm against 600 mm on one sensor: a quarter. APS-C sees 23.5 × 15.6 of the
    # 36 × 24 mm that full frame sees at the same focal length.
    views = [(300, FULL_FRAME), (600, FULL_FRAME)]
    assert picture.shares_used(views) == pytest.approx([0.25, 1])
    views = [(400, FULL_FRAME), (400, APS_C)]
    assert picture.shares_used(views) == pytest.approx([23.5 * 15.6 / 864, 1])


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (
            lambda: picture.light_stops(0, 4, 600, 4),
            "focal length in mm must be more than 0, got 0",
        ),
        (
            lambda: picture.light_stops(400, math.nan, 600, 4),
            "f-number must be more than 0, got nan",
        ),
        (lambda: picture.pixels_on(-1, 30, 600, 0.004), "length in m must be more"),
        (lambda: picture.pixels_on(1, 0.5, 600, 0.004), "distance must be more than"),
        (
            lambda: picture.distance_filling_m(0, (1, 1), 600, FULL_FRAME),
            "share of the frame must",
        ),
    ],
)
def test_a_value_that_cannot_be_is_refused_in_a_sentence(call, sentence):
    with pytest.raises(ValueError, match=sentence):
        call()


def test_a_crop_by_the_share_left_shows_the_animal_equally_large():
    # Brute force: cut pixels off a picture until the animal is as large in it as in
    # the longer lens's, and count what is left.
    views = [(400.0, FULL_FRAME), (600.0, FULL_FRAME)]
    share = picture.shares_used(views)[0]
    width = np.arange(1, 8001)
    animal = [8000 * picture.frame_filled((1, 1e-9), 400, f, s) for f, s in views]
    left = width[np.argmin(np.abs(animal[0] / width - animal[1] / 8000))]
    assert (left / 8000) ** 2 == pytest.approx(share, rel=0.002)
