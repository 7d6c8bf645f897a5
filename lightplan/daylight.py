"""The light that falls on an animal: level, direction, sky and cover.

Clear-sky horizontal illuminance follows the Explanatory Supplement's
polynomials; a beam with Kasten & Young's airmass and the Perez 1990 sky turn it
into the semi-cylindrical illuminance of an upright, round body (EN 13201),
which is what a camera facing it sees. ``altitude_deg`` is everywhere the sun's
*apparent* altitude; lux in and out, compare in stops.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

BEAM_OUTSIDE_LUX = 133_800.0  # normal to the beam above the atmosphere
GROUND_REFLECTANCE = 0.18  # tropical savanna, broadband; a textbook value
OVERCAST_UPRIGHT = 0.396  # vertical ÷ horizontal under the CIE overcast sky


@dataclass(frozen=True, slots=True)
class Sky:
    """How a kind of sky changes level and beam, and how sure that is.

    ``level`` multiplies clear-sky global illuminance, ``extinction`` is c in
    E₀·exp(−c·airmass) for the beam (None: no beam, even overcast sky),
    ``spread_stops`` the half-width holding about two thirds of cases.
    """

    key: str
    label: str
    level: float
    extinction: float | None
    spread_stops: float


@dataclass(frozen=True, slots=True)
class Cover:
    """What stands over the animal: the shares of beam and of sky let through."""

    key: str
    label: str
    beam_share: float
    sky_share: float
    spread_stops: float


# Extinction: 0.28 fits TMY3 clear hours best, 0.40 dust or smoke, 0.80 partly
# cloudy (IES RP-21, 1984). Levels: broken 0.75 is that practice's partly cloudy
# sky over the clear one here at 20–45°; overcast and storm are set against the
# ANSI PH2.7 guide and TMY3 hours (tests). Spreads: TMY3's central two
# thirds for clear and overcast, judgement for the others.
SKIES = {
    s.key: s
    for s in (
        Sky("clear", "clear, dry-season air", 1.0, 0.28, 0.4),
        Sky("haze", "haze, dust or smoke", 0.9, 0.40, 0.5),
        Sky("broken", "broken cloud", 0.75, 0.80, 0.8),
        Sky("overcast", "overcast", 1 / 3, None, 0.6),
        Sky("storm", "storm cloud", 0.1, None, 1.5),
    )
}

# Common practice for how many stops each takes; no data, so wide spreads.
COVERS = {
    c.key: c
    for c in (
        Cover("open", "open ground", 1.0, 1.0, 0.0),
        Cover("shade", "open shade", 0.05, 0.9, 0.5),
        Cover("woodland", "woodland", 0.08, 0.35, 1.0),
        Cover("canopy", "closed canopy", 0.03, 0.1, 1.5),
    )
}

# log10 lux = l0 + l1·x + l2·x² + l3·x³, x = apparent altitude / 90°, valid from
# the altitude in the first column up to the next row's. Explanatory Supplement
# to the Astronomical Almanac (1992), chapter 9, pp. 490–493.
_ALTITUDES = np.array([-18.0, -12.0, -5.0, -0.8, 5.0, 20.0, 90.0])
_POLYNOMIALS = np.array(
    [
        [13.84, 262.72, 1447.42, 2797.93],
        [2.7, 12.17, -431.69, -1899.83],
        [2.88, 21.81, -258.11, -858.36],
        [2.88, 22.26, -207.64, 1034.3],
        [3.05, 13.28, -45.98, 64.33],
        [3.74, 3.97, -4.07, 1.47],
    ]
)
_BLEND_DEG = 0.3  # neighbours differ by up to 0.005 in log10 where they meet

# The same for a full moon at mean distance; below −0.8° it gives nothing.
_MOON_ALTITUDES = np.array([-0.8, 5.0, 20.0, 90.0])
_MOON_POLYNOMIALS = np.array(
    [
        [-2.79, 24.27, -252.95, 1321.29],
        [-2.58, 12.58, -42.58, 59.06],
        [-1.95, 4.06, -4.24, 1.56],
    ]
)
_MEAN_PARALLAX_DEG = 0.951  # of the moon, in the same source
_EVEN_UPRIGHT = 0.5  # vertical ÷ horizontal under an even sky

# Perez et al., Solar Energy 44 (1990), table 6: F11 F12 F13 F21 F22 F23 for
# eight bins of sky clearness, and the bins' edges.
PEREZ_EDGES = np.array([1.0, 1.065, 1.23, 1.5, 1.95, 2.8, 4.5, 6.2])
_PEREZ = np.array(
    [
        [-0.008, 0.588, -0.062, -0.06, 0.072, -0.022],
        [0.130, 0.683, -0.151, -0.019, 0.066, -0.029],
        [0.330, 0.487, -0.221, 0.055, -0.064, -0.026],
        [0.568, 0.187, -0.295, 0.109, -0.152, -0.014],
        [0.873, -0.392, -0.362, 0.226, -0.462, 0.001],
        [1.132, -1.237, -0.412, 0.288, -0.823, 0.056],
        [1.060, -1.600, -0.359, 0.264, -1.127, 0.131],
        [0.678, -0.327, -0.250, 0.156, -1.377, 0.251],
    ]
)
# The bins' coefficients hold at their middles and run straight between them,
# so that no step shows in a curve; the last, open bin is met at 8.
_PEREZ_MIDDLES = np.append((PEREZ_EDGES[:-1] + PEREZ_EDGES[1:]) / 2, 8.0)


class SkyParts(NamedTuple):
    """Light from sun and sky before any cover. [lx]

    ``beam_lux`` (normal to it), ``diffuse_lux`` (on level ground),
    ``circumsolar_lux`` (normal to the sun's direction, part of diffuse),
    ``upright_sky_lux`` (the rest of the sky on an upright surface).
    """

    beam_lux: FloatArray
    diffuse_lux: FloatArray
    circumsolar_lux: FloatArray
    upright_sky_lux: FloatArray


def horizontal_lux(altitude_deg: ArrayLike, sky: str | Sky = "clear") -> FloatArray:
    """Return illuminance on level open ground.

    Parameters
    ----------
    altitude_deg : array_like, shape (...)
        Apparent altitude of the sun. [°] Below −18° the value at −18°, which is
        starlight, is kept.
    sky : str or Sky
        "clear", "haze", "broken", "overcast" or "storm".

    Returns
    -------
    ndarray, shape (...)
        Illuminance, continuous and rising with altitude. [lx] NaN stays NaN.

    Raises
    ------
    ValueError
        If the sky is unknown.

    Notes
    -----
    The source states at most 5 % error for each polynomial (2 % below −5°).

    References
    ----------
    .. [1] Explanatory Supplement to the Astronomical Almanac (1992), ch. 9.
    """
    return sky_named(sky).level * _clear_lux(altitude_deg)


def subject_lux(
    altitude_deg: ArrayLike,
    facing_deg: ArrayLike = 0.0,
    sky: str | Sky = "clear",
    cover: str | Cover = "open",
) -> FloatArray:
    """Return the light on an upright, round animal, as its camera side sees it.

    Parameters
    ----------
    altitude_deg : array_like, shape (...)
        Apparent altitude of the sun. [°]
    facing_deg : array_like, shape (...)
        Angle between the directions animal→camera and animal→sun: 0 front-lit,
        90 side-lit, 180 backlit. [°] Broadcasts with the altitude.
    sky : str or Sky
        As for `horizontal_lux`.
    cover : str or Cover
        "open", "shade", "woodland" or "canopy".

    Returns
    -------
    ndarray, shape (...)
        Semi-cylindrical illuminance. [lx]

    Raises
    ------
    ValueError
        If the sky or the cover is unknown.

    References
    ----------
    .. [1] EN 13201-3, semi-cylindrical illuminance.
    .. [2] Perez et al., Solar Energy 44 (1990) 271–289.
    """
    over = cover_named(cover)
    h = np.asarray(altitude_deg, dtype=np.float64)
    parts = sky_parts(h, sky)
    phi = np.radians(np.asarray(facing_deg, dtype=np.float64))
    towards = np.cos(np.radians(np.maximum(h, 0))) * (1 + np.cos(phi)) / np.pi
    directional = over.beam_share * (parts.beam_lux + parts.circumsolar_lux) * towards
    level_beam = parts.beam_lux * np.sin(np.radians(np.maximum(h, 0)))
    ground = over.beam_share * level_beam + over.sky_share * parts.diffuse_lux
    result: FloatArray = (
        directional
        + over.sky_share * parts.upright_sky_lux
        + GROUND_REFLECTANCE / 2 * ground
    )
    return result


def moon_horizontal_lux(
    altitude_deg: ArrayLike, elongation_deg: ArrayLike, parallax_deg: ArrayLike
) -> FloatArray:
    """Return the clear moon's illuminance on level open ground.

    Parameters
    ----------
    altitude_deg : array_like, shape (...)
        Apparent altitude of the moon. [°] Below −0.8° it gives no light.
    elongation_deg : array_like, shape (...)
        Angle between moon and sun: 180 at full moon. [°]
    parallax_deg : array_like, shape (...)
        Horizontal parallax, which tells its distance. [°]

    Returns
    -------
    ndarray, shape (...)
        Illuminance, 0.27 at most for a full moon overhead. [lx]

    References
    ----------
    .. [1] Explanatory Supplement to the Astronomical Almanac (1992), ch. 9.
    """
    h = np.asarray(altitude_deg, dtype=np.float64)
    full = _piecewise_lux(np.clip(h, -0.8, 90.0), _MOON_ALTITUDES, _MOON_POLYNOMIALS)
    f = 180.0 - np.asarray(elongation_deg, dtype=np.float64)
    phase = 10.0 ** (-8.68e-3 * f - 2.2e-9 * f**4)
    nearness = (np.asarray(parallax_deg) / _MEAN_PARALLAX_DEG) ** 2
    return np.where(h < -0.8, 0.0, full * phase * nearness)


def moonlit_lux(
    horizontal_moon_lux: ArrayLike,
    sky: str | Sky = "clear",
    cover: str | Cover = "open",
) -> FloatArray:
    """Return what the moon adds on an upright animal, seen from any side.

    Which side of the animal the moon lights is not asked: its light is taken
    as even, as an upright surface gets it from an even sky. ``horizontal_moon_lux``
    is `moon_horizontal_lux` [lx], any shape; ValueError as for `subject_lux`.
    """
    share = sky_named(sky).level * cover_named(cover).sky_share
    even = _EVEN_UPRIGHT + GROUND_REFLECTANCE / 2
    result: FloatArray = np.asarray(horizontal_moon_lux) * (share * even)
    return result


def sky_parts(altitude_deg: ArrayLike, sky: str | Sky = "clear") -> SkyParts:
    """Split the light of a sky into beam, circumsolar glow and the rest.

    Arguments and errors as for `horizontal_lux`; arrays of shape (...).
    """
    kind = sky_named(sky)
    h = np.asarray(altitude_deg, dtype=np.float64)
    level = horizontal_lux(h, kind)
    if kind.extinction is None:
        nothing = np.zeros_like(level)
        return SkyParts(nothing, level, nothing, OVERCAST_UPRIGHT * level)
    airmass = relative_airmass(h)
    # The disc takes about half a degree to rise; below that there is no beam.
    risen = np.clip((h + 0.27) / 0.54, 0.0, 1.0)
    beam = risen * BEAM_OUTSIDE_LUX * np.exp(-kind.extinction * airmass)
    sine = np.sin(np.radians(np.maximum(h, 0.0)))
    diffuse = np.maximum(level - beam * sine, level / 5)
    # Below about −1° the sky is even: the directional share fades into that.
    x = np.clip((h + 1.0) / 2.0, 0.0, 1.0)
    fade = x * x * (3 - 2 * x)
    f1, f2 = perez_brightness(h, diffuse, beam, airmass)
    f1, f2 = f1 * fade, f2 * fade
    circumsolar = diffuse * f1 / np.maximum(np.cos(np.radians(85.0)), sine)
    upright = diffuse * ((1 - f1) / 2 + f2)
    return SkyParts(beam, diffuse, circumsolar, upright)


def perez_brightness(
    altitude_deg: ArrayLike,
    diffuse_lux: ArrayLike,
    beam_lux: ArrayLike,
    airmass: ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    """Return Perez's circumsolar and horizon brightness, F1 and F2.

    Parameters
    ----------
    altitude_deg : array_like, shape (...)
        Apparent altitude of the sun. [°]
    diffuse_lux, beam_lux : array_like, shape (...)
        On level ground, and normal to the beam. [lx]
    airmass : array_like, shape (...)
        Relative airmass. [unitless]

    Returns
    -------
    tuple of ndarray, shape (...)
        F1 ≥ 0 and F2. Between the middles of the published clearness bins the
        coefficients are interpolated, where the source has steps.

    References
    ----------
    .. [1] Perez et al., Solar Energy 44 (1990) 271–289, table 6.
    """
    h = np.asarray(altitude_deg, dtype=np.float64)
    diffuse, beam = np.asarray(diffuse_lux), np.asarray(beam_lux)
    zenith = np.radians(90.0 - np.maximum(h, 0.0))
    cubed = 1.041 * zenith**3
    clearness = ((diffuse + beam) / diffuse + cubed) / (1 + cubed)
    brightness = diffuse * np.asarray(airmass) / BEAM_OUTSIDE_LUX
    f11, f12, f13, f21, f22, f23 = (
        np.interp(clearness, _PEREZ_MIDDLES, column) for column in _PEREZ.T
    )
    f1 = np.maximum(f11 + f12 * brightness + f13 * zenith, 0.0)
    return f1, f21 + f22 * brightness + f23 * zenith


def relative_airmass(altitude_deg: ArrayLike) -> FloatArray:
    """Return relative airmass; below the horizon the horizon's value.

    ``altitude_deg`` is apparent [°], any shape; the result has no unit.

    References
    ----------
    .. [1] Kasten & Young, Applied Optics 28 (1989) 4735–4738.
    """
    h = np.maximum(np.asarray(altitude_deg, dtype=np.float64), 0.0)
    result: FloatArray = 1.0 / (
        np.sin(np.radians(h)) + 0.50572 * (h + 6.07995) ** -1.6364
    )
    return result


def spread_stops(sky: str | Sky = "clear", cover: str | Cover = "open") -> float:
    """Return ± stops within which about two thirds of cases should lie.

    Sky and cover are independent, so their spreads add in quadrature.
    """
    return float(np.hypot(sky_named(sky).spread_stops, cover_named(cover).spread_stops))


def sky_named(sky: str | Sky) -> Sky:
    """Return the sky of that name; ValueError lists the known ones."""
    if isinstance(sky, Sky):
        return sky
    if sky not in SKIES:
        raise ValueError(f"sky must be one of {', '.join(SKIES)}, got {sky!r}")
    return SKIES[sky]


def cover_named(cover: str | Cover) -> Cover:
    """Return the cover of that name; ValueError lists the known ones."""
    if isinstance(cover, Cover):
        return cover
    if cover not in COVERS:
        raise ValueError(f"cover must be one of {', '.join(COVERS)}, got {cover!r}")
    return COVERS[cover]


def _clear_lux(altitude_deg: ArrayLike) -> FloatArray:
    h = np.clip(np.asarray(altitude_deg, dtype=np.float64), -18.0, 90.0)
    return _piecewise_lux(h, _ALTITUDES, _POLYNOMIALS)


def _piecewise_lux(
    h: FloatArray, altitudes: FloatArray, polynomials: FloatArray
) -> FloatArray:
    x = (h / 90.0)[..., None]
    powers = np.concatenate([np.ones_like(x), x, x**2, x**3], axis=-1)
    joints = altitudes[1:-1]
    piece = np.searchsorted(joints, h, side="right")
    log_lux = np.einsum("...k,...k->...", powers, polynomials[piece])
    # Near a joint, go from one polynomial to the next over ±_BLEND_DEG.
    near = np.abs(h[..., None] - joints).argmin(axis=-1)
    offset = (h - joints[near]) / _BLEND_DEG
    blended = np.abs(offset) < 1
    weight = np.where(blended, (1 + offset) / 2, 0.0)
    lower = np.einsum("...k,...k->...", powers, polynomials[near])
    upper = np.einsum("...k,...k->...", powers, polynomials[near + 1])
    log_lux = np.where(blended, lower + weight * (upper - lower), log_lux)
    result: FloatArray = 10.0**log_lux
    return result
