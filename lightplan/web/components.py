"""Our own components; what they do in the browser is in ``assets/components.js``."""

from collections.abc import Sequence
from typing import Any

from dash import dcc
from dash.development.base_component import Component

_NAMESPACE = "lightplan_components"


class Markup(Component):
    """A box filled with markup, see `markup.to_html`.

    Parameters
    ----------
    id : str
        Of the box; its property ``html`` is what a callback fills it with.
    tag : str, optional
        The element that the box is.
    **attributes
        ``className``, ``role``, ``title`` and ARIA attributes of the element.
    """

    _namespace = _NAMESPACE
    _type = "Markup"

    def __init__(self, id: str, tag: str = "div", **attributes: Any) -> None:
        self._prop_names = [
            "id", "html", "tag", "className", "role", "title", "aria-*",
        ]  # fmt: skip
        self._valid_wildcard_attributes = ["aria-"]
        self.available_properties = self._prop_names
        self.available_wildcard_properties = self._valid_wildcard_attributes
        super().__init__(id=id, tag=tag, **attributes)


class Later(Component):
    """A box whose children are made only once it is visible, for instance unfolded.

    What they hold is on the page from the start, so callbacks read and change it.
    Controls are costly to make: most of those of the rigs are never looked at.

    Parameters
    ----------
    children : sequence of Component
        What stands in its place.
    """

    _namespace = _NAMESPACE
    _type = "Later"

    def __init__(self, children: Sequence[Component]) -> None:
        self._prop_names = ["children"]
        self._valid_wildcard_attributes: list[str] = []
        self.available_properties = self._prop_names
        self.available_wildcard_properties = self._valid_wildcard_attributes
        super().__init__(children=children)


class Chart(dcc.Graph):
    """A graph that loads its script only once it has a figure.

    Until then it is an empty box in the page's colour. The script is large: loaded at
    the start, it would delay the sentences.
    """

    _namespace = _NAMESPACE
    _type = "Chart"
