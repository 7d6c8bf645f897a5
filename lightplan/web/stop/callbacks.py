"""Callbacks of the page Where to stop."""

from functools import partial
from typing import Any

from dash import Dash, Input, Output, State

from lightplan.catalog.places import Loaded
from lightplan.choices import table, typed
from lightplan.choices.raw import SLOT_FIELDS, Raw
from lightplan.web import ids, payloads, saved
from lightplan.web.inputs import form_of, in_browser, or_nothing
from lightplan.web.markup import written
from lightplan.web.stop import page

Form = dict[str, Any]


def register(app: Dash, served: Loaded) -> None:
    """Attach the page's callbacks to the app."""
    _register_browser(app)

    @app.callback(
        output={
            "drives": Output(ids.STOP_DRIVE, "data"),
            "drive": Output(ids.STOP_DRIVE, "value"),
            "readings": Output(ids.STOP_READINGS, "data"),
            "last": Output(ids.STOP_MINUTE, "max"),
            "minute": Output(ids.STOP_MINUTE, "value"),
            "ends": Output(ids.STOP_ENDS, "children"),
            "why": Output(ids.STOP_WHY, "children"),
            "times": Output(ids.STOP_TIMES, "html"),
        },
        inputs={
            "form": form_of("stop", *SLOT_FIELDS),
            "selected": Input(ids.SELECTED, "data"),
            "before": State(ids.STOP_READINGS, "data"),
            "minute": State(ids.STOP_MINUTE, "value"),
            "record": State(ids.OWN_CATALOG, "data"),
        },
    )
    def show_drive(
        form: Form,
        selected: object,
        before: object,
        minute: object,
        record: object,
    ) -> Any:
        raw = Raw.from_form(form, typed.text(selected))
        catalog = saved.catalog(record, served)
        shown = payloads.checked(payloads.Readings, before) if before else None
        at = payloads.minute(minute)
        return or_nothing(lambda: written(page.drive(raw, catalog, shown, at), "times"))

    @app.callback(
        output={
            "answer": Output(ids.STOP_ANSWER, "children"),
            "notes": Output(ids.STOP_NOTES, "children"),
            "figure": Output(ids.STOP_CHART, "figure"),
            "text": Output(ids.STOP_TEXT, "children"),
            "tables": Output(ids.STOP_TABLES, "html"),
        },
        inputs={
            "minute": Input(ids.STOP_AT, "data"),
            "theme": Input(ids.THEME, "data"),
            "form": form_of(""),
            "selected": State(ids.SELECTED, "data"),
            "record": State(ids.OWN_CATALOG, "data"),
        },
    )
    def show_minute(
        minute: object,
        theme: object,
        form: Form,
        selected: object,
        record: object,
    ) -> Any:
        raw = Raw.from_form(form, typed.text(selected))
        catalog = saved.catalog(record, served)
        settled = minute[0] if isinstance(minute, list) and minute else 0
        at = payloads.minute(settled)
        return or_nothing(
            lambda: written(page.minute(raw, catalog, at, typed.text(theme)), "tables")
        )


def _register_browser(app: Dash) -> None:
    """Callbacks that run in the browser; their bodies are in ``assets/stop.js``."""
    browser = partial(in_browser, app, "stop")
    browser(
        "choose",
        Output(ids.SELECTED, "data", allow_duplicate=True),
        Input(ids.STOP_DRIVE, "value"),
        State(ids.SELECTED, "data"),
        prevent_initial_call=True,
    )
    browser(
        "read",
        Output(ids.STOP_READOUT, "children"),
        Input(ids.STOP_MINUTE, "value"),
        Input(ids.STOP_READINGS, "data"),
    )
    browser(
        "settle",
        Output(ids.STOP_AT, "data"),
        Input(ids.STOP_MINUTE, "value"),
        Input(ids.STOP_READINGS, "data"),
    )
    browser(
        "keep",
        Output(table.AT.name, "value"),
        Input(ids.STOP_AT, "data"),
        State(ids.STOP_READINGS, "data"),
        prevent_initial_call=True,
    )
