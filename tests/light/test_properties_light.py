"""What must hold of light at every altitude, not only at tabulated ones."""

import numpy as np
import pytest
import wild
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from lightplan.light import perez
from lightplan.light.daylight import (
    COVERS,
    SKIES,
    Cover,
    cover_named,
    horizontal_lux,
    sky_named,
    sky_parts,
    spread_stops,
    subject_lux,
)

LIGHT = wild.cases(150)
# Making a failing set of altitudes smaller takes minutes and tells no more than
# the fine grid below does.
AS_FOUND = settings(LIGHT, phases=[Phase.generate])

GRID_DEG = 0.02  # 5 s of sunrise at the equator
FACINGS = (0.0, 30.0, 60.0, 90.0, 120.0, 150.0, 180.0)
# Natural light changes fastest in civil twilight: between −6° and −7° the
# Explanatory Supplement has 1.65 stops in a degree. On the sun's side the glow
# fades on top of it, and the sun's disc rises within half a degree.
STEEPEST = 1.9 * GRID_DEG
# On a finer grid even the sharpest bend, the beam's airmass at the horizon, is
# spread over more points, while a step keeps its size whatever the grid. 0.0025
# stop is 1/130 of a third-stop click.
FINE_DEG = 0.005
STEP_STOPS = 0.0025
# In open shade, backlit, the light levels off round 20°, where two published
# polynomials meet and the sky's own light barely grows: it may fall back there,
# by less than anyone can see or set.
SHADE_DIP_STOPS = 0.02
ROUNDING = 1e-12

altitudes = st.floats(-18.0, 90.0)
facings = st.floats(0.0, 180.0)
skies = st.sampled_from(list(SKIES))
covers = st.sampled_from(list(COVERS))
shares = st.floats(0.0, 1.0)

every_sky = pytest.mark.parametrize("sky", SKIES)
every_cover = pytest.mark.parametrize("cover", COVERS)


def grid(low, high, step=GRID_DEG):
    return np.arange(low, high + step / 2, step)


def assert_no_step(light):
    """Light, a function of the sun's altitude, changes gently and evenly."""
    stops = np.log2(light(grid(-18.0, 90.0)))
    assert np.abs(np.diff(stops)).max() <= STEEPEST
    fine = np.log2(light(grid(-18.0, 90.0, FINE_DEG)))
    assert np.abs(np.diff(fine, 2)).max() <= STEP_STOPS


# --- Light rises with the sun ------------------------------------------------


@AS_FOUND
@given(st.sets(st.integers(-18_000, 90_000), min_size=20, max_size=40), skies)
def test_level_light_rises_with_the_sun(thousandths, sky):
    lux = horizontal_lux(np.array(sorted(thousandths)) / 1000, sky)
    assert (np.diff(lux) > 0).all()


@every_sky
def test_level_light_rises_everywhere_on_a_fine_grid(sky):
    assert (np.diff(horizontal_lux(grid(-18.0, 90.0), sky)) > 0).all()


@every_sky
@pytest.mark.parametrize("cover", ["open", "woodland", "canopy"])
@pytest.mark.parametrize("facing_deg", FACINGS)
def test_light_on_the_animal_rises_until_the_sun_is_high(sky, cover, facing_deg):
    lux = subject_lux(grid(-18.0, 25.0), facing_deg, sky, cover)
    assert (np.diff(lux) > 0).all()


@every_sky
@pytest.mark.parametrize("facing_deg", FACINGS)
def test_light_in_open_shade_never_visibly_falls_until_the_sun_is_high(sky, facing_deg):
    stops = np.log2(subject_lux(grid(-18.0, 25.0), facing_deg, sky, "shade"))
    assert (np.maximum.accumulate(stops) - stops).max() <= SHADE_DIP_STOPS


@every_sky
@pytest.mark.parametrize("facing_deg", FACINGS)
def test_light_in_open_shade_rises_until_the_sun_is_at_fifteen(sky, facing_deg):
    lux = subject_lux(grid(-18.0, 15.0), facing_deg, sky, "shade")
    assert (np.diff(lux) > 0).all()


# --- No step anywhere --------------------------------------------------------


@every_sky
def test_level_light_has_no_step(sky):
    assert_no_step(lambda h: horizontal_lux(h, sky))


@every_sky
@every_cover
def test_light_on_the_animal_has_no_step_as_the_sun_rises(sky, cover):
    for facing_deg in FACINGS:
        assert_no_step(lambda h, phi=facing_deg: subject_lux(h, phi, sky, cover))


@every_sky
@every_cover
def test_light_on_the_animal_has_no_step_as_one_drives_round_it(sky, cover):
    facing = grid(0.0, 360.0)
    for altitude_deg in (-0.5, 0.0, 2.0, 10.0, 45.0):
        stops = np.log2(subject_lux(altitude_deg, facing, sky, cover))
        assert np.abs(np.diff(stops)).max() <= STEEPEST


@LIGHT
@given(st.floats(-18.0, 89.99), facings, skies, covers)
def test_a_hair_more_sun_is_at_most_a_hair_more_light(altitude, facing, sky, cover):
    hair = 1e-4
    before, after = subject_lux([altitude, altitude + hair], facing, sky, cover)
    assert abs(np.log2(after / before)) <= STEEPEST / GRID_DEG * hair + ROUNDING


# --- Front, side, back -------------------------------------------------------


@LIGHT
@given(altitudes, facings, facings, skies, covers)
def test_turning_away_from_the_sun_never_gives_more_light(h, one, other, sky, cover):
    nearer, further = sorted((one, other))
    front = subject_lux(h, nearer, sky, cover)
    assert subject_lux(h, further, sky, cover) <= front * (1 + ROUNDING)


@LIGHT
@given(st.floats(0.5, 85.0), covers)
def test_front_light_beats_side_light_beats_back_light_in_sun(h, cover):
    front, side, back = subject_lux(h, [0.0, 90.0, 180.0], "clear", cover)
    assert front > side > back


@LIGHT
@given(altitudes, facings, skies, covers)
def test_left_and_right_of_the_sun_are_lit_alike(altitude, facing, sky, cover):
    left, right = subject_lux(altitude, [facing, 360 - facing], sky, cover)
    assert left == pytest.approx(right, rel=1e-9)


# --- Cover -------------------------------------------------------------------


@LIGHT
@given(altitudes, facings, skies, covers)
def test_no_cover_gives_more_light_than_open_ground(altitude, facing, sky, cover):
    open_ground = subject_lux(altitude, facing, sky, "open")
    assert subject_lux(altitude, facing, sky, cover) <= open_ground * (1 + ROUNDING)


@LIGHT
@given(altitudes, facings, skies)
def test_a_closed_canopy_gives_less_light_than_woodland(altitude, facing, sky):
    woodland = subject_lux(altitude, facing, sky, "woodland")
    assert subject_lux(altitude, facing, sky, "canopy") < woodland


@LIGHT
@given(altitudes, facings, skies, shares, shares, shares, shares)
def test_more_cover_never_gives_more_light(h, facing, sky, beam, sky_share, less, thin):
    light = Cover("thin", "thin", beam, sky_share, 0.0)
    dense = Cover("dense", "dense", beam * less, sky_share * thin, 0.0)
    through = subject_lux(h, facing, sky, light)
    assert subject_lux(h, facing, sky, dense) <= through * (1 + ROUNDING)


@LIGHT
@given(altitudes, facings, skies, covers)
def test_there_is_always_some_light(altitude, facing, sky, cover):
    assert subject_lux(altitude, facing, sky, cover) > 0


# --- Arrays, missing values, names -------------------------------------------


@LIGHT
@given(st.lists(st.tuples(altitudes, facings), max_size=8), skies, covers)
def test_an_array_holds_what_each_value_gives_alone(pairs, sky, cover):
    h, phi = np.array(pairs).reshape(-1, 2).T
    alone = [subject_lux(a, f, sky, cover) for a, f in pairs]
    np.testing.assert_allclose(subject_lux(h, phi, sky, cover), alone, rtol=1e-14)
    level = [horizontal_lux(a, sky) for a in h]
    np.testing.assert_allclose(horizontal_lux(h, sky), level, rtol=1e-14)


@every_sky
def test_altitudes_and_facings_broadcast(sky):
    h, phi = np.array([-3.0, 5.0, 40.0]), np.array([[0.0], [180.0]])
    table = subject_lux(h, phi, sky)
    assert table.shape == (2, 3)
    assert table[1, 2] == subject_lux(40.0, 180.0, sky)


@every_sky
@every_cover
def test_a_missing_altitude_is_missing_light_and_the_rest_stays(sky, cover):
    # Warnings are errors in this suite, so silence is checked too.
    lux = subject_lux([np.nan, 10.0], 30.0, sky, cover)
    assert np.isnan(lux[0])
    assert lux[1] == subject_lux(10.0, 30.0, sky, cover)


@every_sky
def test_a_missing_altitude_is_missing_in_level_and_parts(sky):
    assert np.isnan(horizontal_lux(np.nan, sky))
    parts = sky_parts(np.array([np.nan, 20.0]), sky)
    assert np.isnan(parts.diffuse_lux[0])
    assert np.isnan([part[0] for part in parts]).all()
    assert np.isfinite([p[1] for p in parts]).all()


def test_a_missing_facing_is_missing_light():
    assert np.isnan(subject_lux(10.0, [np.nan, 0.0])).tolist() == [True, False]


def test_missing_values_pass_through_airmass_and_perez():
    assert np.isnan(perez.relative_airmass(np.nan))
    f1, f2 = perez.brightness(np.nan, 1e4, 5e4, 2.0)
    assert np.isnan([f1, f2]).all()


@pytest.mark.parametrize(
    "ask",
    [
        lambda name: horizontal_lux(10.0, name),
        lambda name: subject_lux(10.0, 0.0, name),
        lambda name: sky_parts(10.0, name),
        lambda name: spread_stops(name),
        sky_named,
    ],
)
def test_an_unknown_sky_is_refused_with_the_choices(ask):
    with pytest.raises(ValueError, match="got 'foggy'") as refused:
        ask("foggy")
    for name in ("clear", "haze", "broken", "overcast", "storm"):
        assert name in str(refused.value)


@pytest.mark.parametrize(
    "ask",
    [
        lambda name: subject_lux(10.0, 0.0, "clear", name),
        lambda name: spread_stops("clear", name),
        cover_named,
    ],
)
def test_an_unknown_cover_is_refused_with_the_choices(ask):
    with pytest.raises(ValueError, match="got 'tent'") as refused:
        ask("tent")
    for name in ("open", "shade", "woodland", "canopy"):
        assert name in str(refused.value)


# --- Spread ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sky", "cover", "expected"),
    # Starting values by judgement; 0.3-0.4-0.5 and 0.8-1.5-1.7 by Pythagoras.
    [
        ("clear", "open", 0.4),
        ("overcast", "open", 0.6),
        ("storm", "open", 1.5),
        ("broken", "canopy", 1.7),
        ("broken", "shade", np.sqrt(0.89)),
        ("clear", "woodland", np.sqrt(1.16)),
    ],
)
def test_sky_and_cover_spread_in_quadrature(sky, cover, expected):
    assert spread_stops(sky, cover) == pytest.approx(expected, rel=1e-12)


@LIGHT
@given(skies, covers)
def test_a_cover_never_makes_light_surer(sky, cover):
    assert spread_stops(sky, cover) >= spread_stops(sky)
    both = SKIES[sky].spread_stops + COVERS[cover].spread_stops
    assert spread_stops(sky, cover) <= both + ROUNDING
