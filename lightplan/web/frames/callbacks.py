"""Callbacks of the page Your frames.

The script ``assets/learn.js`` reads files and puts their exposures into a store
of the tab; everything else follows from that store and the choices.
"""

from functools import partial
from typing import Any

from dash import ALL, Dash, Input, Output, State, ctx, no_update
from dash.exceptions import PreventUpdate

from lightplan.catalog.places import Loaded
from lightplan.choices import state, typed
from lightplan.choices.raw import Raw
from lightplan.errors import as_sentence
from lightplan.web import clock, ids, payloads, saved
from lightplan.web.frames import content as learn_content
from lightplan.web.inputs import Form, form_of, in_browser
from lightplan.web.kit import changes as kit_changes
from lightplan.web.markup import written

Sent = dict[str, Any]

_OUTPUTS = {
    "answer": Output(ids.LEARN_ANSWER, "children"),
    "problem": Output(ids.LEARN_PROBLEM, "children"),
    "account": Output(ids.LEARN_ACCOUNT, "children"),
    "found": Output(ids.LEARN_FOUND, "className"),
    "figure": Output(ids.LEARN_CHART, "figure"),
    "text": Output(ids.LEARN_TEXT, "children"),
    "table": Output(ids.LEARN_TABLE, "html"),
    "keeps": Output(ids.LEARN_KEEPS, "children"),
    "covers": Output(ids.LEARN_COVERS, "data"),
    "sides": Output(ids.LEARN_SIDE, "data"),
}


def _choice(name: str) -> Input:
    return Input(name, "checked" if name == ids.LEARN_EXPOSED else "value")


def register(app: Dash, served: Loaded) -> None:
    """Attach the page's callbacks to the app."""
    _register_browser(app)

    @app.callback(
        output=_OUTPUTS,
        inputs={
            "kept": Input(ids.LEARN_FRAMES, "data"),
            "choices": {name: _choice(name) for name in ids.LEARN_CHOICES},
            "form": form_of("learn", *ids.FORM),
            "theme": Input(ids.THEME, "data"),
            "base": Input(ids.KIT_BASE, "data"),
        },
    )
    def show_learned(
        kept: object, choices: Sent, form: Form, theme: object, base: object
    ) -> Sent:
        raw = Raw.from_form(form)
        catalog = saved.catalog(base, served)
        try:
            state.read(raw, catalog)
        except ValueError:  # the page already says so at the top
            raise PreventUpdate from None
        try:
            content = learn_content.content(
                raw, choices, kept, catalog, typed.text(theme), clock.now()
            )
        except ValueError as error:
            problem = f"{as_sentence(str(error))} Showing the last results."
            return {**dict.fromkeys(_OUTPUTS, no_update), "problem": problem}
        return {**written(content, "table"), "problem": ""}

    @app.callback(
        output={
            "wanted": Output(ids.KIT_WANTED, "data", allow_duplicate=True),
            "said": Output(ids.KIT_SAID, "children", allow_duplicate=True),
            "kind": Output(ids.KIT_SAID, "className", allow_duplicate=True),
        },
        inputs={
            "clicks": Input(ids.learn_keep(ALL), "n_clicks"),
            "names": State(ids.learn_name(ALL), "value"),
            "covers": State(ids.LEARN_COVERS, "data"),
            "base": State(ids.KIT_BASE, "data"),
        },
        prevent_initial_call=True,
    )
    def keep(clicks: list[object], names: object, covers: object, base: object) -> Sent:
        if not ctx.triggered_id or not ctx.triggered[0]["value"]:
            raise PreventUpdate  # a button that was just created
        name, cover = payloads.kept(ctx.triggered_id, names, covers)
        return kit_changes.learned(name, cover, base, served)


def _register_browser(app: Dash) -> None:
    """Callbacks that run in the browser; their bodies are in ``assets/learn.js``."""
    browser = partial(in_browser, app, "learn")
    browser(
        "forgettable",
        Output(ids.LEARN_FORGET, "className"),
        Input(ids.LEARN_FRAMES, "data"),
    )
    browser(
        "select",
        [Output(ids.LEARN_PICK, "children"), Output(ids.LEARN_PICK, "aria-pressed")],
        Input(ids.LEARN_PICK, "n_clicks"),
        Input(ids.LEARN_CHART, "figure"),
        prevent_initial_call=True,
    )
    browser(
        "selected",
        [Output(ids.LEARN_PICKED, "data"), Output(ids.LEARN_PICK_BOX, "className")],
        Input(ids.LEARN_CHART, "selectedData"),
        prevent_initial_call=True,
    )
    browser(
        "grouped",
        Output(ids.LEARN_GROUPS, "value"),
        Input(ids.LEARN_PICKED_DONE, "n_clicks"),
        State(ids.LEARN_PICK_NAME, "value"),
        State(ids.LEARN_PICKED, "data"),
        State(ids.LEARN_GROUPS, "value"),
        prevent_initial_call=True,
    )
