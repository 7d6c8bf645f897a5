"""A skyline between its points, all round, and where it has none."""

from itertools import permutations
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError
from scipy.interpolate import make_interp_spline

from lightplan.catalog import places
from lightplan.catalog.places import Spot
from lightplan.sky import skyline

SAME = 1e-9  # of sums of a few numbers below 400
# Straight lines by hand: 2° at 60°, 4° at 90°, 5° at 300°, and 120° of bearing
# from the last through north to the first.
RIDGE = ((60.0, 2.0), (90.0, 4.0), (300.0, 5.0))
BY_HAND = {
    60: 2.0, 75: 3.0, 90: 4.0, 195: 4.5, 300: 5.0, 330: 4.25, 0: 3.5, 360: 3.5, 30: 2.75,
}  # fmt: skip

bearings = st.floats(0, 360, exclude_max=True)
profiles = st.lists(
    st.tuples(bearings, st.floats(-10, 80)),
    min_size=1,
    max_size=8,
    # Points closer than this are as steep as a wall; there rounding is seen.
    unique_by=lambda point: round(point[0], 1),
)


@pytest.mark.parametrize(("bearing", "altitude"), BY_HAND.items())
def test_skyline_runs_straight_between_its_points(bearing, altitude):
    assert skyline.altitude_deg(RIDGE, bearing) == pytest.approx(altitude, abs=SAME)


@pytest.mark.parametrize("points", list(permutations(RIDGE)))
def test_order_of_the_points_does_not_matter(points):
    found = skyline.altitude_deg(points, list(BY_HAND))
    assert found == pytest.approx(list(BY_HAND.values()), abs=SAME)


@given(points=profiles, bearing=bearings)
def test_skyline_is_scipys_linear_spline_over_three_rounds(points, bearing):
    x, y = np.array(sorted(points)).T
    round_thrice = np.concatenate([x - 360, x, x + 360])
    if np.diff(round_thrice).min() < 0.1:  # a wall across north
        return
    line = make_interp_spline(round_thrice, np.tile(y, 3), k=1)
    found = skyline.altitude_deg(points, bearing)
    assert found == pytest.approx(line(bearing), abs=1e-6)


def test_without_points_the_horizon_is_level():
    found = skyline.altitude_deg((), [[0.0, 90.0], [180.0, 359.0]])
    assert found.tolist() == [[0.0, 0.0], [0.0, 0.0]]


def test_one_point_is_that_high_all_round():
    found = skyline.altitude_deg(((120.0, 7.0),), [0.0, 119.0, 120.0, 300.0])
    assert found.tolist() == [7.0, 7.0, 7.0, 7.0]


def test_a_point_at_360_stands_in_the_north():
    assert skyline.altitude_deg(((360.0, 6.0), (180.0, 2.0)), 90.0) == 4.0
    assert skyline.altitude_deg(((360.0, 6.0), (180.0, 2.0)), 0.0) == 6.0


def test_answer_has_the_shape_of_the_bearings():
    assert skyline.altitude_deg(RIDGE, np.zeros((2, 3))).shape == (2, 3)


# ---------------------------------------------------------------------------- gaps


@pytest.mark.parametrize(
    ("points", "gap"),
    [
        (RIDGE, (90, 300, 210)),
        (RIDGE[::-1], (90, 300, 210)),
        (((300, 5), (60, 2), (180, 1)), (60, 180, 120)),
        (((0, 1), (100, 1), (200, 1)), (200, 0, 160)),
        (((10, 1), (360, 1)), (10, 0, 350)),
        (((120, 7),), (120, 120, 360)),
        ((), (0, 360, 360)),
    ],
)  # by hand
def test_widest_gap_is_found_across_north_too(points, gap):
    assert skyline.widest_gap_deg(points) == gap


@given(points=profiles)
def test_no_point_stands_in_the_widest_gap_and_it_is_no_less_than_an_even_share(points):
    start, end, width = skyline.widest_gap_deg(points)
    assert width >= 360 / len(points) - SAME
    assert (start + width) % 360 == pytest.approx(end % 360, abs=1e-6)
    inside = [b for b, _ in points if 1e-6 < (b - start) % 360 < width - 1e-6]
    assert inside == []


# ----------------------------------------------------------- what a file may say


def spot(horizon) -> Spot:
    return Spot.model_validate({"name": "Hide", "bearing_deg": 90, "horizon": horizon})


def test_points_may_be_written_in_any_order():
    assert spot([[300, 5], [60, 2]]).horizon == ((300, 5), (60, 2))


def test_the_same_point_twice_does_no_harm():
    assert len(spot([[0, 5], [360, 5]]).horizon) == 2


@pytest.mark.parametrize("north", [0, 360])
def test_two_altitudes_at_one_bearing_are_refused(north):
    with pytest.raises(ValidationError, match="one altitude at each bearing"):
        spot([[0, 5], [90, 1], [north, 6]])


def test_a_file_with_two_altitudes_at_one_bearing_is_told_so_in_a_sentence():
    text = (Path(__file__).parents[2] / places.EXAMPLE_FILE).read_text("utf-8")
    twice = text.replace("[150, 3]", "[90, 3]")
    with pytest.raises(places.PlacesError) as error:
        places.read(twice, "mine.toml")
    assert str(error.value) == (
        "mine.toml: place 'Mopane Loop': spot 'Oxbow hide': horizon must have one "
        "altitude at each bearing, got 4° and 3° at 90°"
    )
