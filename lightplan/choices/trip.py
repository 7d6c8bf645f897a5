"""Where a trip goes, when, and under which skies, as typed."""

import datetime as dt

from lightplan.catalog import positions
from lightplan.catalog.places import Catalog, Place
from lightplan.choices import typed
from lightplan.choices.raw import OWN, Raw
from lightplan.light import daylight
from lightplan.sky import localtime
from lightplan.trip import drives
from lightplan.trip.request import LETTERS


def place(raw: Raw, catalog: Catalog, exact: bool = False) -> Place:
    """Return the place of the catalog, or the one at the coordinates typed.

    Coordinates are rounded as in a link, so that a link opens the same plan; with
    ``exact`` they are as typed.

    Raises
    ------
    ValueError
        With one sentence on what is wrong.
    """
    if raw["place"] != OWN:
        return catalog.place(typed.cut(raw["place"]))
    latitude = typed.number(raw["lat"], "latitude", -90, 90, "°")
    longitude = typed.number(raw["lon"], "longitude", -180, 180, "°")
    if not exact:
        latitude, longitude = map(positions.coarse_deg, (latitude, longitude))
    return Place(
        name=positions.name(latitude, longitude),
        latitude_deg=latitude,
        longitude_deg=longitude,
        timezone=zone(typed.cut(raw["zone"])),
    )


def zone(text: str) -> str:
    """Return an IANA name; ValueError if it is unknown."""
    localtime.zone(text)
    return text


def dates(raw: Raw) -> tuple[dt.date, dt.date]:
    """Return the first and the last day; ValueError if a trip cannot have them."""
    first, last = date(raw["from"], "first date"), date(raw["to"], "last date")
    drives.dates(first, last)
    return first, last


def date(text: str, what: str) -> dt.date:
    """Return the date written; ValueError names ``what``."""
    text = typed.cut(text)
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise ValueError(
            f"{what} must be a date like 2027-08-12, got {text!r}"
        ) from None


def skies(text: str) -> tuple[tuple[str, str], ...]:
    """Read ``2027-08-12-evening:haze,…``: the drives whose sky is not the trip's."""
    pairs = [part.partition(":") for part in text.split(",") if part]
    return tuple((key, daylight.sky_named(sky).key) for key, _, sky in pairs)


def sky_and_air(sky: str) -> tuple[str, str]:
    """Return the texts of sky and air that a sky's name means.

    Dust and smoke were a sky once; files and links say "haze" still.
    """
    return ("clear", "dusty") if sky == daylight.HAZE.key else (sky, "")


def shown(text: str, rigs: int) -> int:
    """Return the index of the rig with that letter; ValueError if none has it."""
    used = LETTERS[:rigs]
    if text not in used or not text:
        known = f"{used[0]} to {used[-1]}" if rigs > 1 else used
        raise ValueError(
            f"letter of the rig in the picture must be {known}, got {text[:40]!r}"
        )
    return used.index(text)
