"""Trees of `dash.html` components as markup, for parts that a page only shows.

Dash's renderer tracks every component of a page: a trip of 62 days in components
keeps a browser busy for a minute, as markup it appears at once.
"""

import re
from collections.abc import Iterable, Mapping
from html import escape
from typing import Any

from dash import html
from dash.development.base_component import Component

# React's names of attributes and those of markup, different or the same. Events are
# left out on purpose.
_ATTRIBUTES = {
    "className": "class",
    "colSpan": "colspan",
    "tabIndex": "tabindex",
    **{name: name for name in ("id", "href", "role", "scope")},
}
_WILD = re.compile(r"(aria|data)-[a-z]+")
_VOID = {"Br"}
_OURS = re.compile("/(?!/)")  # two slashes lead to another host
_CAPITAL = re.compile("[A-Z]")


def to_html(node: Any) -> str:
    """Return a tree as markup; every text in it is escaped.

    Parameters
    ----------
    node : component, str, int, float, list or None
        As a component's children may be.

    Raises
    ------
    TypeError
        If the tree has something that markup would lose, such as a control. That is
        our bug, so no ValueError, which pages show as a wrong choice.
    """
    if node is None:
        return ""
    if isinstance(node, str | int | float):
        return escape(str(node))
    if isinstance(node, list | tuple):
        return "".join(map(to_html, node))
    if not isinstance(node, Component) or not _is_html(node):
        raise TypeError(f"{type(node).__name__} cannot be written as markup")
    props = dict(node.to_plotly_json()["props"])
    children = props.pop("children", None)
    name = type(node).__name__
    tag = name.lower()
    opened = f"<{tag}{''.join(_attribute(*pair) for pair in props.items())}>"
    return opened if name in _VOID else f"{opened}{to_html(children)}</{tag}>"


def written(content: Mapping[str, Any], *parts: str) -> dict[str, Any]:
    """Return a page's content with the named parts as markup."""
    return {**content, **{part: to_html(content[part]) for part in parts}}


def _is_html(node: Component) -> bool:
    return type(node) is getattr(html, type(node).__name__, None)


def _attribute(name: str, value: Any) -> str:
    if value is None:
        return ""
    if name == "style":
        value = _declarations(value.items())
    elif name == "href" and not _OURS.match(str(value)):
        raise TypeError("a link in markup must lead to a page of ours")
    elif name not in _ATTRIBUTES and not _WILD.fullmatch(name):
        raise TypeError(f"{name} cannot be written as markup")
    return f' {_ATTRIBUTES.get(name, name)}="{escape(str(value))}"'


def _declarations(style: Iterable[tuple[str, str]]) -> str:
    return ";".join(
        f"{_CAPITAL.sub(lambda match: f'-{match[0].lower()}', name)}:{value}"
        for name, value in style
    )
