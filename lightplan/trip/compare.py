"""Which lens, which drives: the choices before the trip, as minutes of light.

Lenses are held against one another at one picture: every rig's is cropped to the
narrowest angle of view among them, and a crop is as noisy as its share of the frame
makes it. What exposure alone says, each rig filling its own frame, comes second.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lightplan import errors
from lightplan.camera import exposure, picture
from lightplan.trip import frame
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import FACING_INDEX, RigChoice

ACTION_SHUTTER_S = 1 / 2500  # common practice for an animal in action


class RigTotal(NamedTuple):
    """What a rig can do over some drives, and what a stop would buy it.

    ``stop_min`` holds, for morning and evening, the mean minutes a drive that
    one stop more (of aperture, shutter or ISO ceiling) adds; NaN where there is
    no such drive. ``converter_min`` is what the converter's aperture costs over
    all of them by exposure alone; None without one. ``picture_min`` and
    ``picture_golden_min`` count the minutes usable at one picture.
    """

    usable_min: int
    golden_min: int
    stop_min: tuple[float, float]
    converter_min: int | None
    picture_min: int
    picture_golden_min: int


class Gain(NamedTuple):
    """What one rig has over another: minutes, and the ISO that would match it.

    ``per_drive_min`` holds mean minutes for morning and evening, NaN where there
    is no such drive. ``iso_to_match`` is the ceiling at which the other rig
    would be usable in the same minutes.
    """

    rig: int
    over: int
    minutes: int
    golden_min: int
    per_drive_min: tuple[float, float]
    iso_to_match: float


class Leave(NamedTuple):
    """What leaving a rig behind costs.

    ``lost_min`` are the usable minutes of golden light that no other rig has at one
    picture, ``reach_mm`` is the longest focal length among the others. ``lost_mm``
    are the ranges of focal lengths that none of them has; ``fills_at_m`` is how far
    the animal is that fills `picture.FILLED` of the best of their frames.
    """

    rig: int
    lost_min: int
    reach_mm: float
    lost_mm: tuple[tuple[float, float], ...] = ()
    fills_at_m: float = 0.0


class Want(NamedTuple):
    """What drives can be ordered by."""

    key: str
    label: str


WANTS = (
    Want("front", "golden light from the front"),
    Want("back", "golden light from behind"),
    Want("action", "action at 1/2500 s"),
    Want("usable", "most usable minutes"),
)


def totals(
    drives: Sequence[DrivePlan], rigs: tuple[RigChoice, ...], facing: int
) -> tuple[RigTotal, ...]:
    """Return what each rig can do over some drives.

    Parameters
    ----------
    drives : sequence of DrivePlan
        Of a `TripPlan`: all, or those marked.
    rigs : tuple of RigChoice
        The plan's rigs.
    facing : int
        Index of the side of the sun.
    """
    counted = count(drives, at_one_picture(rigs), facing)
    minutes, golden = (found.sum(axis=1).tolist() for found in counted)
    return tuple(
        RigTotal(
            sum(d.outcomes[rig][facing].usable_min for d in drives),
            sum(d.outcomes[rig][facing].usable_golden_min for d in drives),
            _by_session(drives, partial(_more_by, rig, facing, rigs[rig])),
            _converter_min(drives, rig, facing, rigs[rig]),
            minutes[rig],
            golden[rig],
        )
        for rig in range(len(rigs))
    )


class Counted(NamedTuple):
    """Usable minutes of rigs, shape (rigs, drives): all, and those in golden light."""

    minutes: NDArray[np.int64]
    golden: NDArray[np.int64]


def count(
    drives: Sequence[DrivePlan], rigs: tuple[RigChoice, ...], facing: int
) -> Counted:
    """Count the minutes that a plan's rigs can use with ceilings that may be others.

    ``rigs`` are those of the plan, in order, but for ``iso_ceiling``; ``facing`` is
    the index of the side of the sun.
    """
    ceilings = np.array([[choice.iso_ceiling] for choice in rigs])
    found = np.zeros((2, len(rigs), len(drives)), dtype=np.int64)
    for i, drive in enumerate(drives):
        iso = drive.iso[:, facing, : drive.until]
        within = exposure.stops_over(iso, ceilings) <= 0
        found[0, :, i] = within.sum(axis=1)
        for s in drive.windows:
            if s.window.key == "golden":
                lit = slice(drive.minute(s.start_utc), drive.minute(s.end_utc))
                found[1, :, i] += within[:, lit].sum(axis=1)
    return Counted(found[0], found[1])


def at_one_picture(rigs: tuple[RigChoice, ...]) -> tuple[RigChoice, ...]:
    """Return the rigs with ceilings as low as the crop to one framing makes them.

    Of a frame of which a quarter is left, ISO 1600 is as noisy as 6400 of the whole.
    """
    return tuple(
        replace(choice, iso_ceiling=choice.iso_ceiling * share)
        for choice, share in zip(rigs, frame.shares_used(rigs), strict=True)
    )


def light_stops(one: RigChoice, other: RigChoice) -> float:
    """Return the stops of the animal's light that ``one`` gathers over ``other``.

    At one shutter and at one picture, transmission included; see
    `picture.light_stops`.
    """
    return picture.light_stops(
        other.focal_mm, other.t_number, one.focal_mm, one.t_number
    )


def exposure_stops(one: RigChoice, other: RigChoice) -> float:
    """Return the stops that ``one`` is brighter than ``other``, at one shutter."""
    return 2 * float(np.log2(other.t_number / one.t_number))


def gains(plan: TripPlan, one_picture: bool = False) -> tuple[Gain, ...]:
    """Return what every rig has over every other, for the requested side.

    Each fills its own frame, or with ``one_picture`` all show the same.
    """
    facing = FACING_INDEX[plan.request.facing]
    rigs = plan.request.rigs
    counted_with = at_one_picture(rigs) if one_picture else rigs
    counted = count(plan.drives, counted_with, facing)
    # A crop lowers ceilings; people set those of whole frames.
    whole = [
        a.iso_ceiling / b.iso_ceiling for a, b in zip(rigs, counted_with, strict=True)
    ]
    return tuple(
        _gain(
            plan.drives,
            counted,
            a,
            b,
            iso_to_match(counted_with[b], counted_with[a]) * whole[b],
        )
        for a in range(len(rigs))
        for b in range(len(rigs))
        if a != b
    )


def _gain(
    drives: Sequence[DrivePlan],
    counted: Counted,
    rig: int,
    over: int,
    matching_iso: float,
) -> Gain:
    ahead = counted.minutes[rig] - counted.minutes[over]
    golden = counted.golden[rig] - counted.golden[over]
    return Gain(
        rig,
        over,
        int(ahead.sum()),
        int(golden.sum()),
        _by_session(drives, dict(zip(drives, ahead.tolist(), strict=True)).__getitem__),
        matching_iso,
    )


def leaves(
    plan: TripPlan, found: Sequence[RigTotal] | None = None
) -> tuple[Leave, ...]:
    """Return what leaving each rig costs, the least missed first.

    ``found`` are the `totals` of the plan's drives, worked out here if left open.
    Among equals that is the one without which the reach is longest, then the one
    with fewest usable minutes, then the last. Empty for a single rig.

    Rigs need ISO in a fixed ratio, so that a minute that a slow one can use a fast
    one can use too: with a rig goes what it is ahead of the best of the others.
    """
    rigs = plan.request.rigs
    if len(rigs) == 1:
        return ()
    if found is None:
        found = totals(plan.drives, rigs, FACING_INDEX[plan.request.facing])
    fills = [seen.fills_at_m if seen else 0.0 for seen in frame.in_frame(plan.request)]
    return leave_costs(rigs, found, fills)


def leave_costs(
    rigs: tuple[RigChoice, ...], found: Sequence[RigTotal], fills_at_m: Sequence[float]
) -> tuple[Leave, ...]:
    """Return `leaves` of two rigs or more from what each can do and how far it reaches.

    ``fills_at_m`` is `frame.InFrame.fills_at_m` of each.
    """
    costs = []
    for rig in range(len(rigs)):
        others = [i for i in range(len(rigs)) if i != rig]
        golden = max(found[i].picture_golden_min for i in others)
        costs.append(
            Leave(
                rig,
                max(found[rig].picture_golden_min - golden, 0),
                max(rigs[i].focal_mm for i in others),
                _lost_mm(rigs[rig], [rigs[i] for i in others]),
                max(fills_at_m[i] for i in others),
            )
        )
    return tuple(
        sorted(
            costs,
            key=lambda c: (c.lost_min, -c.reach_mm, found[c.rig].picture_min, -c.rig),
        )
    )


def _lost_mm(
    choice: RigChoice, others: Sequence[RigChoice]
) -> tuple[tuple[float, float], ...]:
    """Return the focal lengths of a lens that no other gives the view of.

    Those of other sensors count by the angle of view that they have there.
    """
    width = choice.rig.body.width_mm
    left = [choice.rig.focal_range_mm]
    for other in others:
        scale = width / other.rig.body.width_mm
        low, high = (scale * focal for focal in other.rig.focal_range_mm)
        left = [
            part
            for a, b in left
            # A twentieth of slack: 400 mm does for 399 mm.
            for part in ((a, min(b, low / 1.05)), (max(a, high * 1.05), b))
            if part[0] <= part[1]
        ]
    return tuple(left)


def iso_to_match(slower: RigChoice, faster: RigChoice) -> float:
    """Return the ISO ceiling at which one rig is usable when the other is. [ISO].

    Both need ISO in a fixed ratio, N²/t against N²/t, whatever the light.
    """
    behind = exposure.ev(slower.t_number, slower.shutter_s) - exposure.ev(
        faster.t_number, faster.shutter_s
    )
    return float(faster.iso_ceiling * 2.0**behind)


def score(drive: DrivePlan, want: str, rigs: tuple[RigChoice, ...], facing: int) -> int:
    """Return a drive's minutes of what is wanted, with the best of the rigs.

    Parameters
    ----------
    drive : DrivePlan
        The drive.
    want : str
        A key of `WANTS`: golden light usable from the front or from behind,
        minutes usable at an action shutter or at the rig's own, both from the
        requested side.
    rigs : tuple of RigChoice
        The plan's rigs.
    facing : int
        Index of the requested side of the sun.

    Raises
    ------
    ValueError
        If the want is unknown.
    """
    if want in ("front", "back"):
        side = FACING_INDEX[want]
        return max(rig[side].usable_golden_min for rig in drive.outcomes)
    if want == "action":
        return max(
            drive.outcomes[i][facing].usable_min - _more_loss(drive, i, facing, choice)
            for i, choice in enumerate(rigs)
        )
    if want == "usable":
        return max(rig[facing].usable_min for rig in drive.outcomes)
    raise ValueError(errors.one_of("order", want, (w.key for w in WANTS)))


def _more_loss(drive: DrivePlan, rig: int, facing: int, choice: RigChoice) -> int:
    """Minutes lost where the shutter must be an action shutter."""
    stops = float(np.log2(ACTION_SHUTTER_S / choice.shutter_s))
    return -_more(drive, rig, facing, choice, min(stops, 0.0))


def _more(
    drive: DrivePlan, rig: int, facing: int, choice: RigChoice, stops: float
) -> int:
    """Minutes that some stops more would add to a rig on a drive."""
    over = exposure.stops_over(
        drive.iso[rig, facing, : drive.until], choice.iso_ceiling
    )
    return int((over <= stops).sum()) - drive.outcomes[rig][facing].usable_min


def _more_by(rig: int, facing: int, choice: RigChoice, drive: DrivePlan) -> int:
    return _more(drive, rig, facing, choice, 1.0)


def _converter_min(
    drives: Sequence[DrivePlan], rig: int, facing: int, choice: RigChoice
) -> int | None:
    if choice.rig.converter is None:
        return None
    stops = 2 * float(np.log2(choice.rig.factor))
    return sum(_more(d, rig, facing, choice, stops) for d in drives)


def _by_session(
    drives: Sequence[DrivePlan], minutes: Callable[[DrivePlan], int]
) -> tuple[float, float]:
    of = {
        session: [minutes(d) for d in drives if d.session == session]
        for session in ("morning", "evening")
    }
    morning, evening = (
        float(np.mean(values)) if values else float("nan") for values in of.values()
    )
    return morning, evening
