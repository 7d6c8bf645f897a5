"""Photons and noise against constants, standards and counting."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lightplan.camera import noise, picture

# SI, exact since 2019 (CODATA 2018): J·s, m/s; luminous efficacy at 555 nm, lm/W.
PLANCK, LIGHT_SPEED, EFFICACY = 6.62607015e-34, 299_792_458.0, 683.002
FULL_FRAME, APS_C, FOUR_THIRDS = (36.0, 24.0), (23.5, 15.6), (17.3, 13.0)
# Mid-tone at 10/S lx·s, shot noise alone, half of the photons counted, 8 megapixels
# out of 24 × 36, 23.5 × 15.6 and 17.3 × 13 mm: worked out apart, to a decimal.
EIGHT_MEGAPIXELS = [
    (100, 241.0, 157.0, 122.9),
    (1600, 60.2, 39.2, 30.7),
    (6400, 30.1, 19.6, 15.4),
    (25600, 15.1, 9.8, 7.7),
]


def photons(wavelength_m, power, luminosity, counted=True):
    """Photons per lx·s and µm²; numerator over ``counted``, lux over the rest."""
    energy = PLANCK * LIGHT_SPEED / wavelength_m
    per_m2 = np.sum(power / energy * counted) / (EFFICACY * np.sum(power * luminosity))
    return per_m2 * 1e-12


def test_the_sum_itself_counts_green_light_right():
    # Monochromatic 555 nm in closed form: λ/(h·c·K_m) = 4,091 photons.
    found = photons(np.array([555e-9]), np.array([1.0]), np.array([1.0]))
    assert found == pytest.approx(4091, abs=1)


def test_daylight_brings_as_many_photons_as_its_spectrum_has(rows):
    table = rows("cie_d55_luminosity.csv")
    nm, d55, v = (
        np.array([float(row[key]) for row in table])
        for key in ("wavelength_nm", "d55", "v")
    )
    # Half of the two end steps of the trapezoid lies outside 400–700 nm.
    band = ((nm > 400) & (nm < 700)) + 0.5 * ((nm == 400) | (nm == 700))
    found = photons(nm * 1e-9, d55, v, band)
    # Steps of 10 nm instead of 1 nm make up to a third of a per cent.
    assert pytest.approx(found, rel=0.004) == noise.PHOTONS_LX_S_UM2


@pytest.mark.parametrize(("iso", *"abc"), EIGHT_MEGAPIXELS)
def test_a_mid_tone_is_as_noisy_as_the_worked_table_says(iso, a, b, c):
    for sensor, snr in zip((FULL_FRAME, APS_C, FOUR_THIRDS), (a, b, c), strict=True):
        pixel_um2 = sensor[0] * sensor[1] * 1e6 / 8e6
        # The table counts half of the photons, a photosite a fifth of them.
        counted = pixel_um2 * 0.5 / noise.EFFICIENCY
        assert noise.iso_at(snr, counted) == pytest.approx(iso, rel=0.008)


def test_counting_photons_by_chance_gives_the_noise_foretold():
    # Monte Carlo: Poisson counts of 40,000 pixels at the ISO that is to give S/N 10.
    pixel_um2 = 19.2
    iso = noise.iso_at(10, pixel_um2)
    mean = 10 / iso * noise.PHOTONS_LX_S_UM2 * noise.EFFICIENCY * pixel_um2
    counts = np.random.default_rng(7).poisson(mean, 40_000)
    # Four standard errors of a spread from 40,000 counts: 4/√80,000.
    assert counts.mean() / counts.std() == pytest.approx(10, rel=0.015)


def test_the_limits_are_those_of_the_standard():
    # ISO 12232:2019: 40 is "excellent", 10 "acceptable"; two stops of S/N, four of ISO.
    ratio = noise.iso_at(noise.USABLE_SNR, 100) / noise.iso_at(noise.CLEAN_SNR, 100)
    assert ratio == pytest.approx(16)
    # It sets them for prints of 70 px per cm; A3 is 42.0 cm long (ISO 216).
    assert noise.OUTPUTS["a3"].width_px == pytest.approx(42.0 * 70)


@pytest.mark.parametrize(("sensor", "stops"), [(APS_C, 1.24), (FOUR_THIRDS, 1.94)])
def test_a_smaller_sensor_is_noisier_by_its_area(sensor, stops):
    # 24 × 36 over 23.5 × 15.6 and 17.3 × 13 mm, at equal output size.
    full = noise.output_pixel_um2("web", FULL_FRAME, 24, 1.0)
    small = noise.output_pixel_um2("web", sensor, 24, 1.0)
    assert np.log2(full / small) == pytest.approx(stops, abs=0.01)


@given(st.sampled_from(["web", "a3"]), st.floats(0.01, 1.0))
def test_a_crop_costs_its_share_of_the_area(output, share):
    whole = noise.output_pixel_um2(output, FULL_FRAME, 45, 1.0)
    left = noise.output_pixel_um2(output, FULL_FRAME, 45, share)
    assert left == pytest.approx(whole * share)


def test_a_pixel_of_the_file_is_the_sensors_own_whatever_the_crop():
    # 45 megapixels on 24 × 36: 4.4 µm, 19.2 µm².
    for share in (1.0, 0.1):
        found = noise.output_pixel_um2("file", FULL_FRAME, 45, share)
        assert found == pytest.approx(4.38**2, rel=0.001)


@given(st.floats(1.0, 3.0), st.sampled_from([FULL_FRAME, APS_C, FOUR_THIRDS]))
def test_equal_pupils_are_equally_noisy_at_equal_picture(factor, sensor):
    # f and N in one ratio gather the same light of the animal: at one shutter the
    # longer lens needs ISO factor² higher, and its limit is as much higher, on
    # whichever sensor it sits.
    views = [(400, FULL_FRAME), (400 * factor, sensor)]
    limits = [
        noise.iso_at(10, noise.output_pixel_um2("a3", size, 45, share))
        for (_, size), share in zip(views, picture.shares_used(views), strict=True)
    ]
    assert limits[1] / limits[0] == pytest.approx(factor**2)


def test_an_output_nobody_knows_is_refused_in_a_sentence():
    with pytest.raises(ValueError, match="output must be one of web, a3, file, got"):
        noise.output_pixel_um2("poster", FULL_FRAME, 45, 1.0)
    with pytest.raises(ValueError, match="must be more than 0, got 10 and 0 µm²"):
        noise.iso_at(10, 0)
