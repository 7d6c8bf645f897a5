"""What happens when a choice changes. Bodies are short; the work is elsewhere."""

from collections.abc import Callable
from typing import Any

from dash import (
    ALL,
    ClientsideFunction,
    Dash,
    Input,
    Output,
    State,
    no_update,
)
from dash.development.base_component import Component
from dash.exceptions import PreventUpdate

from lightplan import naming
from lightplan.camera import exposure
from lightplan.catalog.places import Catalog, Loaded
from lightplan.errors import as_sentence
from lightplan.trip.request import LETTERS, MAX_RIGS, Request
from lightplan.web import ids, payloads, saved
from lightplan.web.choices import loop as loop_fields
from lightplan.web.choices import spots as spots_fields
from lightplan.web.choices import state, typed
from lightplan.web.choices import stop as stop_fields
from lightplan.web.choices.raw import Raw
from lightplan.web.loop import page as loop_page
from lightplan.web.markup import to_html, written
from lightplan.web.spots import page as spots_page
from lightplan.web.trip import page as trip
from lightplan.web.year import page as year_page

_FORM = {name: Input(name, "value") for name in ids.FORM}


def _on(*asked: str) -> dict[str, Input | State]:
    """Return the form for a callback that only some of its fields call for."""
    return {
        name: Input(name, "value") if name in asked else State(name, "value")
        for name in ids.FORM
    }


# What changes a trip; the rest is only carried in its links.
_TRIP = (
    ids.PLACE, *ids.OWN_FIELDS, ids.FIRST, ids.LAST,
    ids.PACE, ids.FACING, ids.SKY, ids.COVER, ids.TRAVEL, ids.DISTANCE, ids.BLUR,
    ids.SKIES, *ids.SLOT_FIELDS,
)  # fmt: skip
# The browser puts marks into the address by itself.
_LINKED = _on(*(name for name in ids.FORM if name != ids.MARKS))
_SELECTED = Input(ids.SELECTED, "data")
_THEME = Input(ids.THEME, "data")
_RECORD = State(ids.OWN_CATALOG, "data")

Form = dict[str, Any]
Page = Callable[[str, str, object, Loaded], Component]


def register(app: Dash, served: Loaded, page_of: Page) -> None:
    """Attach every callback to the app.

    All pages have the same fields, some hidden. A callback whose outputs are
    on another page does not run. ``page_of`` makes the page of an address for
    a browser that keeps a catalog; ``served`` counts for all others.
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

    @app.callback(
        output={
            "notes": Output(ids.NOTES, "children"),
            "drives": Output(ids.DRIVES, "html"),
            "lenses": Output(ids.LENSES, "html"),
        },
        inputs={
            "form": _on(*_TRIP),
            "selected": State(ids.SELECTED, "data"),
            "record": _RECORD,
        },
    )
    def show_trip(form: Form, selected: object, record: object) -> Any:
        raw = Raw.from_form(form, typed.text(selected))
        catalog = saved.catalog(record, served)
        return or_nothing(lambda: written(trip.rows(raw, catalog), "drives", "lenses"))

    @app.callback(
        output={"table": Output(ids.BOOKABLE, "html")},
        inputs={"form": _on(*_TRIP, ids.ORDER), "record": _RECORD},
    )
    def show_bookable(form: Form, record: object) -> Any:
        raw, catalog = Raw.from_form(form), saved.catalog(record, served)
        return or_nothing(lambda: {"table": to_html(trip.bookable(raw, catalog))})

    @app.callback(
        output={"said": Output(ids.BOOKED, "children")},
        inputs={"form": _on(*_TRIP, ids.MARKS), "record": _RECORD},
    )
    def show_booked(form: Form, record: object) -> Any:
        raw, catalog = Raw.from_form(form), saved.catalog(record, served)
        return or_nothing(lambda: {"said": trip.booked(raw, catalog)})

    @app.callback(
        output={
            "answer": Output(ids.ANSWER, "children"),
            "title": Output(ids.CHART_TITLE, "children"),
            "figure": Output(ids.CHART, "figure"),
            "text": Output(ids.CHART_TEXT, "children"),
            "tables": Output(ids.TABLES, "html"),
            "minutes": Output(ids.MINUTES, "data"),
            "sky": Output(ids.DRIVE_SKY, "value"),
            "last": Output(ids.MINUTE, "max"),
            "minute": Output(ids.MINUTE, "value"),
        },
        inputs={
            "form": _on(*_TRIP),
            "selected": _SELECTED,
            "theme": _THEME,
            "record": _RECORD,
        },
    )
    def show_drive(form: Form, selected: object, theme: object, record: object) -> Any:
        raw = Raw.from_form(form, typed.text(selected))
        catalog = saved.catalog(record, served)
        return or_nothing(
            lambda: written(trip.drive(raw, catalog, typed.text(theme)), "tables")
        )

    @app.callback(
        output={
            "answer": Output(ids.YEAR_ANSWER, "children"),
            "notes": Output(ids.YEAR_NOTES, "children"),
            "figure": Output(ids.YEAR_CHART, "figure"),
            "text": Output(ids.YEAR_TEXT, "children"),
            "table": Output(ids.YEAR_TABLE, "html"),
            "lenses": Output(ids.YEAR_LENSES, "html"),
        },
        inputs={"form": _FORM, "theme": _THEME, "record": _RECORD},
    )
    def show_year(form: Form, theme: object, record: object) -> Any:
        raw = Raw.from_form(form)
        catalog = saved.catalog(record, served)
        return or_nothing(
            lambda: written(
                year_page.content(raw, catalog, typed.text(theme)), "table", "lenses"
            )
        )


def or_nothing(content: Callable[[], dict[str, Any]]) -> dict[str, Any]:
    """Leave the page as it is where `choices` says what is wrong."""
    try:
        return content()
    except ValueError:
        raise PreventUpdate from None


def choices(raw: Raw, catalog: Catalog, page: object) -> dict[str, Any]:
    """Return what the page says of the choices, or the sentence on a wrong one."""
    at = typed.text(page)
    try:
        request = state.read(raw, catalog)
        state.year_of(raw)
        spot = spots_fields.spot(raw, catalog)
        wish = spots_fields.wish(raw)
        stop_fields.check(raw, catalog)
        if at == "loop":  # the others need no legs
            loop_fields.read(raw)
    except ValueError as error:
        return {
            "problem": f"{as_sentence(str(error))} {_shown(raw, at)}",
            "summary": no_update,
            "slots": [no_update] * MAX_RIGS,
            "link": no_update,
            # An emptied field would come back as the usual value without a word.
            "typed": raw.search() if raw.fills_a_link else no_update,
        }
    summaries = {
        "year": lambda: summary(request, raw[ids.YEAR]),
        "spots": lambda: spots_page.summary(request.place, spot, wish, raw[ids.YEAR]),
        "stop": lambda: summary(request, side=False),
        "learn": lambda: request.place.name,
        "loop": lambda: loop_page.summary(request, raw),
    }
    return {
        "problem": "",
        "summary": summaries.get(at, lambda: summary(request))(),
        "slots": slot_summaries(request),
        "link": raw.search(),
        "typed": raw.search(),
    }


def _shown(raw: Raw, page: str) -> str:
    """Say what is to be seen as long as a value is wrong."""
    if page == "loop":
        # Wrong legs stay in a link, so perhaps no loop has been drawn as yet.
        return "The loop is drawn anew as soon as it can be."
    return "What is shown is the last plan that could be made."


def summary(request: Request, year: str = "", side: bool = True) -> str:
    """Return the choices on one line, for the closed drawer on a phone."""
    first, last = naming.day_name(request.first), naming.day_name(request.last)
    when = year or f"{first} – {last}"
    rigs = " ".join(LETTERS[: len(request.rigs)])
    animal = f"{request.pace}, {request.facing}" if side else request.pace
    return f"{request.place.name} · {when} · {animal} · rigs {rigs}"


def slot_summaries(request: Request) -> list[str]:
    """Return how each rig is set, and a dot for empty slots."""
    used = [
        f"{choice.label} · {exposure.shutter_text(choice.shutter_s)} · "
        f"≤ ISO {choice.iso_ceiling:g}"
        for choice in request.rigs
    ]
    return used + ["…"] * (MAX_RIGS - len(used))


def _register_browser(app: Dash) -> None:
    """Callbacks that run in the browser; their bodies are in ``assets/``."""

    def browser(name: str, output: Any, *inputs: Any, **more: Any) -> None:
        app.clientside_callback(
            ClientsideFunction("lightplan", name), output, *inputs, **more
        )

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
        Input(ids.MARKS, "value"),
        State(links, "href"),
    )
    browser(
        "sky",
        Output(ids.SKIES, "value"),
        Input(ids.DRIVE_SKY, "value"),
        State(ids.SKIES, "value"),
        prevent_initial_call=True,
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
            Output(ids.SKY, "value"),
            Output(ids.COVER, "value"),
        ],
        Input(ids.PLACE, "value"),
        State(ids.USUAL, "data"),
        prevent_initial_call=True,
    )
    browser(
        "year",
        Output(ids.YEAR, "value"),
        Input(ids.FIRST, "value"),
        prevent_initial_call=True,
    )
    boxes = [Output(ids.slot_box(slot), "className") for slot in range(MAX_RIGS)]
    browser(
        "slots",
        [*(Output(name, "value") for name in ids.SLOT_FIELDS), *boxes],
        Input(ids.ADD_RIG, "n_clicks"),
        *(Input(ids.remove_rig(slot), "n_clicks") for slot in range(MAX_RIGS)),
        *(Input(ids.slot_field("rig", slot), "value") for slot in range(MAX_RIGS)),
        State(ids.USUAL, "data"),
        *(State(name, "value") for name in ids.SLOT_FIELDS),
        prevent_initial_call=True,
    )
    browser(
        "letter",
        Output(ids.SHOWN, "value"),
        *(Input(ids.slot_field("rig", slot), "value") for slot in range(MAX_RIGS)),
        State(ids.SHOWN, "value"),
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
