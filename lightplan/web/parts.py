"""Pieces that several pages are made of: sentences, pictures, the choice of a minute."""

from typing import Any

import dash_mantine_components as dmc
from dash import html
from dash.development.base_component import Component

from lightplan.naming import Part, Parts
from lightplan.web.components import Chart
from lightplan.web.figures.base import GRAPH_CONFIG

EVERY_MIN = 10  # between the rows of a table by the minute


def aria(**values: str) -> dict[str, Any]:
    """Return keyword arguments: ``aria(label="x")`` sets ``aria-label``."""
    return {f"aria-{name}": value for name, value in values.items()}


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


def iso_cell(text: str, over: bool) -> html.Td:
    """Return the cell of an ISO, struck through where it is over its ceiling."""
    return html.Td(html.S(text) if over else text, className="over" if over else "")


def captioned(
    caption: str, name: str, head: list[html.Th], rows: list[html.Tr]
) -> list[Component]:
    """Return a caption and its table, which scrolls by itself where it is wide."""
    table = html.Table([html.Thead(html.Tr(head)), html.Tbody(rows)])
    return [
        html.P(caption, className="caption"),
        html.Div(
            table,
            className="scrolling",
            role="region",
            tabIndex=0,  # so that it scrolls by keyboard too
            **aria(label=name),
        ),
    ]
