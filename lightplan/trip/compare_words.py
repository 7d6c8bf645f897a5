"""A comparison of lenses in sentences."""

import math

from lightplan import naming
from lightplan.camera import exposure
from lightplan.naming import Part, Parts
from lightplan.trip.compare import Gain, RigTotal, gains, leaves, totals
from lightplan.trip.plan import TripPlan
from lightplan.trip.request import FACING_INDEX, LETTERS


def lens_answer(plan: TripPlan, span: str) -> Parts:
    """Say what the fastest rig has over the first, what a stop buys, what to leave.

    ``span`` is the time compared over: "the trip", "the year".
    """
    rigs = plan.request.rigs
    found = totals(plan.drives, rigs, FACING_INDEX[plan.request.facing])
    best = max(range(len(rigs)), key=lambda i: (found[i].usable_min, -i))
    other = 0 if best != 0 else _runner_up(found)
    if other is None or not plan.drives:
        return _stop(plan, found, 0)
    gain = next(g for g in gains(plan) if (g.rig, g.over) == (best, other))
    return (
        *_buys(plan, gain, span),
        *_stop(plan, found, other),
        *_leave(plan, span),
    )


def _runner_up(found: tuple[RigTotal, ...]) -> int | None:
    others = range(1, len(found))
    return max(others, key=lambda i: found[i].usable_min) if others else None


def _buys(plan: TripPlan, gain: Gain, span: str) -> Parts:
    if gain.minutes <= 0:
        return (
            *_named(plan, gain.rig),
            Part(" and "),
            *_named(plan, gain.over),
            Part(f" are usable in the same minutes of {span}. "),
        )
    held = any(drive.session == "night" for drive in plan.drives)
    nights = ", nights included" if held else ""
    return (
        *_named(plan, gain.rig),
        Part(" instead of "),
        *_named(plan, gain.over),
        Part(" buys "),
        *_each(gain.per_drive_min),
        Part(naming.duration(gain.minutes), "strong"),
        Part(f" over {span}{nights}; "),
        Part(_for_the_same(plan, gain)),
    )


def _for_the_same(plan: TripPlan, gain: Gain) -> str:
    """Say which ISO a rig lacks; none is proposed that its owner will not use."""
    ceiling = plan.request.rigs[gain.over].iso_ceiling
    needed = exposure.iso_text(gain.iso_to_match)
    return (
        f"for the same {LETTERS[gain.over]} would need {needed}, above its ceiling of "
        f"ISO {ceiling:g}. "
    )


def _leave(plan: TripPlan, span: str) -> Parts:
    """Say which rig to leave, and which one not to."""
    costs = leaves(plan)
    least, most = costs[0], costs[-1]
    letter, rigs = LETTERS[least.rig], plan.request.rigs
    reach = f"the longest reach without it is {least.reach_mm:.0f} mm"
    if least.reach_mm < rigs[least.rig].focal_mm:
        reach += f" instead of {rigs[least.rig].focal_mm:.0f} mm"
    said = (
        Part("Leaving "),
        Part(letter, letter),
        Part(
            " behind costs no golden light: whenever it works, another rig does too; "
            f"{reach}. "
        ),
    )
    if len(rigs) < 3 or not most.lost_min:
        return said
    letter = LETTERS[most.rig]
    return (
        *said,
        Part("Leaving "),
        Part(letter, letter),
        Part(" would cost "),
        Part(naming.duration(most.lost_min), "strong"),
        Part(f" of it over {span}. "),
    )


def _each(minutes: tuple[float, float]) -> Parts:
    said = per_drive(minutes)
    return (Part(said, "strong"), Part(", ")) if said else ()


def _stop(plan: TripPlan, found: tuple[RigTotal, ...], rig: int) -> Parts:
    if not per_drive(found[rig].stop_min):
        return ()
    return (
        Part("One stop of aperture, shutter or ISO is worth "),
        Part(per_drive(found[rig].stop_min), "strong"),
        Part(f" to {LETTERS[rig]}. "),
    )


def _named(plan: TripPlan, rig: int) -> Parts:
    return (Part(f"{LETTERS[rig]} {plan.request.rigs[rig].label}", LETTERS[rig]),)


def per_drive(minutes: tuple[float, float]) -> str:
    """Return ``8 min a morning and 9 min an evening``; nothing of nights alone."""
    morning, evening = minutes
    said = []
    if not math.isnan(morning):
        said.append(f"{naming.duration(round(morning))} a morning")
    if not math.isnan(evening):
        said.append(f"{naming.duration(round(evening))} an evening")
    return " and ".join(said)
