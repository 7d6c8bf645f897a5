"""Where a rig starts and runs out of light on a drive, and how marks are named."""

from collections.abc import Sequence
from typing import Literal, NamedTuple

import numpy as np

from lightplan.trip import ladder_words
from lightplan.trip.minutes import Span
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import LETTERS
from lightplan.web.figures.labels import apart

Side = Literal["start", "end"]


class Mark(NamedTuple):
    """A minute (counted from the gate's opening) at which a rig turns usable or not."""

    minute: int
    rig: int
    side: Side
    clock: str


class Label(NamedTuple):
    """One label for marks that stand close together, centred on them."""

    minute: float
    letters: str
    times: str
    side: Side


def of_drive(plan: TripPlan, drive: DrivePlan, facing: int) -> list[Mark]:
    """Return the marks inside the gates, in order of time."""
    opens, closes = drive.opens_utc, drive.until_utc
    marks = []
    for rig, outcomes in enumerate(drive.outcomes):
        outcome = outcomes[facing]
        ends: tuple[tuple[Side, Span | None], ...] = (
            ("start", outcome.first),
            ("end", outcome.last),
        )
        for side, span in ends:
            if span is None or span.utc in (opens, closes):
                continue
            marks.append(Mark(drive.minute(span.utc), rig, side, plan.clock(span.utc)))
    return sorted(marks)


class RungMark(NamedTuple):
    """The minute at which a slower shutter time than the rig's own holds no longer.

    Or from which it holds, ``side`` says; ``shutter`` is ``1/500``.
    """

    minute: int
    rig: int
    side: Side
    shutter: str


def of_rungs(plan: TripPlan, drive: DrivePlan, facing: int) -> list[RungMark]:
    """Return the marks of the slower shutter times shown, in order of time."""
    found = []
    for rig, choice in enumerate(plan.request.rigs):
        for rung in ladder_words.slower(drive, drive.outcomes[rig][facing], choice):
            name = ladder_words.shutter(rung.shutter_s)
            ends: tuple[tuple[Side, np.datetime64, np.datetime64], ...] = (
                ("start", rung.first_utc, drive.opens_utc),
                ("end", rung.last_utc, drive.until_utc),
            )
            found += [
                RungMark(drive.minute(utc), rig, side, name)
                for side, utc, bound in ends
                if utc != bound
            ]
    return sorted(found)


def labels(marks: Sequence[Mark], join_min: float, char_min: float) -> list[Label]:
    """Name the marks: join those that nearly coincide, move the others apart.

    ``join_min`` is the gap below which marks of one side share a label,
    ``char_min`` the minutes of axis that a character of a label covers.
    """
    groups: list[list[Mark]] = []
    for mark in marks:
        last = groups[-1][-1] if groups else None
        if last and last.side == mark.side and mark.minute - last.minute < join_min:
            groups[-1].append(mark)
        else:
            groups.append([mark])
    found = [_label(group) for group in groups]
    # Letters, times, the arrow, and a space on either side.
    wide = [char_min * (len(label.letters + label.times) + 4) for label in found]
    moved = apart([label.minute for label in found], wide)
    return [
        label._replace(minute=minute)
        for label, minute in zip(found, moved, strict=True)
    ]


def _label(group: list[Mark]) -> Label:
    # In order of time, as the times are.
    letters = ", ".join(LETTERS[rig] for rig in dict.fromkeys(m.rig for m in group))
    first, last = group[0].clock, group[-1].clock
    times = first if first == last else f"{first}–{last}"
    centre = (group[0].minute + group[-1].minute) / 2
    return Label(centre, letters, times, group[0].side)
