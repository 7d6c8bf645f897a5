"""Where light comes from: beam, Perez sky and round body, against libraries and sums."""

import numpy as np
import pvlib
import pytest

from lightplan.light import perez
from lightplan.light.daylight import (
    COVERS,
    SKIES,
    Cover,
    horizontal_lux,
    sky_parts,
    subject_lux,
)

SAVANNA = 0.18  # climate textbook, table 5.1: tropical savanna
BEAM_ONLY = Cover("beam", "beam alone", 1.0, 0.0, 0.0)
SKY_ONLY = Cover("sky", "sky alone", 0.0, 1.0, 0.0)

# Perez et al., Solar Energy 44 (1990), table 1: the edges of the clearness bins.
EDGES = np.array([1.0, 1.065, 1.23, 1.5, 1.95, 2.8, 4.5, 6.2])
# Where this tool lets the last bin, open above, be met.
LAST_MIDDLE = 8.0
# Linear between bin middles here, a spline in Driesse's variant, steps of up to
# 0.1 in F1 in the original: the first two agree to half such a step.
F1_BETWEEN, F2_BETWEEN = 0.05, 0.03
# What that does to light on a wall: 0.08 is a quarter of a third stop.
WALL_STOPS = 0.08


# --- Airmass -----------------------------------------------------------------


def test_airmass_is_kasten_and_youngs_table(rows):
    table = rows("kasten_young_1989_airmass.csv")  # five decimals
    altitude = [float(r["apparent_altitude_deg"]) for r in table]
    expected = [float(r["relative_airmass"]) for r in table]
    np.testing.assert_allclose(
        perez.relative_airmass(altitude), expected, rtol=0, atol=5.1e-6
    )


def test_airmass_below_the_horizon_is_the_horizons():
    np.testing.assert_array_equal(
        perez.relative_airmass([-0.5, -20.0]), perez.relative_airmass([0.0, 0.0])
    )


# --- Beam --------------------------------------------------------------------


def test_half_the_disc_gives_half_the_beam_and_none_of_it_none():
    # Half the sun's disc of 0.53° (Astronomical Almanac: 32′) stands 0.27° high.
    # From 0.27° on the beam follows the airmass, nearly straight in its logarithm.
    risen = np.array([0.3, 0.4])
    log = np.log(sky_parts(risen, aod500=0.05).beam_lux)
    whole = np.exp(log[0] - 3 * (log[1] - log[0]))
    beam = sky_parts([0.0, -0.27, -0.5], aod500=0.05).beam_lux
    assert beam[0] == pytest.approx(whole / 2, rel=0.2)
    assert beam[1:].tolist() == [0.0, 0.0]


# --- Perez 1990 --------------------------------------------------------------


def test_the_bins_of_clearness_are_the_published_ones():
    np.testing.assert_array_equal(perez.EDGES, EDGES)


def pvlib_brightness(model, zenith_deg, diffuse, beam, airmass):
    """F1 and F2 of a pvlib function, read off an upright surface.

    There its isotropic part is diffuse·(1 − F1)/2 and its horizon part
    diffuse·F2.
    """
    parts = model(
        90.0,
        180.0,
        diffuse,
        beam,
        perez.BEAM_OUTSIDE_LUX,
        zenith_deg,
        180.0,
        airmass,
        return_components=True,
    )
    return 1 - 2 * parts["poa_isotropic"] / diffuse, parts["poa_horizon"] / diffuse


def skies_of(zenith_deg, clearness, brightness):
    """Diffuse and beam with the asked clearness and brightness."""
    airmass = perez.relative_airmass(90 - zenith_deg)
    diffuse = brightness * perez.BEAM_OUTSIDE_LUX / airmass
    bend = 1.041 * np.radians(zenith_deg) ** 3  # Perez 1990, equation 1
    beam = diffuse * (clearness * (1 + bend) - bend - 1)
    return diffuse, np.maximum(beam, 0.0), airmass


@pytest.mark.parametrize("zenith_deg", [5.0, 30.0, 50.0, 70.0, 80.0, 85.0])
@pytest.mark.parametrize("brightness", [0.05, 0.15, 0.3])
def test_sun_glow_and_horizon_are_perez_1990_in_the_middle_of_each_bin(
    zenith_deg, brightness
):
    middles = np.append((EDGES[:-1] + EDGES[1:]) / 2, LAST_MIDDLE)
    diffuse, beam, airmass = skies_of(zenith_deg, middles, brightness)
    ours = perez.brightness(90 - zenith_deg, diffuse, beam, airmass)
    theirs = pvlib_brightness(
        pvlib.irradiance.perez, zenith_deg, diffuse, beam, airmass
    )
    np.testing.assert_allclose(ours, theirs, rtol=1e-9, atol=1e-9)


@pytest.mark.parametrize("clearness", [1.0, 1.03, 9.0])
def test_beyond_the_outer_middles_the_outer_bins_hold(clearness):
    zenith = np.array([20.0, 40.0, 60.0])
    diffuse, beam, airmass = skies_of(zenith, clearness, 0.2)
    ours = perez.brightness(90 - zenith, diffuse, beam, airmass)
    theirs = pvlib_brightness(pvlib.irradiance.perez, zenith, diffuse, beam, airmass)
    np.testing.assert_allclose(ours, theirs, rtol=1e-9, atol=1e-9)


@pytest.mark.parametrize("sky", ["clear", "haze", "broken"])
def test_between_the_bins_sun_glow_and_horizon_follow_driesses_spline(sky):
    # Driesse's variant of Perez 1990 without steps, in pvlib, along the skies
    # this tool uses, from where a beam counts.
    h = np.arange(3.0, 75.1, 0.5)
    parts = sky_parts(h, sky)
    light = parts.diffuse_lux, parts.beam_lux, perez.relative_airmass(h)
    f1, f2 = perez.brightness(h, *light)
    g1, g2 = pvlib_brightness(pvlib.irradiance.perez_driesse, 90 - h, *light)
    assert np.abs(f1 - g1).max() <= F1_BETWEEN
    assert np.abs(f2 - g2).max() <= F2_BETWEEN


def driesse_on_a_wall(turned_deg, altitude_deg, parts):
    """Sky light by pvlib on a wall so far turned from the sun, in components."""
    return pvlib.irradiance.perez_driesse(
        90.0,
        turned_deg,
        parts.diffuse_lux,
        parts.beam_lux,
        perez.BEAM_OUTSIDE_LUX,
        90 - altitude_deg,
        0.0,
        perez.relative_airmass(altitude_deg),
        return_components=True,
    )


def test_the_sky_on_the_far_side_of_the_body_follows_driesses_spline():
    # From 30° up, where the sky is Perez's; lower it is traced, see test_low_sky.
    h = np.arange(30.0, 75.1, 0.5)
    parts = sky_parts(h)
    theirs = driesse_on_a_wall(180.0, h, parts)["poa_sky_diffuse"]
    assert np.abs(np.log2(parts.back_lux / theirs)).max() <= WALL_STOPS


@pytest.mark.parametrize("altitude_deg", [30.0, 45.0, 60.0, 75.0])
def test_sun_glow_on_the_body_is_driesses_over_half_a_cylinder(altitude_deg):
    parts = sky_parts(altitude_deg)

    def on_wall(turn):
        walls = [driesse_on_a_wall(t, altitude_deg, parts) for t in np.degrees(turn)]
        return np.array([float(wall["poa_circumsolar"]) for wall in walls])

    theirs = around_half_a_cylinder(on_wall, 90)
    # The spline's own F1 differs from one between bin middles by as much.
    f1_stops = np.log2(1 + F1_BETWEEN / 0.3)
    ours = parts.front_lux - parts.back_lux
    assert abs(np.log2(ours / theirs)) <= f1_stops


def on_a_wall(row):
    """Sky light on an upright surface of a reference case, and the expected. [W/m²]"""
    value = {k: float(v) for k, v in row.items()}
    diffuse, zenith = value["dhi_w_m2"], np.radians(value["zenith_deg_apparent"])
    # To lux with one factor, so that brightness keeps its meaning.
    scale = perez.BEAM_OUTSIDE_LUX / value["extraterrestrial_normal_w_m2"]
    f1, f2 = perez.brightness(
        90 - value["zenith_deg_apparent"],
        diffuse * scale,
        value["dni_w_m2"] * scale,
        value["airmass_kasten_young"],
    )
    turned = value["sun_azimuth_deg"] - value["vertical_surface_azimuth_deg"]
    towards = max(np.sin(zenith) * np.cos(np.radians(turned)), 0.0)
    sun_share = towards / max(np.cos(np.radians(85)), np.cos(zenith))
    sky = diffuse * ((1 - f1) / 2 + f1 * sun_share + f2)
    return sky, value["sky_diffuse_perez_w_m2"], value["perez_epsilon"]


def test_sky_light_on_walls_is_perez_1990(rows):
    # 24 cases computed with pvlib; walls towards, beside and away from the sun.
    cases = [on_a_wall(r) for r in rows("vertical_surface_and_efficacy_examples.csv")]
    stops = [np.log2(sky / expected) for sky, expected, _ in cases]
    assert len(stops) == 24
    assert np.abs(stops).max() <= WALL_STOPS


def test_sky_light_on_walls_is_exact_where_no_bin_is_left(rows):
    # Clearness 1 and above 8: the outer bins, nothing interpolated. The table
    # gives three decimals, airmass four.
    cases = [on_a_wall(r) for r in rows("vertical_surface_and_efficacy_examples.csv")]
    outer = [c for c in cases if c[2] == 1.0 or c[2] > 8]
    assert len(outer) == 8
    for sky, expected, _ in outer:
        assert sky == pytest.approx(expected, rel=5e-5)


# --- The round body ----------------------------------------------------------


def around_half_a_cylinder(on_wall, count=20_000):
    """Mean of ``on_wall(turn)`` over the half a camera sees: EN 13201-3."""
    turn = (np.arange(count) + 0.5) / count * np.pi - np.pi / 2
    return on_wall(turn).mean()


@pytest.mark.parametrize("altitude_deg", [10.0, 30.0, 60.0])
@pytest.mark.parametrize("facing_deg", [0.0, 45.0, 90.0, 120.0, 180.0, 250.0])
def test_a_beam_on_a_round_body_is_the_integral_over_half_a_cylinder(
    altitude_deg, facing_deg
):
    parts = sky_parts(altitude_deg)
    h, phi = np.radians([altitude_deg, facing_deg])

    def on_wall(turn):
        return parts.beam_lux * np.cos(h) * np.maximum(np.cos(turn - phi), 0.0)

    ground = SAVANNA / 2 * parts.beam_lux * np.sin(h)
    # A sun that is hidden hides the glow round it too.
    glow = (parts.front_lux - parts.back_lux) * (1 + np.cos(phi)) / 2
    expected = around_half_a_cylinder(on_wall) + ground + glow
    ours = subject_lux(altitude_deg, facing_deg, "clear", BEAM_ONLY)
    assert ours == pytest.approx(expected, rel=1e-6)


def cie_overcast(altitude, _azimuth):
    """Moon & Spencer's sky, relative luminance: (1 + 2 sin γ) / 3."""
    return (1 + 2 * np.sin(altitude)) / 3


def dome(luminance, count=600):
    """Illuminance on level ground and on a wall facing azimuth 0, by summing."""
    alt = (np.arange(count) + 0.5) / count * np.pi / 2
    az = (np.arange(count) + 0.5) / count * 2 * np.pi
    alt, az = np.meshgrid(alt, az)
    light = luminance(alt, az) * np.cos(alt) * (np.pi / 2 / count) * (2 * np.pi / count)
    level = (light * np.sin(alt)).sum()
    wall = (light * np.cos(alt) * np.maximum(np.cos(az), 0)).sum()
    return level, wall


def test_the_overcast_sky_on_a_round_body_is_the_integral_of_the_cie_sky():
    # CIE overcast: the exact ratio is 0.3962. The sky is the same all round, so
    # every wall of the half cylinder, and their mean, gets the same. The ground
    # adds half its reflection.
    level, wall = dome(cie_overcast)
    ratio = subject_lux(40.0, 70.0, "overcast") / horizontal_lux(40.0, "overcast")
    assert ratio == pytest.approx(wall / level + SAVANNA / 2, rel=1e-3)


def test_in_the_dark_an_even_sky_lights_a_wall_half_as_much_as_the_ground():
    level, wall = dome(lambda altitude, _azimuth: np.ones_like(altitude))
    ratio = subject_lux(-12.5, 120.0) / horizontal_lux(-12.5)
    assert ratio == pytest.approx(wall / level + SAVANNA / 2, rel=1e-4)


def test_from_twelve_degrees_down_all_sides_are_lit_alike():
    front, back = (subject_lux([-12.0, -13.0, -18.0], phi) for phi in (0, 180))
    np.testing.assert_allclose(front, back, rtol=1e-12)


def test_ground_sends_half_its_reflection_up_an_upright_body():
    # View factor of an endless plane from a wall: 1/2. Sun overhead leaves the
    # ground the only way for a beam to reach an upright body.
    parts = sky_parts(90.0)
    lux = subject_lux(90.0, 0.0, "clear", BEAM_ONLY)
    assert lux == pytest.approx(SAVANNA / 2 * parts.beam_lux, rel=1e-6)


# --- Energy ------------------------------------------------------------------


@pytest.mark.parametrize("sky", list(SKIES))
def test_a_sky_has_its_share_of_the_clear_ones_level(sky):
    # Where broken cloud has dimmed a low beam, its sky keeps its own share: the sum
    # may fall short of the level, and never exceeds it.
    h = np.arange(-18.0, 90.1, 0.25)
    share = horizontal_lux(h, sky) / horizontal_lux(h)
    np.testing.assert_allclose(share, SKIES[sky].level, rtol=1e-9)


@pytest.mark.parametrize("cover", list(COVERS))
def test_sun_and_sky_add_up_under_any_cover(cover):
    # Light adds: each share of its own part, nothing else.
    h, over = np.array([3.0, 25.0, 60.0]), COVERS[cover]
    expected = over.beam_share * subject_lux(h, 40.0, "clear", BEAM_ONLY)
    expected = expected + over.sky_share * subject_lux(h, 40.0, "clear", SKY_ONLY)
    ours = subject_lux(h, 40.0, "clear", cover)
    np.testing.assert_allclose(ours, expected, rtol=1e-12)
