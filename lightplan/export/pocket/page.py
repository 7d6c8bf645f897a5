"""A trip as one file for the pocket: the plan by the minute, without a network.

The page holds everything it shows. Its policy lets nothing in or out: no
request can leave the file, and no text of the plan can become a script. The
same file prints the cards of `card`.
"""

import json
from base64 import b64encode
from functools import lru_cache
from hashlib import sha256
from html import escape
from importlib.resources import files
from string import Template
from typing import NamedTuple

from lightplan import colours, naming
from lightplan.export.pocket import card, data
from lightplan.trip import words
from lightplan.trip.plan import TripPlan

# Switched on where a person chooses a page for each day.
_A4 = "@page{size:A4 landscape}"


class _Parts(NamedTuple):
    """What is the same in every file."""

    template: Template
    style: str
    script: str
    script_source: str
    policy: str


def page(plan: TripPlan) -> bytes:
    """Return the pocket page of a trip.

    Parameters
    ----------
    plan : TripPlan
        From `plan.make`.

    Returns
    -------
    bytes
        One HTML document, UTF-8, that needs nothing else. The same plan gives
        the same bytes.
    """
    parts = _parts()
    name = plan.request.place.name
    days = [naming.day_name(plan.request.first)]
    if plan.request.last != plan.request.first:
        days.append(naming.day_name(plan.request.last))
    dates = f"{' to '.join(days)} {plan.request.last.year}"
    text = parts.template.substitute(
        policy=parts.policy,
        style=parts.style,
        script=parts.script,
        a4=_A4,
        place=escape(name),
        dates=dates,
        zone=escape(words.zone_name(plan)),
        first=escape(card.FIRST),
        cautions=_items((card.EYES, *words.CAUTIONS)),
        notes=_items(words.notes(plan)),
        cards=card.cards(plan),
        data=_harmless(json.dumps(data.data(plan), separators=(",", ":"))),
    )
    return text.encode()


def policy() -> str:
    """Return the content security policy that each file carries.

    A server that sends the file must send this one or none: the page's script
    and style are allowed by their hashes alone.
    """
    return _parts().policy


def script_source() -> str:
    """Return the source expression that allows the page's script.

    A page that shows the file inside itself hands its own policy down to it.
    """
    return _parts().script_source


def _items(sentences: tuple[str, ...]) -> str:
    return "".join(f"<li>{escape(sentence)}</li>" for sentence in sentences)


def _harmless(text: str) -> str:
    """Keep JSON from ending its script element, whatever a name says."""
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


@lru_cache(maxsize=1)
def _parts() -> _Parts:
    here = files("lightplan.export.pocket")
    html, sheet, *scripts = (
        (here / name).read_text("utf-8")
        for name in (
            "page.html",
            "page.css",
            "base.js",
            "picture.js",
            "cards.js",
            "page.js",
        )
    )
    lamp = colours.variables(":root", "dark", colours.LAMP)
    sun = colours.variables(':root[data-theme="sun"]', "light", colours.SUN)
    style = lamp + sun + sheet
    script = "\n".join(scripts)
    source = _hash(script)
    allowed = (
        f"default-src 'none'; script-src {source}; "
        f"style-src {_hash(style)} {_hash(_A4)}; "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )
    return _Parts(Template(html), style, script, source, allowed)


def _hash(text: str) -> str:
    digest = b64encode(sha256(text.encode()).digest()).decode()
    return f"'sha256-{digest}'"
