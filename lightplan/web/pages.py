"""The pages: one record each, and a package with what it shows and does.

A page's package holds ``page`` (``page(visit)`` and ``summary(raw, catalog)``) and
``callbacks`` (``register(app, served)``).
"""

from dataclasses import dataclass
from importlib import import_module
from typing import Any, NamedTuple

from lightplan.catalog.places import Loaded
from lightplan.choices.raw import Raw


@dataclass(frozen=True, slots=True)
class Page:
    """One page: its key in links and callbacks, title, path and package.

    ``asks`` says whether it has choices, ``in_header`` whether every page links it.
    """

    key: str
    title: str
    path: str
    package: str
    in_header: bool = True
    asks: bool = True

    def module(self, name: str) -> Any:
        """Return a module of the page's package, ``page`` or ``callbacks``."""
        # By name, since the modules of every page import this one.
        return import_module(f"lightplan.web.{self.package}.{name}")


PAGES = (
    Page("trip", "Trip", "/", "trip"),
    Page("year", "Year", "/year", "year"),
    Page("stop", "Where to stop", "/stop", "stop"),
    Page("spots", "Spots", "/spots", "spots"),
    Page("loop", "The loop", "/loop", "loop"),
    Page("learn", "Your frames", "/learn", "frames"),
    Page("kit", "Kit and places", "/kit", "kit", asks=False),
    Page("pocket", "Pocket plan", "/pocket", "take", in_header=False, asks=False),
)
BY_KEY = {page.key: page for page in PAGES}


class Visit(NamedTuple):
    """What a page is made from.

    ``problems`` are sentences on values of the link that had to be replaced;
    ``loaded`` is the visitor's catalog, ``served`` the server's, and ``record`` what
    the visitor's browser keeps.
    """

    raw: Raw
    loaded: Loaded
    problems: tuple[str, ...]
    record: object
    served: Loaded


def at(path: str) -> Page:
    """Return the page at a path, which may have a prefix; else the trip's."""
    name = f"/{path.rsplit('/', 1)[-1]}"
    return next((page for page in PAGES if page.path == name), PAGES[0])
