"""The highest ISO accepted, by noise or typed, and the base ISO of a body."""

import numpy as np
import pytest

from lightplan.camera import exposure
from lightplan.catalog.kit import Body, Lens, Rig
from lightplan.trip.request import choose

# Photons of daylight per lx·s and µm², 400–700 nm, of which a photosite counts a
# fifth; ISO 12232: a mid-tone gets 10/S lx·s, and 10 to 1 is acceptable.
COUNTED = 10_753 * 0.2
PRINT_PIXELS = (42 * 70) ** 2 * 2 / 3  # A3 at 70 px per cm, 3:2


def rig(**body) -> Rig:
    made = Body.model_validate({"name": "body", "megapixels": 45, **body})
    return Rig(name="rig", body=made, lens=Lens(name="lens", widest=((600, 6.3),)))


def test_a_body_without_a_ceiling_is_limited_by_the_noise_of_a_print():
    choice = choose(rig(format="full frame"))
    electrons = 10 / choice.iso_ceiling * COUNTED * 36e3 * 24e3 / PRINT_PIXELS
    assert np.sqrt(electrons) == pytest.approx(10)
    assert not choice.ceiling_typed
    # The third-stop setting below: what is named is still usable.
    assert choice.ceiling_text == "ISO 32000"


@pytest.mark.parametrize(("output", "ratio"), [("web", (2940 / 2048) ** 2), ("a3", 1)])
def test_a_smaller_output_accepts_more(output, ratio):
    a3 = choose(rig(format="full frame"), output="a3").iso_ceiling
    found = choose(rig(format="full frame"), output=output).iso_ceiling
    assert found / a3 == pytest.approx(ratio)


def test_a_typed_ceiling_goes_on_to_work_whatever_the_output():
    for output in ("web", "a3", "file"):
        choice = choose(rig(format="APS-C", iso_ceiling=3200), output=output)
        assert (choice.iso_ceiling, choice.ceiling_typed) == (3200, True)
    assert choose(rig(format="APS-C"), iso_ceiling=5000).ceiling_text == "ISO 5000"


@pytest.mark.parametrize("base", [64, 100, 200])
def test_below_base_iso_the_shutter_gets_faster_and_the_exposure_stays(base):
    iso, shutter = exposure.from_base(40.0, 1 / 1000, base)
    assert iso == base
    # Time × ISO is what exposes; one stop of ISO is one stop of time.
    assert iso * shutter == pytest.approx(40.0 / 1000)
    assert exposure.from_base(base * 2, 1 / 1000, base) == (base * 2, 1 / 1000)


def test_a_minute_brighter_than_base_iso_names_the_faster_shutter():
    choice = choose(rig(format="full frame", base_iso=64), shutter_s=1 / 1000)
    # A stop below: twice as fast.
    assert choice.set_text(32.0) == "ISO 64, 1/2000 s"
    assert choice.set_text(64.0) == "ISO 64"
    assert choice.set_text(np.inf) == "over ISO 102400"


@pytest.mark.parametrize("base_iso", [24, 6401, 100.5, True])
def test_a_base_iso_out_of_range_is_refused(base_iso):
    with pytest.raises(ValueError, match="base_iso"):
        rig(format="full frame", base_iso=base_iso)
