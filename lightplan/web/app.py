"""Build the app: one catalog, one page, no state between requests."""

from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import flask
from dash import Dash, dcc, html
from dash.development.base_component import Component

from lightplan.catalog import places
from lightplan.catalog.places import Loaded
from lightplan.choices import state
from lightplan.choices.raw import Raw
from lightplan.web import callbacks, clock, fixed, guard, ids, pages, saved, sheet
from lightplan.web.frames import heads

_INDEX = """<!DOCTYPE html>
<html lang="en">
<head>
{%metas%}
<meta name="color-scheme" content="light dark">
<title>{%title%}</title>
{%favicon%}
{%css%}
<noscript><style>#react-entry-point { display: none; }</style></noscript>
</head>
<body>
<noscript>
<p class="no-script">Without scripts lightplan shows no plan: they read your choices and
draw the light, and all come from this server. Allow scripts for this address, or use the
command line, which gives the same plan: <code>python -m lightplan plan</code>.</p>
</noscript>
{%app_entry%}
{%config%}
{%scripts%}
{%renderer%}
</body>
</html>
"""


class _Titled(Dash):
    """Gives each page its title before any script runs."""

    def interpolate_index(self, *parts: Any, **named: Any) -> str:
        named["title"] = f"{pages.at(flask.request.path).title} · lightplan"
        return str(super().interpolate_index(*parts, **named))


def create_app(file: str | None = None) -> Dash:
    """Return a new app.

    Parameters
    ----------
    file : str, optional
        Places and kit to read; without it, what `places.wanted` finds.

    Returns
    -------
    dash.Dash
        With its callbacks; ``.server`` is the WSGI application.
    """
    loaded = places.find(file)
    server = flask.Flask("lightplan")
    # Brotli one step above its default makes the first visit a seventh smaller.
    server.config.update(COMPRESS_ALGORITHM=["br", "gzip"], COMPRESS_BR_LEVEL=5)
    app = _Titled(
        "lightplan",
        server=server,  # type: ignore[arg-type]
        assets_folder=str(Path(__file__).parent / "assets"),
        external_stylesheets=[sheet.address()],
        compress=True,
        meta_tags=[{"name": "plotting-script", "content": fixed.plotting_script()}],
        index_string=_INDEX,
        title="lightplan",
        update_title="",  # the title never flickers
        # Otherwise every page would have to carry all the others, for their ids.
        suppress_callback_exceptions=True,
        hooks={"layout_post": "window.lightplan.leaveOut"},
    )

    def served() -> Component:
        return _root(page(*_address(), None, loaded))

    app.layout = served
    callbacks.register(app, loaded, page)
    for each in pages.PAGES:
        each.module("callbacks").register(app, loaded)
    heads.register(server)
    sheet.register(server)
    fixed.keep(app)
    guard.guard(app)
    # Dash knows its scripts only after it has made a page; before that, or in another
    # worker, browsers would get errors for them.
    server.test_client().get("/")
    return app


def _address() -> tuple[str, str]:
    """Return path and query of the page whose layout a browser asks for."""
    sent = flask.request.referrer if flask.has_request_context() else None
    try:
        address = urlsplit(sent or "")
    except ValueError:  # not an address
        return "", ""
    return address.path, address.query


def page(path: str, search: str, record: object, served: Loaded) -> Component:
    """Return the page of an address, with a browser's own catalog if it has one.

    Parameters
    ----------
    path, search : str
        From the address.
    record : object
        What the browser keeps, see `own`.
    served : Loaded
        The server's own file.
    """
    loaded = saved.loaded(record, served)
    raw, problems = state.mended(Raw.from_search(search), loaded.catalog, clock.now())
    visit = pages.Visit(raw, loaded, problems, record, served)
    made: Component = pages.at(path).module("page").page(visit)
    return made


def _root(shown: Component) -> html.Div:
    """Return the root that every page stands in.

    The server cannot see what a browser keeps, so it sends the page for the server's
    file; a browser that keeps a catalog drops that page (``leaveOut``) and asks for
    one made from its own catalog.
    """
    return html.Div(
        [
            dcc.Store(id=ids.OWN_CATALOG, storage_type="local"),
            dcc.Store(id=ids.VISIT),
            html.Div(shown, id=ids.ROOT),
        ]
    )
