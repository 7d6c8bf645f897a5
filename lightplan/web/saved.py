"""The catalog that a browser keeps: its TOML text, and which save it is from.

A browser's record is ``{"text": …, "revision": …}``; without one, the server's
file is used. A revision only says whether two records are from the same save.
"""

from collections.abc import Mapping
from functools import lru_cache
from typing import Any, NamedTuple

from lightplan.catalog import places
from lightplan.catalog.merge import merge
from lightplan.catalog.places import Catalog, Loaded, PlacesError
from lightplan.catalog.toml import dumps
from lightplan.errors import as_sentence

LONGEST_FILE = 500_000  # characters; a browser can keep a few million in all
HERE = "the catalog of this browser"

Record = Mapping[str, Any]


def text_of(record: object) -> str:
    """Return a record's text, empty if it has none."""
    text = record.get("text") if isinstance(record, Mapping) else None
    return text if isinstance(text, str) else ""


def revision_of(record: object) -> str | None:
    """Return a record's revision, None if it has none."""
    revision = record.get("revision") if isinstance(record, Mapping) else None
    return revision if isinstance(revision, str) and text_of(record) else None


@lru_cache(maxsize=16)  # each page asks several times for the same text
def _parsed(text: str) -> Catalog | str:
    """Return the catalog of a text, or what is wrong with it."""
    try:
        return read(text, HERE)
    except PlacesError as error:
        return str(error)


def read(text: str, name: str) -> Catalog:
    """Return the catalog of a text that came from a browser.

    Raises
    ------
    PlacesError
        If it is too long, or as for `places.read`.
    """
    if len(text) > LONGEST_FILE:
        raise PlacesError(
            f"{name} must be at most {LONGEST_FILE:,} characters, got {len(text):,}"
        )
    return places.read(text, name)


def loaded(record: object, served: Loaded) -> Loaded:
    """Return the browser's catalog if it has one, else the server's.

    If it cannot be read: the server's, with the reason in ``problem``.
    """
    text = text_of(record)
    if not text:
        return served
    parsed = _parsed(text)
    if isinstance(parsed, str):
        return served._replace(problem=parsed)
    return Loaded(parsed, served.path)


def catalog(record: object, served: Loaded) -> Catalog:
    """Return the catalog to plan with."""
    return loaded(record, served).catalog


class Wanted(NamedTuple):
    """A change that the browser is asked to keep.

    ``text`` is the new catalog, empty for the server's; ``base`` the revision it was
    made from. Once it is kept, the page says ``said``, shows the entry ``kind`` and
    ``name``, and drops the draft ``draft``. With ``ask`` the browser asks first, with
    ``yes`` on the button.
    """

    text: str
    base: str | None
    said: str
    kind: str = ""
    name: str = ""
    draft: str = ""
    ask: str = ""
    yes: str = ""


def both(wanted: Record, base: object, newer: object, served: Loaded) -> Wanted:
    """Return the change merged with what another tab has saved meanwhile."""
    mine = text_of(wanted)
    merged = merge(
        catalog(base, served),
        read(mine, HERE) if mine else served.catalog,
        catalog(newer, served),
    )
    return Wanted(
        text=dumps(merged),
        base=revision_of(newer),
        said="Both are saved; entries changed in both tabs appear twice, this tab’s "
        "with a number in its name.",
        kind=str(wanted.get("kind", "")),
        name=str(wanted.get("name", "")),
        draft=str(wanted.get("draft", "")),
    )


def counted(of: Catalog) -> str:
    """Return ``6 places and 8 rigs``."""
    return f"{_many(len(of.places), 'place')} and {_many(len(of.rigs), 'rig')}"


def _many(count: int, word: str) -> str:
    return f"{count} {word}" + ("" if count == 1 else "s")


def answer(record: object, served: Loaded) -> str:
    """Return what this browser keeps, in a sentence."""
    now = loaded(record, served)
    if not text_of(record):
        return (
            "This browser has no entries of yours yet: the pages use the built-in "
            f"file, {counted(now.catalog)}."
        )
    if now.problem:
        return (
            f"{as_sentence(now.problem)} The pages use the built-in file; what you "
            "saved is still here and can be downloaded."
        )
    return f"This browser has {counted(now.catalog)} of yours."
