"""Runs of minutes: the light, the ISO each rig needs, and what comes of it."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lightplan.arrays import FloatArray, Instants
from lightplan.camera import exposure
from lightplan.light import clear_sky, daylight
from lightplan.sky import moon, sun
from lightplan.sky.windows import CIVIL_DEG
from lightplan.trip.request import FACINGS, Request, RigChoice


class Span(NamedTuple):
    """A minute with the earliest and latest that the spread allows.

    ``earliest_utc`` or ``latest_utc`` is None where, at that end of the
    spread, the rig would not be usable at any minute of the drive.
    """

    utc: np.datetime64
    earliest_utc: np.datetime64 | None
    latest_utc: np.datetime64 | None


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one rig can do on one drive, from one side of the sun.

    ``first`` and ``last`` are None where the rig is never usable; minutes
    count whole minutes within the gates at which needed ISO ≤ ceiling.
    ``possible`` is true if the bright end of the spread has a usable minute.
    """

    first: Span | None
    last: Span | None
    usable_min: int
    usable_golden_min: int
    possible: bool


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
    skies: list[str],
    sky_index: NDArray[np.int64],
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return lux by facing, the moon's apparent altitude and its share lit.

    Arrays run over n minutes; lux has shape (3, n). ``skies[sky_index[i]]`` is
    the sky of minute i.

    The moon's are NaN where the sun is above −6°. Its light comes in over one
    degree below that, so that no step shows.
    """
    angles = np.array([facing.angle_deg for facing in FACINGS])[:, None]
    lux = np.empty((len(FACINGS), len(utc)))
    moonlight, moon_apparent, fraction = _moonlight(request, utc, altitude_deg)
    for i, sky in enumerate(skies):
        here = sky_index == i
        lux[:, here] = daylight.subject_lux(
            apparent_deg[here], angles, sky, request.cover
        ) + daylight.moonlit_lux(moonlight[here], sky, request.cover)
    return lux, moon_apparent, fraction


def _moonlight(
    request: Request, utc: Instants, altitude_deg: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    level = np.zeros_like(altitude_deg)
    apparent = np.full_like(altitude_deg, np.nan)
    fraction = np.full_like(altitude_deg, np.nan)
    dark = altitude_deg < CIVIL_DEG
    if dark.any():
        place = request.place
        at = moon.position(utc[dark], place.latitude_deg, place.longitude_deg)
        apparent[dark] = sun.apparent_altitude_deg(at.altitude_deg)
        fraction[dark] = at.fraction
        fade = np.minimum(CIVIL_DEG - altitude_deg[dark], 1.0)
        level[dark] = fade * clear_sky.moon_lux(
            apparent[dark], at.elongation_deg, moon.parallax_deg(at.distance_km)
        )
    return level, apparent, fraction


def moon_night(apparent_deg: FloatArray, fraction: FloatArray) -> MoonNight | None:
    """Return the moon over a drive from `light`'s arrays; None by day."""
    if np.isnan(fraction).all():
        return None
    return MoonNight(apparent_deg, float(np.nanmean(fraction)))


def iso_by_rig(lux: FloatArray, rigs: tuple[RigChoice, ...]) -> FloatArray:
    """Return the ISO each rig needs: shape (rigs, …) for lux of shape (…)."""
    shape = (len(rigs),) + (1,) * lux.ndim
    # A lens that swallows light needs ISO as one with a larger f-number would.
    t_number = [c.f_number / c.rig.lens.transmission**0.5 for c in rigs]
    return exposure.iso_needed(
        lux,
        np.reshape(t_number, shape),
        np.reshape([c.shutter_s for c in rigs], shape),
    )


def usable_by_spread(
    iso: FloatArray, rigs: tuple[RigChoice, ...], spread_stops: ArrayLike
) -> NDArray[np.bool_]:
    """Tell where needed ISO stays within the ceiling.

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


def outcomes(
    utc: Instants, usable: NDArray[np.bool_], golden: NDArray[np.bool_]
) -> tuple[tuple[Outcome, ...], ...]:
    """Sum up (3, rigs, facings, n) usable minutes of one drive."""
    within = usable[..., :-1]  # the last minute of the grid is the gate itself
    some = np.asarray(usable.any(axis=-1))
    first = utc[usable.argmax(axis=-1)]
    last = utc[usable.shape[-1] - 1 - usable[..., ::-1].argmax(axis=-1)]
    count = within[0].sum(axis=-1)
    in_golden = (within[0] & golden[:-1]).sum(axis=-1)

    def at(
        instants: Instants, case: int, rig: int, facing: int
    ) -> np.datetime64 | None:
        here: np.datetime64 = instants[case, rig, facing]
        return here if some[case, rig, facing] else None

    def outcome(rig: int, facing: int) -> Outcome:
        bright = bool(some[2, rig, facing])
        if not some[0, rig, facing]:
            return Outcome(None, None, 0, 0, bright)
        start = Span(
            first[0, rig, facing],
            at(first, 2, rig, facing),
            at(first, 1, rig, facing),
        )
        end = Span(
            last[0, rig, facing], at(last, 1, rig, facing), at(last, 2, rig, facing)
        )
        return Outcome(
            start,
            end,
            int(count[rig, facing]),
            int(in_golden[rig, facing]),
            bright,
        )

    rigs, facings = usable.shape[1:3]
    return tuple(
        tuple(outcome(rig, facing) for facing in range(facings)) for rig in range(rigs)
    )
