"""How many frames are sharp, against Rayleigh's distribution and simulated hands."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lightplan.camera import shake
from lightplan.camera.shake import HOLDS, sharp_share

PITCH_MM = 0.0044  # 45 megapixels on 36 × 24 mm, the table's
TABLE_ROUNDING = 6e-5  # shares are printed to four decimals
EXPOSURE_ROUNDING = 4e-5  # of the table's 0.016667 s, through the steepest share
TIME_ROUNDING_S = 0.6e-6  # times are printed to a microsecond
SIMULATED = 200_000
SIMULATION_ERROR = 4 * 0.5 / SIMULATED**0.5  # four standard errors of a share
EXACT = 1e-9

times = st.floats(1 / 32000, 1 / 4)
focals = st.floats(20, 2000)
pitches = st.floats(0.002, 0.01)
blurs = st.floats(0.5, 20)
holds = st.sampled_from(sorted(HOLDS))
ratings = st.floats(0, 8)
speeds = st.floats(0, 20)


# tests/data/README.md, shake_rayleigh.csv. By hand the rating is the table's stops.
def test_shares_by_hand_are_those_of_rayleighs_distribution(rows):
    for row in rows("shake_rayleigh.csv"):
        for blur_px in (1, 2, 4):
            share = sharp_share(
                float(row["exposure_s"]),
                float(row["focal_mm"]),
                PITCH_MM,
                blur_px,
                "hand",
                float(row["stops"]),
            )
            published = float(row[f"share_within_{blur_px}px"])
            assert share == pytest.approx(
                published, abs=TABLE_ROUNDING + EXPOSURE_ROUNDING
            )


# The same table: when half the frames and when nine in ten stay within 2 px. Where
# half do, the share falls fastest, by 0.7 for a time e-fold as long.
@pytest.mark.parametrize("share", [50, 90])
def test_at_the_published_time_the_published_share_is_sharp(rows, share):
    for row in rows("shake_rayleigh.csv"):
        at_s = float(row[f"t{share}_2px_s"])
        found = sharp_share(
            at_s, float(row["focal_mm"]), PITCH_MM, 2, "hand", float(row["stops"])
        )
        rounding = 0.7 * TIME_ROUNDING_S / at_s
        assert found == pytest.approx(share / 100, abs=rounding)


def simulated_share(
    shutter_s, focal_mm, blur_px, hold_stops, speed_m_s, distance_m, seed
):
    """Draw frames: turn the camera, move the animal, measure each blur."""
    random = np.random.default_rng(seed)
    turned = random.normal(0, math.radians(1.0) / 2**hold_stops, (2, SIMULATED))
    moved = random.normal(0, speed_m_s / distance_m, SIMULATED)
    across, up = turned[0] + moved, turned[1]
    # Small angles; the animal's walk is an angle seen from the camera too.
    blur_mm = focal_mm * shutter_s * np.hypot(across, up)
    return np.mean(blur_mm <= blur_px * PITCH_MM)


@pytest.mark.parametrize(
    ("shutter_s", "focal_mm", "blur_px", "hold", "stops", "speed_m_s", "distance_m"),
    [
        (1 / 500, 600, 3, "hand", 0.0, 0.0, 30),
        (1 / 500, 600, 3, "hand", 0.0, 1.2, 30),
        (1 / 250, 400, 2, "beanbag", 3.5, 0.2, 20),
        (1 / 125, 600, 3, "gimbal", 4.5, 0.1, 30),
        (1 / 2000, 500, 3, "braced", 1.0, 2.0, 40),
    ],
)
def test_shares_are_those_of_simulated_hands_and_animals(
    shutter_s, focal_mm, blur_px, hold, stops, speed_m_s, distance_m
):
    share = sharp_share(
        shutter_s, focal_mm, PITCH_MM, blur_px, hold, 0, speed_m_s, distance_m
    )
    drawn = simulated_share(
        shutter_s, focal_mm, blur_px, stops, speed_m_s, distance_m, seed=5
    )
    assert share == pytest.approx(drawn, abs=SIMULATION_ERROR)


# With hardly any shake the blur is Gaussian along one axis: P = erf(k / (m √2)).
# Catches too few directions in the mean, which a simulation is too coarse for.
@pytest.mark.parametrize("shutter_s", [1 / 4000, 1 / 1000, 1 / 500])
def test_an_animal_before_a_still_camera_smears_along_one_axis(shutter_s):
    motion_px = 10 * 600 / (30 * PITCH_MM) * shutter_s
    share = sharp_share(shutter_s, 600, PITCH_MM, 3, "hand", 8, 10, 30)
    assert share == pytest.approx(math.erf(3 / (motion_px * 2**0.5)), abs=1e-5)


@given(times, focals, pitches, blurs, st.floats(0, 7))
def test_by_hand_a_stop_of_stabiliser_is_a_stop_of_time(
    shutter_s, focal_mm, pitch_mm, blur_px, stops
):
    less = sharp_share(shutter_s, focal_mm, pitch_mm, blur_px, "hand", stops)
    more = sharp_share(2 * shutter_s, focal_mm, pitch_mm, blur_px, "hand", stops + 1)
    assert more == pytest.approx(less, abs=EXACT)


@given(times, focals, pitches, blurs, holds, ratings, ratings, speeds)
def test_more_stabilisation_never_loses_a_frame(
    shutter_s, focal_mm, pitch_mm, blur_px, hold, one, another, speed_m_s
):
    less, more = (
        sharp_share(shutter_s, focal_mm, pitch_mm, blur_px, hold, stops, speed_m_s, 30)
        for stops in sorted((one, another))
    )
    assert more >= less - EXACT


@given(times, times, focals, pitches, blurs, holds, speeds)
def test_a_faster_shutter_never_loses_a_frame(
    one_s, another_s, focal_mm, pitch_mm, blur_px, hold, speed_m_s
):
    fast, slow = (
        sharp_share(shutter_s, focal_mm, pitch_mm, blur_px, hold, 0, speed_m_s, 30)
        for shutter_s in sorted((one_s, another_s))
    )
    assert 0 <= slow <= fast + EXACT <= 1 + EXACT


# Judgement, as written in the README: beanbag 3.5 stops, braced 1, gimbal 4.5; the
# weaker of rest and stabiliser adds a quarter of its stops, up to five in all.
@pytest.mark.parametrize(
    ("hold", "rated", "together"),
    [
        ("hand", 0, 0),
        ("hand", 4, 4),
        ("hand", 7, 7),
        ("braced", 3, 3.25),
        ("beanbag", 3, 4.25),
        ("beanbag", 5, 5),
        ("gimbal", 2, 5),
        ("gimbal", 6, 6),
    ],
)
def test_a_rest_and_a_stabiliser_do_not_add_up(hold, rated, together):
    assert shake.steadier_stops(hold, rated) == together


@pytest.mark.parametrize(
    ("change", "names"),
    [
        ({"hold": "tripod"}, ("tripod", "beanbag")),
        ({"stabiliser_stops": 9}, ("0 to 8", "9")),
        ({"shutter_s": 0}, ("shutter", "0")),
        ({"distance_m": math.nan}, ("distance", "nan")),
        ({"speed_m_s": -1}, ("speed", "-1")),
    ],
)
def test_a_wrong_value_is_named_with_what_is_right(change, names):
    case = {
        "shutter_s": 1 / 500,
        "focal_mm": 600,
        "pixel_pitch_mm": PITCH_MM,
        "blur_px": 3,
    }
    with pytest.raises(ValueError, match=r".") as refused:
        sharp_share(**{**case, **change})
    assert all(name in str(refused.value) for name in names)
