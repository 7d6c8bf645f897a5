"""Callbacks of the page of fixed spots."""

from typing import Any

from dash import Dash, Input, Output, State

from lightplan.catalog.places import Loaded
from lightplan.choices import table, typed
from lightplan.choices.raw import Raw
from lightplan.web import clock, ids, saved
from lightplan.web.inputs import form_of, in_browser, or_nothing
from lightplan.web.markup import written
from lightplan.web.spots import page


def register(app: Dash, served: Loaded) -> None:
    """Attach the page's callbacks to the app; ``served`` is the server's own file."""
    in_browser(
        app,
        "spots",
        "follow",
        [Output(ids.SPOT_CHOICE, "data"), Output(ids.SPOT_CHOICE, "value")],
        Input(table.PLACE.name, "value"),
        State(ids.SPOT_CHOICE, "value"),
        State(ids.SPOTS_OF, "data"),
        prevent_initial_call=True,
    )
    in_browser(
        app,
        "spots",
        "chosen",
        Output(table.SPOT.name, "value"),
        Input(ids.SPOT_CHOICE, "value"),
        prevent_initial_call=True,
    )

    @app.callback(
        output={
            "answer": Output(ids.SPOTS_ANSWER, "children"),
            "notes": Output(ids.SPOTS_NOTES, "children"),
            "shown": Output(ids.SPOTS_SHOWN, "className"),
            "runs": Output(ids.SPOTS_RUNS, "children"),
            "key": Output(ids.SPOTS_KEY, "children"),
            "figure": Output(ids.SPOTS_CHART, "figure"),
            "text": Output(ids.SPOTS_TEXT, "children"),
            "next": Output(ids.SPOTS_NEXT, "html"),
            "weeks": Output(ids.SPOTS_WEEKS, "html"),
        },
        inputs={
            "form": form_of("spots", table.FIRST.name),
            "theme": Input(ids.THEME, "data"),
            "record": State(ids.OWN_CATALOG, "data"),
        },
    )
    def show_spots(form: dict[str, Any], theme: object, record: object) -> Any:
        raw, catalog = Raw.from_form(form), saved.catalog(record, served)
        return or_nothing(
            lambda: written(
                page.content(raw, catalog, typed.text(theme), clock.now()),
                "next",
                "weeks",
            )
        )
