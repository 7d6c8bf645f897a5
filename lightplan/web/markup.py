"""Trees of `dash.html` components as markup, for parts that a page only shows.

Dash's renderer tracks every component of a page: a trip of 62 days in components
keeps a browser busy for a minute, as markup it appears at once.
"""

import re
from collections.abc import Iterable, Mapping
from functools import cache
from html import escape
from typing import Any, TypeVar

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
# Dash keeps these beside a component's properties.
_NO_PROPERTY = ("_", "available_")
_Kind = TypeVar("_Kind", bound=Component)


def quick(kind: type[_Kind], children: Any = None, **props: Any) -> _Kind:
    """Return what ``kind(children, **props)`` does, a tenth of the time later.

    For trees of a thousand elements. Dash checks and copies the lists of names of each
    component; here the lists are shared, and `to_html` checks the names.
    """
    made = object.__new__(kind)
    vars(made).update(_blank(kind), children=children, **props)
    return made


@cache
def _blank(kind: type[Component]) -> dict[str, Any]:
    return vars(kind())


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
    if isinstance(node, str):
        return escape(node)
    if isinstance(node, int | float):
        return escape(str(node))
    if isinstance(node, list | tuple):
        return "".join(map(to_html, node))
    if not isinstance(node, Component) or not _is_html(type(node)):
        raise TypeError(f"{type(node).__name__} cannot be written as markup")
    name = type(node).__name__
    tag = name.lower()
    props = {
        prop: value
        for prop, value in vars(node).items()
        if prop != "children" and not prop.startswith(_NO_PROPERTY)
    }
    # Dash keeps them in another order in every process.
    opened = f"<{tag}{''.join(_attribute(p, props[p]) for p in sorted(props))}>"
    if name in _VOID:
        return opened
    return f"{opened}{to_html(getattr(node, 'children', None))}</{tag}>"


def written(content: Mapping[str, Any], *parts: str) -> dict[str, Any]:
    """Return a page's content with the named parts as markup."""
    return {**content, **{part: to_html(content[part]) for part in parts}}


@cache
def _is_html(kind: type[Component]) -> bool:
    return kind is getattr(html, kind.__name__, None)


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
