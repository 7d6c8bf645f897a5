"""Build the app: one catalog, one page, no state between requests."""

import datetime as dt
import os
from pathlib import Path
from urllib.parse import urlsplit

import dash_mantine_components as dmc
import flask
from dash import Dash

from lightplan import places
from lightplan.web import callbacks, layout, state

APP_FOLDER = Path(__file__).resolve().parents[2]

_INDEX = """<!DOCTYPE html>
<html lang="en">
<head>
{%metas%}
<meta name="color-scheme" content="light dark">
<title>{%title%}</title>
{%favicon%}
{%css%}
</head>
<body>
{%app_entry%}
<footer>
{%config%}
{%scripts%}
{%renderer%}
</footer>
</body>
</html>
"""


def create_app(file: str | None = None) -> Dash:
    """Return a new app.

    Parameters
    ----------
    file : str, optional
        Places and kit to read; else ``LIGHTPLAN_FILE`` from the environment,
        else the files beside the app.

    Returns
    -------
    dash.Dash
        With its callbacks; ``.server`` is the WSGI application.
    """
    loaded = places.find(APP_FOLDER, file or os.environ.get("LIGHTPLAN_FILE"))
    app = Dash(
        "lightplan",
        assets_folder=str(Path(__file__).parent / "assets"),
        compress=True,
        index_string=_INDEX,
        title="lightplan",
        update_title="",  # the title never flickers
    )

    def page() -> dmc.MantineProvider:
        # The browser asks for the layout from the page's own address.
        search = ""
        if flask.has_request_context() and flask.request.referrer:
            search = urlsplit(flask.request.referrer).query
        now = dt.datetime.now(dt.UTC)
        raw, said = state.mended(state.from_search(search), loaded.catalog, now)
        return layout.page(raw, loaded, said)

    app.layout = page
    callbacks.register(app, loaded.catalog)
    _guard(app)
    return app


def _guard(app: Dash) -> None:
    """Tell the browser to ask no other host and to run no other script."""
    policy = "; ".join(
        (
            "default-src 'self'",
            "script-src 'self' " + " ".join(app.csp_hashes()),
            "style-src 'self' 'unsafe-inline'",
            "img-src 'self' data: blob:",
            "worker-src 'self' blob:",
            "frame-ancestors 'none'",
            "base-uri 'self'",
        )
    )

    @app.server.after_request
    def headers(response: flask.Response) -> flask.Response:
        response.headers["Content-Security-Policy"] = policy
        response.headers["X-Content-Type-Options"] = "nosniff"
        response.headers["Referrer-Policy"] = "same-origin"
        return response
