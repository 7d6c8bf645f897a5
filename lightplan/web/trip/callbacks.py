"""What happens on the page of a trip when a choice changes."""

from functools import partial
from typing import Any

from dash import Dash, Input, Output, State

from lightplan.catalog.places import Loaded
from lightplan.choices import table, typed
from lightplan.choices.raw import SLOT_FIELDS, Raw
from lightplan.web import ids, saved
from lightplan.web.inputs import RECORD, THEME, Form, form_of, in_browser, or_nothing
from lightplan.web.markup import to_html, written
from lightplan.web.trip import page

# Comes with the rows. Callbacks with this input wait for them: at once with the rows,
# the picture and the tables would make the server and the browser show all of it later.
_AFTER_ROWS = Input(ids.NOTES, "children")


def register(app: Dash, served: Loaded) -> None:
    """Attach the page's callbacks to the app; ``served`` is the server's own file."""
    _register_browser(app)

    @app.callback(
        output={"answer": Output(ids.ANSWER, "children")},
        inputs={
            "form": form_of("trip", *SLOT_FIELDS),
            "selected": Input(ids.SELECTED, "data"),
            "record": RECORD,
        },
    )
    def show_answer(form: Form, selected: object, record: object) -> Any:
        raw = Raw.from_form(form, typed.text(selected))
        catalog = saved.catalog(record, served)
        return or_nothing(lambda: {"answer": page.answer(raw, catalog)})

    @app.callback(
        output={
            "notes": Output(ids.NOTES, "children"),
            "drives": Output(ids.DRIVES, "html"),
            "lenses": Output(ids.LENSES, "html"),
        },
        inputs={
            "form": form_of("trip", *SLOT_FIELDS),
            "selected": State(ids.SELECTED, "data"),
            "record": RECORD,
        },
    )
    def show_trip(form: Form, selected: object, record: object) -> Any:
        raw = Raw.from_form(form, typed.text(selected))
        catalog = saved.catalog(record, served)
        return or_nothing(lambda: written(page.rows(raw, catalog), "drives", "lenses"))

    @app.callback(
        output={"table": Output(ids.BOOKABLE, "html")},
        inputs={
            "form": form_of("trip", *SLOT_FIELDS, table.ORDER.name),
            "rows": _AFTER_ROWS,
            "record": RECORD,
        },
    )
    def show_bookable(form: Form, rows: object, record: object) -> Any:
        raw, catalog = Raw.from_form(form), saved.catalog(record, served)
        return or_nothing(lambda: {"table": to_html(page.bookable(raw, catalog))})

    @app.callback(
        output={"said": Output(ids.BOOKED, "children")},
        inputs={
            "form": form_of("trip", *SLOT_FIELDS, table.MARKS.name),
            "record": RECORD,
        },
    )
    def show_booked(form: Form, record: object) -> Any:
        raw, catalog = Raw.from_form(form), saved.catalog(record, served)
        return or_nothing(lambda: {"said": page.booked(raw, catalog)})

    @app.callback(
        output={
            "title": Output(ids.CHART_TITLE, "children"),
            "figure": Output(ids.CHART, "figure"),
            "why": Output(ids.CHART_WHY, "children"),
            "text": Output(ids.CHART_TEXT, "children"),
            "tables": Output(ids.TABLES, "html"),
            "frame": Output(ids.FRAME, "html"),
            "minutes": Output(ids.MINUTES, "data"),
            "sky": Output(ids.DRIVE_SKY, "value"),
            "last": Output(ids.MINUTE, "max"),
            "minute": Output(ids.MINUTE, "value"),
        },
        inputs={
            "form": form_of("trip", *SLOT_FIELDS),
            "selected": Input(ids.SELECTED, "data"),
            "theme": THEME,
            "rows": _AFTER_ROWS,
            "record": RECORD,
        },
    )
    def show_drive(
        form: Form, selected: object, theme: object, rows: object, record: object
    ) -> Any:
        raw = Raw.from_form(form, typed.text(selected))
        catalog = saved.catalog(record, served)
        return or_nothing(
            lambda: written(
                page.drive(raw, catalog, typed.text(theme)), "tables", "frame"
            )
        )


def _register_browser(app: Dash) -> None:
    """Callbacks whose bodies are in ``assets/lightplan.js``."""
    browser = partial(in_browser, app, "lightplan")
    browser(
        "sky",
        Output(table.SKIES.name, "value"),
        Input(ids.DRIVE_SKY, "value"),
        State(table.SKIES.name, "value"),
        prevent_initial_call=True,
    )
    browser(
        "readout",
        Output(ids.READOUT, "children"),
        Input(ids.MINUTE, "value"),
        Input(ids.MINUTES, "data"),
    )
    browser(
        "hover",
        Output(ids.MINUTE, "value", allow_duplicate=True),
        Input(ids.CHART, "hoverData"),
        Input(ids.CHART, "clickData"),
        prevent_initial_call=True,
    )
