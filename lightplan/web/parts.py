"""Pieces that several pages share: sentences, pictures, tables, the minute slider."""

from collections.abc import Iterable, Sequence
from typing import Any

import dash_mantine_components as dmc
from dash import html
from dash.development.base_component import Component

from lightplan.naming import Part, Parts
from lightplan.web.components import Chart
from lightplan.web.figures.base import GRAPH_CONFIG
from lightplan.web.markup import quick

# A row's cells, or the row itself.
Row = Sequence[Any] | html.Tr

EVERY_MIN = 10  # between the rows of a table by time


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
    """Return a chart above a text that says the same, from ids and the box's class."""
    return html.Figure(
        [
            # A screen reader would read a heap of numbers; the text says the same.
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
    """Return the slider of a drive's minutes; its end is set with the drive."""
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


def iso_cell(text: str, over: bool, below: str = "") -> html.Td:
    """Return the cell of an ISO, struck through where it is over its ceiling.

    ``below`` is a second line in it.
    """
    lines: list[Any] = [quick(html.S, text) if over else text]
    if below:
        lines += [quick(html.Br), quick(html.Span, below, className="muted")]
    return quick(html.Td, lines, className="over" if over else "")


def captioned(
    caption: str, name: str, head: Iterable[str], rows: Iterable[Row]
) -> list[Component]:
    """Return a caption and its table, which scrolls by itself if it is wide.

    Parameters
    ----------
    caption, name : str
        The text above it, and its name for screen readers.
    head : iterable of str
        The columns' names.
    rows : iterable of sequence, or of html.Tr
        The cells of each, or a finished `row`.
    """
    body = [cells if isinstance(cells, html.Tr) else row(cells) for cells in rows]
    columns = html.Tr([html.Th(text, scope="col") for text in head])
    return [
        html.P(caption, className="caption"),
        html.Div(
            html.Table([html.Thead(columns), html.Tbody(body)]),
            className="scrolling",
            role="region",
            tabIndex=0,  # so that it scrolls by keyboard too
            **aria(label=name),
        ),
    ]


def row(cells: Sequence[Any], **more: Any) -> html.Tr:
    """Return a row: the first cell names it, and a cell may be an ``html.Td``."""
    head, *rest = cells
    filled = [c if isinstance(c, html.Td) else quick(html.Td, c) for c in rest]
    return quick(html.Tr, [quick(html.Th, head, scope="row"), *filled], **more)
