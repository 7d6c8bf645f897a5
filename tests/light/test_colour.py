"""Colours of light: standard illuminants, measured twilight, and their order."""

import numpy as np
import pytest

from lightplan.light import chromaticity, low_sky
from lightplan.light.colour import temperature_k
from lightplan.light.daylight import subject_lux, subject_xyz


def xyz_of(x, y):
    return np.array([x / y, 1.0, (1 - x - y) / y])


# CIE 015:2018, chromaticities; the nominal temperature × 1.4388/1.4380 for D.
@pytest.mark.parametrize(
    ("x", "y", "kelvin"),
    [
        (0.34570, 0.35850, 5003),
        (0.33243, 0.34744, 5503),
        (0.31270, 0.32900, 6504),
        (0.29903, 0.31488, 7504),
        (0.44758, 0.40745, 2856),
    ],
    ids=["D50", "D55", "D65", "D75", "A"],
)
def test_standard_illuminants_have_their_temperatures(x, y, kelvin):
    assert chromaticity.temperature_k(xyz_of(x, y)) == pytest.approx(kelvin, rel=0.005)


def test_what_is_bluer_than_any_black_body_gets_the_coldest():
    assert chromaticity.temperature_k(xyz_of(0.20, 0.20)) == chromaticity.COLDEST_K


def test_u_v_and_back_is_the_same_light():
    light = np.array([[0.9, 1.0, 1.1], [40.0, 30.0, 5.0]])
    again = chromaticity.xyz(chromaticity.uv(light), light[:, 1])
    np.testing.assert_allclose(again, light, rtol=1e-12)


# IEC 61966-2-1: D65 is white; its red primary is x 0.64, y 0.33.
@pytest.mark.parametrize(
    ("x", "y", "rgb"),
    [(0.3127, 0.3290, (255, 255, 255)), (0.64, 0.33, (255, 0, 0))],
)
def test_srgb_is_the_standards(x, y, rgb):
    assert chromaticity.srgb(xyz_of(x, y)) == pytest.approx(rgb, abs=1.5)


# Spitschan et al., Sci. Rep. 6 (2016) 26756: mean spectra of twilight on the level in
# rural Pennsylvania, their temperature recomputed; all weather met. In mired, since
# equal steps of it look equal.
@pytest.mark.parametrize(
    ("altitude_deg", "kelvin"), [(0.0, 9724), (-2.0, 11061), (-4.0, 13902)]
)
def test_twilight_on_the_level_is_as_blue_as_measured(altitude_deg, kelvin):
    uv = low_sky.sides(altitude_deg, 0.2).level_uv
    ours = chromaticity.mired(chromaticity.xyz(uv, 1.0))
    assert ours == pytest.approx(1e6 / kelvin, abs=10)


def test_y_is_the_light_itself():
    h = np.arange(-12.0, 90.0, 0.5)
    for sky in ("clear", "broken", "overcast"):
        for cover in ("open", "woodland"):
            xyz = subject_xyz(h, 60.0, sky, cover)
            lux = subject_lux(h, 60.0, sky, cover)
            np.testing.assert_allclose(xyz[:, 1], lux, rtol=1e-9)


@pytest.mark.parametrize("aod", [0.05, 0.1, 0.2])
def test_the_lower_the_sun_the_warmer_its_side_and_the_sides_in_order(aod):
    # common practice: warm from the sun's side, blue from the other.
    h = np.arange(5.0, 45.0, 0.5)
    front, side, back = (temperature_k(h, phi, aod500=aod) for phi in (0, 90, 180))
    assert (np.diff(front[h > 6]) > 0).all()
    assert (front < side).all()
    assert (side < back).all()


def test_in_dust_the_gold_ends_before_sunset():
    # In clean air the warmest light comes with the last beam, in dust long before it.
    h = np.arange(0.0, 20.0, 0.1)
    warmest = [
        h[temperature_k(h, aod500=aod).argmin()] for aod in (0.05, 0.1, 0.2, 0.4)
    ]
    assert (np.diff(warmest) > 0).all()
    assert warmest[0] < 3 < 5 < warmest[-1]


def test_daylight_from_the_front_at_noon_is_a_camera_makers_daylight():
    # common practice: cameras' "daylight" setting is 5,200 to 5,600 K.
    assert 5000 < temperature_k(40.0) < 5800


def test_under_cloud_all_sides_have_one_colour_of_common_practice():
    # common practice: cameras' "cloudy" setting is about 6,000 to 6,500 K.
    kelvin = temperature_k(30.0, np.array([0.0, 90.0, 180.0]), "overcast")
    assert np.ptp(kelvin) == pytest.approx(0, abs=1e-6)
    assert 6000 < kelvin[0] < 6700


def test_in_the_dark_there_is_no_colour():
    assert np.isnan(temperature_k([-12.1, -18.0])).all()
    assert np.isnan(temperature_k(np.nan))


def test_colour_has_no_step():
    h = np.arange(-12.0, 90.0, 0.02)
    for aod in (0.05, 0.2, 0.8):
        for phi in (0.0, 90.0, 180.0):
            mired = chromaticity.mired(subject_xyz(h, phi, aod500=aod))
            # The disc of the sun rises within half a degree, and in the cleanest air
            # takes the light from blue to red by some 150 mired.
            assert np.abs(np.diff(mired)).max() < 0.02 / 0.54 * 150
