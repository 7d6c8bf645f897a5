"""The section of the animal in the frame: a sentence, and a row for every rig."""

from dash import html
from dash.development.base_component import Component

from lightplan.trip import frame_words
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import LETTERS
from lightplan.web.parts import captioned, spans

NAME = "The animal in the frame"


def section(plan: TripPlan, drive: DrivePlan | None) -> list[Component]:
    """Return the section of a plan's animal and rigs, with minutes of a drive."""
    both = frame_words.for_both(plan, drive) if drive else ""
    rows = [
        [
            [
                html.Span(LETTERS[i], className=f"rig rig-{LETTERS[i]}"),
                f" {choice.label}",
            ],
            *cells,
        ]
        for i, (choice, cells) in enumerate(
            zip(plan.request.rigs, frame_words.cells(plan.request), strict=True)
        )
    ]
    return [
        html.H2(NAME),
        html.P([*spans(frame_words.answer(plan.request)), both], className="said"),
        *captioned(frame_words.caption(plan.request), NAME, frame_words.HEAD, rows),
    ]
