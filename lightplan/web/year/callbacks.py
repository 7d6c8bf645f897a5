"""Callbacks of the page Year."""

from functools import partial
from typing import Any

from dash import Dash, Input, Output, State

from lightplan.catalog.places import Loaded
from lightplan.choices import table, typed
from lightplan.choices.raw import SLOT_FIELDS, Raw, slot_field
from lightplan.trip.request import MAX_RIGS
from lightplan.web import ids, saved
from lightplan.web.inputs import RECORD, THEME, Form, form_of, in_browser, or_nothing
from lightplan.web.markup import written
from lightplan.web.year import page


def register(app: Dash, served: Loaded) -> None:
    """Attach the page's callbacks to the app; ``served`` is the server's own file."""
    _register_browser(app)

    @app.callback(
        output={
            "answer": Output(ids.YEAR_ANSWER, "children"),
            "notes": Output(ids.YEAR_NOTES, "children"),
            "figure": Output(ids.YEAR_CHART, "figure"),
            "text": Output(ids.YEAR_TEXT, "children"),
            "table": Output(ids.YEAR_TABLE, "html"),
            "lenses": Output(ids.YEAR_LENSES, "html"),
        },
        inputs={
            "form": form_of("year", *SLOT_FIELDS),
            "theme": THEME,
            "record": RECORD,
        },
    )
    def show_year(form: Form, theme: object, record: object) -> Any:
        raw = Raw.from_form(form)
        catalog = saved.catalog(record, served)
        return or_nothing(
            lambda: written(
                page.content(raw, catalog, typed.text(theme)), "table", "lenses"
            )
        )


def _register_browser(app: Dash) -> None:
    """Callbacks whose bodies are in ``assets/lightplan.js``."""
    browser = partial(in_browser, app, "lightplan")
    browser(
        "letter",
        Output(table.SHOWN.name, "value"),
        *(Input(slot_field("rig", slot), "value") for slot in range(MAX_RIGS)),
        State(table.SHOWN.name, "value"),
        prevent_initial_call=True,
    )
