"""A minute and a skyline, as typed on the page Where to stop."""

import re
from typing import NamedTuple

from lightplan.catalog.places import Catalog, Spot
from lightplan.choices import typed


class AtPlace(NamedTuple):
    """A spot and the name of its place."""

    place: str
    spot: Spot


def time_of_day(text: str) -> str:
    """Return the local time of the minute shown, ``05:57``; empty for none."""
    if text and not re.fullmatch(r"([01]\d|2[0-3]):[0-5]\d", text, re.ASCII):
        raise ValueError(f"minute must be a time like 05:57, got {text[:40]!r}")
    return text


def spot(text: str, catalog: Catalog) -> AtPlace | None:
    """Return the spot whose skyline is used, None for a level horizon.

    Raises
    ------
    ValueError
        If no place has such a spot.
    """
    known = skylines(catalog)
    return known[typed.one_of(text, known, "skyline of")] if text else None


def skylines(catalog: Catalog) -> dict[str, AtPlace]:
    """Return the spots that have a skyline by ``place: spot``."""
    return {
        f"{place.name}: {spot.name}": AtPlace(place.name, spot)
        for place in catalog.places
        for spot in place.spots
        if spot.horizon
    }
