"""Sentences of `words` as the page shows them."""

from dash import html
from dash.development.base_component import Component

from lightplan.words import Part, Parts


def spans(parts: Parts) -> list[Component | str]:
    """Return a sentence's pieces, each with the class of its kind."""
    return [_span(part) for part in parts]


def _span(part: Part) -> Component | str:
    if not part.kind:
        return part.text
    kind = part.kind if len(part.kind) > 1 else f"rig rig-{part.kind}"
    tag = html.Strong if part.kind == "strong" else html.Span
    return tag(part.text, className=kind)
