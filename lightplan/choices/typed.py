"""Texts as typed: turned into numbers and names, or refused with a sentence."""

from collections.abc import Mapping

from lightplan import errors

LONGEST = 300  # characters; no valid answer is longer


def text(value: object, longest: int = LONGEST) -> str:
    """Return a control's value as text, empty for none, cut where it is too long."""
    return "" if value is None else cut(str(value).strip(), longest)


def cut(text: str, longest: int = LONGEST) -> str:
    """Return a text cut where it is too long, with whole characters only."""
    # A browser may send half a character, which no link can hold.
    return text[:longest].encode(errors="replace").decode()


def number(text: str, what: str, low: float, high: float, unit: str = "") -> float:
    """Return the number written; ValueError names ``what`` and its range."""
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not low <= value <= high:  # NaN too
        raise ValueError(refusal(text, what, f"{low:.10g} to {high:.10g}{unit}"))
    return value


def refusal(text: str, what: str, allowed: str) -> str:
    """Return the error sentence for a text that is not allowed."""
    got = repr(text[:40]) if text else "nothing"
    return f"{what} must be {allowed}, got {got}"


def optional(
    text: str, what: str, low: float, high: float, unit: str = ""
) -> float | None:
    """Return the number written, as `number` does; None if empty."""
    return number(text, what, low, high, unit) if text else None


def one_of(text: str, known: Mapping[str, object], what: str) -> str:
    """Return the text if it is known; ValueError proposes the nearest."""
    if text not in known:
        raise ValueError(errors.unknown(what, text, known))
    return text
