"""What happens when a choice changes. Bodies are short; the work is elsewhere."""

from typing import Any

from dash import (
    ALL,
    ClientsideFunction,
    Dash,
    Input,
    Output,
    State,
    html,
    no_update,
)
from dash.development.base_component import Component

from lightplan import exposure, words
from lightplan.complaint import as_sentence
from lightplan.places import Catalog
from lightplan.plan import FACING_INDEX, LETTERS, MAX_RIGS, DrivePlan, TripPlan
from lightplan.web import ids, marks, state, strips, tables
from lightplan.web.aria import aria
from lightplan.web.figures import drive_figure
from lightplan.web.theme import THEMES

_SLOT_FIELDS = tuple(
    ids.slot_field(field, slot) for slot in range(MAX_RIGS) for field in ids.RIG_FIELDS
)
_FORM = {name: Input(name, "value") for name in (*ids.FIELDS, *_SLOT_FIELDS)}


def register(app: Dash, catalog: Catalog) -> None:
    """Attach every callback to the app."""
    _register_browser(app)

    @app.callback(
        output={
            "problem": Output(ids.PROBLEM, "children"),
            "notes": Output(ids.NOTES, "children"),
            "summary": Output(ids.SUMMARY, "children"),
            "drives": Output(ids.DRIVES, "children"),
            "slots": [
                Output(ids.slot_summary(slot), "children") for slot in range(MAX_RIGS)
            ],
            "link": Output(ids.LINK, "data"),
        },
        inputs={"form": _FORM, "selected": State(ids.SELECTED, "data")},
    )
    def show_trip(form: dict[str, Any], selected: str | None) -> dict[str, Any]:
        return trip(state.from_form(form, selected or ""), catalog)

    @app.callback(
        output={
            "answer": Output(ids.ANSWER, "children"),
            "title": Output(ids.CHART_TITLE, "children"),
            "figure": Output(ids.CHART, "figure"),
            "text": Output(ids.CHART_TEXT, "children"),
            "tables": Output(ids.TABLES, "children"),
            "minutes": Output(ids.MINUTES, "data"),
            "last": Output(ids.MINUTE, "max"),
            "minute": Output(ids.MINUTE, "value"),
        },
        inputs={
            "form": _FORM,
            "selected": Input(ids.SELECTED, "data"),
            "theme": Input(ids.THEME, "data"),
        },
    )
    def show_drive(
        form: dict[str, Any], selected: str | None, theme: str | None
    ) -> dict[str, Any]:
        raw = state.from_form(form, selected or "")
        return drive(raw, catalog, theme or "paper")


def trip(raw: state.Raw, catalog: Catalog) -> dict[str, Any]:
    """Return what the page shows of the whole trip, or the sentence why not."""
    try:
        plan = state.planned(state.read(raw, catalog))
    except ValueError as error:
        kept = dict.fromkeys(("notes", "summary", "drives", "link"), no_update)
        problem = f"{as_sentence(str(error))} The plan below is the last one that could be made."
        return {"problem": problem, "slots": [no_update] * MAX_RIGS, **kept}
    chosen = chosen_drive(plan, raw.drive)
    return {
        "problem": "",
        "notes": [html.P(note) for note in words.notes(plan)],
        "summary": summary(plan),
        "drives": strips.sections(plan, chosen.key if chosen else ""),
        "slots": slot_summaries(plan),
        "link": raw.without_drive().search(),
    }


def drive(raw: state.Raw, catalog: Catalog, theme: str) -> dict[str, Any]:
    """Return what the page shows of the selected drive."""
    names = ("answer", "title", "figure", "text", "tables", "minutes", "last", "minute")
    try:
        plan = state.planned(state.read(raw, catalog))
    except ValueError:
        return dict.fromkeys(names, no_update)
    chosen = chosen_drive(plan, raw.drive)
    if chosen is None:
        nothing = "No drive on these dates: every session is closed or without light."
        return {
            **dict.fromkeys(names),
            "answer": nothing,
            "figure": {
                "layout": {"xaxis": {"visible": False}, "yaxis": {"visible": False}}
            },
            "last": 1,
            "minute": 0,
        }
    minute = first_minute(plan, chosen)
    return {
        "answer": [_span(part) for part in words.answer(plan, chosen)],
        "title": f"{words.drive_name(chosen.drive)}: the ISO each rig needs",
        "figure": drive_figure(plan, chosen, THEMES[theme], minute),
        "text": words.picture(plan, chosen),
        "tables": [
            html.H2("Rigs by side of the sun"),
            _scrolling(tables.rig_table(plan, chosen), "Rigs by side of the sun"),
            html.H2("By the minute"),
            _scrolling(tables.minute_table(plan, chosen), "By the minute"),
        ],
        "minutes": tables.readings(plan, chosen),
        "last": len(chosen.utc) - 1,
        "minute": minute,
    }


def chosen_drive(plan: TripPlan, key: str) -> DrivePlan | None:
    """Return the drive of that key, else the trip's first, if it has any."""
    return plan.drive(key) or next(iter(plan.drives), None)


def first_minute(plan: TripPlan, drive: DrivePlan) -> int:
    """Return the minute to read off first: the one the first rig turns on."""
    found = marks.of_drive(plan, drive, FACING_INDEX[plan.request.facing])
    mine = [mark.minute for mark in found if mark.rig == 0]
    return mine[0] if mine else len(drive.utc) // 2


def summary(plan: TripPlan) -> str:
    """Return the choices on one line, for the closed drawer on a phone."""
    request = plan.request
    first, last = words.day_name(request.first), words.day_name(request.last)
    rigs = " ".join(LETTERS[: len(request.rigs)])
    return (
        f"{request.place.name} · {first} – {last} · {request.pace}, "
        f"{request.facing} · rigs {rigs}"
    )


def slot_summaries(plan: TripPlan) -> list[str]:
    """Return how each rig is set, and nothing for empty slots."""
    used = [
        f"{choice.label} · {exposure.shutter_text(choice.shutter_s)} · "
        f"≤ ISO {choice.iso_ceiling:g}"
        for choice in plan.request.rigs
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
    browser(
        "address",
        Output(ids.ADDRESS, "data"),
        Input(ids.LINK, "data"),
        Input(ids.SELECTED, "data"),
    )
    every = {"type": "drive", "key": ALL}
    browser(
        "select",
        Output(ids.SELECTED, "data"),
        Input(every, "n_clicks"),
        State(every, "id"),
        prevent_initial_call=True,
    )
    browser(
        "pressed",
        Output(every, "aria-pressed"),
        Input(ids.SELECTED, "data"),
        State(every, "id"),
        prevent_initial_call=True,
    )
    browser(
        "drawer",
        [Output(ids.DRAWER, "className"), Output(ids.DRAWER_BUTTON, "aria-expanded")],
        Input(ids.DRAWER_BUTTON, "n_clicks"),
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
    boxes = [Output(ids.slot_box(slot), "className") for slot in range(MAX_RIGS)]
    browser(
        "slots",
        [*(Output(name, "value") for name in _SLOT_FIELDS), *boxes],
        Input(ids.ADD_RIG, "n_clicks"),
        *(Input(ids.remove_rig(slot), "n_clicks") for slot in range(MAX_RIGS)),
        *(Input(ids.slot_field("rig", slot), "value") for slot in range(MAX_RIGS)),
        State(ids.USUAL, "data"),
        *(State(name, "value") for name in _SLOT_FIELDS),
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


def _span(part: words.Part) -> Component | str:
    if not part.kind:
        return part.text
    kind = part.kind if len(part.kind) > 1 else f"rig rig-{part.kind}"
    tag = html.Strong if part.kind == "strong" else html.Span
    return tag(part.text, className=kind)


def _scrolling(table: html.Table, name: str) -> html.Div:
    # A wide table scrolls by itself, by keyboard too.
    return html.Div(
        table, className="scrolling", role="region", tabIndex=0, **aria(label=name)
    )
