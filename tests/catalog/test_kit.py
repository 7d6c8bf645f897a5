"""Lenses, converters and shutter times against published and worked figures."""

from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lightplan.camera.pace import PACES
from lightplan.camera.shake import HOLDS
from lightplan.catalog import kit
from lightplan.catalog.kit import FORMATS, Body, Converter, Lens, Rig
from lightplan.trip.minutes import iso_by_rig
from lightplan.trip.request import choose

# The rows of sensor_formats.csv that carry our format names. Its last column
# says which dimensions were seen in a named source (a) and which are from
# memory, not confirmed (c).
PUBLISHED_FORMATS = {
    "full frame": "full frame 35 mm (135)",
    "APS-C": "APS-C (1.5x class) 23.5x15.6",
    "APS-C 1.6x": "APS-C (1.6x class) 22.3x14.9",
    "four thirds": "Four Thirds",
    "1 inch": "1 inch type",
    "44x33": "44x33 medium format",
}
# The table prints exact stops to four decimals.
PUBLISHED_STOPS_ROUNDING = 5e-5
# Focal lengths and f-numbers come through log2 and back.
ROUNDING = 1e-12

BODY = Body(name="body", format="full frame", megapixels=45, iso_ceiling=6400)


def rig(
    widest: tuple[tuple[float, float], ...],
    factor: float = 1.0,
    body: Body = BODY,
    stabiliser_stops: float = 0,
    body_stops: float = 0,
) -> Rig:
    return Rig(
        name="rig",
        body=body.model_copy(update={"stabiliser_stops": body_stops}),
        lens=Lens(name="lens", widest=widest, stabiliser_stops=stabiliser_stops),
        converter=Converter(name="tc", factor=factor) if factor > 1 else None,
    )


ZOOM = rig(((150, 5.0), (600, 6.3)))


# Source: shared/reference/sensor_formats.csv (klecker.de for the rows marked a).
@pytest.mark.parametrize(("name", "published"), PUBLISHED_FORMATS.items())
def test_sensor_size_is_the_published_one(rows, name, published):
    row = next(r for r in rows("sensor_formats.csv") if r["format"] == published)
    body = Body(name="b", format=name, megapixels=20, iso_ceiling=3200)
    assert (body.width_mm, body.height_mm) == (
        float(row["width_mm"]),
        float(row["height_mm"]),
    )


def test_every_format_offered_is_checked_against_the_table():
    assert set(FORMATS) == set(PUBLISHED_FORMATS)


# Hand calculation: 36 × 24 mm² / 45e6 = 1.92e-5 mm², its root 4.3818e-3 mm;
# 23.5 × 15.6 / 26e6 = 1.41e-5 mm², its root 3.7550e-3 mm.
@pytest.mark.parametrize(
    ("format_name", "megapixels", "pitch_mm"),
    [("full frame", 45, 4.3818e-3), ("APS-C", 26, 3.7550e-3)],
)
def test_pixel_pitch_is_the_root_of_area_per_pixel(format_name, megapixels, pitch_mm):
    body = Body(name="b", format=format_name, megapixels=megapixels, iso_ceiling=3200)
    assert body.pixel_pitch_mm == pytest.approx(pitch_mm, abs=5e-8)


def test_width_and_height_may_be_given_instead_of_a_format():
    body = Body(name="b", width_mm=30, height_mm=20, megapixels=6, iso_ceiling=1600)
    # 30 × 20 / 6e6 = 1e-4 mm², its root 0.01 mm.
    assert body.pixel_pitch_mm == pytest.approx(0.01)


# Source: exposure_constants_and_formulas.json "teleconverter", after
# photo.stackexchange.com/q/99286 and a stored forum thread.
@pytest.mark.parametrize(
    ("focal", "f_number", "factor", "result"),
    [
        (200, 2.0, 1.4, (280, 2.8)),
        (200, 2.0, 2.0, (400, 4.0)),
        (100, 2.0, 2.0, (200, 4.0)),
    ],
)
def test_converter_multiplies_focal_length_and_f_number(
    focal, f_number, factor, result
):
    converted = choose(rig(((focal, f_number),), factor))
    assert (converted.focal_mm, converted.f_number) == pytest.approx(
        result, rel=ROUNDING
    )


# Source: the same item, "exact": 2·log2(M).
@pytest.mark.parametrize(
    ("factor", "stops"), [(1.4, 0.9709), (1.7, 1.5311), (2.0, 2.0)]
)
def test_converter_costs_twice_log2_of_its_factor_in_iso(factor, stops):
    bare = choose(rig(((400, 2.8),)), shutter_s=1 / 1000)
    converted = choose(rig(((400, 2.8),), factor), shutter_s=1 / 1000)
    iso = iso_by_rig(np.array([500.0]), (bare, converted))[:, 0]
    assert np.log2(iso[1] / iso[0]) == pytest.approx(
        stops, abs=PUBLISHED_STOPS_ROUNDING
    )


# Common practice, 1/(2 × focal length) by hand: how far the model lies from it. Of
# 45-megapixel frames taken so, by hands without a stabiliser, 7 in 10 are within 3 px:
# s = 1°/s · f / (2f) / 4.4 µm = 1.98 px, 1 − exp(−3²/(2 · 1.98²)) = 0.68. The
# proposal for a walking animal is within two thirds of a stop of the rule.
@pytest.mark.parametrize("focal_mm", [200, 300, 400, 500, 600])
def test_hand_holding_takes_about_one_over_twice_the_focal_length(focal_mm):
    share = kit.sharp_share(
        ZOOM, focal_mm, 1 / (2 * focal_mm), "resting", distance_m=2000
    )
    assert share == pytest.approx(0.68, abs=0.01)
    proposed = kit.proposed_shutter_s(ZOOM, focal_mm, "walking")
    assert abs(np.log2(proposed * 2 * focal_mm)) <= 0.67


# Common practice: slow animals at 1/500 to 1/1000 with 250–500 mm by hand; from a
# braced arm or a beanbag half to a whole stop less.
@pytest.mark.parametrize("focal_mm", [250, 300, 400, 500])
def test_slow_animals_get_between_1_500_and_1_1000(focal_mm):
    by_hand = kit.proposed_shutter_s(ZOOM, focal_mm, "walking")
    assert 1 / 1250 <= by_hand <= 1 / 500
    on_a_bag = kit.proposed_shutter_s(ZOOM, focal_mm, "walking", hold="beanbag")
    assert by_hand < on_a_bag <= 1 / 125


# Common practice: action asks for a faster shutter than a walk, 1/1000 or less.
@pytest.mark.parametrize(
    ("animal", "pace"), [("cheetah", "running"), ("fish-eagle", "flying")]
)
@pytest.mark.parametrize("focal_mm", [300, 400, 500, 600])
def test_action_gets_a_faster_shutter_than_a_walk(animal, pace, focal_mm):
    shutter_s = kit.proposed_shutter_s(ZOOM, focal_mm, pace, animal=animal)
    assert shutter_s < kit.proposed_shutter_s(ZOOM, focal_mm, "walking")
    assert shutter_s <= 1 / 1000


# An animal that rests is worth a slower shutter than one that walks, with every lens
# and however it is held: that is what a photographer asks first.
@pytest.mark.parametrize("hold", HOLDS)
@pytest.mark.parametrize("focal_mm", [150, 200, 237, 300, 400, 420, 500, 560, 600])
def test_a_resting_animal_gets_a_slower_shutter_than_a_walking_one(hold, focal_mm):
    resting, walking = (
        kit.proposed_shutter_s(ZOOM, focal_mm, pace, hold=hold)
        for pace in ("resting", "walking")
    )
    assert resting > walking * 1.2


# One stop is one stop: by hand before a far animal, whose motion is not seen. Engraved
# times are a third of a stop apart, and 1/1250, 1/2500 stand for 2^(−31/3), 2^(−34/3).
@pytest.mark.parametrize("stops", [1, 2, 3])
def test_a_stop_of_stabiliser_is_a_stop_of_proposed_shutter(stops):
    with_it = rig(((600, 4.0),), stabiliser_stops=stops)
    bare, calm = (
        kit.proposed_shutter_s(r, 600, "walking", 2000)
        for r in (rig(((600, 4.0),)), with_it)
    )
    assert np.log2(calm / bare) == pytest.approx(stops, abs=0.02)


def test_a_rig_has_the_stronger_stabiliser_of_body_and_lens():
    assert rig(((600, 4.0),), stabiliser_stops=4).stabiliser_stops == 4
    steady = rig(((600, 4.0),), body_stops=5, stabiliser_stops=4)
    assert steady.stabiliser_stops == 5


# Hand calculation: a fish eagle flies at 12.5 m/s (see the animals), of which 0.15
# are left, 1.875 m/s; at 10 m through 400 mm 75 mm/s or 17,117 px/s of 4.3818 µm.
# Beside that the hand's 1593 px/s hardly counts, and eight in ten of a Gaussian lie
# within 1.2816 standard deviations: 3 px / 1.2816 / 17117 px/s = 1/7312 s, for
# which 1/8000 is the next engraved one as fast.
def test_near_and_fast_animal_sets_the_shutter():
    rig_400 = rig(((400, 2.8),))
    shutter_s = kit.proposed_shutter_s(rig_400, 400, "flying", 10, animal="fish-eagle")
    assert shutter_s == pytest.approx(1 / 8000)


# At 2 km nothing moves across the frame: the hand is left. 1 °/s through 600 mm on
# 4.3818 µm are 2390 px/s; 3 px / √(−2 ln 0.2) / 2390 px/s = 1/1429 s, so 1/1600.
def test_far_animal_leaves_the_shutter_to_the_hand():
    shutter_s = kit.proposed_shutter_s(ZOOM, 600, "walking", 2000)
    assert shutter_s == pytest.approx(1 / 1600)


# Source: exposure_nominal_series.csv, third-stop shutter times.
@pytest.mark.parametrize("pace", PACES)
@pytest.mark.parametrize("focal_mm", [150, 237, 420, 600])
def test_proposed_shutter_is_one_a_camera_has(rows, pace, focal_mm):
    engraved = [
        float(Fraction(row["nominal"]))
        for row in rows("exposure_nominal_series.csv")
        if row["series"] == "shutter_s" and row["step_stops"] == "1/3"
    ]
    proposed = kit.proposed_shutter_s(ZOOM, focal_mm, pace)
    assert min(abs(proposed / s - 1) for s in engraved) < ROUNDING


@pytest.mark.parametrize(("focal_mm", "f_number"), [(150, 5.0), (600, 6.3)])
def test_widest_aperture_at_a_listed_focal_length_is_the_listed_one(focal_mm, f_number):
    assert ZOOM.widest_f_number(focal_mm) == pytest.approx(f_number, rel=ROUNDING)


# Hand calculation: 283 mm is half way from 200 to 400 mm in ratio; half way in
# stops from f/4 to f/5.6 (√2 · 4) is 4 · 2^¼ = 4.7568.
def test_widest_aperture_runs_straight_in_stops_between_listed_focal_lengths():
    zoom = rig(((200, 4.0), (400, 4.0 * 2**0.5)))
    assert zoom.widest_f_number(200 * 2**0.5) == pytest.approx(4.7568, abs=5e-5)


ZOOMS = st.lists(st.integers(10, 2000), min_size=2, max_size=6, unique=True).flatmap(
    lambda focals: st.lists(
        st.floats(1, 22), min_size=len(focals), max_size=len(focals)
    ).map(lambda numbers: tuple(zip(sorted(focals), sorted(numbers), strict=True)))
)


@given(ZOOMS, st.sampled_from([1.0, 1.4, 2.0]))
def test_widest_aperture_never_opens_as_such_a_zoom_grows_longer(widest, factor):
    zoom = rig(widest, factor)
    focals = np.geomspace(*zoom.focal_range_mm, 40)
    numbers = [zoom.widest_f_number(f) for f in focals]
    assert all(b >= a * (1 - ROUNDING) for a, b in pairwise(numbers))


@given(ZOOMS, st.floats(0, 1))
def test_widest_aperture_lies_between_its_neighbours(widest, share):
    for (focal_a, number_a), (focal_b, number_b) in pairwise(widest):
        focal = focal_a + share * (focal_b - focal_a)
        number = rig(widest).widest_f_number(focal)
        assert number_a * (1 - ROUNDING) <= number <= number_b * (1 + ROUNDING)


def test_open_choices_are_filled_with_longest_widest_and_the_bodys_own_ceiling():
    choice = choose(ZOOM)
    assert (choice.focal_mm, choice.iso_ceiling) == (600, 6400)
    assert choice.f_number == pytest.approx(6.3, rel=ROUNDING)
    assert choice.label == "600 mm f/6.3"


# Common practice: with a ×2 a camera shows f/2.8 as f/5.6, f/4 as f/8 and f/5.6
# as f/11; with a ×1.4 as f/4, f/5.6 and f/8. Engraved values are rounded, so the
# one shown may be a hair wider than the engraved one times the factor.
@pytest.mark.parametrize(
    ("f_number", "factor", "shown"),
    [
        (2.8, 1.4, 4.0),
        (4.0, 1.4, 5.6),
        (5.6, 1.4, 8.0),
        (2.8, 2.0, 5.6),
        (4.0, 2.0, 8.0),
        (5.6, 2.0, 11.0),
    ],
)
def test_aperture_a_camera_shows_with_a_converter_is_accepted(f_number, factor, shown):
    converted = rig(((400, f_number),), factor)
    assert choose(converted, f_number=shown).f_number == shown


# Common practice: mechanical shutters end at 1/8000 s.
def test_no_shutter_is_proposed_that_cameras_do_not_have():
    at = {"distance_m": 6.0, "animal": "small-kingfisher"}
    assert kit.proposed_shutter_s(ZOOM, 600, "flying", **at) == 1 / 8000
