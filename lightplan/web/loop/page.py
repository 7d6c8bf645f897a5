"""The loop's page: where to sit, in a sentence, a drawing and a table of legs."""

import datetime as dt
from typing import Any

import numpy as np
from dash import dcc, html
from dash.development.base_component import Component

from lightplan.catalog import positions
from lightplan.catalog.places import Catalog
from lightplan.choices import state, table
from lightplan.choices.raw import Raw
from lightplan.light.backlight import SECTORS
from lightplan.loop import loop, route
from lightplan.loop import words as loop_words
from lightplan.loop.loop import Loop
from lightplan.loop.seats import SIDES
from lightplan.naming import bearing, day_name
from lightplan.sky import localtime
from lightplan.trip import words
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.web import cache, form, ids, layout, rig_form
from lightplan.web.components import Markup
from lightplan.web.figures.theme import PAPER, THEMES
from lightplan.web.loop.figure import loop_figure
from lightplan.web.pages import Visit
from lightplan.web.parts import Row, aria, captioned, picture, spans
from lightplan.web.trip import page as trip

_NOTATION = (
    "One leg per line: a bearing from true north or a point like NE, then a length in "
    "km or m, a time in min, or both. “stop 10 min” is a stop. A first line like "
    "“from -18.25 25.50” sets the start; without it the loop starts at the place "
    "above."
)
_START = (
    "The legs are part of the page’s address. A start “from” coordinates is rounded "
    "to 0.01°, about 1 km. "
)
_SHOWN = 4  # drives seen without scrolling; `loop.css` sets the height


def page(visit: Visit) -> Component:
    """Return the loop's page, its controls filled with the texts given."""
    raw, loaded = visit.raw, visit.loaded
    main = html.Main(
        [
            *layout.replaced_values(visit),
            html.P(id=ids.LOOP_ANSWER, className="answer"),
            html.Div(id=ids.LOOP_NOTES, className="notes"),
            html.Section(
                [
                    html.H2(id=ids.LOOP_TITLE),
                    picture(ids.LOOP_CHART, ids.LOOP_TEXT, box="graph-box loop-box"),
                    *layout.stop_cautions(),
                ],
                className="detail",
            ),
            Markup(id=ids.LOOP_TABLES, tag="section", className="tables"),
            layout.cautions(),
        ],
        id="plan",
        tabIndex=-1,
    )
    return layout.frame("loop", raw, loaded, _controls(raw, loaded.catalog), main)


def _controls(raw: Raw, catalog: Catalog) -> list[Component]:
    drives = html.Div(
        [
            html.Div("Drive", id="loop-drives-label", className="label"),
            Markup(
                id=ids.LOOP_DRIVES,
                role="group",
                className="loop-drives",
                **aria(labelledby="loop-drives-label"),
            ),
        ]
    )
    gpx = [
        html.Button("Read a GPX file", id=ids.LOOP_LOAD, className="quiet"),
        html.P(
            "Its legs appear above; the file itself is not stored.",
            id=ids.LOOP_SAID,
            role="status",
            className="muted loop-help",
        ),
        html.P([_START, positions.CAUTION], className="muted loop-help"),
        html.Details(
            [
                html.Summary("How a leg is written"),
                html.P(_NOTATION, className="muted loop-help"),
            ]
        ),
    ]
    after: dict[str, list[Component]] = {
        table.LAST.name: [drives],
        table.LEGS.name: gpx,
    }
    return [
        *form.asked("loop", raw, catalog, after),
        rig_form.hidden(raw, catalog),
        dcc.Store(id=ids.LOOP_FILE),
    ]


def summary(raw: Raw, catalog: Catalog) -> str:
    """Return the choices on one line; ValueError if the loop takes too long."""
    place, speed = table.PLACE.of(raw, catalog), table.SPEED.of(raw, catalog)
    path = table.LEGS.of(raw, catalog)
    route.track(path, 0.0, 0.0, speed)
    light = next(s.label for s in SECTORS if s.key == table.LIGHT.of(raw, catalog))
    return f"{place.name} · {light} · {len(path.legs)} legs · {speed:g} km/h"


def drives(raw: Raw, catalog: Catalog) -> list[Component]:
    """Return a button for each drive of the trip; raises as `content`."""
    plan = cache.trip(state.read(raw, catalog))
    chosen = trip.chosen_drive(plan, raw.drive)
    buttons: list[Component] = [
        _button(plan, drive, drive is chosen) for drive in plan.drives
    ]
    if len(buttons) <= _SHOWN:
        return buttons
    # The count stays in sight below the list, since the rest has to be scrolled to.
    return [*buttons, html.Div(f"{len(buttons)} drives", className="loop-count")]


def _button(plan: TripPlan, drive: DrivePlan, chosen: bool) -> html.Button:
    zone = plan.request.place.timezone
    opens = localtime.clock(zone, drive.opens_utc)
    closes = localtime.clock(zone, drive.closes_utc)
    name = f"{day_name(drive.date)}, {drive.session} "
    return html.Button(
        [name, html.Span(f"{opens}–{closes}", className="muted")],
        **ids.drive_button(drive.key),
        **aria(pressed="true" if chosen else "false"),
    )


def content(raw: Raw, catalog: Catalog, theme: str) -> dict[str, Any]:
    """Return what the page shows of the loop.

    Raises
    ------
    ValueError
        With one sentence on the first value that is wrong.
    """
    request = state.read(raw, catalog)
    path, speed = table.LEGS.of(raw, catalog), table.SPEED.of(raw, catalog)
    plan = cache.trip(request)
    chosen = trip.chosen_drive(plan, raw.drive)
    if chosen is None:
        return {
            **dict.fromkeys(("notes", "title", "text", "tables")),
            "answer": words.NO_DRIVE,
            "figure": None,
        }
    place, zone = request.place, request.place.timezone
    driven = loop.make(
        path,
        place,
        chosen.drive,
        loop.start_of(chosen.drive, _starts(chosen, zone, raw, catalog)),
        speed,
        table.LIGHT.of(raw, catalog),
        chosen.kind,
        request.cover,
    )
    sky = words.own_sky(request, chosen.key)
    notes = [
        *[sky] * bool(sky),
        *loop_words.notes(driven, place, not raw[table.LEGS.name], speed),
    ]
    return {
        "answer": spans(loop_words.answer(driven, zone)),
        "notes": [html.P(note) for note in notes],
        "title": "Light seen from the chosen seat",
        "figure": loop_figure(driven, zone, THEMES.get(theme, PAPER)),
        "text": loop_words.picture(driven),
        "tables": [
            html.H2("Each kind of light"),
            *light_table(driven, zone),
            html.H2("Leg by leg"),
            *leg_table(driven, zone),
        ],
    }


def _starts(
    drive: DrivePlan, zone: str, raw: Raw, catalog: Catalog
) -> tuple[np.datetime64, ...]:
    """Return the instants that the start may mean, as a drive may pass midnight."""
    start = table.START.of(raw, catalog)
    if start is None:
        return (drive.opens_utc,)
    day = dt.timedelta(days=1)
    return tuple(
        localtime.wall_to_utc(zone, drive.date, start + days).utc
        for days in (0 * day, day, -day)
    )


def leg_table(driven: Loop, zone: str) -> list[Component]:
    """Return a row for every leg; the seat comes early, so that a phone shows it."""
    sides = (f"From the {side}" for side in SIDES)
    head = ["Leg", "Time", "Seat", *sides, "Heading", "Length"]
    rows = [_leg_row(driven, zone, i) for i in range(len(driven.route.legs))]
    caption = f"Local time, {zone}; headings from true north."
    return captioned(caption, "Leg by leg", head, rows)


def _leg_row(driven: Loop, zone: str, i: int) -> Row:
    laid = driven.track
    start, end = (loop_words.clock(driven, zone, laid.minutes[j]) for j in (i, i + 1))
    stop = driven.route.legs[i].bearing_deg is None
    km = float(laid.km[i + 1] - laid.km[i])
    way = bearing(float(laid.heading_deg[i]))
    return [
        str(i + 1),
        f"{start}–{end}",
        html.Td(loop_words.seat_on(driven, i), className="loop-seat"),
        *(
            html.Td(loop_words.seen_on(driven, side, i), className="loop-seen")
            for side in (0, 1)
        ),
        f"{way}, standing" if stop else way,
        "stop" if stop else f"{km:.1f} km" if km >= 1 else f"{km * 1000:.0f} m",
    ]


def light_table(driven: Loop, zone: str) -> list[Component]:
    """Return when each side has each kind of light inside the gates."""
    rows = [
        [
            sector.label,
            *(
                html.Td(_when(driven, zone, side, i), className="loop-when")
                for side in (0, 1)
            ),
        ]
        for i, sector in enumerate(SECTORS)
    ]
    where = driven.drive.said.inside.capitalize()
    caption = (
        f"{where}, while the sun lights one side of things more than the other; "
        "spells of a minute or more."
    )
    head = ["Light", *(f"From the {side}" for side in SIDES)]
    return captioned(caption, "Each kind of light", head, rows)


def _when(driven: Loop, zone: str, side: int, sector: int) -> str:
    spells = loop_words.spells_of(driven, side, sector)
    return (
        ", ".join(
            f"{loop_words.clock(driven, zone, s.from_min)}–"
            f"{loop_words.clock(driven, zone, s.to_min)}"
            for s in spells
        )
        or "–"
    )
