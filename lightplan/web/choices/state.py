"""What a person chose, read from a form or a link, as a plan's `Request`.

Both carry the same texts (`Raw`). `read` turns them into a `Request` and refuses
the first wrong value with a sentence; `mended` replaces each wrong value by its
default and says so.
"""

import datetime as dt
from collections.abc import Callable

from lightplan.catalog.kit import BLUR_PX, DISTANCE_M, PACES
from lightplan.catalog.places import Catalog
from lightplan.light import daylight
from lightplan.sky import localtime
from lightplan.spots.chances import Wish
from lightplan.trip import compare, drives
from lightplan.trip.request import (
    FACING_INDEX,
    LETTERS,
    USUAL_DAYS,
    USUAL_RIGS,
    USUAL_TRAVEL_MIN,
    Request,
)
from lightplan.web import ids
from lightplan.web.choices import loop, spots, stop, typed
from lightplan.web.choices import place as place_fields
from lightplan.web.choices import rigs as rig_fields
from lightplan.web.choices.raw import Raw


def defaults(catalog: Catalog, now: dt.datetime, place: str = "") -> Raw:
    """Return the coming week at a place (the first, if the name is not known)."""
    at = next((p for p in catalog.places if p.name == place), catalog.places[0])
    tomorrow = localtime.date_at(at.timezone, now) + dt.timedelta(days=1)
    last_day = dt.date(localtime.LAST_YEAR, 12, 31)
    first = min(tomorrow, last_day - dt.timedelta(days=USUAL_DAYS - 1))
    values = {
        ids.PLACE: ids.OWN if place == ids.OWN else at.name,
        ids.FIRST: first.isoformat(),
        ids.LAST: (first + dt.timedelta(days=USUAL_DAYS - 1)).isoformat(),
        ids.PACE: "walking",
        ids.FACING: "side",
        ids.SKY: at.sky,
        ids.COVER: at.cover,
        ids.TRAVEL: str(USUAL_TRAVEL_MIN),
        ids.DISTANCE: f"{DISTANCE_M:g}",
        ids.BLUR: f"{BLUR_PX:g}",
        ids.LATITUDE: f"{at.latitude_deg:g}",
        ids.LONGITUDE: f"{at.longitude_deg:g}",
        ids.ZONE: at.timezone,
        ids.YEAR: str(first.year),
        ids.SHOWN: LETTERS[0],
        ids.ORDER: compare.WANTS[0].key,
        ids.MARKS: "",
        ids.SKIES: "",
        ids.SPOT: "",
        ids.WISH: Wish().key,
        ids.BEHIND: f"{Wish().within_deg:g}",
        ids.HEIGHT: f"{Wish().up_to_deg:g}",
        ids.AIM: "",
        ids.DECLINATION: "",
        ids.SKYLINE: "",
        ids.AT: "",
        ids.START: "",
        ids.SPEED: f"{loop.USUAL_SPEED_KMH:g}",
        ids.LIGHT: loop.USUAL_LIGHT,
        ids.LEGS: "",
    }
    rigs = tuple((r.name, "", "", "", "") for r in catalog.rigs[:USUAL_RIGS])
    return Raw(tuple((name, values[name]) for name in ids.FIELDS), rigs)


def read(raw: Raw, catalog: Catalog, exact: bool = False) -> Request:
    """Return the request that the texts make; ``exact`` as for `place_fields.place`.

    Raises
    ------
    ValueError
        With one sentence on the first value that is wrong.
    """
    first, last = _dates(raw)
    return Request(
        place=place_fields.place(raw, catalog, exact),
        first=first,
        last=last,
        rigs=rig_fields.rigs(raw, catalog),
        pace=typed.one_of(raw[ids.PACE], PACES, "pace"),
        facing=typed.one_of(raw[ids.FACING], FACING_INDEX, "side"),
        sky=daylight.sky_named(raw[ids.SKY]).key,
        cover=catalog.cover(raw[ids.COVER]),
        travel_min=_travel(raw),
        limits=catalog.light.limits,
        skies=_skies(raw),
    )


def mended(raw: Raw, catalog: Catalog, now: dt.datetime) -> tuple[Raw, tuple[str, ...]]:
    """Fill what is missing and replace what is wrong, value by value.

    A link with coordinates but no place means the coordinates.

    Returns
    -------
    tuple
        Texts that `read` accepts, and a sentence for each one replaced. Legs are
        kept as they are: the loop's page alone needs them, and tells.
    """
    if not raw[ids.PLACE] and (raw[ids.LATITUDE] or raw[ids.LONGITUDE]):
        raw = Raw((*raw.fields, (ids.PLACE, ids.OWN)), raw.rigs, raw.drive)
    base = defaults(catalog, now, raw[ids.PLACE])
    fields = {**dict(base.fields), **dict(raw.fields)}
    said: list[str] = []

    def attempt(names: tuple[str, ...], check: Callable[[Raw], object]) -> None:
        trial = Raw(tuple(fields.items()), raw.rigs)
        try:
            check(trial)
        except ValueError as error:
            said.append(str(error))
            fields.update({name: base[name] for name in names})

    fields.update(_place(raw, base, catalog, said))
    attempt((ids.FIRST, ids.LAST), _dates)
    base = base.replaced({ids.YEAR: fields[ids.FIRST][:4]})
    fields[ids.YEAR] = raw[ids.YEAR] or base[ids.YEAR]
    attempt((ids.PACE,), lambda r: typed.one_of(r[ids.PACE], PACES, "pace"))
    attempt((ids.FACING,), lambda r: typed.one_of(r[ids.FACING], FACING_INDEX, "side"))
    attempt((ids.SKY,), lambda r: daylight.sky_named(r[ids.SKY]))
    attempt((ids.COVER,), lambda r: catalog.cover(r[ids.COVER]))
    attempt((ids.TRAVEL,), _travel)
    attempt((ids.DISTANCE,), rig_fields.distance_m)
    attempt((ids.BLUR,), rig_fields.blur_px)
    attempt((ids.YEAR,), year_of)
    attempt((ids.ORDER,), order_of)
    attempt((ids.SKIES,), _skies)
    attempt((ids.SPOT,), lambda r: spots.spot(r, catalog))
    attempt((ids.WISH,), spots.wish_key)
    attempt((ids.BEHIND,), spots.within_deg)
    attempt((ids.HEIGHT,), spots.up_to_deg)
    attempt((ids.AIM,), lambda r: stop.aim_deg(r[ids.AIM]))
    attempt((ids.DECLINATION,), lambda r: stop.declination_deg(r[ids.DECLINATION]))
    attempt((ids.SKYLINE,), lambda r: stop.spot(r[ids.SKYLINE], catalog))
    attempt((ids.AT,), lambda r: stop.time_of_day(r[ids.AT]))
    attempt((ids.START,), lambda r: loop.start(r[ids.START]))
    attempt((ids.SPEED,), lambda r: loop.speed_kmh(r[ids.SPEED]))
    attempt((ids.LIGHT,), lambda r: loop.light(r[ids.LIGHT]))
    rigs = rig_fields.mended(Raw(tuple(fields.items()), raw.rigs), catalog, said)
    rigs = rigs or base.rigs
    attempt((ids.SHOWN,), lambda r: shown_of(Raw(r.fields, rigs)))
    drive = raw.drive if len(raw.drive) < 40 else ""
    return Raw(tuple(fields.items()), rigs, drive), tuple(said)


def _place(raw: Raw, base: Raw, catalog: Catalog, said: list[str]) -> dict[str, str]:
    """Return where a link goes: all as linked, or all of the usual place."""
    usual = {name: base[name] for name in ids.OWN_FIELDS}
    if raw[ids.PLACE] == ids.OWN and any(raw[name] for name in usual):
        # A part of one place beside a part of another would be neither.
        usual = {name: raw[name] for name in usual}
    place = {ids.PLACE: base[ids.PLACE], **usual}
    if raw[ids.PLACE]:
        place[ids.PLACE] = raw[ids.PLACE]
    try:
        place_fields.place(Raw(tuple(place.items()), ()), catalog)
    except ValueError as error:
        first = catalog.places[0].name
        said.append(f"{str(error).removesuffix('.')}; {first} is used instead")
        return {ids.PLACE: first, **{name: base[name] for name in ids.OWN_FIELDS}}
    return place


def year_of(raw: Raw) -> int:
    """Return the year; ValueError outside 1950–2037."""
    first, last = localtime.FIRST_YEAR, localtime.LAST_YEAR
    return round(typed.number(raw[ids.YEAR], "year", first, last))


def shown_of(raw: Raw) -> int:
    """Return the index of the rig in the year's picture; ValueError if none has it."""
    used = LETTERS[: len(raw.rigs)]
    if raw[ids.SHOWN] not in used:
        known = f"{used[0]} to {used[-1]}" if len(used) > 1 else "".join(used)
        got = repr(raw[ids.SHOWN][:40])
        raise ValueError(f"letter of the rig in the picture must be {known}, got {got}")
    return used.index(raw[ids.SHOWN])


def order_of(raw: Raw) -> str:
    """Return what drives are ordered by; ValueError if it is unknown."""
    return typed.one_of(raw[ids.ORDER], {w.key: w for w in compare.WANTS}, "order")


def marks_of(raw: Raw) -> frozenset[str]:
    """Return the keys of the drives marked for booking."""
    return frozenset(key for key in raw[ids.MARKS].split(",") if key)


def _skies(raw: Raw) -> tuple[tuple[str, str], ...]:
    """Read ``2027-08-12-evening:haze,…``, the drives with a sky of their own."""
    pairs = [text.partition(":") for text in raw[ids.SKIES].split(",") if text]
    return tuple((key, daylight.sky_named(sky).key) for key, _, sky in pairs)


def _dates(raw: Raw) -> tuple[dt.date, dt.date]:
    found = []
    for name, label in ((ids.FIRST, "first date"), (ids.LAST, "last date")):
        try:
            found.append(dt.date.fromisoformat(raw[name]))
        except ValueError:
            raise ValueError(
                f"{label} must be a date like 2027-08-12, got {raw[name]!r}"
            ) from None
    first, last = found
    drives.dates(first, last)
    return first, last


def _travel(raw: Raw) -> int:
    return round(
        typed.number(raw[ids.TRAVEL], "travel time to the gate", 0, 600, " min")
    )
