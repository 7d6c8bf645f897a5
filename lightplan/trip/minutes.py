"""Runs of minutes: the light, the ISO each rig needs, and what comes of it."""

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lightplan.arrays import FloatArray, Instants, true_runs
from lightplan.camera import exposure
from lightplan.catalog import kit
from lightplan.light import clear_sky, daylight
from lightplan.sky import moon, sun
from lightplan.sky.windows import CIVIL_DEG
from lightplan.trip.request import FACINGS, Request, RigChoice

# The full stops that a ladder may have beside a rig's own shutter time.
FULL_STOPS_S = tuple(1 / n for n in (8000, 4000, 2000, 1000, 500, 250, 125, 60, 30))
_SAME = 1e-6


class Span(NamedTuple):
    """A minute with the earliest and latest that the spread allows.

    ``earliest_utc`` or ``latest_utc`` is None where, at that end of the
    spread, the rig would not be usable at any minute of the drive.
    """

    utc: np.datetime64
    earliest_utc: np.datetime64 | None
    latest_utc: np.datetime64 | None


class Run(NamedTuple):
    """A stretch of usable minutes, its first and its last."""

    first_utc: np.datetime64
    last_utc: np.datetime64


class Rung(NamedTuple):
    """A shutter time, and the first and last minute at which the ceiling allows it.

    ``sharp_share`` of the frames taken with it are sharp, 0 to 1.
    """

    shutter_s: float
    first_utc: np.datetime64
    last_utc: np.datetime64
    sharp_share: float


class Shutter(NamedTuple):
    """A shutter time that a rig may be set to. [s] Its share of sharp frames."""

    shutter_s: float
    sharp_share: float


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one rig can do on one drive, from one side of the sun.

    ``first`` and ``last`` are None where the rig is never usable; minutes
    count whole minutes until turn-back, or the end of a drive without a gate to be
    back at, at which needed ISO ≤ ceiling. They lie in ``stretches``.
    ``possible`` is true if the bright end of the spread has a usable minute.
    ``ladder`` holds the rig's own shutter time and the full stops from 1/8000 to
    1/30 s, the fastest first, without those that hold at no minute.
    ``usable_best_min`` counts the minutes in the light that was asked for, warm or
    golden.
    """

    first: Span | None
    last: Span | None
    usable_min: int
    usable_golden_min: int
    possible: bool
    stretches: tuple[Run, ...] = ()
    ladder: tuple[Rung, ...] = ()
    usable_best_min: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class MoonNight:
    """The moon over a drive: apparent altitude [°] by the minute, share lit.

    NaN in the minutes that are not dark.
    """

    altitude_deg: FloatArray
    fraction: float


def light(
    request: Request,
    utc: Instants,
    altitude_deg: FloatArray,
    apparent_deg: FloatArray,
    azimuth_deg: FloatArray,
    skies: list[daylight.Sky],
    sky_index: NDArray[np.int64],
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return lux by facing, the moon's apparent altitude and its share lit.

    Arrays run over n minutes; lux has shape (3, n). ``skies[sky_index[i]]`` is
    the sky of minute i. Altitudes and azimuth are the sun's.

    The moon's are NaN where the sun is above −6°. Its light comes in over one
    degree below that, so that no step shows.
    """
    angles = np.array([facing.angle_deg for facing in FACINGS])[:, None]
    lux = np.empty((len(FACINGS), len(utc)))
    moonlight, beside, moon_apparent, fraction = _moonlight(
        request, utc, altitude_deg, azimuth_deg
    )
    dark = np.isfinite(moon_apparent)
    for i, sky in enumerate(skies):
        here = sky_index == i
        lux[:, here] = daylight.subject_lux(
            apparent_deg[here], angles, sky, request.cover
        )
        here &= dark
        lux[:, here] += _from_moon(
            moonlight[here], moon_apparent[here], beside[here], sky, request.cover
        )
    return lux, moon_apparent, fraction


def _from_moon(
    level_lux: FloatArray,
    apparent_deg: FloatArray,
    beside_deg: FloatArray,
    sky: daylight.Sky,
    cover: str | daylight.Cover,
) -> FloatArray:
    """Return the moon's light by facing, shape (3, n); ``beside_deg`` from the sun.

    A camera at 90° from the sun may stand on either side of the animal: the mean.
    """
    angles = np.array([facing.angle_deg for facing in FACINGS])[:, None]
    left, right = (
        daylight.moonlit_lux(level_lux, apparent_deg, beside_deg + side, sky, cover)
        for side in (-angles, angles)
    )
    mean: FloatArray = (left + right) / 2
    return mean


def _moonlight(
    request: Request, utc: Instants, altitude_deg: FloatArray, azimuth_deg: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    level = np.zeros_like(altitude_deg)
    beside = np.zeros_like(altitude_deg)
    apparent = np.full_like(altitude_deg, np.nan)
    fraction = np.full_like(altitude_deg, np.nan)
    dark = altitude_deg < CIVIL_DEG
    if dark.any():
        place = request.place
        at = moon.position(utc[dark], place.latitude_deg, place.longitude_deg)
        apparent[dark] = sun.apparent_altitude_deg(at.altitude_deg)
        fraction[dark] = at.fraction
        beside[dark] = at.azimuth_deg - azimuth_deg[dark]
        fade = np.minimum(CIVIL_DEG - altitude_deg[dark], 1.0)
        level[dark] = fade * clear_sky.moon_lux(
            apparent[dark], at.elongation_deg, moon.parallax_deg(at.distance_km)
        )
    return level, beside, apparent, fraction


def moon_night(apparent_deg: FloatArray, fraction: FloatArray) -> MoonNight | None:
    """Return the moon over a drive from `light`'s arrays; None by day."""
    if np.isnan(fraction).all():
        return None
    return MoonNight(apparent_deg, float(np.nanmean(fraction)))


def iso_by_rig(lux: FloatArray, rigs: tuple[RigChoice, ...]) -> FloatArray:
    """Return the ISO each rig needs: shape (rigs, …) for lux of shape (…)."""
    shape = (len(rigs),) + (1,) * lux.ndim
    # A lens that loses light needs the ISO of one with a larger f-number.
    t_number = [c.f_number / c.rig.lens.transmission**0.5 for c in rigs]
    return exposure.iso_needed(
        lux,
        np.reshape(t_number, shape),
        np.reshape([c.shutter_s for c in rigs], shape),
    )


def set_iso(iso: FloatArray, rigs: tuple[RigChoice, ...]) -> FloatArray:
    """Return the ISO each rig is set to: what it needs, but never below its base.

    Where it would need less, the shutter gets faster instead, `RigChoice.set_text`.
    Shape (rigs, ...), as ``iso``.
    """
    base = np.reshape(
        [c.rig.body.base_iso for c in rigs], (-1,) + (1,) * (iso.ndim - 1)
    )
    result: FloatArray = np.maximum(iso, base)
    return result


def usable_by_spread(
    iso: FloatArray, rigs: tuple[RigChoice, ...], spread_stops: ArrayLike
) -> NDArray[np.bool_]:
    """Return where the needed ISO is within the ceiling.

    Parameters
    ----------
    iso : ndarray, shape (rigs, ...)
        Needed ISO.
    rigs : tuple of RigChoice
        For their ceilings.
    spread_stops : array_like, shape (...)
        Half-width of the spread, the same everywhere or by the minute. [stops]

    Returns
    -------
    ndarray of bool, shape (3, rigs, ...)
        As expected, at the dark end of the spread, at its bright end.
    """
    ceiling = np.reshape([c.iso_ceiling for c in rigs], (-1,) + (1,) * (iso.ndim - 1))
    stops = exposure.stops_over(iso, ceiling)
    spread = np.asarray(spread_stops, dtype=np.float64)
    return np.stack([stops <= 0, stops <= -spread, stops <= spread])


def shutters(request: Request) -> tuple[tuple[Shutter, ...], ...]:
    """Return each rig's own shutter time and the full stops, the fastest first."""

    def of(choice: RigChoice) -> tuple[Shutter, ...]:
        own = choice.shutter_s
        # 1/1000 written as 0.001 is the full stop itself.
        others = [s for s in FULL_STOPS_S if abs(s / own - 1) > _SAME]
        times = sorted([own, *others])
        shares = kit.sharp_share(
            choice.rig,
            choice.focal_mm,
            times,
            request.pace,
            request.distance_m,
            request.blur_px,
            request.hold,
            request.animal,
        )
        return tuple(map(Shutter, times, shares.tolist()))

    return tuple(of(choice) for choice in request.rigs)


def holds(
    iso: FloatArray,
    rigs: tuple[RigChoice, ...],
    ladders: tuple[tuple[Shutter, ...], ...],
) -> NDArray[np.bool_]:
    """Return where the ceiling allows each rung of each rig's ladder.

    A rung that is slower than the rig's own shutter time by a stop needs half of the
    ISO. Shape (rungs, rigs, ...) for ISO of shape (rigs, ...); a rig with fewer rungs
    than another has false in the last ones.
    """
    most = max(len(ladder) for ladder in ladders)
    stops = np.full((most, len(ladders)), -np.inf)
    for rig, (choice, ladder) in enumerate(zip(rigs, ladders, strict=True)):
        times = np.array([rung.shutter_s for rung in ladder])
        stops[: len(ladder), rig] = np.log2(times / choice.shutter_s)
    ones = (1,) * (iso.ndim - 1)
    ceilings = np.reshape([c.iso_ceiling for c in rigs], (-1, *ones))
    over = exposure.stops_over(iso, ceilings)
    allowed: NDArray[np.bool_] = over <= stops.reshape(*stops.shape, *ones)
    return allowed


def stretches_of(utc: Instants, mask: NDArray[np.bool_]) -> tuple[Run, ...]:
    """Return the first and last minute of each run of true ones; shapes (n,)."""
    return tuple(Run(utc[a], utc[b - 1]) for a, b in true_runs(mask))


def outcomes(
    utc: Instants,
    usable: NDArray[np.bool_],
    golden: NDArray[np.bool_],
    best: NDArray[np.bool_],
    holds: NDArray[np.bool_],
    ladders: tuple[tuple[Shutter, ...], ...],
) -> tuple[tuple[Outcome, ...], ...]:
    """Sum up the minutes of one drive, of which the last counts for nothing.

    Parameters
    ----------
    utc : ndarray, shape (n,)
        Its minutes, up to turn-back.
    usable : ndarray of bool, shape (3, rigs, facings, n)
        From `usable_by_spread`.
    golden : ndarray of bool, shape (n,)
        Whether the light is golden.
    best : ndarray of bool, shape (facings, n)
        Whether it is the light that was asked for.
    holds : ndarray of bool, shape (rungs, rigs, facings, n)
        Whether the ceiling allows a rung.
    ladders : tuple of tuple of Shutter
        Each rig's rungs, from `shutters`.

    Returns
    -------
    tuple
        An outcome by rig and facing.
    """
    mine = usable[0]
    within = mine[..., :-1]
    count = within.sum(axis=-1).tolist()
    in_best = (within & best[:, :-1]).sum(axis=-1).tolist()
    in_golden = (within & golden[:-1]).sum(axis=-1).tolist()
    starts = mine[..., 0] + (mine[..., 1:] & ~mine[..., :-1]).sum(axis=-1)
    first, last = _ends(usable)
    rung_first, rung_last = _ends(holds)
    instants = [*utc, None]  # −1 stands for none

    def outcome(rig: int, facing: int) -> Outcome:
        rungs = tuple(
            Rung(shutter.shutter_s, instants[a], instants[b], shutter.sharp_share)
            for shutter, a, b in zip(
                ladders[rig],
                rung_first[rig][facing],
                rung_last[rig][facing],
                strict=False,
            )
            if a >= 0
        )
        start, latest, earliest = (instants[i] for i in first[rig][facing])
        end, end_early, end_late = (instants[i] for i in last[rig][facing])
        possible = earliest is not None
        if start is None or end is None:
            return Outcome(None, None, 0, 0, possible, (), rungs)
        stretches: tuple[Run, ...] = (Run(start, end),)
        if starts[rig, facing] > 1:
            stretches = stretches_of(utc, mine[rig, facing])
        return Outcome(
            Span(start, earliest, latest),
            Span(end, end_early, end_late),
            count[rig][facing],
            in_golden[rig][facing],
            possible,
            stretches,
            rungs,
            in_best[rig][facing],
        )

    rigs, facings = usable.shape[1:3]
    return tuple(
        tuple(outcome(rig, facing) for facing in range(facings)) for rig in range(rigs)
    )


def _ends(mask: NDArray[np.bool_]) -> tuple[Any, Any]:
    """Return the indices of the first and last true minute, −1 where there is none.

    As nested lists of shape (rigs, facings, k) for a mask of shape (k, rigs, facings,
    n): Python reads single elements faster from lists.
    """
    some = mask.any(axis=-1)
    first = np.where(some, mask.argmax(axis=-1), -1)
    last = np.where(some, mask.shape[-1] - 1 - mask[..., ::-1].argmax(axis=-1), -1)
    return tuple(np.moveaxis(ends, 0, -1).tolist() for ends in (first, last))
