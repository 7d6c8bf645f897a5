"""The light that falls on an animal: level, direction, sky and cover.

The sun's beam through the air (`spectrum`, `air`), the light of the sky and its
brighter side (`low_sky` up to 20°, `perez` from 30°; in twilight the level of
`clear_sky`) give the semi-cylindrical illuminance of an upright, round body (EN
13201): what a camera facing it sees. ``altitude_deg`` is always the sun's *apparent*
altitude; lux in and out, compare in stops.

Where the model ends: below about 2° the beam passes through 25 airmasses or more, of
which the lowest kilometre decides, and may be a stop off on any day. Below −8° no
published sky has sides; from −12° down the light is even.
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lightplan import errors
from lightplan.arrays import FloatArray
from lightplan.light import air, chromaticity, clear_sky, low_sky, perez, spectrum

GROUND_REFLECTANCE = 0.18  # tropical savanna, broadband; a textbook value
OVERCAST_UPRIGHT = 0.396  # vertical ÷ horizontal under the CIE overcast sky


@dataclass(frozen=True, slots=True)
class Sky:
    """How a kind of sky changes level and beam, and how certain that is.

    ``level`` multiplies clear-sky global illuminance; ``cloud`` is c in
    exp(−c·airmass), by which cloud weakens the beam (None for a sky without a beam);
    ``sides`` the share of the sky's light that keeps a clear sky's brighter side;
    ``spread_stops`` the half-width that holds about two thirds of cases; ``aod500``
    the aerosol's optical depth, None for the usual.
    """

    key: str
    label: str
    level: float
    cloud: float | None
    sides: float
    spread_stops: float
    aod500: float | None = None

    @property
    def has_beam(self) -> bool:
        """Whether any direct sun comes through."""
        return self.cloud is not None

    @property
    def text(self) -> str:
        """The sky in its air, ``clear, usual air``, where the air matters."""
        if self.aod500 is None or not self.has_beam or self.key == HAZE.key:
            return self.label
        return f"{self.label}, {air.nearest(self.aod500).label}"


@dataclass(frozen=True, slots=True)
class Cover:
    """What is over the animal: the shares of beam and of sky light it lets through."""

    key: str
    label: str
    beam_share: float
    sky_share: float
    spread_stops: float


# Broken: a beam of exp(−0.80·airmass) in all is the partly cloudy sky of IES RP-21
# (1984), of which 0.28 is usual air; 0.75 is that sky's level over the clear one here
# at 20–45°. Overcast and storm are checked against the ANSI PH2.7 guide and TMY3
# hours (tests). How much of a side broken cloud leaves is judgement. Spreads: TMY3's
# central two thirds for clear and overcast, judgement for the others.
_CLEAR = Sky("clear", "clear", 1.0, 0.0, 1.0, 0.4)
SKIES = {
    s.key: s
    for s in (
        _CLEAR,
        Sky("broken", "broken cloud", 0.75, 0.52, 0.5, 0.8),
        Sky("overcast", "overcast", 1 / 3, None, 0.0, 0.6),
        Sky("storm", "storm cloud", 0.1, None, 0.0, 1.5),
    )
}
# Dust and smoke were a sky once. Links and files say so still, and a drive's forecast
# may, while the air of the trip is another.
HAZE = replace(
    _CLEAR,
    key="haze",
    label="clear, in dusty air",
    spread_stops=0.5,
    aod500=air.AIRS["dusty"].aod500,
)
FORECASTS = {**SKIES, HAZE.key: HAZE}

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

# Above, Perez's brightness of the sky; below, the traced one; between, both.
_PEREZ_DEG = 30.0
# Below 0° the light on the level is the Supplement's; above 3° the model's.
_DAY_DEG = 3.0
# Under a cover the sky's brighter side goes with the beam while it lies round the
# sun, and with the sky once it lies along the horizon. [°]
_ROUND_THE_SUN_DEG = 10.0
_CLOUD_UV = (0.1978, 0.3122)  # of overcast by day: CIE D65
# A beam worth the name makes the side it falls on this much brighter. Judgement.
SUNLIT_STOPS = 0.5


class SkyParts(NamedTuple):
    """Light from sun and sky before any cover. [lx]

    ``beam_lux`` (normal to it), ``diffuse_lux`` (on level ground), ``front_lux`` and
    ``back_lux`` (of the sky, on a round upright body, towards the sun's side and away
    from it).
    """

    beam_lux: FloatArray
    diffuse_lux: FloatArray
    front_lux: FloatArray
    back_lux: FloatArray


class _Table(NamedTuple):
    """A clear sky by the sun's altitude, in steps of 0.1°.

    Logarithms of lux, shares of the light on the level, and colours as X, Y, Z of one
    lux: of the beam, and of the sky on the sun's side, away from it and on the level.
    """

    altitude_deg: FloatArray
    log_beam: FloatArray
    log_sky: FloatArray
    front: FloatArray
    back: FloatArray
    colours: FloatArray  # (4, n, 3)


@lru_cache(maxsize=64)
def _table(aod500: float) -> _Table:
    h = np.linspace(-18.0, 90.0, 1081)
    up = np.maximum(h, 0.01)  # a flat layer has no light at the horizon
    airmass = perez.relative_airmass(up)
    traced = low_sky.altitudes()
    flat = spectrum.clear(
        np.maximum(traced, 0.0), *(perez.relative_airmass(traced),) * 2, aod500
    )
    day = spectrum.clear(up, airmass, air.aerosol_airmass(up), aod500)
    log_beam = np.log(day.beam[:, 1])
    log_day = np.log(day.sky[:, 1] * low_sky.brighter(h, aod500, flat))
    share = _smooth(h / _DAY_DEG)
    log_sky = share * log_day + (1 - share) * np.log(clear_sky.sun_lux(h))
    sides = low_sky.sides(h, aod500)
    front, back = _perez_sides(h, np.exp(log_beam), np.exp(log_sky), airmass)
    high = _smooth((h - low_sky.HIGHEST_DEG) / (_PEREZ_DEG - low_sky.HIGHEST_DEG))
    front, back = (
        (1 - high) * a + high * b for a, b in ((sides.front, front), (sides.back, back))
    )
    spectral = day.sky / day.sky[:, 1:2]
    colours = [day.beam / day.beam[:, 1:2]]
    for uv in (sides.front_uv, sides.back_uv, sides.level_uv):
        low = chromaticity.xyz(uv, np.ones_like(h))
        colours.append((1 - high[:, None]) * low + high[:, None] * spectral)
    return _Table(h, log_beam, log_sky, front, back, np.array(colours))


def _smooth(x: FloatArray) -> FloatArray:
    x = np.clip(x, 0.0, 1.0)
    result: FloatArray = x * x * (3 - 2 * x)
    return result


def _perez_sides(
    h: FloatArray, beam: FloatArray, diffuse: FloatArray, airmass: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the sky on a round upright body over that on the level, front and back."""
    f1, f2 = perez.brightness(h, diffuse, beam, airmass)
    sine = np.maximum(np.cos(np.radians(85.0)), np.sin(np.radians(h)))
    back = (1 - f1) / 2 + f2
    return back + f1 / sine * np.cos(np.radians(h)) * 2 / np.pi, back


def horizontal_lux(
    altitude_deg: ArrayLike,
    sky: str | Sky = "clear",
    *,
    aod500: float | None = None,
) -> FloatArray:
    """Return illuminance on level open ground.

    Parameters
    ----------
    altitude_deg : array_like, shape (...)
        Apparent altitude of the sun. [°] Below −18° the value at −18°, which is
        starlight, is kept.
    sky : str or Sky
        "clear", "broken", "overcast" or "storm"; "haze" is a clear one in dusty air.
    aod500 : float, optional
        The aerosol's optical depth at 500 nm; the sky's own, else the usual 0.2.

    Returns
    -------
    ndarray, shape (...)
        Illuminance, continuous and rising with altitude. [lx] NaN stays NaN.

    Raises
    ------
    ValueError
        If the sky is unknown, or the optical depth is not 0.01 to 2.
    """
    parts = sky_parts(altitude_deg, sky, aod500=aod500)
    sine = np.sin(np.radians(np.maximum(np.asarray(altitude_deg, np.float64), 0.0)))
    result: FloatArray = parts.beam_lux * sine + parts.diffuse_lux
    return result


def beam_lux(
    altitude_deg: ArrayLike,
    sky: str | Sky = "clear",
    *,
    aod500: float | None = None,
) -> FloatArray:
    """Return the sun's own light on a surface that faces it.

    Arguments and errors as for `horizontal_lux`; 0 under a sky without a beam.

    Returns
    -------
    ndarray, shape (...)
        Illuminance normal to the beam. [lx]
    """
    return sky_parts(altitude_deg, sky, aod500=aod500).beam_lux


def subject_lux(
    altitude_deg: ArrayLike,
    facing_deg: ArrayLike = 0.0,
    sky: str | Sky = "clear",
    cover: str | Cover = "open",
    *,
    aod500: float | None = None,
) -> FloatArray:
    """Return the light on an upright, round animal, as its camera side sees it.

    Parameters
    ----------
    altitude_deg : array_like, shape (...)
        Apparent altitude of the sun. [°]
    facing_deg : array_like, shape (...)
        Angle between the directions animal→camera and animal→sun: 0 front-lit,
        90 side-lit, 180 backlit. [°] Broadcasts with the altitude.
    sky, aod500
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
        If the sky or the cover is unknown, or the optical depth is not 0.01 to 2.

    References
    ----------
    .. [1] EN 13201-3, semi-cylindrical illuminance.
    """
    falls = _falls(altitude_deg, facing_deg, sky, cover, aod500)
    result: FloatArray = falls.beam + falls.front + falls.back + falls.ground
    return result


def subject_xyz(
    altitude_deg: ArrayLike,
    facing_deg: ArrayLike = 0.0,
    sky: str | Sky = "clear",
    cover: str | Cover = "open",
    *,
    aod500: float | None = None,
) -> FloatArray:
    """Return X, Y, Z of that light; Y is `subject_lux`. [lx]

    Arguments and errors as for `subject_lux`; the result has shape (..., 3). Cloud is
    as white as CIE D65 by day; the ground sends back what it gets, in its colour, and
    leaves give no green: both are simpler than a savanna is.
    """
    kind = _in_air(sky, aod500)
    h = np.asarray(altitude_deg, np.float64)
    falls = _falls(h, facing_deg, kind, cover, None)
    table = _table(air.checked_aod(kind.aod500))
    beam, front, back, level = (_colour(table, i, h) for i in range(4))
    # Cloud mixes what the sky sends it; by night nothing is left to whiten it.
    white = chromaticity.xyz(np.array(_CLOUD_UV), 1.0)
    cloudy = (1 - kind.sides) * _smooth((h + 2.0) / 7.0)[..., None]
    front, back, level = (
        (1 - cloudy) * c + cloudy * white for c in (front, back, level)
    )
    ground = level
    if kind.has_beam:
        parts = sky_parts(h, kind)
        sine = np.sin(np.radians(np.maximum(h, 0.0)))
        share = parts.beam_lux * sine * cover_named(cover).beam_share
        of_beam = share / (share + parts.diffuse_lux * cover_named(cover).sky_share)
        ground = of_beam[..., None] * beam + (1 - of_beam[..., None]) * level
    result: FloatArray = sum(  # type: ignore[assignment]
        lux[..., None] * colour
        for lux, colour in zip(falls, (beam, front, back, ground), strict=True)
    )
    return result


def _colour(table: _Table, index: int, h: FloatArray) -> FloatArray:
    columns = table.colours[index].T
    return np.stack([np.interp(h, table.altitude_deg, c) for c in columns], axis=-1)


class _Falls(NamedTuple):
    """Light on the animal: of the beam, of the sky's two sides, of the ground. [lx]"""

    beam: FloatArray
    front: FloatArray
    back: FloatArray
    ground: FloatArray


def _falls(
    altitude_deg: ArrayLike,
    facing_deg: ArrayLike,
    sky: str | Sky,
    cover: str | Cover,
    aod500: float | None,
) -> _Falls:
    over = cover_named(cover)
    h = np.asarray(altitude_deg, dtype=np.float64)
    parts = sky_parts(h, sky, aod500=aod500)
    phi = np.radians(np.asarray(facing_deg, dtype=np.float64))
    front = (1 + np.cos(phi)) / 2
    up = np.radians(np.maximum(h, 0.0))
    beam = over.beam_share * parts.beam_lux * np.cos(up) * front * 2 / np.pi
    glow = over.sky_share + (over.beam_share - over.sky_share) * _smooth(
        h / _ROUND_THE_SUN_DEG
    )
    # What is brighter on the sun's side than away from it, and what is all round.
    least = np.minimum(parts.front_lux, parts.back_lux)
    bright = glow * (parts.front_lux - least) + over.sky_share * least
    dim = glow * (parts.back_lux - least) + over.sky_share * least
    level = over.beam_share * parts.beam_lux * np.sin(up)
    ground = GROUND_REFLECTANCE / 2 * (level + over.sky_share * parts.diffuse_lux)
    return _Falls(beam, bright * front, dim * (1 - front), ground + 0 * front)


def sunlit(
    altitude_deg: ArrayLike,
    sky: str | Sky = "clear",
    cover: str | Cover = "open",
    *,
    aod500: float | None = None,
) -> NDArray[np.bool_]:
    """Return where the sun's beam on the animal is worth the name.

    That is where a side that faces the sun is half a stop brighter than it would be
    without it. Arguments and errors as for `subject_lux`; shape (...).
    """
    return np.asarray(
        sunlit_stops(altitude_deg, sky, cover, aod500=aod500) >= SUNLIT_STOPS
    )


def sunlit_stops(
    altitude_deg: ArrayLike,
    sky: str | Sky = "clear",
    cover: str | Cover = "open",
    *,
    aod500: float | None = None,
) -> FloatArray:
    """Return how many stops brighter the beam makes a side that faces the sun.

    Arguments and errors as for `subject_lux`; shape (...). 0 without a beam.
    """
    falls = _falls(altitude_deg, 0.0, sky, cover, aod500)
    rest = falls.front + falls.back + falls.ground
    # A back or a head faces a high sun, where an upright side no longer does.
    beam = cover_named(cover).beam_share * beam_lux(altitude_deg, sky, aod500=aod500)
    result: FloatArray = np.log2(1 + beam * 2 / np.pi / rest)
    return result


def moonlit_lux(
    horizontal_moon_lux: ArrayLike,
    moon_altitude_deg: ArrayLike,
    facing_deg: ArrayLike = 0.0,
    sky: str | Sky = "clear",
    cover: str | Cover = "open",
    *,
    aod500: float | None = None,
) -> FloatArray:
    """Return what the moon adds on an upright animal.

    The moon's beam and the sky it lights are the sun's at that altitude, weaker.

    Parameters
    ----------
    horizontal_moon_lux : array_like, shape (...)
        `clear_sky.moon_lux`. [lx]
    moon_altitude_deg : array_like, shape (...)
        Its apparent altitude. [°]
    facing_deg, sky, cover, aod500
        As for `subject_lux`, the angle between camera and moon.

    Raises
    ------
    ValueError
        As `subject_lux`.
    """
    h = np.maximum(np.asarray(moon_altitude_deg, np.float64), 0.0)
    on_animal = subject_lux(h, facing_deg, sky, cover, aod500=aod500)
    result: FloatArray = (
        np.asarray(horizontal_moon_lux) * on_animal / horizontal_lux(h, aod500=aod500)
    )
    return result


def sky_parts(
    altitude_deg: ArrayLike,
    sky: str | Sky = "clear",
    *,
    aod500: float | None = None,
) -> SkyParts:
    """Split the light of a sky into the beam and the sky's two sides.

    Arguments and errors as for `horizontal_lux`; arrays of shape (...).
    """
    kind = _in_air(sky, aod500)
    h = np.asarray(altitude_deg, dtype=np.float64)
    table = _table(air.checked_aod(kind.aod500))
    log_beam, log_sky, front, back = (
        np.interp(h, table.altitude_deg, column) for column in table[1:5]
    )
    # The disc takes about half a degree to rise; below that there is no beam.
    beam = np.clip((h + 0.27) / 0.54, 0.0, 1.0) * np.exp(log_beam)
    diffuse = np.exp(log_sky)
    sine = np.sin(np.radians(np.maximum(h, 0.0)))
    level = kind.level * (beam * sine + diffuse)
    if kind.cloud is None:
        upright = OVERCAST_UPRIGHT * level
        return SkyParts(0 * level, level, upright, upright)
    if kind.cloud:
        beam = beam * np.exp(-kind.cloud * perez.relative_airmass(h))
        diffuse = np.maximum(level - beam * sine, kind.level * diffuse)
    even = low_sky.EVEN_UPRIGHT
    front, back = (even + kind.sides * (share - even) for share in (front, back))
    return SkyParts(beam, diffuse, diffuse * front, diffuse * back)


def _in_air(sky: str | Sky, aod500: float | None) -> Sky:
    kind = sky_named(sky)
    return kind if aod500 is None else replace(kind, aod500=aod500)


def spread_stops(sky: str | Sky = "clear", cover: str | Cover = "open") -> float:
    """Return ± stops within which about two thirds of cases should lie.

    Sky and cover are independent, so their spreads add in quadrature.
    """
    return float(np.hypot(sky_named(sky).spread_stops, cover_named(cover).spread_stops))


def sky_named(sky: str | Sky) -> Sky:
    """Return the sky of that name; ValueError lists the known ones."""
    if isinstance(sky, Sky):
        return sky
    if sky not in FORECASTS:
        raise ValueError(errors.one_of("sky", sky, FORECASTS))
    return FORECASTS[sky]


def cover_named(cover: str | Cover) -> Cover:
    """Return the cover of that name; ValueError lists the known ones."""
    if isinstance(cover, Cover):
        return cover
    if cover not in COVERS:
        raise ValueError(errors.one_of("cover", cover, COVERS))
    return COVERS[cover]
