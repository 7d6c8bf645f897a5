"""The texts of a form or a link, as a plan's `Request`.

`read` refuses the first wrong value with a sentence; `mended` replaces each wrong
value by the usual one and says so.
"""

import datetime as dt
from typing import Any

from lightplan.catalog.places import Catalog, Place
from lightplan.choices import rigs, table, trip
from lightplan.choices.choice import Choice, Usual
from lightplan.choices.raw import LONGEST_LINK, OWN, OWN_FIELDS, Raw
from lightplan.sky import localtime
from lightplan.spots.chances import Wish
from lightplan.trip.request import USUAL_DAYS, USUAL_RIGS, Request


def usual(place: Place, now: dt.datetime, first: dt.date | None = None) -> Usual:
    """Return what the usual values depend on: a place, and a week from tomorrow there."""
    last_day = dt.date(localtime.LAST_YEAR, 12, 31)
    week = dt.timedelta(days=USUAL_DAYS - 1)
    if first is None:
        tomorrow = localtime.date_at(place.timezone, now) + dt.timedelta(days=1)
        first = min(tomorrow, last_day - week)
    return Usual(place, first, min(first, last_day - week) + week)


def defaults(catalog: Catalog, now: dt.datetime, place: str = "") -> Raw:
    """Return the coming week at a place (the first, if the name is not known)."""
    at = next((p for p in catalog.places if p.name == place), catalog.places[0])
    texts = table.usual(usual(at, now))
    if place == OWN:
        texts[table.PLACE.name] = OWN
    named = tuple((r.name, "", "", "", "") for r in catalog.rigs[:USUAL_RIGS])
    return Raw(tuple(texts.items()), named)


def read(raw: Raw, catalog: Catalog, exact: bool = False) -> Request:
    """Return the request that the texts make; ``exact`` as for `trip.place`.

    Raises
    ------
    ValueError
        With one sentence on the first value that is wrong.
    """
    return Request(
        place=trip.place(raw, catalog, exact),
        first=table.FIRST.of(raw, catalog),
        last=table.LAST.of(raw, catalog),
        rigs=rigs.rigs(raw, catalog),
        facing=table.FACING.of(raw, catalog),
        sky=table.SKY.of(raw, catalog),
        aod500=table.AIR.of(raw, catalog),
        gold=table.GOLD.of(raw, catalog),
        warm_k=table.WARM.of(raw, catalog),
        cover=table.COVER.of(raw, catalog),
        travel_min=table.TRAVEL.of(raw, catalog),
        limits=catalog.light.limits,
        skies=table.SKIES.of(raw, catalog),
        **rigs.assumed(raw, catalog),
    )


def wish(raw: Raw, catalog: Catalog) -> Wish:
    """Return the light to wait for at a spot; raises as `read`."""
    return Wish(
        table.WISH.of(raw, catalog),
        table.BEHIND.of(raw, catalog),
        table.HEIGHT.of(raw, catalog),
    )


def fills_a_link(raw: Raw) -> bool:
    """Return whether a link can hold all of it: nothing missing, and not too long."""
    own = raw[table.PLACE.name] == OWN
    whole = all(
        raw[choice.name] or choice.empty or (choice.name in OWN_FIELDS and not own)
        for choice in table.CHOICES
    )
    return whole and bool(raw.rigs) and len(raw.search()) <= LONGEST_LINK


def mended(raw: Raw, catalog: Catalog, now: dt.datetime) -> tuple[Raw, tuple[str, ...]]:
    """Fill in missing values and replace wrong ones, one by one.

    A link with coordinates but no place means the coordinates.

    Returns
    -------
    tuple
        Texts that `read` accepts, and a sentence for each one replaced. Legs stay
        as they are: only the loop's page needs them, and it says what is wrong.
    """
    place, year, shown = (c.name for c in (table.PLACE, table.YEAR, table.SHOWN))
    if not raw[place] and (raw["lat"] or raw["lon"]):
        raw = Raw((*raw.fields, (place, OWN)), raw.rigs, raw.drive)
    base = dict(defaults(catalog, now, raw[place]).fields)
    if raw[table.PACE.name] == "flying":  # no lion, where nothing says which animal
        base[table.WHICH.name] = "fish-eagle"
    fields = {c.name: raw[c.name] or base[c.name] for c in table.CHOICES}
    sky, air = trip.sky_and_air(fields[table.SKY.name])
    fields[table.SKY.name] = sky
    fields[table.AIR.name] = fields[table.AIR.name] or air
    problems: list[str] = []
    fields.update(_place(raw, base, catalog, problems))

    def attempt(choice: Choice[Any]) -> None:
        try:
            choice.of(Raw(tuple(fields.items()), raw.rigs), catalog)
        except ValueError as error:
            problems.append(str(error))
            for name in (choice.name, *choice.with_names):
                fields[name] = base[name]

    attempt(table.FIRST)
    base[year] = fields[table.FIRST.name][:4]
    fields[year] = raw[year] or base[year]
    for choice in table.CHOICES:
        if choice.name not in (place, *OWN_FIELDS, shown, table.LEGS.name):
            attempt(choice)
    kept = rigs.mended(Raw(tuple(fields.items()), raw.rigs), catalog, problems)
    raw = Raw((), kept or defaults(catalog, now).rigs, raw.drive)
    attempt(table.SHOWN)
    drive = raw.drive if len(raw.drive) < 40 else ""
    return Raw(tuple(fields.items()), raw.rigs, drive), tuple(problems)


def _place(
    raw: Raw, base: dict[str, str], catalog: Catalog, problems: list[str]
) -> dict[str, str]:
    """Return place and coordinates, all from the link or all of the usual place."""
    name = table.PLACE.name
    at = {field: base[field] for field in OWN_FIELDS}
    if raw[name] == OWN and any(raw[field] for field in at):
        # Half of one place with half of another would be neither.
        at = {field: raw[field] for field in at}
    place = {name: raw[name] or base[name], **at}
    try:
        table.PLACE.of(Raw(tuple(place.items()), ()), catalog)
    except ValueError as error:
        first = catalog.places[0].name
        problems.append(f"{str(error).removesuffix('.')}; {first} is used instead")
        return {name: first, **{field: base[field] for field in OWN_FIELDS}}
    return place
