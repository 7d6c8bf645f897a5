"""A comparison of lenses in sentences."""

import math

from lightplan import naming
from lightplan.camera import exposure, picture
from lightplan.naming import Part, Parts
from lightplan.trip import compare, frame
from lightplan.trip.compare import Gain, RigTotal, leaves
from lightplan.trip.plan import TripPlan
from lightplan.trip.request import LETTERS


def lens_answer(
    plan: TripPlan, span: str, found: tuple[RigTotal, ...], gains: tuple[Gain, ...]
) -> Parts:
    """Say what the fastest rig has over the first, what a stop buys, what to leave.

    ``span`` is the time compared over: "the trip", "the year". ``found`` and
    ``gains`` are `compare.totals` and `compare.gains` of the plan. All at one
    picture; what exposure alone says stands beside it where that differs.
    """
    rigs = plan.request.rigs
    best = max(range(len(rigs)), key=lambda i: (found[i].picture_min, -i))
    other = 0 if best != 0 else _runner_up(found)
    converters = _converters(plan, found)
    if other is None or not plan.drives:
        return (*_stop(plan, found, 0), *converters)
    gain = next(g for g in gains if (g.rig, g.over) == (best, other))
    return (
        *_buys(plan, gain, span),
        *_stops_apart(plan, gain),
        *_stop(plan, found, other),
        *converters,
        *_leave(plan, found, span),
    )


def crops(plan: TripPlan) -> bool:
    """Return whether some rig's picture must be cropped to show what another's does."""
    return min(frame.shares_used(plan.request.rigs)) < 1 / 1.02


def _runner_up(found: tuple[RigTotal, ...]) -> int | None:
    others = range(1, len(found))
    return max(others, key=lambda i: found[i].picture_min) if others else None


def _at(plan: TripPlan) -> str:
    return " at the same picture" if crops(plan) else ""


def _buys(plan: TripPlan, gain: Gain, span: str) -> Parts:
    if gain.minutes <= 0:
        return (
            *_named(plan, gain.rig),
            Part(" and "),
            *_named(plan, gain.over),
            Part(f" are usable in the same minutes of {span}{_at(plan)}. "),
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
        Part(f" over {span}{nights}{_at(plan)}; "),
        Part(_for_the_same(plan, gain)),
    )


def _for_the_same(plan: TripPlan, gain: Gain) -> str:
    """Say which ISO a rig lacks; none is proposed that its owner will not use."""
    ceiling = plan.request.rigs[gain.over].ceiling_text
    needed = exposure.iso_text(gain.iso_to_match)
    return (
        f"for the same {LETTERS[gain.over]} would need {needed}, above its ceiling of "
        f"{ceiling}. "
    )


def _stops_apart(plan: TripPlan, gain: Gain) -> Parts:
    """Say by how many stops two rigs differ, where a crop makes exposure mislead."""
    if not crops(plan):
        return ()
    one, other = plan.request.rigs[gain.rig], plan.request.rigs[gain.over]
    light = compare.light_stops(one, other)
    bare = compare.exposure_stops(one, other)
    return (
        Part(f"At one shutter {LETTERS[gain.rig]} gathers "),
        Part(_stops_text(light), "strong"),
        Part(
            " of the animal’s light, the picture cropped to the same view; by exposure "
            f"alone it would be {_stops_text(bare)}. "
        ),
    )


def _stops_text(stops: float) -> str:
    """Return ``1.2 stops more``, ``0.3 stops less`` or ``as much``."""
    if abs(stops) < 0.05:
        return "as much"
    many = "stop" if f"{abs(stops):.1f}" == "1.0" else "stops"
    return f"{abs(stops):.1f} {many} {'more' if stops > 0 else 'less'}"


def _converters(plan: TripPlan, found: tuple[RigTotal, ...]) -> Parts:
    """Say what converters buy against cropping, and that they cost no light."""
    rigs = plan.request.rigs
    seen = frame.in_frame(plan.request)
    with_one = [i for i, c in enumerate(rigs) if c.rig.converter and seen[i]]
    if not with_one:
        return ()
    parts = [Part("Against cropping a converter costs none of the animal’s light: ")]
    for rig in with_one:
        pixels = getattr(seen[rig], "body_px", 0.0)
        bare = pixels / rigs[rig].rig.factor
        first = rig == with_one[0]
        gained = f"{naming.count(pixels)} instead of {naming.count(bare)}"
        animal = frame.subject(plan.request)[0].label
        parts += [
            Part("on " if first else ", on "),
            Part(LETTERS[rig], LETTERS[rig]),
            Part(
                f" it puts {gained} pixels along the {animal}"
                if first
                else f" {gained}"
            ),
        ]
    lost = [naming.duration(found[rig].converter_min or 0) for rig in with_one]
    return (*parts, Part(f"; by exposure alone it costs {' and '.join(lost)}. "))


def _leave(plan: TripPlan, found: tuple[RigTotal, ...], span: str) -> Parts:
    """Say which rig to leave, and which one not to."""
    costs = leaves(plan, found)
    least, most = costs[0], costs[-1]
    letter, rigs = LETTERS[least.rig], plan.request.rigs
    said = (
        Part("Leaving "),
        Part(letter, letter),
        Part(
            f" behind costs no golden light{_at(plan)}: whenever it works, another rig "
            f"does too; {_reach_left(plan, least)}. "
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


def _reach_left(plan: TripPlan, leave: compare.Leave) -> str:
    """Say how far the others reach, from how near, and which focal lengths go."""
    focal = plan.request.rigs[leave.rig].focal_mm
    text = f"the longest reach without it is {leave.reach_mm:.0f} mm"
    seen = frame.in_frame(plan.request)[leave.rig]
    if leave.reach_mm < focal:
        text += f" instead of {focal:.0f} mm"
        if seen is not None and leave.fills_at_m > 0.98 * seen.fills_at_m:
            text += ", whose smaller sensor frames the animal as tightly"
        elif seen is not None:
            animal = frame.subject(plan.request)[0]
            text += (
                f", and the {animal.label} fills {naming.percent(picture.FILLED)} of "
                f"the frame from {naming.metres(leave.fills_at_m)} instead of "
                f"{naming.metres(seen.fills_at_m)}"
            )
    ranges = [
        f"{low:.0f} mm" if high / low < 1.05 else f"{low:.0f}–{high:.0f} mm"
        for low, high in leave.lost_mm
        if high < focal or high / low >= 1.05 or leave.reach_mm >= focal
    ]
    if ranges:
        text += f"; no other rig has {' and '.join(ranges)}"
    return text


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
