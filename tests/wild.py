"""Wild values: what a person, a damaged link or a stranger may hand to lightplan.

``LIGHTPLAN_FUZZ=10000 python -m pytest tests -k fuzz`` tries that many cases of
each property, other ones every time; ``LIGHTPLAN_THOROUGH=1`` all of the usual ones;
without either a quarter of these.
"""

import json
import os
import tomllib
import unicodedata
from collections.abc import Callable, Sequence
from copy import deepcopy
from pathlib import Path
from typing import Any, TypeVar

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

T = TypeVar("T")

LONG_RUN = int(os.environ.get("LIGHTPLAN_FUZZ", "0"))
THOROUGH = "LIGHTPLAN_THOROUGH" in os.environ


def cases(full: int) -> settings:
    """Return how many cases to try of a property: a quarter unless asked for more.

    The same ones on every run, so that a red run is a change of ours, and without
    a stop-watch: a slow machine is no wrong answer. A long run tries new ones.
    """
    return settings(
        max_examples=LONG_RUN or (full if THOROUGH else full // 4),
        derandomize=not LONG_RUN,
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )


def some(full: Sequence[T]) -> Sequence[T]:
    """Return every fourth of the cases of a test without kinds, all in a long run."""
    return full if THOROUGH or LONG_RUN else full[::4]


def again(*values: Any, id: str | None = None) -> Any:
    """Return a case that differs from its neighbours in degree only: tried by CI."""
    return pytest.param(*values, id=id, marks=pytest.mark.thorough)


# Each would become something else if it were not kept a text.
MARKUP = "<img src=x onerror=alert(1)><b>b</b>"
FORMULA = '=HYPERLINK("x")'
PATH = "../../../../etc/passwd"

TEXTS = st.one_of(
    st.sampled_from(
        [
            "", " ", "nan", "inf", "-inf", "1e999", "-0", "1_0", "٣", "1/0", "0x10",
            "1" * 400, "x" * 5000, "~" * 300, "," * 300, "\x00", "\n", "\r\n\t", "\u202e",
            "\ud800", "é\u0301", "𝟘", "{}", "[]", "null", "{0}", "%s", "%00", "__class__",
            "2027-02-29", "2027-13-01", "2027-W32-4", "0001-01-01", "9999-12-31",
            "Africa/Lusaka", "Pacific/Apia", "../Africa/Lusaka", "own coordinates",
            MARKUP, FORMULA, PATH, "-1+1", "@SUM(A1)", "javascript:alert(1)",
        ]
    ),
    st.text(max_size=20),
    st.text(st.characters(categories=["Cs", "Cc", "Lo", "So"]), max_size=5),
)  # fmt: skip
NUMBERS = st.one_of(
    st.integers(-5, 400),
    st.sampled_from([2**31, 2**63, 10**30, -(10**30), 10**4000, 0.1, -0.0, 1e-320, 1e308]),
    st.floats(),
)  # fmt: skip
SCALARS = st.one_of(st.none(), st.booleans(), NUMBERS, TEXTS)


def _deep(levels: int) -> Any:
    nested: Any = []
    for _ in range(levels):
        nested = [nested]
    return nested


def _nest(inner: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.lists(inner, max_size=3) | st.dictionaries(TEXTS, inner, max_size=3)


VALUES = st.one_of(
    SCALARS,
    _nest(SCALARS),
    _nest(_nest(SCALARS)),
    st.sampled_from([15, 40, 150]).map(_deep),
)


def _nodes(tree: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Return the paths to everything within lists and dictionaries."""
    if isinstance(tree, dict):
        steps = list(tree.items())
    elif isinstance(tree, list):
        steps = list(enumerate(tree))
    else:
        return []
    found = [(*path, key) for key, _ in steps]
    for key, inner in steps:
        found += _nodes(inner, (*path, key))
    return found


def _parent(tree: Any, path: tuple[Any, ...]) -> Any:
    for step in path[:-1]:
        tree = tree[step]
    return tree


def _replace(draw: Any, parent: Any, key: Any, tree: Any) -> None:
    parent[key] = draw(VALUES)


def _remove(draw: Any, parent: Any, key: Any, tree: Any) -> None:
    del parent[key]


def _repeat(draw: Any, parent: Any, key: Any, tree: Any) -> None:
    if isinstance(parent, list):
        parent.insert(key, deepcopy(parent[key]))
    else:
        parent[draw(TEXTS)] = deepcopy(parent[key])


def _rename(draw: Any, parent: Any, key: Any, tree: Any) -> None:
    if isinstance(parent, dict):
        parent[draw(TEXTS)] = parent.pop(key)


def _transplant(draw: Any, parent: Any, key: Any, tree: Any) -> None:
    source = draw(st.sampled_from(_nodes(tree)))
    parent[key] = deepcopy(_parent(tree, source)[source[-1]])


EDITS: tuple[Callable[..., None], ...] = (
    _replace, _replace, _replace, _remove, _repeat, _rename, _transplant,
)  # fmt: skip


@st.composite
def edited(draw: Any, tree: Any, at_most: int = 3) -> Any:
    """Return a copy of lists and dictionaries after a few edits somewhere in it."""
    copy = deepcopy(tree)
    for _ in range(draw(st.integers(0, at_most))):
        paths = _nodes(copy)
        if not paths:
            break
        path = draw(st.sampled_from(paths))
        draw(st.sampled_from(EDITS))(draw, _parent(copy, path), path[-1], copy)
    return copy


def without_endless(tree: Any) -> Any:
    """Return the same with a long number in the place of one Python cannot write."""
    if isinstance(tree, dict):
        return {key: without_endless(inner) for key, inner in tree.items()}
    if isinstance(tree, list):
        return [without_endless(inner) for inner in tree]
    return 10**30 if isinstance(tree, int) and tree == 10**4000 else tree


@st.composite
def struck(draw: Any, text: str, signs: list[str]) -> str:
    """Return a text after what strokes of a keyboard or a broken disk do to it."""
    for _ in range(draw(st.integers(0, 4))):
        at = int(draw(st.floats(0, 1)) * len(text))
        typed = draw(st.sampled_from(signs) | TEXTS)
        text = text[:at] + typed + text[at + draw(st.integers(0, 12)) :]
    return text


# --------------------------------------------------------------- TOML

EXAMPLE = Path(__file__).parents[1] / "locations.example.toml"
TABLES = tomllib.loads(EXAMPLE.read_text("utf-8"))


def toml(value: Any) -> str:
    """Write a value as TOML does, inline, whatever is in it."""
    if isinstance(value, dict):
        pairs = (f"{_string(str(k))} = {toml(v)}" for k, v in value.items())
        return "{ " + ", ".join(pairs) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    if isinstance(value, str):
        return _string(value)
    if isinstance(value, bool):
        return str(value).lower()
    # Python writes no integer of thousands of digits; a file may hold one.
    return "9" * 4001 if value == 10**4000 else "''" if value is None else repr(value)


def _string(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def document(tables: Any) -> str:
    """Write a document, a key of the top level a line."""
    if not isinstance(tables, dict):
        return toml(tables)
    return "\n".join(f"{_string(k)} = {toml(v)}" for k, v in tables.items())


# --------------------------------------------------------------- sentences

# No word of these belongs into a sentence for a person.
NOT_FOR_PEOPLE = (
    "Traceback", "pydantic", "Input should", "validation error", "site-packages",
    "/lightplan/", "Error(", "<class", "NoneType", "object at 0x", "JSONDecode",
)  # fmt: skip
LONGEST_SENTENCE = 600  # characters; more is no sentence


# What breaks a line, or turns the text round it about: Unicode's categories, and
# the explicit directional controls of UAX #9, 2.1 to 2.5.
NOT_IN_A_LINE = {"Cc", "Zl", "Zp", "Cs"}
TURNING = set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def is_one_sentence(said: str) -> bool:
    """Tell whether a text is one line for people, and not too long for one."""
    if not 0 < len(said) <= LONGEST_SENTENCE or TURNING & set(said):
        return False
    if NOT_IN_A_LINE & {unicodedata.category(character) for character in said}:
        return False
    return not any(words in said for words in NOT_FOR_PEOPLE)
