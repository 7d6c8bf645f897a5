"""Callbacks of the page Kit and places.

The server checks and writes catalogs but keeps none: a change (`changes`) goes to the
browser, which compares revisions and saves it.
"""

from functools import partial
from typing import Any

from dash import ALL, Dash, Input, Output, State, ctx
from dash.exceptions import PreventUpdate

from lightplan.catalog.places import OWN_FILE, Loaded
from lightplan.catalog.toml import dumps
from lightplan.choices import typed
from lightplan.choices.raw import LONGEST_LINK
from lightplan.web import clock, ids, payloads, saved
from lightplan.web.inputs import in_browser
from lightplan.web.kit import changes, form, page

_ANY_FIELD = {"type": "kit-field", "part": ALL, "row": ALL, "key": ALL}
_TYPED = {"fields": State(_ANY_FIELD, "id"), "values": State(_ANY_FIELD, "value")}
_ORIGINAL = State(ids.KIT_ORIGINAL, "data")
_BASE = State(ids.KIT_BASE, "data")

Sent = dict[str, Any]


def register(app: Dash, served: Loaded) -> None:
    """Attach the page's callbacks to the app."""
    _register_browser(app)
    _register_files(app, served)

    @app.callback(
        output={
            "pages": Output(ids.KIT_PAGES, "children"),
            "answer": Output(ids.KIT_ANSWER, "children"),
            "lists": Output(ids.KIT_LISTS, "children"),
            "names": Output(ids.KIT_NAMES, "data"),
            "form": Output(ids.KIT_FORM, "children"),
            "original": Output(ids.KIT_ORIGINAL, "data"),
            "save": Output(ids.KIT_SAVE, "children"),
            "remove": Output(ids.KIT_REMOVE, "children"),
            "can_remove": Output(ids.KIT_REMOVE, "className"),
            "can_reset": Output(ids.KIT_RESET, "className"),
        },
        inputs={
            "view": Input(ids.KIT_VIEW, "data"),
            "base": _BASE,
            "link": State(ids.KIT_LINK, "data"),
        },
        prevent_initial_call=True,
    )
    def show_kit(view: object, base: object, link: object) -> Sent:
        if not view:
            raise PreventUpdate
        shown = payloads.checked(payloads.View, view)
        search = typed.text(link, LONGEST_LINK)
        return page.content(shown, base, served, search, clock.now())

    @app.callback(
        output=Output(ids.KIT_FORM, "children", allow_duplicate=True),
        inputs={
            "added": Input({"type": "kit-add", "part": ALL}, "n_clicks"),
            "dropped": Input({"type": "kit-drop", "part": ALL, "row": ALL}, "n_clicks"),
            **_TYPED,
            "original": _ORIGINAL,
            "base": _BASE,
        },
        prevent_initial_call=True,
    )
    def change_rows(
        added: list[Any],
        dropped: list[Any],
        fields: object,
        values: object,
        original: object,
        base: object,
    ) -> Any:
        if not ctx.triggered_id or not ctx.triggered[0]["value"]:
            raise PreventUpdate  # a button that was just created
        shown = payloads.checked(payloads.Original, original)
        kind, lines = shown["kind"], form.read(**payloads.typed(fields, values))
        cause = payloads.cause(ctx.triggered_id, kind)
        if cause["type"] == "kit-add":
            texts = page.with_row(kind, lines, cause["part"])
        else:
            texts = page.without_row(kind, lines, cause["part"], cause["row"])
        catalog = saved.catalog(base, served)
        return form.form(kind, shown["title"], texts, catalog)

    @app.callback(
        output=_change(),
        inputs={
            "clicks": Input(ids.KIT_SAVE, "n_clicks"),
            **_TYPED,
            "original": _ORIGINAL,
            "base": _BASE,
        },
        prevent_initial_call=True,
    )
    def save(
        clicks: object,
        fields: object,
        values: object,
        original: object,
        base: object,
    ) -> Sent:
        if not clicks:
            raise PreventUpdate
        lines = form.read(**payloads.typed(fields, values))
        shown = payloads.checked(payloads.Original, original)
        return changes.saved(shown, lines, base, served)

    @app.callback(
        output=_change(),
        inputs={
            "clicks": Input(ids.KIT_REMOVE, "n_clicks"),
            "original": _ORIGINAL,
            "base": _BASE,
        },
        prevent_initial_call=True,
    )
    def remove(clicks: object, original: object, base: object) -> Sent:
        if not clicks:
            raise PreventUpdate
        return changes.removed(
            payloads.checked(payloads.Original, original), base, served
        )


def _change() -> dict[str, Output]:
    """Return the outputs of whatever may change the catalog."""
    return {
        "wanted": Output(ids.KIT_WANTED, "data", allow_duplicate=True),
        "said": Output(ids.KIT_SAID, "children", allow_duplicate=True),
        "kind": Output(ids.KIT_SAID, "className", allow_duplicate=True),
    }


def _register_files(app: Dash, served: Loaded) -> None:
    @app.callback(
        output={**_change(), "contents": Output(ids.KIT_UPLOAD, "contents")},
        inputs={
            "contents": Input(ids.KIT_UPLOAD, "contents"),
            "name": State(ids.KIT_UPLOAD, "filename"),
            "base": _BASE,
        },
        prevent_initial_call=True,
    )
    def load(contents: object, name: object, base: object) -> Sent:
        if not contents:
            raise PreventUpdate
        called = typed.text(name)
        # Emptied, so that the same file can be loaded again once it is corrected.
        return {
            **changes.from_file(str(contents), called, base, served),
            "contents": "",
        }

    @app.callback(
        Output(ids.KIT_FILE, "data"),
        Input(ids.KIT_DOWNLOAD, "n_clicks"),
        _BASE,
        prevent_initial_call=True,
    )
    def download(clicks: object, base: object) -> Sent:
        if not clicks:
            raise PreventUpdate
        text = saved.text_of(base) or dumps(served.catalog)
        return {"content": text, "filename": OWN_FILE, "type": "application/toml"}

    @app.callback(
        output=_change(),
        inputs={"clicks": Input(ids.KIT_RESET, "n_clicks"), "base": _BASE},
        prevent_initial_call=True,
    )
    def reset(clicks: object, base: object) -> Sent:
        if not clicks:
            raise PreventUpdate
        return changes.without_own(base, served)

    @app.callback(
        output=_change(),
        inputs={
            "newer": Input(ids.KIT_NEWER, "data"),
            "wanted": State(ids.KIT_WANTED, "data"),
            "base": _BASE,
        },
        prevent_initial_call=True,
    )
    def keep_both(newer: object, wanted: object, base: object) -> Sent:
        if not newer:
            raise PreventUpdate
        mine = payloads.checked(payloads.Wanted, wanted)
        return changes.both(mine, base, payloads.checked(payloads.Newer, newer), served)


def _register_browser(app: Dash) -> None:
    """Callbacks that run in the browser; their bodies are in ``assets/kit.js``."""
    browser = partial(in_browser, app, "kit")
    browser("visit", Output(ids.VISIT, "data"), Input(ids.OWN_CATALOG, "data"))
    every_entry = {"type": "kit-entry", "kind": ALL, "index": ALL}
    browser(
        "pick",
        Output(ids.KIT_AT, "data"),
        Input(every_entry, "n_clicks"),
        State(ids.KIT_NAMES, "data"),
        prevent_initial_call=True,
    )
    browser(
        "view",
        Output(ids.KIT_VIEW, "data"),
        Input(ids.KIT_BASE, "data"),
        Input(ids.KIT_AT, "data"),
        Input(ids.KIT_DISCARD, "n_clicks"),
        State(ids.KIT_ORIGINAL, "data"),
    )
    browser(
        "typed",
        [Output(ids.KIT_UNSAVED, "children"), Output(ids.KIT_DISCARD, "className")],
        Input(_ANY_FIELD, "value"),
        State(_ANY_FIELD, "id"),
        State(ids.KIT_ORIGINAL, "data"),
        prevent_initial_call=True,
    )
    browser(
        "keep",
        [
            Output(ids.KIT_BASE, "data"),
            Output(ids.KIT_AT, "data", allow_duplicate=True),
            Output(ids.KIT_SAID, "children", allow_duplicate=True),
            Output(ids.KIT_SAID, "className", allow_duplicate=True),
            Output(ids.KIT_ASK, "className"),
            Output(ids.KIT_QUESTION, "children"),
            Output(ids.KIT_YES, "children"),
        ],
        Input(ids.KIT_WANTED, "data"),
        Input(ids.KIT_YES, "n_clicks"),
        Input(ids.KIT_NO, "n_clicks"),
        Input(ids.KIT_LATEST, "n_clicks"),
        prevent_initial_call=True,
    )
    browser(
        "both",
        Output(ids.KIT_NEWER, "data"),
        Input(ids.KIT_BOTH, "n_clicks"),
        prevent_initial_call=True,
    )
    browser(
        "open",
        Output(ids.KIT_LOAD, "n_clicks"),
        Input(ids.KIT_LOAD, "n_clicks"),
        prevent_initial_call=True,
    )
