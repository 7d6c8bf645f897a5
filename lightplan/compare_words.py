"""What a comparison of lenses says, in sentences."""

import math

from lightplan import exposure, naming
from lightplan.compare import Gain, RigTotal, gains, totals
from lightplan.naming import Part, Parts
from lightplan.plan import FACING_INDEX, LETTERS, TripPlan


def lens_answer(plan: TripPlan, span: str) -> Parts:
    """Say what the fastest rig has over the first, and what a stop buys.

    ``span`` says over what: "the trip", "the year".
    """
    rigs = plan.request.rigs
    found = totals(plan.drives, rigs, FACING_INDEX[plan.request.facing])
    best = max(range(len(rigs)), key=lambda i: (found[i].usable_min, -i))
    other = 0 if best != 0 else _runner_up(found)
    if other is None or not plan.drives:
        return _stop(plan, found, 0)
    gain = next(g for g in gains(plan) if (g.rig, g.over) == (best, other))
    return (*_buys(plan, gain, span), *_stop(plan, found, other))


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
    ceiling = exposure.iso_text(gain.iso_to_match)
    held = any(drive.drive.session == "night" for drive in plan.drives)
    nights = ", nights counted in" if held else ""
    return (
        *_named(plan, gain.rig),
        Part(" instead of "),
        *_named(plan, gain.over),
        Part(" buys "),
        *_each(gain.per_drive_min),
        Part(naming.duration(gain.minutes), "strong"),
        Part(f" over {span}{nights}; "),
        Part(f"{LETTERS[gain.over]} at a ceiling of {ceiling} would do "),
        Part("the same. "),
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
