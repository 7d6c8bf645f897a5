"""An entry's typed texts to its table in a file and back.

Typed texts are kept by part of the entry: ``""`` holds its own fields in one
row, every other part (gates, spots, …) a row for each of its tables.
"""

import re
from collections.abc import Iterable
from typing import Any

from lightplan.catalog.gates import SESSIONS
from lightplan.web.kit.fields import FIELDS, Field, Part, parts, usual

Texts = dict[str, list[dict[str, str]]]


def blank(kind: str) -> Texts:
    """Return the texts of a new entry."""
    empty = {"": [usual(kind)], **{p.key: [] for p in parts(kind)}}
    if kind == "lenses":
        empty["widest"] = [{}]
    return empty


# ------------------------------------------------------------- table → texts


def texts(kind: str, table: dict[str, Any]) -> Texts:
    """Return an entry's table, as `catalog.toml.table` gives it, as typed texts."""
    own = {
        f.key: _typed(table[f.key])
        for f in FIELDS[kind]
        if table.get(f.key) is not None
    }
    typed: Texts = {"": [{**_usual(kind), **own}]}
    for part in parts(kind):
        typed[part.key] = [_row(part, row) for row in table.get(part.key, ())]
    return typed


def _usual(kind: str) -> dict[str, str]:
    return {} if kind == "bodies" else usual(kind)


def _row(part: Part, row: Any) -> dict[str, str]:
    if part.key == "widest":
        return {"focal_mm": _typed(row[0]), "f_number": _typed(row[1])}
    plain = {**_usual(part.key), **{k: _typed(v) for k, v in row.items()}}
    if part.key == "gates":
        for session in SESSIONS:
            plain.pop(session, None)
            if times := row.get(session):
                plain[f"{session}_opens"], plain[f"{session}_closes"] = times
    return plain


def _typed(value: Any) -> str:
    if isinstance(value, list):  # a skyline's pairs, or twelve months
        joint = ", " if value and isinstance(value[0], list) else " "
        return joint.join(_typed(part) for part in value)
    return str(value)


# ------------------------------------------------------------- texts → table


def table(kind: str, typed: Texts) -> dict[str, Any]:
    """Return typed texts as the table of a file; what is wrong stays as typed.

    Empty texts are left out, and so are rows with nothing in them.
    """
    (own,) = typed[""]
    values = _values(own, FIELDS[kind])
    if "air" in values:
        values["air"] = [_number(text) for text in re.split(r"[\s,;]+", values["air"])]
    for part in parts(kind):
        rows = [_values(row, part.fields) for row in typed.get(part.key, ())]
        kept = [_folded(part, row) for row in rows if not _empty(part, row)]
        if kept or part.key == "widest":
            values[part.key] = kept
    return values


def left_out(kind: str, typed: Texts) -> tuple[str, ...]:
    """Return a sentence for each part that has rows with nothing in them."""
    sentences = []
    for part in parts(kind):
        rows = [_values(row, part.fields) for row in typed.get(part.key, ())]
        count = sum(_empty(part, row) for row in rows)
        if count == 1:
            sentences.append(f"An empty {part.one} was left out.")
        elif count:
            sentences.append(f"{count} empty {part.one}s were left out.")
    return tuple(sentences)


def _empty(part: Part, row: dict[str, Any]) -> bool:
    return row in ({}, usual(part.key))


def _values(row: dict[str, str], fields: Iterable[Field]) -> dict[str, Any]:
    return {
        f.key: _number(text) if f.control == "number" else text
        for f in fields
        if (text := row.get(f.key, "").strip())
    }


def _folded(part: Part, row: dict[str, Any]) -> Any:
    """Return a row as the file has it: pairs in lists."""
    if part.key == "widest":
        return list(row.values())
    if part.key == "gates":
        for session in SESSIONS:
            ends = [row.pop(f"{session}_{end}", "") for end in ("opens", "closes")]
            if any(ends):
                row[session] = ends
    if "horizon" in row:
        row["horizon"] = [
            [_number(text) for text in pair.split()]
            for pair in re.split(r"[,;]", row["horizon"])
            if pair.strip()
        ]
    return row


def _number(text: str) -> int | float | str:
    """Return the typed number, or the text if it is not a number."""
    for kind in (int, float):
        try:
            return kind(text)
        except ValueError:
            continue
    return text
