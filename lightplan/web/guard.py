"""What the server adds to its pages: headers, limits, errors in plain words.

Anyone who reaches the server may send anything. A request that no page of ours would
send is refused here, in one sentence, before a callback sees it.
"""

import json
from collections.abc import Mapping
from typing import Any

import flask
from dash import Dash
from dash.exceptions import DependencyException
from werkzeug.exceptions import HTTPException

from lightplan.export.pocket import page as pocket
from lightplan.web.pages import PAGES

# The most that a page sends: a GPX file of 8 MB, a third longer as text, with a
# catalog; or three catalogs of 500,000 characters of up to four bytes each.
LARGEST_REQUEST = 12 * 2**20
DEEPEST = 20  # lists within lists of a request; a page's own reach nine
# Commas and brackets, within texts too: 20,000 frames have 200,000 of them, and three
# of the longest catalogs, of nothing but skylines, 375,000.
MOST_SIGNS = 500_000

MALFORMED = "This request did not come from a lightplan page."
_SENTENCES = {
    400: MALFORMED,
    404: "There is no page at this address; the trip plan is at /.",
    405: "This address does not accept requests of that kind.",
    413: f"This is too large: a request may have at most {LARGEST_REQUEST // 2**20} MB.",
    415: MALFORMED,
    500: "Something went wrong in lightplan itself; nothing you entered is lost.",
}

_HEADERS = {
    "X-Content-Type-Options": "nosniff",
    # A layout is built from the page's own address, so that much must be sent.
    "Referrer-Policy": "same-origin",
    "X-Frame-Options": "DENY",  # for browsers that know no frame-ancestors
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": ", ".join(
        f"{feature}=()"
        for feature in (
            "accelerometer", "camera", "display-capture", "geolocation", "gyroscope",
            "magnetometer", "microphone", "midi", "payment", "serial", "usb",
        )
    ),
}  # fmt: skip
_ASKED, _LAYOUT = "/_dash-update-component", "/_dash-layout"


def guard(app: Dash) -> None:
    """Give every answer its headers, every error a sentence, every request a limit."""
    server = app.server
    server.config["MAX_CONTENT_LENGTH"] = LARGEST_REQUEST
    policy = _policy(app)

    @server.before_request
    def refuse() -> None:
        request = flask.request
        if request.path == _ASKED:
            if request.method not in ("POST", "OPTIONS"):
                flask.abort(405)
            # Other arguments control background jobs, and there are none.
            known = request.args.keys() <= {"endId"}
            if request.method == "POST" and not (known and _is_asked(app)):
                flask.abort(400)
        elif request.endpoint == "/<path:path>" and not _is_page(request.path):
            flask.abort(404)  # Dash would answer with the page anyway

    @server.after_request
    def headers(response: flask.Response) -> flask.Response:
        response.headers["Content-Security-Policy"] = policy
        response.headers.update(_HEADERS)
        if flask.request.path in (_ASKED, _LAYOUT):
            # Answers hold somebody's plans; a layout depends on the page that asks.
            response.headers["Cache-Control"] = "no-store"
        return response

    @server.errorhandler(HTTPException)
    def refused(error: HTTPException) -> flask.Response:
        return _answer(error)

    @server.errorhandler(DependencyException)
    def no_script(_: DependencyException) -> flask.Response:
        return flask.Response(_SENTENCES[404] + "\n", 404, mimetype="text/plain")


def _policy(app: Dash) -> str:
    """Return the policy: the browser may reach no other host and run no other script."""
    return "; ".join(
        (
            "default-src 'self'",
            "script-src 'self' "
            + " ".join((*app.csp_hashes(), pocket.script_source())),
            "style-src 'self' 'unsafe-inline'",
            "img-src 'self' data: blob:",
            "worker-src 'self' blob:",
            "object-src 'none'",
            "frame-ancestors 'none'",
            "form-action 'self'",
            "base-uri 'self'",
        )
    )


def _answer(error: HTTPException) -> flask.Response:
    """Return an error as one sentence, with the headers that belong to it."""
    code = error.code or 500
    sentence = _SENTENCES.get(code) or f"{error.name}."
    answer = flask.Response(sentence + "\n", code, mimetype="text/plain")
    for name, value in error.get_headers():
        if name != "Content-Type":
            answer.headers[name] = value  # a 405 lists the methods allowed
    return answer


def _is_page(path: str) -> bool:
    return path in {page.path for page in PAGES}


# ------------------------------------------------------------- what is asked


def _is_asked(app: Dash) -> bool:
    """Return whether the request's body asks a callback as the browser would."""
    sent = flask.request.get_data()
    if sum(map(sent.count, (b",", b"[", b"{"))) > MOST_SIGNS:
        return False  # before it becomes millions of objects
    try:
        body = flask.request.get_json()
    except RecursionError:
        return False
    if not isinstance(body, dict) or not _is_shallow(body):
        return False
    output = body.get("output")
    asked = app.callback_map.get(output) if isinstance(output, str) else None
    if asked is None:
        return False
    return (
        _are_given(body.get("inputs"), asked["inputs"])
        and _are_given(body.get("state", []), asked["state"])
        and _are_outputs(body.get("outputs"), str(output))
        and _are_changes(body.get("changedPropIds", []), body["inputs"])
    )


def _is_shallow(body: object) -> bool:
    # Level by level, since deep nesting would break a recursion.
    level = [body]
    for _ in range(DEEPEST):
        level = [
            inner
            for value in level
            if isinstance(value, dict | list)
            for inner in (value.values() if isinstance(value, dict) else value)
        ]
        if not level:
            return True
    return False


def _are_given(sent: object, declared: list[dict[str, Any]]) -> bool:
    """Return whether values are sent for the properties a callback names, in order."""
    return (
        isinstance(sent, list)
        and len(sent) == len(declared)
        and all(map(_is_given, sent, declared))
    )


def _is_given(sent: Any, declared: Mapping[str, Any]) -> bool:
    if declared["id"].startswith("{"):  # for any number of components
        return isinstance(sent, list) and all(
            _is_named(e) and isinstance(e["id"], dict) for e in sent
        )
    return (
        _is_named(sent)
        and sent["id"] == declared["id"]
        and sent["property"] == declared["property"]
    )


def _is_named(entry: Any) -> bool:
    return (
        isinstance(entry, dict)
        and isinstance(entry.get("id"), str | dict)
        and isinstance(entry.get("property"), str)
    )


def _are_outputs(sent: object, output: str) -> bool:
    """Return whether the outputs are those of the callback, ``..a.b...c.d..``."""
    if not output.startswith(".."):
        return _is_output(sent, output)
    names = output.strip(".").split("...")
    return (
        isinstance(sent, list)
        and len(sent) == len(names)
        and all(map(_is_output, sent, names))
    )


def _is_output(sent: Any, name: str) -> bool:
    id_, _, prop = name.rpartition(".")
    if id_.startswith("{"):
        return isinstance(sent, list) and all(map(_is_named, sent))
    return (
        _is_named(sent)
        and sent["id"] == id_
        and sent["property"].partition("@")[0] == prop.partition("@")[0]
    )


def _are_changes(sent: object, inputs: list[Any]) -> bool:
    """Return whether the changed properties are named, no more than there are inputs."""
    most = sum(len(given) if isinstance(given, list) else 1 for given in inputs)
    return isinstance(sent, list) and len(sent) <= most and all(map(_is_change, sent))


def _is_change(sent: object) -> bool:
    if not isinstance(sent, str) or "." not in sent:
        return False
    if not sent.startswith("{"):
        return True
    try:
        return isinstance(json.loads(sent.rpartition(".")[0]), dict)
    except (ValueError, RecursionError):
        return False
