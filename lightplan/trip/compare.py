"""Which lens, which drives: the choices before the trip, as minutes of light."""

from collections.abc import Callable, Sequence
from functools import partial
from typing import NamedTuple

import numpy as np

from lightplan import errors
from lightplan.camera import exposure
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import FACING_INDEX, RigChoice

ACTION_SHUTTER_S = 1 / 2500  # common practice for an animal in action


class RigTotal(NamedTuple):
    """What a rig can do over some drives, and what a stop would buy it.

    ``stop_min`` holds, for morning and evening, the mean minutes a drive that
    one stop more (of aperture, shutter or ISO ceiling) adds; NaN where there is
    no such drive. ``converter_min`` is what the converter's aperture costs over
    all of them; None without one.
    """

    usable_min: int
    golden_min: int
    stop_min: tuple[float, float]
    converter_min: int | None


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

    ``lost_min`` are the usable minutes of golden light that no other rig has,
    ``reach_mm`` is the longest focal length among the others.
    """

    rig: int
    lost_min: int
    reach_mm: float


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
    return tuple(
        RigTotal(
            sum(d.outcomes[rig][facing].usable_min for d in drives),
            sum(d.outcomes[rig][facing].usable_golden_min for d in drives),
            _by_session(drives, partial(_more_by, rig, facing, rigs[rig])),
            _converter_min(drives, rig, facing, rigs[rig]),
        )
        for rig in range(len(rigs))
    )


def gains(plan: TripPlan) -> tuple[Gain, ...]:
    """Return what every rig has over every other, for the requested side."""
    facing = FACING_INDEX[plan.request.facing]
    rigs = plan.request.rigs
    return tuple(
        _gain(plan.drives, rigs, facing, a, b)
        for a in range(len(rigs))
        for b in range(len(rigs))
        if a != b
    )


def _gain(
    drives: Sequence[DrivePlan],
    rigs: tuple[RigChoice, ...],
    facing: int,
    rig: int,
    over: int,
) -> Gain:
    def ahead(drive: DrivePlan) -> int:
        mine, other = drive.outcomes[rig][facing], drive.outcomes[over][facing]
        return mine.usable_min - other.usable_min

    golden = sum(
        d.outcomes[rig][facing].usable_golden_min
        - d.outcomes[over][facing].usable_golden_min
        for d in drives
    )
    return Gain(
        rig,
        over,
        sum(ahead(d) for d in drives),
        golden,
        _by_session(drives, ahead),
        iso_to_match(rigs[over], rigs[rig]),
    )


def leaves(plan: TripPlan) -> tuple[Leave, ...]:
    """Return what leaving each rig costs, the least missed first.

    Among equals that is the one without which the reach is longest, then the one
    with fewest usable minutes, then the last. Empty for a single rig.

    Rigs need ISO in a fixed ratio, so that a minute that a slow one can use a fast
    one can use too: with a rig goes what it is ahead of the best of the others.
    """
    rigs = plan.request.rigs
    found = totals(plan.drives, rigs, FACING_INDEX[plan.request.facing])
    every = range(len(rigs))
    costs = []
    for rig in every:
        others = [i for i in every if i != rig]
        if others:
            ahead = found[rig].golden_min - max(found[i].golden_min for i in others)
            reach = max(rigs[i].focal_mm for i in others)
            costs.append(Leave(rig, max(ahead, 0), reach))
    return tuple(
        sorted(
            costs,
            key=lambda c: (c.lost_min, -c.reach_mm, found[c.rig].usable_min, -c.rig),
        )
    )


def iso_to_match(slower: RigChoice, faster: RigChoice) -> float:
    """Return the ISO ceiling at which one rig is usable when the other is. [ISO].

    Both need ISO in a fixed ratio, N²/t against N²/t, whatever the light.
    """
    behind = exposure.ev(_t_number(slower), slower.shutter_s) - exposure.ev(
        _t_number(faster), faster.shutter_s
    )
    return float(faster.iso_ceiling * 2.0**behind)


def _t_number(choice: RigChoice) -> float:
    return float(choice.f_number / choice.rig.lens.transmission**0.5)


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
