"""The light that falls on an animal: level, direction, sky and cover.

The level of a clear sky (`clear_sky`), the sun's beam and the brightness of the sky
around it (`perez`) give the semi-cylindrical illuminance of an upright, round body
(EN 13201): what a camera facing it sees. ``altitude_deg`` is always the sun's
*apparent* altitude; lux in and out, compare in stops.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from lightplan import errors
from lightplan.arrays import FloatArray
from lightplan.light import clear_sky, perez

GROUND_REFLECTANCE = 0.18  # tropical savanna, broadband; a textbook value
OVERCAST_UPRIGHT = 0.396  # vertical ÷ horizontal under the CIE overcast sky


@dataclass(frozen=True, slots=True)
class Sky:
    """How a kind of sky changes level and beam, and how certain that is.

    ``level`` multiplies clear-sky global illuminance, ``extinction`` is c in
    E₀·exp(−c·airmass) for the beam (None for an overcast sky, which has no beam),
    ``spread_stops`` the half-width that holds about two thirds of cases.
    """

    key: str
    label: str
    level: float
    extinction: float | None
    spread_stops: float


@dataclass(frozen=True, slots=True)
class Cover:
    """What is over the animal: the shares of beam and of sky light it lets through."""

    key: str
    label: str
    beam_share: float
    sky_share: float
    spread_stops: float


# Extinction: 0.28 fits TMY3 clear hours best, 0.40 dust or smoke, 0.80 partly
# cloudy (IES RP-21, 1984). Levels: broken 0.75 is that standard's partly cloudy
# sky over the clear one here at 20–45°; overcast and storm are checked against the
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

_EVEN_UPRIGHT = 0.5  # vertical ÷ horizontal under an even sky


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
    return sky_named(sky).level * clear_sky.sun_lux(altitude_deg)


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


def moonlit_lux(
    horizontal_moon_lux: ArrayLike,
    sky: str | Sky = "clear",
    cover: str | Cover = "open",
) -> FloatArray:
    """Return what the moon adds on an upright animal, seen from any side.

    The moon's direction is ignored: its light counts as that of an even sky on an
    upright surface. ``horizontal_moon_lux`` is `clear_sky.moon_lux` [lx], any
    shape; ValueError as for `subject_lux`.
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
    airmass = perez.relative_airmass(h)
    # The disc takes about half a degree to rise; below that there is no beam.
    risen = np.clip((h + 0.27) / 0.54, 0.0, 1.0)
    beam = risen * perez.BEAM_OUTSIDE_LUX * np.exp(-kind.extinction * airmass)
    sine = np.sin(np.radians(np.maximum(h, 0.0)))
    diffuse = np.maximum(level - beam * sine, level / 5)
    # Below about −1° the sky is even: the directional share fades into that.
    x = np.clip((h + 1.0) / 2.0, 0.0, 1.0)
    fade = x * x * (3 - 2 * x)
    f1, f2 = perez.brightness(h, diffuse, beam, airmass)
    f1, f2 = f1 * fade, f2 * fade
    circumsolar = diffuse * f1 / np.maximum(np.cos(np.radians(85.0)), sine)
    upright = diffuse * ((1 - f1) / 2 + f2)
    return SkyParts(beam, diffuse, circumsolar, upright)


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
        raise ValueError(errors.one_of("sky", sky, SKIES))
    return SKIES[sky]


def cover_named(cover: str | Cover) -> Cover:
    """Return the cover of that name; ValueError lists the known ones."""
    if isinstance(cover, Cover):
        return cover
    if cover not in COVERS:
        raise ValueError(errors.one_of("cover", cover, COVERS))
    return COVERS[cover]
