"""Pieces that several pages are made of: sentences, pictures, the choice of a minute."""

import dash_mantine_components as dmc
from dash import html
from dash.development.base_component import Component

from lightplan.naming import Part, Parts
from lightplan.web.aria import aria
from lightplan.web.components import Chart
from lightplan.web.figures import GRAPH_CONFIG


def spans(parts: Parts) -> list[Component | str]:
    """Return a sentence's pieces, each with the class of its kind."""
    return [_span(part) for part in parts]


def _span(part: Part) -> Component | str:
    if not part.kind:
        return part.text
    kind = part.kind if len(part.kind) > 1 else f"rig rig-{part.kind}"
    tag = html.Strong if part.kind == "strong" else html.Span
    return tag(part.text, className=kind)


def picture(
    chart: str, text: str, *between: Component, box: str = "graph-box"
) -> html.Figure:
    """Return a chart over the text that says the same; ids, and the box's class."""
    return html.Figure(
        [
            # Read aloud, a drawing is a heap of numbers; its text says the same.
            html.Div(
                Chart(id=chart, config=GRAPH_CONFIG),
                className=box,
                **aria(hidden="true"),
            ),
            *between,
            html.Figcaption(id=text, className="muted"),
        ],
        className="chart",
    )


def minute_slider(name: str, label: str) -> dmc.Slider:
    """Return the choice of a drive's minute; its end comes with the drive."""
    return dmc.Slider(
        id=name,
        min=0,
        max=1,
        value=0,
        step=1,
        label=None,
        updatemode="drag",
        thumbLabel=label,
    )
