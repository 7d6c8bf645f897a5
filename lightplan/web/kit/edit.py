"""One entry of a catalog put in, changed or taken out."""

from typing import Any

from lightplan import errors
from lightplan.catalog import places
from lightplan.catalog.kit import Entry
from lightplan.catalog.merge import PARTS
from lightplan.catalog.places import Catalog, PlacesError
from lightplan.catalog.toml import document

ONE_OF = {
    "places": "place",
    "covers": "cover",
    "rigs": "rig",
    "bodies": "body",
    "lenses": "lens",
    "converters": "converter",
}  # in the order of the page


def entry(catalog: Catalog, kind: str, name: str) -> Entry | None:
    """Return the entry of that kind and name, None if missing."""
    entries: tuple[Entry, ...] = getattr(catalog, kind)
    return next((e for e in entries if getattr(e, "name", "") == name), None)


def put(catalog: Catalog, kind: str, name: str, table: dict[str, Any]) -> Catalog:
    """Return the catalog with an entry added, or replaced if it has that name.

    Parameters
    ----------
    catalog : Catalog
        To put it in.
    kind : str
        A key of `ONE_OF`.
    name : str
        The entry's present name; empty for a new one, which goes last.
    table : dict
        The entry as a table of the file. Rigs take over a part's new name, places and
        spots a cover's.

    Raises
    ------
    PlacesError
        With one sentence on the first key or value that is wrong.
    """
    data = document(catalog)
    entries = data.setdefault(kind, [])
    at = next((i for i, e in enumerate(entries) if e["name"] == name), len(entries))
    entries[at : at + 1] = [table]
    if name and kind == "covers":
        for place in data["places"]:
            for user in (place, *place.get("spots", ())):
                if user.get("cover") == name:
                    user["cover"] = table.get("name", name)
    if name and kind in PARTS:
        for rig in data["rigs"]:
            if rig.get(PARTS[kind]) == name:
                rig[PARTS[kind]] = table.get("name", name)
    if not table.get("name"):  # else the first error would be about the rigs
        raise PlacesError(f"a {ONE_OF[kind]} needs a name")
    return places.checked(data)


def without(catalog: Catalog, kind: str, name: str) -> Catalog:
    """Return the catalog without an entry.

    Raises
    ------
    PlacesError
        If a rig, a place or a spot uses it, or it is the last of a required kind.
    """
    what = ONE_OF[kind]
    names = [e.name for e in getattr(catalog, kind)]
    if name not in names:
        raise PlacesError(errors.unknown(what, name, names))
    if kind in PARTS:
        users = [r.name for r in catalog.rigs if getattr(r, PARTS[kind]) == name]
        if users:
            raise PlacesError(
                f"{what} {name!r} is part of rig {users[0]!r}: change or remove that "
                "rig first"
            )
    if len(names) == 1 and kind not in ("converters", "covers"):
        raise PlacesError(f"{what} {name!r} is the last one: add another one first")
    data = document(catalog)
    _check_not_over(catalog, kind, name)
    data[kind] = [e for e in data[kind] if e["name"] != name]
    return places.checked(data)


def _check_not_over(catalog: Catalog, kind: str, name: str) -> None:
    """Raise PlacesError if a place or a spot has a cover of that name."""
    if kind != "covers":
        return
    for place in catalog.places:
        if name in (place.cover, *(spot.cover for spot in place.spots)):
            raise PlacesError(
                f"cover {name!r} is the usual cover of {place.name}: change that first"
            )
