"""Callbacks of the loop's page. The server reads GPX files and keeps none."""

import base64
import binascii
from typing import Any

from dash import Dash, Input, Output, State, set_props
from dash.exceptions import PreventUpdate

from lightplan.catalog.places import Loaded
from lightplan.choices import table, typed
from lightplan.choices.raw import Raw
from lightplan.errors import as_sentence
from lightplan.loop import gpx, route
from lightplan.loop.gpx import GpxError
from lightplan.web import ids, payloads, saved
from lightplan.web.inputs import form_of, in_browser, or_nothing
from lightplan.web.loop import page
from lightplan.web.markup import to_html, written

Form = dict[str, Any]


def register(app: Dash, served: Loaded) -> None:
    """Attach the page's callbacks to the app."""
    form = form_of("loop")

    @app.callback(
        output={"drives": Output(ids.LOOP_DRIVES, "html")},
        inputs={
            "form": form,
            "selected": State(ids.SELECTED, "data"),
            "record": State(ids.OWN_CATALOG, "data"),
        },
    )
    def show_loop_drives(form: Form, selected: object, record: object) -> Any:
        raw = Raw.from_form(form, typed.text(selected))
        catalog = saved.catalog(record, served)
        return or_nothing(lambda: {"drives": to_html(page.drives(raw, catalog))})

    @app.callback(
        output={
            "answer": Output(ids.LOOP_ANSWER, "children"),
            "notes": Output(ids.LOOP_NOTES, "children"),
            "title": Output(ids.LOOP_TITLE, "children"),
            "figure": Output(ids.LOOP_CHART, "figure"),
            "text": Output(ids.LOOP_TEXT, "children"),
            "tables": Output(ids.LOOP_TABLES, "html"),
        },
        inputs={
            "form": form,
            "selected": Input(ids.SELECTED, "data"),
            "theme": Input(ids.THEME, "data"),
            "record": State(ids.OWN_CATALOG, "data"),
        },
    )
    def show_loop(form: Form, selected: object, theme: object, record: object) -> Any:
        raw = Raw.from_form(form, typed.text(selected))
        catalog = saved.catalog(record, served)
        return or_nothing(
            lambda: written(page.content(raw, catalog, typed.text(theme)), "tables")
        )

    @app.callback(
        output={
            "said": Output(ids.LOOP_SAID, "children"),
            "kind": Output(ids.LOOP_SAID, "className"),
        },
        inputs={"file": Input(ids.LOOP_FILE, "data")},
        prevent_initial_call=True,
    )
    def read_file(file: object) -> dict[str, str]:
        if not file:
            raise PreventUpdate
        sent = payloads.checked(payloads.File, file)
        legs, said = from_file(sent["contents"], sent["name"])
        if legs:
            # Every page has the field, so it cannot be an output of this one.
            set_props(table.LEGS.name, {"value": legs})
        return {"said": said, "kind": "muted loop-help" if legs else "problem"}

    in_browser(
        app,
        "loop",
        "open",
        Output(ids.LOOP_LOAD, "n_clicks"),
        Input(ids.LOOP_LOAD, "n_clicks"),
        prevent_initial_call=True,
    )

    in_browser(
        app,
        "loop",
        "reveal",
        Output(ids.LOOP_DRIVES, "title"),  # never set: the function only scrolls
        Input(ids.LOOP_DRIVES, "html"),
    )


def from_file(contents: str, name: str) -> tuple[str, str]:
    """Return the legs of a GPX file and a sentence on it; no legs if it is wrong.

    ``contents`` is the file as a data URL, as browsers read it.
    """
    name = "".join(filter(str.isprintable, name))[:60] or "the file"
    try:
        file = gpx.read(_bytes(contents, name), name)
    except GpxError as error:
        return "", f"{as_sentence(str(error))} The legs are unchanged."
    text = route.write_legs(file.route)
    return text, " ".join((f"Read {name}.", *file.notes))


def _bytes(contents: str, name: str) -> bytes:
    if len(contents) > gpx.LARGEST_BYTES * 4 / 3 + 200:  # not worth decoding
        raise GpxError(f"{name} must be at most {gpx.LARGEST_BYTES / 1e6:.0f} MB")
    _, _, data = contents.partition(",")
    try:
        return base64.b64decode(data, validate=True)
    except (binascii.Error, ValueError):
        raise GpxError(f"{name} did not arrive complete") from None
