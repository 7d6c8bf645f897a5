"""What a lens takes in, and how far outside it the sun stands."""

import math

import numpy as np
import pytest
from astropy.coordinates import angular_separation
from hypothesis import example, given
from hypothesis import strategies as st

from lightplan.camera import framing
from lightplan.catalog import kit

FULL_FRAME = (36.0, 24.0)
EXACT_DEG = 1e-9
# Angles of view as lens makers print them, rounded to ten minutes of arc or worse:
# common practice, from memory, not confirmed.
PRINTED = [
    (50, 46.8),
    (85, 28.5),
    (200, 12.35),
    (400, 6.17),
    (600, 4.17),
    (800, 3.1),
]
PRINTED_DEG = 0.1

altitudes = st.floats(0.0, 80.0)
offs = st.floats(-170.0, 170.0)


@pytest.mark.parametrize(("focal", "diagonal"), PRINTED)
def test_the_diagonal_of_full_frame_takes_in_what_lens_makers_print(focal, diagonal):
    size = math.hypot(*FULL_FRAME)
    found = framing.field_of_view_deg(size, focal)
    assert found == pytest.approx(diagonal, abs=PRINTED_DEG)


@pytest.mark.parametrize("focal", [24.0, 300.0, 840.0])
def test_every_format_takes_in_what_the_textbook_formula_says(rows, focal):
    # 2·atan(size ÷ 2f); sizes of tests/data/sensor_formats.csv (klecker.de).
    known = {
        (float(r["width_mm"]), float(r["height_mm"]))
        for r in rows("sensor_formats.csv")
    }
    for sides in kit.FORMATS.values():
        assert sides in known
        for side in sides:
            expected = 2 * math.degrees(math.atan(side / 2 / focal))
            found = framing.field_of_view_deg(side, focal)
            assert found == pytest.approx(expected, abs=EXACT_DEG)


@pytest.mark.parametrize(("size", "focal"), [(0, 50), (36, 0), (36, math.nan)])
def test_a_length_that_is_none_is_refused_in_a_sentence(size, focal):
    with pytest.raises(ValueError, match="must be more than 0 mm, got"):
        framing.field_of_view_deg(size, focal)


# ------------------------------------------------------------- the sun and the axis


@given(altitudes, st.floats(0, 360), st.floats(0, 360))
def test_the_angle_to_the_axis_is_astropys_separation(altitude, azimuth, look):
    # The axis is level: altitude 0. astropy's is Vincenty's formula.
    expected = np.degrees(angular_separation(*np.radians([azimuth, altitude, look, 0])))
    found = framing.from_axis_deg(altitude, azimuth, look)
    assert found == pytest.approx(float(expected), abs=1e-6)


# A sun on the horizon or straight above the aim stands beyond the middle of a side:
# the angle less half of what that side takes in, 1.71836° and 1.14577° at 600 mm.
@pytest.mark.parametrize(
    ("altitude", "off", "outside"),
    [
        (0.0, 10.0, 10.0 - 1.71836),
        (0.0, -10.0, 10.0 - 1.71836),
        (10.0, 0.0, 10.0 - 1.14577),
        (0.0, 1.0, 1.0 - 1.71836),
        (0.0, 90.0, 90.0 - 1.71836),
        (0.0, 180.0, 180.0 - 1.71836),
    ],
)
def test_outside_the_frame_is_the_angle_less_half_the_field(altitude, off, outside):
    found = framing.outside_frame_deg(altitude, 100 + off, 100, FULL_FRAME, 600)
    assert found == pytest.approx(outside, abs=1e-4)


def test_a_sun_in_the_middle_of_the_frame_is_half_its_height_inside():
    found = framing.outside_frame_deg(0, 100, 100, FULL_FRAME, 600)
    assert found == pytest.approx(-1.14577, abs=1e-4)


@given(altitudes, offs, st.sampled_from([24.0, 70.0, 200.0, 600.0]))
@example(1.0, 4e-311, 24.0)  # all but straight above the axis: no warning
def test_inside_is_where_the_sun_is_thrown_onto_the_sensor(altitude, off, focal):
    # A pinhole at the lens: x = f·tan(off), y = f·tan(altitude)/cos(off).
    h, a = math.radians(altitude), math.radians(off)
    before = math.cos(a) * math.cos(h) > 1e-6
    x = focal * math.tan(a)
    y = focal * math.tan(h) / math.cos(a)
    margins = (abs(x) - 18.0, abs(y) - 12.0)
    found = float(framing.outside_frame_deg(altitude, off, 0.0, FULL_FRAME, focal))
    if not before or max(margins) > 0.01:
        assert found > 0
    elif max(margins) < -0.01:
        assert found < 0


def test_a_longer_lens_has_the_sun_farther_outside():
    short, long = (
        float(framing.outside_frame_deg(8, 40, 0, FULL_FRAME, f)) for f in (200, 600)
    )
    assert long > short


def test_outside_broadcasts_over_a_drive():
    found = framing.outside_frame_deg(
        np.linspace(0, 20, 5), np.full(5, 90.0), 60, FULL_FRAME, 400
    )
    assert found.shape == (5,)


# ------------------------------------------------------------- words and hoods


@pytest.mark.parametrize(
    ("outside", "key"),
    [(-1, "inside"), (0.2, "inside"), (0.3, "near"), (9.9, "near"), (10, "clear")],
)
def test_a_sun_whose_disc_touches_the_frame_is_in_it(outside, key):
    # The disc is 32′ across (textbook), so its edge is there when its centre is 0.27° off.
    assert framing.nearness(outside).key == key


@pytest.mark.parametrize(
    ("altitude", "off", "shines"),
    [(10, 0, True), (10, 89, True), (10, 91, False), (10, 180, False), (-1, 0, False)],
)
def test_the_sun_meets_the_front_glass_within_a_right_angle_of_the_axis(
    altitude, off, shines
):
    assert framing.shines_on_front(altitude, 100 + off, 100) == shines
