"""What happens when a choice changes. Bodies are short; the work is elsewhere."""

from collections.abc import Callable
from functools import partial
from typing import Any

from dash import (
    ALL,
    Dash,
    Input,
    Output,
    State,
    no_update,
)
from dash.development.base_component import Component
from dash.exceptions import PreventUpdate

from lightplan.camera import exposure
from lightplan.catalog.places import Catalog, Loaded
from lightplan.choices import state, table, typed
from lightplan.choices.raw import SLOT_FIELDS, Raw, slot_field
from lightplan.errors import as_sentence
from lightplan.trip.request import MAX_RIGS, Request
from lightplan.web import ids, payloads, saved
from lightplan.web.inputs import in_browser
from lightplan.web.pages import PAGES

# The browser itself puts marks into the address.
_LINKED = {
    name: State(name, "value") if name == table.MARKS.name else Input(name, "value")
    for name in ids.FORM
}
_SELECTED = Input(ids.SELECTED, "data")
_THEME = Input(ids.THEME, "data")
_RECORD = State(ids.OWN_CATALOG, "data")

Form = dict[str, Any]
Page = Callable[[str, str, object, Loaded], Component]


def register(app: Dash, served: Loaded, page_of: Page) -> None:
    """Attach every callback to the app.

    All pages have the same fields, some hidden. A callback whose outputs are
    on another page does not run. ``page_of`` makes the page of an address for
    a browser that keeps a catalog; all others use ``served``.
    """
    _register_browser(app)

    @app.callback(
        Output(ids.ROOT, "children"),
        Input(ids.VISIT, "data"),
        prevent_initial_call=True,
    )
    def show_page(visit: object) -> Component:
        if not visit:
            raise PreventUpdate
        at = payloads.checked(payloads.Visit, visit)
        return page_of(at["path"], at["search"], at["record"], served)

    @app.callback(
        output={
            "problem": Output(ids.PROBLEM, "children"),
            "summary": Output(ids.SUMMARY, "children"),
            "slots": [
                Output(ids.slot_summary(slot), "children") for slot in range(MAX_RIGS)
            ],
            "link": Output(ids.LINK, "data"),
            "typed": Output(ids.TYPED, "data"),
        },
        inputs={"form": _LINKED, "page": State(ids.PAGE, "data"), "record": _RECORD},
    )
    def show_choices(form: Form, page: object, record: object) -> dict[str, Any]:
        return choices(Raw.from_form(form), saved.catalog(record, served), page)


def choices(raw: Raw, catalog: Catalog, page: object) -> dict[str, Any]:
    """Return what the choices change on the page, or a sentence on a wrong one."""
    at = typed.text(page)
    try:
        request = state.read(raw, catalog)
        for choice in table.CHOICES:
            if choice is not table.LEGS or at == "loop":  # other pages need no legs
                choice.of(raw, catalog)
        made = next((p for p in PAGES if p.key == at and p.asks), PAGES[0])
        summary = made.module("page").summary(raw, catalog)
    except ValueError as error:
        return {
            "problem": f"{as_sentence(str(error))} {_shown(raw, at)}",
            "summary": no_update,
            "slots": [no_update] * MAX_RIGS,
            "link": no_update,
            # On another page an emptied field would silently get its usual value.
            "typed": raw.search() if state.fills_a_link(raw) else no_update,
        }
    return {
        "problem": "",
        "summary": summary,
        "slots": slot_summaries(request),
        "link": raw.search(),
        "typed": raw.search(),
    }


def _shown(raw: Raw, page: str) -> str:
    """Say what the page shows while a value is wrong."""
    if page == "loop":
        # Wrong legs stay in a link, so there may be no drawing yet.
        return "The drawing comes back once this is right."
    return "Showing the last valid plan."


def slot_summaries(request: Request) -> list[str]:
    """Return how each rig is set, and a dot for empty slots."""
    used = [
        f"{choice.label} · {exposure.shutter_text(choice.shutter_s)} · "
        f"≤ {choice.ceiling_text}"
        for choice in request.rigs
    ]
    return used + ["…"] * (MAX_RIGS - len(used))


def _register_browser(app: Dash) -> None:
    """Callbacks that run in the browser; their bodies are in ``assets/``."""
    browser = partial(in_browser, app, "lightplan")
    browser(
        "theme",
        [Output(ids.THEME, "data"), Output(ids.PROVIDER, "forceColorScheme")],
        Input(ids.THEME_CHOICE, "value"),
    )
    links = ids.nav_link(ALL)
    browser(
        "address",
        [Output(ids.ADDRESS, "data"), Output(links, "href")],
        Input(ids.LINK, "data"),
        Input(ids.TYPED, "data"),
        Input(ids.SELECTED, "data"),
        Input(table.MARKS.name, "value"),
        State(links, "href"),
    )
    browser(
        "drawer",
        [Output(ids.DRAWER, "className"), Output(ids.DRAWER_BUTTON, "aria-expanded")],
        Input(ids.DRAWER_BUTTON, "n_clicks"),
        Input(ids.DRAWER_DONE, "n_clicks"),
        prevent_initial_call=True,
    )
    browser(
        "place",
        [
            Output(ids.OWN_PLACE, "className"),
            Output(table.SKY.name, "value"),
            Output(table.AIR.name, "value"),
            Output(table.COVER.name, "value"),
        ],
        Input(table.PLACE.name, "value"),
        State(ids.USUAL, "data"),
        prevent_initial_call=True,
    )
    browser(
        "year",
        Output(table.YEAR.name, "value"),
        Input(table.FIRST.name, "value"),
        prevent_initial_call=True,
    )
    boxes = [Output(ids.slot_box(slot), "className") for slot in range(MAX_RIGS)]
    browser(
        "slots",
        [*(Output(name, "value") for name in SLOT_FIELDS), *boxes],
        Input(ids.ADD_RIG, "n_clicks"),
        *(Input(ids.remove_rig(slot), "n_clicks") for slot in range(MAX_RIGS)),
        *(Input(slot_field("rig", slot), "value") for slot in range(MAX_RIGS)),
        State(ids.USUAL, "data"),
        *(State(name, "value") for name in SLOT_FIELDS),
        prevent_initial_call=True,
    )
