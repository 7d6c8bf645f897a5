"""Where a trip goes, as typed: a place of the catalog, or coordinates."""

from lightplan.catalog import positions
from lightplan.catalog.places import Catalog, Place
from lightplan.sky import localtime
from lightplan.web import ids
from lightplan.web.choices import typed
from lightplan.web.choices.raw import Raw


def place(raw: Raw, catalog: Catalog, exact: bool = False) -> Place:
    """Return the place of the catalog, or the one at coordinates of one's own.

    Coordinates are rounded as in a link, so that a link opens the same plan; with
    ``exact`` they are as typed.

    Raises
    ------
    ValueError
        With one sentence on what is wrong.
    """
    if raw[ids.PLACE] != ids.OWN:
        return catalog.place(raw[ids.PLACE])
    latitude, longitude = latitude_deg(raw), longitude_deg(raw)
    if not exact:
        latitude, longitude = map(positions.coarse_deg, (latitude, longitude))
    zone = raw[ids.ZONE]
    localtime.zone(zone)
    return Place(
        name=positions.name(latitude, longitude),
        latitude_deg=latitude,
        longitude_deg=longitude,
        timezone=zone,
    )


def latitude_deg(raw: Raw) -> float:
    """Return the latitude, north positive [°]; ValueError outside ±90."""
    return typed.number(raw[ids.LATITUDE], "latitude", -90, 90, "°")


def longitude_deg(raw: Raw) -> float:
    """Return the longitude, east positive [°]; ValueError outside ±180."""
    return typed.number(raw[ids.LONGITUDE], "longitude", -180, 180, "°")
