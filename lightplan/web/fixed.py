"""Files that stay the same while the server runs: compressed once, cached by browsers.

Their addresses name a version (``x.v4_4_1m1796061015.js``, ``x.css?m=1796061076``), so
that a browser which has a file never asks for it again; another version has another
address. A file without a version is asked for again, and mostly answered with a 304.
"""

import functools
import gzip
import hashlib
import os
from collections.abc import Callable
from typing import NamedTuple

import brotli
import flask
import plotly
from dash import Dash
from dash.fingerprint import build_fingerprint, check_fingerprint

from lightplan.web import sheet

# The page's scripts and style sheets, by Flask's names for them.
ENDPOINTS = (
    "/_dash-component-suites/<string:package_name>/<path:fingerprinted_path>",
    "_dash_assets.static",
    sheet.ENDPOINT,
    "/_favicon.ico",
    "/_dash-dependencies",
)
VERSIONS = {"m", "v"}  # arguments that hold the version
FOREVER = "public, max-age=31536000, immutable"
# More than a visit needs, and a limit, so that made-up addresses cannot fill the memory.
MOST_FILES = 128

# The preferred one first. A file is compressed once, so a step harder than answers.
_ENCODERS: dict[str, Callable[[bytes], bytes]] = {
    "br": lambda plain: brotli.compress(plain, quality=6),
    "gzip": lambda plain: gzip.compress(plain, 6, mtime=0),
}


class _File(NamedTuple):
    body: bytes
    content_type: str
    etag: str


def keep(app: Dash) -> None:
    """Serve the files of an app from memory, and let browsers keep them."""

    @functools.lru_cache(MOST_FILES)
    def compressed(path: str, encoding: str) -> _File:
        # Requested without conditions and ranges, to get the whole file.
        with app.server.test_client().get(path) as plain:
            if plain.status_code != 200:
                flask.abort(plain.status_code)
            body = _ENCODERS[encoding](plain.data)
            digest = hashlib.sha256(body).hexdigest()[:32]
            return _File(body, plain.headers["Content-Type"], digest)

    def kept(view: Callable[..., flask.Response]) -> Callable[..., flask.Response]:
        def answer(**arguments: str) -> flask.Response:
            asked = flask.request
            encoding = next((e for e in _ENCODERS if asked.accept_encodings[e]), None)
            path, versioned = check_fingerprint(asked.path)
            if encoding:
                response = _answer(compressed(path, encoding), encoding)
            else:
                response = view(**arguments)
            versioned = versioned or not VERSIONS.isdisjoint(asked.args)
            response.headers["Cache-Control"] = FOREVER if versioned else "no-cache"
            return response

        return answer

    views = app.server.view_functions
    for endpoint in ENDPOINTS:
        views[endpoint] = kept(views[endpoint])


def _answer(file: _File, encoding: str) -> flask.Response:
    if file.etag in flask.request.if_none_match:
        response = flask.Response(status=304)
        del response.headers["Content-Type"]
    else:
        response = flask.Response(file.body, content_type=file.content_type)
        response.headers["Content-Encoding"] = encoding
    response.set_etag(file.etag)
    return response


def plotting_script() -> str:
    """Return the path of plotly's script, with its version.

    Dash names it without one; ``plotting.js`` puts this in its place.
    """
    name = "package_data/plotly.min.js"
    folder = os.path.dirname(plotly.__file__)
    modified = int(os.stat(os.path.join(folder, name)).st_mtime)
    fingerprinted = build_fingerprint(name, plotly.__version__, modified)
    return f"/_dash-component-suites/plotly/{fingerprinted}"
