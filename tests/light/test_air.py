"""The air: beam and sky by its aerosol, against SPCTRAL2, a round atmosphere, stations."""

import csv
from pathlib import Path

import numpy as np
import pvlib
import pytest

from lightplan.light import air, chromaticity, spectrum
from lightplan.light.daylight import beam_lux, sky_parts, subject_lux, sunlit

DATA = Path(__file__).parents[1] / "data"


def table(name):
    return list(csv.DictReader((DATA / name).read_text(encoding="utf-8").splitlines()))


SPECTRAL_SHARE, SPECTRAL_K, ROUND_STOPS = 0.01, 100, 0.15
SPECTRAL = table("air_spectral.csv")
ROUND = table("air_check.csv")


def low_enough(aod, altitude_deg):
    """Whether the sun is too low for one airmass to stand for the whole beam."""
    return altitude_deg < (4 if aod <= 0.1 else 8)


def numbers(row, *names):
    return tuple(float(row[name]) for name in names)


@pytest.mark.parametrize("part", ["beam", "sky"])
def test_beam_and_sky_are_spctral2s_as_pvlib_has_it(part):
    column = {"beam": "beam_normal_lux", "sky": "diffuse_horizontal_lux"}[part]
    for row in SPECTRAL:
        h, m, aod, lux = numbers(
            row, "altitude_deg", "relative_airmass", "aod500", column
        )
        ours = getattr(spectrum.clear(h, m, m, aod), part)
        # The table is of 4 April, when the sun is nearer by 0.04 % of its light.
        assert ours[1] == pytest.approx(lux / 0.9996, rel=SPECTRAL_SHARE, abs=0.1)


@pytest.mark.parametrize(
    ("part", "column"), [("beam", "cct_beam"), ("sky", "cct_diffuse")]
)
def test_colours_of_beam_and_sky_are_spctral2s_by_ohnos_method(part, column):
    for row in SPECTRAL:
        h, m, aod, kelvin = numbers(
            row, "altitude_deg", "relative_airmass", "aod500", column
        )
        if (
            kelvin > 1667
        ):  # beams of smoke at 2 to 4° are redder than any black body here
            ours = chromaticity.temperature_k(
                getattr(spectrum.clear(h, m, m, aod), part)
            )
            assert ours == pytest.approx(kelvin, abs=SPECTRAL_K), row


def test_the_spectrum_is_pvlibs_wavelength_by_wavelength():
    # The sums above would not see a wrong line that another makes up for.
    nm = spectrum._NM
    m = float(pvlib.atmosphere.get_relative_airmass(70.0, "kastenyoung1989"))
    theirs = pvlib.spectrum.spectrl2(
        np.array([70.0]), np.array([70.0]), 0.0, 0.2, 101300.0, np.array([m]), 1.4, 0.31,
        0.2, dayofyear=np.array([94]),
    )  # fmt: skip
    at = np.searchsorted(theirs["wavelength"], nm)
    one = np.eye(len(nm))  # an observer who sees a single wavelength
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(spectrum, "_OBSERVER", one)
        ours = spectrum.clear(20.0, m, m, 0.2)
    earth_sun = theirs["dni_extra"][at, 0] / spectrum._OUTSIDE
    np.testing.assert_allclose(ours.beam, theirs["dni"][at, 0] / earth_sun, rtol=1e-3)
    np.testing.assert_allclose(ours.sky, theirs["dhi"][at, 0] / earth_sun, rtol=1e-3)


def test_the_beam_is_a_round_atmospheres_with_the_aerosols_own_airmass():
    for row in ROUND:
        aod, h, lux = numbers(row, "aod500", "altitude_deg", "mc_beam_normal_lux")
        if not low_enough(aod, h):
            assert abs(np.log2(beam_lux(h, aod500=aod) / lux)) <= ROUND_STOPS, row


def test_the_sky_is_brighter_than_a_flat_layers_as_a_round_atmospheres_is():
    # The table is the model's own here: this holds that it is read right.
    for row in ROUND:
        aod, h, lux = numbers(
            row, "aod500", "altitude_deg", "mc_diffuse_horizontal_lux"
        )
        if h >= 3:
            ours = sky_parts(h, aod500=aod).diffuse_lux
            assert abs(np.log2(ours / lux)) <= 0.05, row


@pytest.mark.parametrize("altitude_deg", [0.0, 2.0, 5.0, 10.0, 30.0, 60.0])
def test_the_aerosols_airmass_is_chapmans_function(altitude_deg):
    # Chapman (1931) for X = R/H by Swider (1964): an exponential atmosphere on a
    # sphere, good to 1 % from the horizon up; R is bent by 7/6 as in radio and sight.
    from scipy.special import erfcx

    x = 6371 * 7 / 6 / 1.5
    sine = np.sin(np.radians(altitude_deg))
    swider = np.sqrt(np.pi * x / 2) * erfcx(np.sqrt(x / 2) * sine)
    swider *= np.sqrt(1 - sine**2) if altitude_deg < 5 else 1
    if altitude_deg <= 30:
        assert air.aerosol_airmass(altitude_deg) == pytest.approx(swider, rel=0.02)
    if altitude_deg >= 30:
        assert air.aerosol_airmass(altitude_deg) == pytest.approx(1 / sine, rel=0.01)


# conversion.md of the reference, formula 1 (Ineichen 2008), worked: depth at 550 nm.
@pytest.mark.parametrize(
    ("linke", "water_cm", "aod550"),
    [(3.105, 1.4, 0.1), (3.884, 1.4, 0.2), (3.392, 3.0, 0.1), (5.442, 1.4, 0.4)],
)
def test_linke_turbidity_becomes_an_optical_depth(linke, water_cm, aod550):
    ours = air.aod_from_linke(linke, water_cm)
    assert ours == pytest.approx(aod550 * 1.1148, rel=0.005)


def test_the_clearest_turbidities_give_the_clamp():
    assert air.aod_from_linke([1.5, 2.3]).tolist() == [0.05, 0.05]


# ------------------------------------------------------------- order


DEPTHS = [0.02, 0.05, 0.1, 0.2, 0.4, 0.8, 1.5]


@pytest.mark.parametrize("cover", ["open", "woodland"])
def test_more_aerosol_never_gives_more_beam_nor_front_light(cover):
    h = np.arange(0.5, 60.0, 0.25)
    beams = np.array([beam_lux(h, aod500=aod) for aod in DEPTHS])
    assert (np.diff(beams, axis=0) < 0).all()
    if cover == "open":
        # Lower, dust gives the sky what the beam has lost; higher, so does any.
        high = (h >= 10) & (h <= 45)
        front = np.array([subject_lux(h, 0.0, aod500=aod) for aod in DEPTHS])
        assert (np.diff(front, axis=0)[:, high] < 0).all()


def test_the_sun_leaves_the_animal_earlier_the_dustier_the_air():
    # common practice: in dust and smoke the sun fades before it sets.
    h = np.arange(-1.0, 40.0, 0.05)
    lowest = [h[sunlit(h, aod500=aod)].min() for aod in DEPTHS[1:-1]]
    assert (np.diff(lowest) > 0).all()
    assert lowest[0] > 0


@pytest.mark.parametrize("sky", ["overcast", "storm"])
def test_without_a_beam_the_sun_is_never_on_the_animal(sky):
    assert not sunlit(np.arange(-5.0, 90.0, 1.0), sky).any()
    assert (beam_lux([10.0, 60.0], sky) == 0).all()


def test_a_sun_overhead_is_on_the_animal_too():
    assert sunlit(np.arange(10.0, 90.1, 1.0)).all()


@pytest.mark.parametrize("aod", [0.0, -1.0, 5.0, np.nan])
def test_an_impossible_air_is_refused_in_a_sentence(aod):
    with pytest.raises(ValueError, match=r"depth must be 0\.01 to 2, got"):
        subject_lux(10.0, aod500=aod)


def test_an_unknown_air_is_refused_with_the_choices():
    with pytest.raises(ValueError, match="very-clean, clean, usual, dusty, smoke"):
        air.air_named("foul")


@pytest.mark.parametrize(
    ("aod", "key"),
    [(0.01, "very-clean"), (0.13, "clean"), (0.3, "dusty"), (2, "smoke")],
)
def test_an_air_is_called_by_the_nearest_step(aod, key):
    assert air.nearest(aod).key == key
