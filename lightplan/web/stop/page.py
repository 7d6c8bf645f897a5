"""The page Where to stop: one minute in sentences, a drawing from above and tables."""

from typing import Any, NamedTuple

import dash_mantine_components as dmc
import numpy as np
from dash import dcc, html, no_update
from dash.development.base_component import Component

from lightplan.catalog.places import Catalog, Spot
from lightplan.choices import state, table
from lightplan.choices.raw import Raw
from lightplan.stop import answer, rim, stop
from lightplan.stop import words as stop_words
from lightplan.stop.rim import RimDrive
from lightplan.trip import words
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.web import cache, form, ids, layout, rig_form
from lightplan.web.components import Markup
from lightplan.web.figures.theme import PAPER, THEMES
from lightplan.web.pages import Visit
from lightplan.web.parts import minute_slider, picture, spans
from lightplan.web.stop import tables
from lightplan.web.stop.figure import stop_figure
from lightplan.web.trip import page as trip


def page(visit: Visit) -> Component:
    """Return the page, its controls filled with the texts given."""
    raw, loaded = visit.raw, visit.loaded
    main = html.Main(
        [
            *layout.replaced_values(visit),
            html.P(id=ids.STOP_ANSWER, className="answer"),
            html.Div(id=ids.STOP_NOTES, className="notes"),
            html.Section([_when(), _picture()], className="detail"),
            Markup(id=ids.STOP_TABLES, tag="section", className="tables"),
            Markup(id=ids.STOP_TIMES, tag="section", className="tables"),
            dcc.Store(id=ids.STOP_READINGS),
            dcc.Store(id=ids.STOP_AT),
        ],
        id="plan",
        tabIndex=-1,
    )
    asked = [
        *form.asked("stop", raw, loaded.catalog),
        rig_form.rigs(raw, loaded.catalog),
    ]
    return layout.frame("stop", raw, loaded, asked, main)


def summary(raw: Raw, catalog: Catalog) -> str:
    """Return the choices on one line, for the closed drawer on a phone."""
    return layout.plan_summary(state.read(raw, catalog), side=False)


def _when() -> html.Div:
    return html.Div(
        [
            dmc.Select(
                id=ids.STOP_DRIVE,
                label="Drive",
                value="",
                data=[],
                allowDeselect=False,
                comboboxProps=form.POPUPS,
            ),
            html.Div(
                [
                    html.Div(id=ids.STOP_READOUT, className="readout"),
                    minute_slider(ids.STOP_MINUTE, "Minute of the drive"),
                    html.Div(id=ids.STOP_ENDS, className="stop-ends muted"),
                    html.P(id=ids.STOP_WHY, className="stop-why muted"),
                ]
            ),
        ],
        className="stop-when",
    )


def _picture() -> html.Div:
    cautions = (*stop_words.CAUTIONS, words.CAUTIONS[2])
    return html.Div(
        [
            picture(ids.STOP_CHART, ids.STOP_TEXT, box="stop-box"),
            html.Div(
                [
                    html.H2("Before you stop"),
                    *(html.P(caution) for caution in cautions),
                    html.H2("How this is worked out"),
                    *(
                        html.P([html.Strong(f"{rule.kind}. "), rule.text])
                        for rule in stop_words.RULES
                    ),
                ],
                className="stop-aside",
            ),
        ],
        className="stop-view",
    )


def drive(
    raw: Raw, catalog: Catalog, before: dict[str, Any] | None, minute: int
) -> dict[str, Any]:
    """Return what the page shows of a whole drive.

    ``before`` are the readings shown so far: if the drive is the same, the minute
    stays.

    Raises
    ------
    ValueError
        With one sentence on the first value that is wrong.
    """
    plan = cache.trip(state.read(raw, catalog))
    chosen = trip.chosen_drive(plan, raw.drive)
    if chosen is None:
        return {
            "drives": [],
            "drive": "",
            "readings": None,
            "last": 1,
            "minute": 0,
            "ends": [],
            "why": "",
            "times": [],
        }
    of = _rim(raw, catalog, plan, chosen)
    stays = before is not None and before["drive"] == chosen.key
    last = len(chosen.utc) - 1
    lines = tables.readings(plan, of)
    shown = opened(
        "" if before else raw[table.AT.name], of, [time for time, _ in lines]
    )
    return {
        "drives": [{"value": d.key, "label": d.name} for d in plan.drives],
        "drive": chosen.key,
        "readings": {
            "drive": chosen.key,
            "lines": lines,
        },
        "last": last,
        "minute": min(minute, last) if stays else shown.minute,
        "ends": ends(plan, chosen),
        "why": no_update if stays else shown.why,
        "times": [
            html.H2("By time"),
            *tables.time_table(plan, of),
        ],
    }


class Opened(NamedTuple):
    """The minute that a drive is opened at, and why, in a sentence or none."""

    minute: int
    why: str


def opened(asked: str, of: RimDrive, times: list[str]) -> Opened:
    """Return the minute to show first.

    A time outside this drive is ignored: the link was made for another drive.

    Parameters
    ----------
    asked : str
        The time that the link names, empty for none.
    of : RimDrive
        The drive.
    times : list of str
        The clock at each of its minutes.
    """
    if asked in times:
        return Opened(times.index(asked), "")
    minute, why = _first(of)
    return Opened(minute, f"Shown first: {times[minute]}, {why}.")


def _first(of: RimDrive) -> tuple[int, str]:
    """Return the minute in the middle of the rim, else the likeliest, and what it is."""
    if of.windows:
        first, last = of.windows[0].first.utc, of.windows[0].last.utc
        spell = (
            "the first spell of rim light"
            if len(of.windows) > 1
            else "the spell of rim light"
        )
        return of.drive.minute(first + (last - first) // 2), f"the middle of {spell}"
    worth = answer.worth_stopping(of)
    if not worth.any():
        return 0, "the start of the drive"
    stops = np.where(worth, of.stops, -np.inf)
    return int(stops.argmax()), "where the edge stands out most with a low sun"


def ends(plan: TripPlan, chosen: DrivePlan) -> list[Component]:
    """Return the labels of the slider's ends: the gates, if the drive has any."""
    gates = ("gates open", "gates shut") if chosen.gated else ("start", "end")
    times = (plan.clock(chosen.utc[i]) for i in (0, -1))
    return [
        html.Span(f"{gate} {time}") for gate, time in zip(gates, times, strict=True)
    ]


def minute(raw: Raw, catalog: Catalog, at: int, theme: str) -> dict[str, Any]:
    """Return what the page shows of one minute; raises as `drive`."""
    plan = cache.trip(state.read(raw, catalog))
    chosen = trip.chosen_drive(plan, raw.drive)
    if chosen is None:
        nothing = dict.fromkeys(("notes", "text", "tables"))
        return {**nothing, "answer": words.NO_DRIVE, "figure": None}
    of = _rim(raw, catalog, plan, chosen)
    here = stop.stop_at(
        plan, of, min(at, len(chosen.utc) - 1), table.DISTANCE.of(raw, catalog)
    )
    sky = words.own_sky(plan.request, chosen.key)
    notes = [
        *[sky] * bool(sky),
        *stop_words.notes(plan, of, here),
        *_elsewhere(raw, catalog, plan),
    ]
    declination = table.DECLINATION.of(raw, catalog)
    spot = _spot(raw, catalog, plan)
    by_kind = tables.sector_table(here, declination)
    colours = THEMES.get(theme, PAPER)
    return {
        "answer": spans(answer.answer(plan, of, here, declination is not None)),
        "notes": [html.P(note) for note in notes],
        "figure": stop_figure(plan, of, here, colours, spot.horizon if spot else ()),
        "text": stop_words.picture(of, here, spot.name if spot else ""),
        "tables": [
            *([html.H2("By kind of light"), *by_kind] if by_kind else []),
            html.H2("By rig"),
            *tables.rig_table(plan, here),
        ],
    }


def _rim(raw: Raw, catalog: Catalog, plan: TripPlan, chosen: DrivePlan) -> RimDrive:
    aim = table.AIM.of(raw, catalog)
    spot = _spot(raw, catalog, plan)
    return rim.make(plan, chosen, aim, spot.horizon if spot else ())


def _spot(raw: Raw, catalog: Catalog, plan: TripPlan) -> Spot | None:
    """Return the spot whose skyline is used; a spot of another place is not."""
    at = table.SKYLINE.of(raw, catalog)
    return at.spot if at and at.place == plan.request.place.name else None


def _elsewhere(raw: Raw, catalog: Catalog, plan: TripPlan) -> list[str]:
    """Say so if the skyline chosen is that of another place."""
    at = table.SKYLINE.of(raw, catalog)
    here = plan.request.place.name
    if at is None or at.place == here:
        return []
    return [f"{at.spot.name} is not at {here}: the horizon is taken as level."]
