"""Depth of field and background against the thin lens itself."""

import math

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from lightplan.camera import focus

# Focal length, f-number, distance, circle in mm; near and far in m, to 0.1 mm. The
# textbook's closed form (S. F. Ray, Applied Photographic Optics), worked out apart.
TABLE = [
    (200, 2.8, 10, 0.03, 9.7983, 10.2101),
    (300, 2.8, 100, 0.03, 91.4868, 110.2601),
    (400, 2.8, 30, 0.03, 29.5409, 30.4736),
    (600, 4.0, 20, 0.03, 19.8715, 20.1302),
    (600, 6.3, 30, 0.03, 29.5440, 30.4703),
    (600, 6.3, 200, 0.03, 181.0471, 223.3851),
]
TABLE_M = 6e-5
# Circles of confusion that handbooks print: common practice, from memory.
CIRCLES = [((36.0, 24.0), 0.029), ((23.5, 15.6), 0.019), ((17.3, 13.0), 0.0145)]

focals = st.floats(50.0, 1200.0)
f_numbers = st.floats(1.4, 32.0)
distances = st.floats(3.0, 1000.0)
circles = st.floats(0.004, 0.04)


def drawn_mm(focal, f_number, in_focus_m, thing_m):
    """Follow two rays: the circle that a point at ``thing_m`` is drawn as."""

    def behind(s):
        return 1 / (1 / focal - 1 / (1000 * s)) if math.isfinite(s) else focal

    film, image = behind(in_focus_m), behind(thing_m)
    return focal / f_number * abs(film - image) / image


@pytest.mark.parametrize(("f", "n", "s", "c", "near", "far"), TABLE)
def test_near_and_far_are_the_tables(f, n, s, c, near, far):
    found = focus.depth_of_field_m(f, n, s, c)
    assert found == pytest.approx((near, far), abs=TABLE_M)


@given(focals, f_numbers, distances, circles)
@example(400.0, 8.0, 700.0, 0.03)
def test_at_its_ends_a_point_is_drawn_as_the_circle(focal, f_number, distance, circle):
    near, far = focus.depth_of_field_m(focal, f_number, distance, circle)
    assert 1000 * near > focal
    assert drawn_mm(focal, f_number, distance, near) == pytest.approx(circle, rel=1e-6)
    if math.isfinite(far):
        at_far = drawn_mm(focal, f_number, distance, far)
        assert at_far == pytest.approx(circle, rel=1e-6)
    else:
        assert drawn_mm(focal, f_number, distance, math.inf) <= circle * (1 + 1e-9)


@given(focals, distances, st.floats(0.05, 50.0), circles)
def test_two_animals_are_sharp_at_the_f_number_given(focal, near, apart, circle):
    assume(near > focal / 500)
    far = near + apart
    f_number = focus.f_number_for(near, far, focal, circle)
    between = 2 / (1 / near + 1 / far)
    found = focus.depth_of_field_m(focal, f_number, between, circle)
    assert found == pytest.approx((near, far), rel=1e-6)


@given(focals, f_numbers, distances, st.floats(0.5, 300.0))
def test_the_background_is_drawn_as_rays_say(focal, f_number, distance, behind):
    found = focus.background_blur_mm(focal, f_number, distance, behind)
    expected = drawn_mm(focal, f_number, distance, distance + behind)
    assert found == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(("sensor", "printed"), CIRCLES)
def test_a_sensor_has_the_circle_that_handbooks_print(sensor, printed):
    assert focus.circle_mm(sensor) == pytest.approx(printed, abs=0.0005)


def test_equal_pupils_at_equal_picture_are_equally_deep():
    # 300 mm f/4 cropped to a quarter against 600 mm f/8: the same pupil from the same
    # place draws the same picture (perspective and entrance pupil decide, not f).
    sensor = (36.0, 24.0)
    short = focus.depth_of_field_m(300, 4, 60, focus.circle_mm(sensor, 0.25))
    long = focus.depth_of_field_m(600, 8, 60, focus.circle_mm(sensor, 1.0))
    assert short == pytest.approx(long, rel=1e-3)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: focus.depth_of_field_m(600, 4, 0.6, 0.03), "distance must be more"),
        (lambda: focus.depth_of_field_m(600, 0, 30, 0.03), "f-number and circle"),
        (lambda: focus.depth_of_field_m(600, 4, 30, math.nan), "f-number and circle"),
        (lambda: focus.f_number_for(30, 29, 600, 0.03), "farther animal must be"),
    ],
)
def test_a_value_that_cannot_be_is_refused_in_a_sentence(call, sentence):
    with pytest.raises(ValueError, match=sentence):
        call()
