"""The style sheet of all pages: the colours, then every file of ``styles``, in one.

It is one file, because a browser shows nothing before it has every sheet of a page.
"""

import functools
import hashlib
from importlib.resources import files

import flask

from lightplan import colours

# In the order of the cascade: what all pages share, then a file for each page with
# styles of its own, then print.
ORDER = (
    "base",
    "frame",
    "form",
    "results",
    "trip",
    "year",
    "stop",
    "spots",
    "loop",
    "learn",
    "kit",
    "take",
    "print",
)
ADDRESS = "/assets/lightplan.css"
ENDPOINT = "sheet"  # Flask's name for it


@functools.cache
def text() -> str:
    """Return the sheet, the same while the server runs."""
    paper = colours.variables(":root", "light", colours.PAPER)
    # Only on a screen: prints use the colours of paper.
    dusk = colours.variables(':root[data-theme="dusk"]', "dark", colours.DUSK)
    folder = files("lightplan.web") / "styles"
    parts = [(folder / f"{name}.css").read_text("utf-8") for name in ORDER]
    return "".join([paper, f"@media screen{{{dusk}}}\n", *parts])


def address() -> str:
    """Return where the sheet is served, with its version."""
    return f"{ADDRESS}?m={hashlib.sha256(text().encode()).hexdigest()[:16]}"


def register(server: flask.Flask) -> None:
    """Let a server send the sheet."""

    def served() -> flask.Response:
        return flask.Response(text(), content_type="text/css; charset=utf-8")

    server.add_url_rule(ADDRESS, ENDPOINT, served)
