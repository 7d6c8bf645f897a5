"""What happens on the page of one's own places and kit.

The server checks and writes catalogs and keeps none: a change is handed to the
browser (`own.Wanted`), which compares revisions and keeps it.
"""

import base64
import binascii
import datetime as dt
from collections.abc import Mapping
from typing import Any

from dash import ALL, ClientsideFunction, Dash, Input, Output, State, ctx
from dash.exceptions import PreventUpdate

from lightplan.complaint import as_sentence
from lightplan.export.toml import dumps
from lightplan.places import OWN_FILE, Loaded, PlacesError
from lightplan.web import catalog_edit, catalog_fields, catalog_form, ids, kit_page, own
from lightplan.web.own import Wanted

_ANY_FIELD = {"type": "kit-field", "part": ALL, "row": ALL, "key": ALL}
_TYPED = {"fields": State(_ANY_FIELD, "id"), "values": State(_ANY_FIELD, "value")}
_ORIGINAL = State(ids.KIT_ORIGINAL, "data")
_BASE = State(ids.KIT_BASE, "data")

Sent = dict[str, Any]
Fields = list[dict[str, Any]]


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
    def show_kit(view: Sent | None, base: Sent | None, link: str) -> Sent:
        if not view:
            raise PreventUpdate
        return kit_page.content(view, base, served, link, dt.datetime.now(dt.UTC))

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
        added: list[int | None],
        dropped: list[int | None],
        fields: Fields,
        values: list[Any],
        original: Sent,
        base: Sent,
    ) -> Any:
        cause = ctx.triggered_id
        if not cause or not ctx.triggered[0]["value"]:  # a button that just came
            raise PreventUpdate
        kind, lines = original["kind"], catalog_form.read(fields, values)
        if cause["type"] == "kit-add":
            texts = kit_page.with_row(kind, lines, cause["part"])
        else:
            texts = kit_page.without_row(kind, lines, cause["part"], cause["row"])
        catalog = own.catalog(base, served)
        return catalog_form.form(kind, original["title"], texts, catalog)

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
        clicks: int | None,
        fields: Fields,
        values: list[Any],
        original: Sent,
        base: Sent,
    ) -> Sent:
        if not clicks:
            raise PreventUpdate
        return saved(original, catalog_form.read(fields, values), base, served)

    @app.callback(
        output=_change(),
        inputs={
            "clicks": Input(ids.KIT_REMOVE, "n_clicks"),
            "original": _ORIGINAL,
            "base": _BASE,
        },
        prevent_initial_call=True,
    )
    def remove(clicks: int | None, original: Sent, base: Sent) -> Sent:
        if not clicks:
            raise PreventUpdate
        return removed(original, base, served)


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
    def load(contents: str | None, name: str | None, base: Sent) -> Sent:
        if not contents:
            raise PreventUpdate
        # Emptied, so that the same file, mended, can be loaded again.
        return {**from_file(contents, name or "the file", base, served), "contents": ""}

    @app.callback(
        Output(ids.KIT_FILE, "data"),
        Input(ids.KIT_DOWNLOAD, "n_clicks"),
        _BASE,
        prevent_initial_call=True,
    )
    def download(clicks: int | None, base: Sent) -> Sent:
        if not clicks:
            raise PreventUpdate
        text = own.text_of(base) or dumps(served.catalog)
        return {"content": text, "filename": OWN_FILE, "type": "application/toml"}

    @app.callback(
        output=_change(),
        inputs={"clicks": Input(ids.KIT_RESET, "n_clicks"), "base": _BASE},
        prevent_initial_call=True,
    )
    def reset(clicks: int | None, base: Sent) -> Sent:
        if not clicks:
            raise PreventUpdate
        return without_own(base, served)

    @app.callback(
        output=_change(),
        inputs={
            "newer": Input(ids.KIT_NEWER, "data"),
            "wanted": State(ids.KIT_WANTED, "data"),
            "base": _BASE,
        },
        prevent_initial_call=True,
    )
    def keep_both(newer: Sent | None, wanted: Sent, base: Sent) -> Sent:
        if not newer:
            raise PreventUpdate
        try:
            return _wanted(own.both(wanted, base, newer.get("record"), served))
        except ValueError as error:
            return _refused(str(error))


def saved(
    original: Sent, lines: catalog_form.Flat, base: object, served: Loaded
) -> Sent:
    """Return the catalog with the typed entry in it, or what is wrong with that."""
    kind, name = original["kind"], original["name"]
    table = catalog_fields.table(kind, catalog_form.unflat(kind, lines))
    try:
        changed = catalog_edit.put(own.catalog(base, served), kind, name, table)
    except PlacesError as error:
        return _refused(catalog_fields.in_words(str(error)))
    now = str(table["name"])
    return _wanted(
        Wanted(
            text=dumps(changed),
            base=own.revision_of(base),
            said=f"Saved: {now}.",
            kind=kind,
            name=now,
            draft=original["draft"],
        )
    )


def removed(original: Sent, base: object, served: Loaded) -> Sent:
    """Return the catalog without the entry shown; its texts stay in the form."""
    kind, name = original["kind"], original["name"]
    try:
        changed = catalog_edit.without(own.catalog(base, served), kind, name)
    except PlacesError as error:
        return _refused(str(error))
    wanted = Wanted(
        text=dumps(changed),
        base=own.revision_of(base),
        said=f"Removed: {name}. Its form is still here; saving it puts it back.",
        kind=kind,
        name=name,
    )
    return _wanted(wanted, left=original["lines"])


def from_file(contents: str, name: str, base: object, served: Loaded) -> Sent:
    """Return the catalog of a file that was loaded, or what is wrong with it."""
    try:
        text = base64.b64decode(contents.partition(",")[2]).decode("utf-8-sig")
    except (binascii.Error, UnicodeDecodeError):
        return _refused(f"{name} is not UTF-8 text", _KEPT)
    try:
        found = own.read(text, name)
    except PlacesError as error:
        return _refused(str(error), _KEPT)
    now = own.counted(own.catalog(base, served))
    ask = (
        f"This browser holds {now} of your own. Put the {own.counted(found)} of {name} "
        "in their place?"
    )
    return _wanted(
        Wanted(
            text=text,
            base=own.revision_of(base),
            said=f"Loaded: {name}.",
            ask=ask if own.text_of(base) else "",
            yes="Use the file",
        )
    )


def without_own(base: object, served: Loaded) -> Sent:
    """Return that the browser is to keep nothing, once its owner says so."""
    now = own.counted(own.catalog(base, served))
    return _wanted(
        Wanted(
            text="",
            base=own.revision_of(base),
            said="The pages plan with the built-in file again.",
            ask=f"Remove {now} of your own from this browser? Download them first if "
            "you may want them again.",
            yes="Remove them",
        )
    )


_KEPT = "Nothing was changed."


def _refused(problem: str, more: str = "") -> Sent:
    said = f"{as_sentence(problem)} {more}".strip()
    return {"wanted": None, "said": said, "kind": "problem"}


def _wanted(wanted: Wanted, left: catalog_form.Flat | None = None) -> Sent:
    """Return a change for the browser; ``left`` are texts that stay in the form."""
    sent: Mapping[str, Any] = {**wanted._asdict(), "left": left}
    return {"wanted": sent, "said": "", "kind": ""}


def _register_browser(app: Dash) -> None:
    """Callbacks that run in the browser; their bodies are in ``assets/kit.js``."""

    def browser(name: str, output: Any, *inputs: Any, **more: Any) -> None:
        app.clientside_callback(
            ClientsideFunction("kit", name), output, *inputs, **more
        )

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
