"""Merge two catalogs that started from the same one; nothing in either is lost."""

from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError

from lightplan import errors
from lightplan.catalog.kit import Entry
from lightplan.catalog.places import KEYS, Catalog, PlacesError

KINDS = ("places", "covers", "bodies", "lenses", "converters", "rigs")
PARTS = {"bodies": "body", "lenses": "lens", "converters": "converter"}
_MAY_BE_NONE = ("covers", "converters")
_LONGEST_NAME = 80  # characters, as `kit.Name`

Named = dict[str, Any]  # entries by their names, in order


def merge(base: Catalog, mine: Catalog, newer: Catalog) -> Catalog:
    """Return ``newer`` with what ``mine`` changed since ``base``.

    An entry that both changed differently is kept twice: mine under a numbered name,
    ``Mopane Loop (2)``, to which the rigs that I changed then refer. An entry that I
    removed goes only if ``newer`` left it as it was, no rig needs it and it is not
    the last of its kind.

    Parameters
    ----------
    base, mine, newer : Catalog
        The catalog both started from, as changed here, and as changed elsewhere.

    Returns
    -------
    Catalog
        The entries of ``newer`` in their order, then those that only ``mine`` has.

    Raises
    ------
    PlacesError
        If together they hold more of a kind than a catalog may.
    """
    renamed: dict[str, dict[str, str]] = {}
    merged: dict[str, Named] = {}
    for kind in KINDS:
        old, own, other = (_named(c, kind) for c in (base, mine, newer))
        changed = {name: entry for name, entry in own.items() if entry != old.get(name)}
        if kind == "rigs":
            changed = {n: _following(rig, renamed) for n, rig in changed.items()}
        merged[kind], renamed[kind] = _merged(old, changed, other)
    for kind, key in PARTS.items():
        # A part removed on one side stays if a rig of the other side needs it.
        own = _named(mine, kind)
        for rig in merged["rigs"].values():
            name = getattr(rig, key)
            if name is not None and name not in merged[kind]:
                merged[kind][name] = own[name]
    needed = _needed("covers", merged)
    for name, cover in _named(mine, "covers").items():
        if name not in merged["covers"] and name in needed:
            merged["covers"][name] = cover
    for kind in sorted(KINDS, key=PARTS.__contains__):  # a rig goes before its parts
        old, own, other = (_named(c, kind) for c in (base, mine, newer))
        needed = _needed(kind, merged)
        for name in old:
            untouched = name not in own and other.get(name) == old[name]
            last = kind not in _MAY_BE_NONE and len(merged[kind]) == 1
            if untouched and not last and name not in needed:
                del merged[kind][name]
    light = mine.light if mine.light != base.light else newer.light
    tables = {kind: tuple(entries.values()) for kind, entries in merged.items()}
    try:
        return Catalog.model_validate({**tables, "light": light})
    except ValidationError as error:  # together they are too many
        problem = errors.sentence(error, tables, KEYS)
        raise PlacesError(f"the two catalogs cannot be merged: {problem}") from None


def _merged(old: Named, changed: Named, other: Named) -> tuple[Named, dict[str, str]]:
    """Return the others' entries with my changes, and the new names of mine."""
    entries, renamed = dict(other), {}
    taken = {**other, **changed}
    for name, entry in changed.items():
        if name not in other or other[name] in (old.get(name), entry):
            entries[name] = entry
        else:
            renamed[name] = free_name(name, taken)
            taken[renamed[name]] = entry
            entries[renamed[name]] = entry.model_copy(update={"name": renamed[name]})
    return entries, renamed


def free_name(name: str, taken: Mapping[str, object]) -> str:
    """Return the name with the first free number after it."""
    number = 2
    while True:
        tail = f" ({number})"
        proposed = name[: _LONGEST_NAME - len(tail)] + tail
        if proposed not in taken:
            return proposed
        number += 1


def _named(catalog: Catalog, kind: str) -> Named:
    return {entry.name: entry for entry in getattr(catalog, kind)}


def _following(rig: Entry, renamed: dict[str, dict[str, str]]) -> Entry:
    """Return my rig with the new names of its parts."""
    parts = {
        key: renamed[kind].get(getattr(rig, key), getattr(rig, key))
        for kind, key in PARTS.items()
    }
    return rig.model_copy(update=parts)


def _needed(kind: str, merged: dict[str, Named]) -> set[str | None]:
    """Return the names of a kind that a place or a rig refers to."""
    if kind == "covers":
        return {
            cover
            for place in merged["places"].values()
            for cover in (place.cover, *(spot.cover for spot in place.spots))
        }
    if kind in PARTS:
        return {getattr(rig, PARTS[kind]) for rig in merged["rigs"].values()}
    return set()
