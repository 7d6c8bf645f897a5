"""Turn pydantic's errors on a file into one clear sentence."""

import datetime as dt
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

# A kind of error that pydantic does not have: the function ``say`` in its context
# makes the sentence from the value, and is called only if the sentence is shown.
DEFERRED = "deferred"

# Our sentence for each kind of pydantic's errors; {…} come from the error's context.
_SENTENCES = {
    "missing": "is missing",
    "greater_than": "must be greater than {gt:.10g}, got {got}",
    "greater_than_equal": "must be at least {ge:.10g}, got {got}",
    "less_than_equal": "must be at most {le:.10g}, got {got}",
    "less_than": "must be less than {lt:.10g}, got {got}",
    "float_type": "must be a number, got {got}",
    "float_parsing": "must be a number, got {got}",
    "int_type": "must be a whole number, got {got}",
    "int_parsing": "must be a whole number, got {got}",
    "int_from_float": "must be a whole number, got {got}",
    "finite_number": "must be a finite number, got {got}",
    "string_type": "must be text in quotes, got {got}",
    "string_unicode": "must be text, got {got}",
    "string_too_short": "must not be empty",
    "string_too_long": "must be at most {max_length} characters long",
    "string_pattern_mismatch": "must be one line of text, got {got}",
    "tuple_type": "must be a list in [ ], got {got}",
    "too_short": "must hold at least {min_length}, got {actual_length}",
    "too_long": "must hold at most {max_length}, got {actual_length}",
    "literal_error": "must be {expected}, got {got}",
    "model_type": "must be a table of keys, got {got}",
    "value_error": "{error}",
}

_ONE_OF = {
    "places": "place",
    "gates": "gates",
    "closures": "closure",
    "spots": "spot",
    "covers": "cover",
    "bodies": "body",
    "lenses": "lens",
    "converters": "converter",
    "rigs": "rig",
}


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Return ``" (did you mean …?)"``, or the known words if none is near."""
    choices = list(known)
    lowered = {c.lower(): c for c in choices}
    near = get_close_matches(word.lower(), lowered, n=1, cutoff=0.5)
    if near:
        return f" (did you mean {lowered[near[0]]!r}?)"
    return f" (known: {', '.join(choices)})" if choices else " (none is defined)"


def unknown(what: str, got: str, known: Iterable[str]) -> str:
    """Return ``spot 'Pan' is unknown (did you mean 'Pans'?)``, for a person's names."""
    return f"{what} {shown(got)} is unknown{did_you_mean(got, known)}"


def one_of(what: str, got: str, known: Iterable[str]) -> str:
    """Return ``pace must be one of …, got 'fast'``, for the program's own few names."""
    return f"{what} must be one of {', '.join(known)}, got {shown(got)}".lstrip()


def as_sentence(text: str) -> str:
    """Return the text with a capital letter first and a full stop last."""
    first = text.partition(" ")[0]
    head = text[:1] if "." in first else text[:1].upper()  # a file name stays as it is
    return head + text[1:] + ("" if text.endswith((".", "?)")) else ".")


def sentence(
    error: ValidationError, data: Any, keys: Mapping[str, Iterable[str]]
) -> str:
    """Describe the first error in one sentence, and say how many more there are.

    Parameters
    ----------
    error : pydantic.ValidationError
        What validation raised.
    data : Any
        The raw document, from which the names of its entries are read.
    keys : mapping of str to iterable of str
        Known keys under each table name ("" for the top level).

    Returns
    -------
    str
        ``place 'Mopane Loop': latitude_deg must be at most 90, got 95``.
    """
    # An unknown key first: it is often why another one is missing.
    problems = sorted(_causes(error), key=lambda e: e["type"] != "extra_forbidden")
    first = " ".join(_one(problems[0], data, keys).split())
    rest = len(problems) - 1
    return first + (
        f" (and {rest} more problem{'s' if rest > 1 else ''})" if rest else ""
    )


def _causes(error: ValidationError) -> list[ErrorDetails]:
    """Drop "too short" for a list that is short only because its entries are wrong."""
    errors = error.errors(include_url=False)
    around = {e["loc"][:n] for e in errors for n in range(len(e["loc"]))}
    return [e for e in errors if e["type"] != "too_short" or e["loc"] not in around]


def _one(problem: ErrorDetails, data: Any, keys: Mapping[str, Iterable[str]]) -> str:
    where, table, path = "", "", []
    node = data
    for step in problem["loc"]:
        if not _holds(node, step):  # a missing key or item
            path.append(step if isinstance(step, str) else f"item {step + 1}")
            break
        node = node[step]
        if isinstance(step, int):
            if isinstance(node, dict) and table in keys:
                named = node.get("name")
                label = shown(named) if named else f"number {step + 1}"
                where += f"{_ONE_OF.get(table, table)} {label}: "
                path = []
            else:
                path.append(f"item {step + 1}")
        else:
            table = step
            path.append(step)
    key = " ".join(path)
    if problem["type"] == "extra_forbidden":
        return f"{where}unknown key {shown(path[-1])}" + did_you_mean(
            path[-1], keys.get(_owner(problem["loc"]), ())
        )
    text = problem["msg"]
    if problem["type"] == DEFERRED:
        text = problem["ctx"]["say"](problem["input"])
    elif template := _SENTENCES.get(problem["type"]):
        text = template.format(got=shown(problem["input"]), **problem.get("ctx", {}))
    if path and text.startswith(path[-1]):
        key = " ".join(path[:-1])  # the sentence names its key itself
    hint = ""
    if path[-1:] == ["latitude_deg"] and "got" in text:
        hint = " (are latitude and longitude swapped?)"
    return where + f"{key} {text}".strip() + hint


def one_line(text: str) -> str:
    """Return text of unknown origin without line ends, controls and broken UTF-8."""
    if text.isprintable():  # nearly every name is
        return text
    return "".join(c if c.isprintable() else "?" for c in text)


def _owner(loc: tuple[int | str, ...]) -> str:
    tables = [step for step in loc[:-1] if isinstance(step, str)]
    return tables[-1] if tables else ""


def _holds(node: Any, step: int | str) -> bool:
    if isinstance(step, str):
        return isinstance(node, dict) and step in node
    return isinstance(node, list) and step < len(node)


def shown(value: Any) -> str:
    """Return a value as quoted in a sentence, cut if it is too long for one."""
    if isinstance(value, dt.date | dt.time):
        return value.isoformat()
    try:
        text = repr(value)
    except ValueError:  # Python refuses to write an integer of thousands of digits
        return "a number too long to write"
    except RecursionError:
        return "lists within lists"
    return text if len(text) <= 60 else text[:57] + "…"
