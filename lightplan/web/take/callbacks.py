"""Callbacks of the buttons for files."""

from typing import Any

from dash import ALL, Dash, Input, Output, State, ctx, no_update
from dash.exceptions import PreventUpdate

from lightplan.catalog.places import Loaded
from lightplan.choices.raw import Raw
from lightplan.errors import as_sentence
from lightplan.web import clock, ids, payloads, saved
from lightplan.web.inputs import form_of
from lightplan.web.take import downloads

Form = dict[str, Any]


def register(app: Dash, served: Loaded) -> None:
    """Attach the callback to the app."""

    @app.callback(
        output={
            "file": Output(ids.DOWNLOAD, "data"),
            "said": Output(ids.TAKE_SAID, "children"),
        },
        inputs={
            "clicks": Input(ids.take_button(ALL), "n_clicks"),
            "form": form_of(""),
            "alarms": State(ids.ALARMS, "value"),
            "leave": State(ids.LEAVE, "value"),
            "with_position": State(ids.WITH_POSITION, "checked"),
            "record": State(ids.OWN_CATALOG, "data"),
        },
        prevent_initial_call=True,
    )
    def take_along(
        clicks: list[object],
        form: Form,
        alarms: object,
        leave: object,
        with_position: object,
        record: object,
    ) -> dict[str, Any]:
        if not ctx.triggered_id or not any(clicks):
            raise PreventUpdate
        catalog = saved.catalog(record, served)
        key = payloads.checked(payloads.Taken, ctx.triggered_id)["file"]
        raw = Raw.from_form(form)
        try:
            file, said = downloads.download(
                raw, catalog, key, alarms, leave, clock.now(), with_position is True
            )
        except ValueError as error:
            return {"file": no_update, "said": as_sentence(str(error))}
        return {"file": file, "said": said}
