"""The animal in each rig's frame, in sentences and cells."""

import numpy as np
from numpy.typing import NDArray

from lightplan import naming
from lightplan.arrays import true_runs
from lightplan.camera import exposure, focus, picture
from lightplan.camera.noise import output_named
from lightplan.naming import Part, Parts
from lightplan.trip import frame, ladder_words
from lightplan.trip.frame import InFrame
from lightplan.trip.minutes import Run, set_iso
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import FACING_INDEX, LETTERS, Request, RigChoice

HEAD = (
    "Rig",
    "Fills",
    f"{naming.percent(picture.FILLED)} from",
    "Body / head, px",
    "Sharp from – to",
    "Nose to tail",
    "Two animals",
    "Background",
    "Crop",
    "Clean / noise acceptable to",
)


def answer(request: Request) -> Parts:
    """Say how large the animal is in the frame, what of it is sharp, how clean."""
    seen = frame.in_frame(request)
    at = next((i for i, one in enumerate(seen) if one is not None), None)
    if at is None:
        return (Part("The animal is nearer than any of these lenses focuses. "),)
    one = seen[at]
    assert one is not None
    return (
        *_size(request, one, LETTERS[at]),
        *_depth(request, one, request.rigs[at].f_number),
        *_bands(request, one, LETTERS[at]),
    )


def _size(request: Request, seen: InFrame, letter: str) -> Parts:
    animal, distance_m, flies = frame.subject(request)
    noun = naming.with_article(animal.label)
    name = naming.sentence(noun)
    if flies:
        name += " in flight"
    fills = (
        f"fills {naming.percent(seen.filled_share)} of the frame of "
        if seen.filled_share <= 1
        else "does not fit into the frame of "
    )
    return (
        Part(f"{name} at {naming.metres(distance_m)} {fills}"),
        Part(letter, letter),
        Part(f"; from {naming.metres(seen.fills_at_m)} it fills "),
        Part(naming.percent(picture.FILLED), "strong"),
        Part(". "),
    )


def _depth(request: Request, seen: InFrame, f_number: float) -> Parts:
    animal = frame.subject(request)[0]
    deep = seen.far_m - seen.near_m
    nose = "bill" if animal.kind == "bird" else "nose"
    tail = f"{'' if seen.nose_to_tail else 'not '}sharp {nose} to tail"
    enough = seen.pair_f_number <= f_number
    pair = "are both sharp" if enough else f"need {_f_number(seen.pair_f_number)}"
    return (
        Part(f"Its depth of field is {naming.metres(deep)}: facing you, with the eye "),
        Part(f"in focus, the {animal.label} is "),
        Part(tail, "strong"),
        Part(
            f", and two of them, one a body’s length ({animal.length_m:g} m) "
            f"behind the other, {pair}. "
        ),
    )


def _bands(request: Request, seen: InFrame, letter: str) -> Parts:
    output = output_named(request.output)
    cropped = ", cropped to one view with the others," if seen.used_share < 1 else ""
    return (
        Part(f"For {output.phrase}{cropped} a picture of "),
        Part(letter, letter),
        Part(" is clean to "),
        Part(exposure.iso_limit_text(seen.clean_iso, typed=False), "strong"),
        Part(" and its noise acceptable to "),
        Part(exposure.iso_limit_text(seen.usable_iso, typed=False), "strong"),
        Part("; beyond that it is a record shot."),
    )


def cells(request: Request) -> list[tuple[str, ...]]:
    """Return what stands in the table for each rig, below `HEAD` but for its name."""
    return [
        _cells(seen, choice.f_number)
        for seen, choice in zip(frame.in_frame(request), request.rigs, strict=True)
    ]


def _cells(seen: InFrame | None, f_number: float) -> tuple[str, ...]:
    if seen is None:
        return ("too near", *["–"] * (len(HEAD) - 2))
    return (
        naming.percent(seen.filled_share),
        naming.metres(seen.fills_at_m),
        f"{naming.count(seen.body_px)} / {naming.count(seen.head_px)}",
        f"{seen.near_m:.1f} – {_far(seen.far_m)}",
        "yes" if seen.nose_to_tail else "no",
        "sharp" if seen.pair_f_number <= f_number else _f_number(seen.pair_f_number),
        naming.percent(seen.background_share),
        _crop(seen),
        " / ".join(
            exposure.iso_limit_text(iso, typed=False)
            for iso in (seen.clean_iso, seen.usable_iso)
        ),
    )


def _far(far_m: float) -> str:
    return "∞" if far_m == float("inf") else f"{far_m:.1f} m"


def _crop(seen: InFrame) -> str:
    if seen.used_share > 1 / 1.02:
        return "none"
    return f"to {naming.percent(seen.used_share)}, {seen.megapixels:.0f} MP"


def _f_number(f_number: float) -> str:
    """Write the engraved f-number that is as high or just higher."""
    engraved = _engraved(f_number)
    if engraved is None:
        return f"over {exposure.f_number_text(exposure.F_NUMBERS[-1])}"
    return exposure.f_number_text(engraved)


def _engraved(f_number: float) -> float | None:
    return next((n for n in exposure.F_NUMBERS if n >= f_number * (1 - 0.02)), None)


def for_both(plan: TripPlan, drive: DrivePlan) -> str:
    """Say until when the f-number holds at which two animals are both sharp.

    Of the rig that `answer` speaks of; empty where its own f-number is enough or none
    that is engraved is.
    """
    request = plan.request
    seen = frame.in_frame(request)
    at = next((i for i, one in enumerate(seen) if one is not None), None)
    if at is None:
        return ""
    choice, one = request.rigs[at], seen[at]
    assert one is not None
    f_number = _engraved(one.pair_f_number)
    if one.pair_f_number <= choice.f_number or f_number is None:
        return ""
    facing = FACING_INDEX[request.facing]

    def when(number: float) -> str:
        run = at_f_number(drive, choice, drive.iso[at, facing], number)
        return ladder_words.when(plan, drive, run) if run else ""

    stopped_down, wide = when(f_number), when(choice.f_number)
    held = f"holds {stopped_down}" if stopped_down else "never holds"
    instead = f", {exposure.f_number_text(choice.f_number)} {wide}" if wide else ""
    text = exposure.f_number_text(f_number)
    return f" On {drive.name}, {text} for both {held}{instead}."


def at_f_number(
    drive: DrivePlan, choice: RigChoice, iso: NDArray[np.float64], f_number: float
) -> Run | None:
    """Return from when to when a rig's shutter time holds at another f-number.

    ``iso`` is what the rig needs by the minute at its own; None if it never holds.
    """
    needed = iso[: drive.until + 1] * (f_number / choice.f_number) ** 2
    held = np.flatnonzero(exposure.stops_over(needed, choice.iso_ceiling) <= 0)
    if not len(held):
        return None
    return Run(drive.utc[held[0]], drive.utc[held[-1]])


def strips(plan: TripPlan, drive: DrivePlan) -> str:
    """Say until when each rig's picture is clean and acceptable, as the strips show."""
    request = plan.request
    iso = set_iso(drive.iso[:, FACING_INDEX[request.facing]], request.rigs)
    texts = [
        f"{LETTERS[rig]} {_when(plan, drive, iso[rig], seen)}"
        for rig, seen in enumerate(frame.in_frame(request))
        if seen is not None
    ]
    if not texts:
        return ""
    view = ", cropped to one view" if len(request.rigs) > 1 else ""
    return f"By noise, for {output_named(request.output).phrase}{view}: {'; '.join(texts)}."


def _when(
    plan: TripPlan, drive: DrivePlan, iso: NDArray[np.float64], seen: InFrame
) -> str:
    bands = frame.stretches(iso, seen.clean_iso, seen.usable_iso)
    texts = []
    for worst, name in enumerate(("clean", "acceptable")):
        # Clean minutes are acceptable ones too.
        held = true_runs([band.band <= worst for band in bands])
        times = [
            f"{plan.clock(drive.utc[bands[a].first])}–"
            f"{plan.clock(drive.utc[bands[b - 1].end])}"
            for a, b in held
        ]
        texts.append(f"{name} {' and '.join(times)}" if times else f"never {name}")
    return ", ".join(texts)


def caption(request: Request) -> str:
    """Say what the table's columns hold."""
    animal, distance_m, flies = frame.subject(request)
    across = (
        f"{animal.wings.span_m:g} m across its wings"
        if flies and animal.wings
        else f"{animal.length_m:g} m long, {animal.size_m()[1]:g} m tall"
    )
    return (
        f"The {animal.label} is {across}, its head {animal.head_m:g} m, at "
        f"{naming.metres(distance_m)}; real ones differ by a tenth. Background: blur "
        f"of a point {focus.BACKGROUND_M:g} m behind, in per cent of the picture’s "
        "height. Crop: of the frame’s area, to the narrowest view among the rigs; "
        "depth, blur and both limits are those of that picture. Clean is 40, acceptable "
        "10 of signal over noise in its mid-tones (ISO 12232); noise reduction moves "
        "both by 1 to 3 stops. Usable minutes count by the ISO ceiling."
    )
