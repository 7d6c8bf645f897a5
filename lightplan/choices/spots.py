"""The spot chosen."""

from lightplan import errors
from lightplan.catalog.places import Catalog, Spot
from lightplan.choices import trip
from lightplan.choices.raw import Raw


def spot(name: str, raw: Raw, catalog: Catalog) -> Spot | None:
    """Return the spot of the place chosen, None if it has none.

    After a change of place the name may still be that of a spot elsewhere: then, as
    when it is empty, the first spot of this place is returned.

    Raises
    ------
    ValueError
        If the place is wrong, or no place has such a spot.
    """
    here = trip.place(raw, catalog).spots
    everywhere = [s.name for place in catalog.places for s in place.spots]
    if name and name not in everywhere:
        raise ValueError(errors.unknown("spot", name, everywhere))
    named = (s for s in here if s.name == name)
    return next(named, here[0] if here else None)
