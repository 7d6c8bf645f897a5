"""The best light of a drive in words: warm light, the sun on the animal, and why."""

import numpy as np

from lightplan import naming
from lightplan.light import air, daylight
from lightplan.naming import Part
from lightplan.trip.minutes import Run
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import FACING_INDEX, FACINGS


def best(plan: TripPlan, drive: DrivePlan) -> list[Part]:
    """Return when the light is best: warm and with the sun on it, or golden.

    ``warm light 17:13–17:38, sun on the animal until 17:42``; in the morning the sun
    comes first.
    """
    if plan.request.gold == "golden":
        return _golden(plan, drive)
    if not drive.kind.has_beam:
        return [Part("no warm light and no sun on the animal under this sky")]
    warm, sun = _warm(plan, drive), _sun(plan, drive)
    both = [sun, warm] if drive.session == "morning" else [warm, sun]
    return [*both[0], Part(", "), *both[1]]


def _golden(plan: TripPlan, drive: DrivePlan) -> list[Part]:
    spans = [s for s in drive.windows if s.window.key == "golden"]
    if not spans:
        return [Part(f"no golden light {drive.said.inside}")]
    parts = [Part("golden light ")]
    for i, span in enumerate(spans):
        start, end = plan.clock(span.start_utc), plan.clock(span.end_utc)
        parts += [Part(" and ")] * (i > 0)
        if span.start_utc == drive.opens_utc and drive.gated:
            parts += [Part("from the gate to "), Part(end, "strong")]
        elif span.end_utc == drive.closes_utc and drive.gated:
            parts += [Part("from "), Part(start, "strong"), Part(" to the gate")]
        else:
            parts.append(Part(f"{start}–{end}", "strong"))
    return parts


def _warm(plan: TripPlan, drive: DrivePlan) -> list[Part]:
    if not drive.warm:
        return [Part(f"no warm light {drive.said.inside}")]
    parts = [Part("warm light ")]
    for i, run in enumerate(drive.warm):
        parts += [Part(" and ")] * (i > 0)
        parts.append(Part(times(plan, run), "strong"))
    return parts


def _sun(plan: TripPlan, drive: DrivePlan) -> list[Part]:
    if not drive.sun_on:
        return [Part("no sun on the animal")]
    first, last = drive.sun_on[0].first_utc, drive.sun_on[-1].last_utc
    whole = first == drive.opens_utc, last == drive.closes_utc
    if all(whole):
        return [Part("sun on the animal throughout")]
    if whole[0]:
        return [Part("sun on the animal until "), Part(plan.clock(last), "strong")]
    if whole[1]:
        return [Part("sun on the animal from "), Part(plan.clock(first), "strong")]
    span = f"{plan.clock(first)}–{plan.clock(last)}"
    return [Part("sun on the animal "), Part(span, "strong")]


def times(plan: TripPlan, run: Run) -> str:
    """Return ``17:13–17:38``, the first and the last minute of a run."""
    return f"{plan.clock(run.first_utc)}–{plan.clock(run.last_utc)}"


def why(plan: TripPlan, drive: DrivePlan) -> str:
    """Say what ends and begins the warm light and the sun on the animal, and why."""
    if drive.session == "night" or plan.request.gold == "golden":
        return ""
    side = FACINGS[FACING_INDEX[plan.request.facing]].label
    warm_k = naming.kelvin(plan.request.warm_k)
    if not drive.kind.has_beam:
        return _without_beam(drive)
    sentences = [_of_sun(plan, drive)]
    if drive.warm:
        sentences.append(_of_warm(plan, drive, side, warm_k))
    else:
        sentences.append(_none_warm(plan, drive, side, warm_k))
    if drive.kind.cloud:
        sentences.append("Between the clouds it is as under a clear sky.")
    return " ".join(filter(None, [*sentences, _balance(plan, drive)]))


def _without_beam(drive: DrivePlan) -> str:
    text = f"Under {drive.kind.label} nothing of the beam comes through"
    kelvin = drive.kelvin[0][np.isfinite(drive.kelvin[0])]
    if not len(kelvin):
        return f"{text}."
    middle = naming.kelvin(float(np.median(kelvin)))
    return f"{text}: all sides are lit alike, about {middle}."


def _high(drive: DrivePlan, utc: np.datetime64) -> str:
    return f"{max(float(drive.apparent_deg[drive.minute(utc)]), 0.0):.1f}°"


def _of_sun(plan: TripPlan, drive: DrivePlan) -> str:
    through = _through(plan, drive)
    if not drive.sun_on:
        if not (drive.apparent_deg > 0).any():
            return ""
        return (
            f"The sun is up, but through {through} its beam adds less than half a stop "
            "to the animal."
        )
    first, last = drive.sun_on[0].first_utc, drive.sun_on[-1].last_utc
    if drive.session == "morning" and first > drive.opens_utc:
        return (
            f"The sun is on the animal from {plan.clock(first)}, {_high(drive, first)} "
            f"high: lower, so little of its beam is left, through {through}, that the "
            "sky lights the animal more evenly."
        )
    if drive.session == "evening" and last < drive.closes_utc:
        return (
            f"The sun leaves the animal at {plan.clock(last)}, still "
            f"{_high(drive, last)} high: below, through {through}, its beam adds less "
            "than half a stop."
        )
    return ""


def _through(plan: TripPlan, drive: DrivePlan) -> str:
    """Return ``dusty air and woodland``: what takes the beam away."""
    depth, cover = drive.kind.aod500, daylight.cover_named(plan.request.cover)
    taken = [air.nearest(depth).label if depth else "the air"]
    if drive.kind.cloud:  # which takes far more
        taken = [drive.kind.label]
    taken += [cover.label] if cover.beam_share < 1 else []
    return " and ".join(taken)


def _of_warm(plan: TripPlan, drive: DrivePlan, side: str, warm_k: str) -> str:
    at = [drive.apparent_deg[drive.minute(utc)] for run in drive.warm for utc in run]
    text = (
        f"Warm is below {warm_k}, {side}: with the sun under {max(at):.1f}° the long way "
        "through the air takes the blue out of its beam"
    )
    if min(at) > drive.apparent_deg.min() + 0.5:
        text += (
            f"; under {max(min(at), 0):.1f}° too little of the beam is left, and the "
            "blue of the sky outweighs it"
        )
    return f"{text}."


def _none_warm(plan: TripPlan, drive: DrivePlan, side: str, warm_k: str) -> str:
    kelvin = drive.kelvin[FACING_INDEX[plan.request.facing]]
    up = np.flatnonzero((drive.apparent_deg > 0) & np.isfinite(kelvin))
    if not len(up):
        return "The sun is down: what is left is the blue of the sky."
    warmest = up[kelvin[up].argmin()]
    lowest = float(drive.apparent_deg[up].min())
    why = f"Before it turns warm, the beam is lost in {_through(plan, drive)}."
    if drive.apparent_deg[warmest] < lowest + 0.3:
        why = f"The sun, {lowest:.1f}° high at its lowest, keeps too much of its blue."
    return (
        f"No light is warm, {side}: the warmest has "
        f"{naming.kelvin(float(kelvin[warmest]))}, and warm is below {warm_k}. {why}"
    )


def _balance(plan: TripPlan, drive: DrivePlan) -> str:
    """Hint at the white balance, for those who set it."""
    kelvin = drive.kelvin[FACING_INDEX[plan.request.facing]]
    lit = np.flatnonzero(np.isfinite(kelvin))
    if not len(lit):
        return ""
    ends = sorted({int(lit[0]), int(lit[-1])})
    said = [
        f"{naming.kelvin(float(kelvin[i]))} at {plan.clock(drive.utc[i])}" for i in ends
    ]
    warmest = int(lit[np.argmin(kelvin[lit])])
    middle = naming.kelvin(float(kelvin[warmest]))
    if not any(text.startswith(middle) for text in said):
        said.insert(1, f"{middle} at {plan.clock(drive.utc[warmest])}")
    return (
        f"White balance, if you set it: {', '.join(said)}; half-way to 5,500 K keeps some "
        "of the colour."
    )
