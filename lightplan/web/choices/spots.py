"""What the page of fixed spots asks, as typed: the spot, the light waited for."""

from lightplan.catalog.places import Catalog, Spot
from lightplan.errors import did_you_mean
from lightplan.spots import spots
from lightplan.spots.chances import WISHES, Wish
from lightplan.web import ids
from lightplan.web.choices import place as place_fields
from lightplan.web.choices import typed
from lightplan.web.choices.raw import Raw


def spot(raw: Raw, catalog: Catalog) -> Spot | None:
    """Return the spot of the place chosen, None if it has none.

    A spot of another place stays behind when the place changes: the first of this
    place is then meant, as it is where none is named.

    Raises
    ------
    ValueError
        If the place is wrong, or no place has such a spot.
    """
    name, here = raw[ids.SPOT], place_fields.place(raw, catalog).spots
    everywhere = [s.name for place in catalog.places for s in place.spots]
    if name and name not in everywhere:
        raise ValueError(
            f"spot {name[:40]!r} is unknown{did_you_mean(name, everywhere)}"
        )
    named = (s for s in here if s.name == name)
    return next(named, here[0] if here else None)


def wish(raw: Raw) -> Wish:
    """Return the light waited for; ValueError if it is unknown or out of range."""
    return Wish(wish_key(raw), within_deg(raw), up_to_deg(raw))


def wish_key(raw: Raw) -> str:
    """Return the key of the light waited for; ValueError if it is unknown."""
    return typed.one_of(raw[ids.WISH], {w.key: w for w in WISHES}, "light")


def within_deg(raw: Raw) -> float:
    """Return how far off straight behind the sun may be [°]; ValueError outside 1–60."""
    return typed.number(
        raw[ids.BEHIND], "widest angle from straight behind", 1, 60, "°"
    )


def up_to_deg(raw: Raw) -> float:
    """Return how high the sun may be [°]; ValueError outside 1 and top light."""
    return typed.number(raw[ids.HEIGHT], "highest sun", 1, spots.TOP_DEG, "°")
