"""The trip page's part "Take it along": the files of a trip."""

import base64
import datetime as dt
from typing import Any

import dash_mantine_components as dmc
from dash import dcc, html

from lightplan.catalog import positions
from lightplan.catalog.places import Catalog
from lightplan.choices import state, typed
from lightplan.choices.raw import Raw
from lightplan.export import calendar
from lightplan.export.files import FILES, Options, withheld
from lightplan.web import cache, ids
from lightplan.web.parts import aria

_POSITION = (
    "Otherwise the files contain no coordinates, and times and angles are for the "
    "position rounded to 0.01° (about 1 km). The name of the place stays in, unless "
    "it is its coordinates. "
)


def section(raw: Raw) -> html.Section:
    """Return the trip page's part with a button for each file."""
    opened = html.A(
        "open the pocket plan here", id=ids.nav_link(ids.POCKET), href=path(raw)
    )
    return html.Section(
        [
            html.H2("Take it along"),
            html.P(
                [
                    "The pocket plan is one file with the whole trip by the minute. It "
                    "opens on a phone without a signal and prints a card for each "
                    "drive. Save it, or ",
                    opened,
                    ".",
                ],
                className="said",
            ),
            # Off on every visit, so that a position is never given by accident.
            dmc.Checkbox(
                id=ids.WITH_POSITION, label="Include the position", checked=False
            ),
            html.P([_POSITION, positions.CAUTION], className="muted"),
            html.Div([_button(key) for key in FILES], className="files"),
            html.P(id=ids.TAKE_SAID, className="muted", **aria(live="polite")),
            html.Div([_alarms(), _leave()], className="alarms"),
            dcc.Download(id=ids.DOWNLOAD),
        ],
        className="tables",
    )


def path(raw: Raw) -> str:
    """Return the address of the pocket plan's page."""
    return f"/{ids.POCKET}{raw.search()}"


def _button(key: str) -> html.Button:
    return html.Button(
        FILES[key].label, id=ids.take_button(key), className="quiet", n_clicks=0
    )


def _alarms() -> dmc.CheckboxGroup:
    # A habit rather than part of a trip, so the browser keeps it.
    return dmc.CheckboxGroup(
        dmc.Group([dmc.Checkbox(label=k.label, value=k.key) for k in _KINDS]),
        id=ids.ALARMS,
        label="Alarms in the calendar",
        value=[],
        persistence=True,
        persistence_type="local",
    )


_KINDS = tuple(calendar.KINDS.values())


def _leave() -> dmc.NumberInput:
    return dmc.NumberInput(
        id=ids.LEAVE,
        label="Leave camp before the gates open, min",
        value=calendar.LEAVE_MIN,
        step=5,
        debounce=400,
        persistence=True,
        persistence_type="local",
    )


def _leave_min(typed_text: object) -> int:
    what = "minutes to leave camp before the gates open"
    return round(typed.number(typed.text(typed_text), what, 0, calendar.MAX_LEAVE_MIN))


def download(
    raw: Raw,
    catalog: Catalog,
    key: str,
    alarms: object,
    leave: object,
    now: dt.datetime,
    with_position: bool = False,
) -> tuple[dict[str, Any], str]:
    """Return a file for `dcc.Download`, and a sentence on it.

    Raises
    ------
    ValueError
        With one sentence on the first value that is wrong.
    """
    file = FILES[typed.one_of(key, FILES, "file")]
    request = state.read(raw, catalog, exact=with_position)
    plan = cache.trip(withheld(request, with_position))
    # Cut, since an error sentence quotes it.
    known = alarms if isinstance(alarms, list) else []
    kinds = tuple(typed.text(kind, 40) for kind in known)
    before = _leave_min(leave) if "leave" in kinds else calendar.LEAVE_MIN
    stamp = now.replace(microsecond=0)
    chosen = Options(stamp, calendar.Alarms(kinds, before), with_position)
    written = file.write(plan, chosen)
    name = file.name(plan)
    sent = {
        "content": base64.b64encode(written).decode(),
        "filename": name,
        "type": file.mime,
        "base64": True,
    }
    return sent, f"{name}, {len(written) / 1000:,.0f} kB."
