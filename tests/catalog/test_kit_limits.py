"""Settings a rig does not have are refused in one sentence with the range."""

import numpy as np
import pytest
from pydantic import ValidationError

from lightplan.camera.pace import PACES
from lightplan.catalog.kit import Body, Converter, Lens, Rig
from lightplan.trip.request import choose

BODY = Body(name="body", format="full frame", megapixels=45, iso_ceiling=6400)
ZOOM = Rig(
    name="long zoom",
    body=BODY,
    lens=Lens(name="lens", widest=((150, 5.0), (600, 6.3))),
)
PRIME = Rig(name="prime", body=BODY, lens=Lens(name="lens", widest=((400, 2.8),)))


def said(call) -> str:
    with pytest.raises(ValueError) as caught:  # noqa: PT011 - the text is checked
        call()
    return str(caught.value)


@pytest.mark.parametrize(
    ("focal_mm", "shown"),
    [(0, "0"), (-50, "-50"), (149, "149"), (601, "601"), (np.nan, "nan")],
)
def test_focal_length_beyond_the_lens_is_refused(focal_mm, shown):
    message = said(lambda: choose(ZOOM, focal_mm=focal_mm))
    assert "long zoom" in message
    assert "150–600 mm" in message
    assert message.endswith(f"got {shown} mm")


def test_focal_length_of_a_prime_is_its_only_one():
    message = said(lambda: choose(PRIME, focal_mm=300))
    assert "400 mm only" in message
    assert "300" in message


@pytest.mark.parametrize("focal_mm", [149.8, 600.3])
def test_focal_length_rounded_beyond_the_end_is_read_as_the_end(focal_mm):
    assert choose(ZOOM, focal_mm=focal_mm).focal_mm in (150, 600)


@pytest.mark.parametrize(
    ("f_number", "shown"),
    [(0, "f/0"), (-1, "f/-1"), (4, "f/4"), (65, "f/65"), (np.nan, "f/nan")],
)
def test_aperture_the_lens_has_not_is_refused(f_number, shown):
    message = said(lambda: choose(ZOOM, f_number=f_number))
    assert "long zoom at 600 mm" in message
    assert "f/6.3 and f/64" in message
    assert message.endswith(f"got {shown}")


@pytest.mark.parametrize("shutter_s", [0, -1, 2, 1e-6, np.nan])
def test_shutter_out_of_range_is_refused(shutter_s):
    message = said(lambda: choose(ZOOM, shutter_s=shutter_s))
    assert "long zoom" in message
    assert "1/32000 s and 1 s" in message
    assert message.endswith(f"got {shutter_s:g} s")


@pytest.mark.parametrize("iso_ceiling", [0, -100, 49, 1_000_001, np.nan])
def test_iso_ceiling_out_of_range_is_refused(iso_ceiling):
    message = said(lambda: choose(ZOOM, iso_ceiling=iso_ceiling))
    assert "long zoom" in message
    assert "between 50 and 1000000" in message
    assert message.endswith(f"got {iso_ceiling:g}")


@pytest.mark.parametrize("iso_ceiling", [50, 1_000_000])
def test_iso_ceiling_at_either_end_is_accepted(iso_ceiling):
    assert choose(ZOOM, iso_ceiling=iso_ceiling).iso_ceiling == iso_ceiling


def test_unknown_pace_is_refused_with_the_known_ones():
    message = said(lambda: choose(ZOOM, pace="galloping"))
    assert "galloping" in message
    assert all(pace in message for pace in PACES)


@pytest.mark.parametrize("distance_m", [0, -30, np.nan])
def test_distance_that_is_not_positive_is_refused(distance_m):
    message = said(lambda: choose(ZOOM, distance_m=distance_m))
    assert f"{distance_m:g} m" in message
    assert "\n" not in message


@pytest.mark.parametrize("blur_px", [0, -3, np.nan])
def test_blur_that_is_not_positive_is_refused(blur_px):
    message = said(lambda: choose(ZOOM, blur_px=blur_px))
    assert f"{blur_px:g} px" in message


def test_unknown_hold_and_animal_are_refused_with_what_is_near():
    assert "beanbag" in said(lambda: choose(ZOOM, hold="bean bag"))
    assert "elephant" in said(lambda: choose(ZOOM, animal="elefant"))


@pytest.mark.parametrize("stops", [-1, 8.5, np.nan])
def test_a_stabiliser_takes_off_0_to_8_stops(stops):
    with pytest.raises(ValidationError):
        Lens(name="lens", widest=((600, 4.0),), stabiliser_stops=stops)


@pytest.mark.parametrize("factor", [1.0, 0.5, -2, 3.5])
def test_converter_that_does_not_lengthen_up_to_three_times_is_refused(factor):
    with pytest.raises(ValidationError):
        Converter(name="tc", factor=factor)


@pytest.mark.parametrize(
    "widest",
    [
        (),
        ((400, 0),),
        ((0, 2.8),),
        ((-400, 2.8),),
        ((400, 2.8), (300, 2.8)),
        ((400, 2.8), (400, 4.0)),
    ],
)
def test_lens_without_a_rising_list_of_positive_pairs_is_refused(widest):
    with pytest.raises(ValidationError):
        Lens(name="lens", widest=widest)


@pytest.mark.parametrize("transmission", [0, -0.5, 1.01])
def test_transmission_beyond_zero_to_one_is_refused(transmission):
    with pytest.raises(ValidationError):
        Lens(name="lens", widest=((400, 2.8),), transmission=transmission)


def test_rig_parts_cannot_be_changed():
    with pytest.raises(ValidationError):
        ZOOM.lens = PRIME.lens


@pytest.mark.parametrize(
    ("pair", "said"),
    [
        ((70, 0), "must have f-numbers of 0.5 to 64, .*, got 0"),
        ((6000, 4), "must have focal lengths .* up to 5000 mm, .*, got 6000"),
    ],
    ids=["f-number", "focal length"],
)
def test_a_wrong_end_of_a_zoom_is_named_by_what_is_wrong_with_it(pair, said):
    with pytest.raises(ValueError, match=said):
        Lens(name="zoom", widest=(pair,))
