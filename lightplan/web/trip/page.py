"""The trip's page: every drive as a row, and the selected one in full."""

import datetime as dt
from typing import Any

from dash import dcc, html
from dash.development.base_component import Component

from lightplan.catalog.places import Catalog
from lightplan.choices import state, table
from lightplan.choices.raw import Raw
from lightplan.trip import frame_words, light_words, words
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import FACING_INDEX, Request
from lightplan.web import cache, form, ids, layout
from lightplan.web.components import Markup
from lightplan.web.figures.theme import PAPER, THEMES
from lightplan.web.pages import Visit
from lightplan.web.parts import minute_slider, picture, spans
from lightplan.web.take import downloads
from lightplan.web.trip import booking, frame, lenses, marks, tables
from lightplan.web.trip import rows as strips
from lightplan.web.trip.figure import drive_figure


def page(visit: Visit) -> Component:
    """Return the page, its controls filled with the texts given."""
    asked = layout.plan_controls("trip", visit.raw, visit.loaded.catalog)
    return layout.frame("trip", visit.raw, visit.loaded, asked, _main(visit))


def _main(visit: Visit) -> html.Main:
    raw, catalog = visit.raw, visit.loaded.catalog
    return html.Main(
        [
            *layout.replaced_values(visit),
            html.P(id=ids.ANSWER, className="answer"),
            html.Div(id=ids.NOTES, className="notes"),
            html.Section(
                [
                    html.H2("Drives"),
                    html.P(
                        "Light within each drive, by the sun’s altitude. Marks show "
                        "from (▸) and until (◂) when a rig’s shutter speed holds, thin "
                        "ones the same for slower speeds, a dotted line when to turn "
                        "back for the gate. A minute is usable when the needed "
                        "ISO is within the ceiling, until it is time to turn back.",
                        className="muted",
                    ),
                    Markup(id=ids.DRIVES),
                ],
                className="drives",
            ),
            html.Section(
                [
                    html.H2(id=ids.CHART_TITLE),
                    form.drive_sky(),
                    html.P(id=ids.CHART_WHY, className="muted"),
                    html.Div(id=ids.READOUT, className="readout"),
                    picture(
                        ids.CHART,
                        ids.CHART_TEXT,
                        html.Div(
                            minute_slider(ids.MINUTE, "Minute of the drive"),
                            className="minute",
                        ),
                    ),
                ],
                className="detail",
            ),
            Markup(id=ids.TABLES, tag="section", className="tables"),
            Markup(id=ids.FRAME, tag="section", className="tables"),
            Markup(id=ids.LENSES, tag="section", className="tables"),
            html.Section(
                [
                    html.H2("Which drives"),
                    html.Div(form.field(table.ORDER, raw, catalog), className="narrow"),
                    html.Div(
                        [
                            html.P(id=ids.BOOKED, className="said"),
                            Markup(id=ids.BOOKABLE),
                        ],
                        id=ids.BOOKING,
                    ),
                    dcc.Input(
                        id=table.MARKS.name, type="hidden", value=raw[table.MARKS.name]
                    ),
                    dcc.Input(
                        id=table.SKIES.name, type="hidden", value=raw[table.SKIES.name]
                    ),
                ],
                className="tables",
            ),
            downloads.section(raw),
            dcc.Store(id=ids.MINUTES),
            layout.cautions(),
        ],
        id="plan",
        tabIndex=-1,
    )


def summary(raw: Raw, catalog: Catalog) -> str:
    """Return the choices on one line, for the closed drawer on a phone."""
    return layout.plan_summary(state.read(raw, catalog))


def answer(raw: Raw, catalog: Catalog) -> list[Component | str] | str:
    """Return the sentence on the selected drive; raises as `rows`."""
    request = state.read(raw, catalog)
    # Of the drive's day alone it is there in a fraction of the time.
    plan = cache.day(request, _date(request, raw.drive))
    chosen = plan.drive(raw.drive) if raw.drive else next(iter(plan.drives), None)
    if chosen is None:
        plan = cache.trip(request)
        chosen = chosen_drive(plan, raw.drive)
    return spans(words.answer(plan, chosen)) if chosen else words.NO_DRIVE


def _date(request: Request, drive: str) -> dt.date:
    """Return the date of a drive's key if the trip has it, else the trip's first."""
    try:
        date = dt.date.fromisoformat(drive[:10])
    except ValueError:
        return request.first
    return date if request.first <= date <= request.last else request.first


def rows(raw: Raw, catalog: Catalog) -> dict[str, Any]:
    """Return what the page shows of the whole trip but for its order and marks.

    Raises
    ------
    ValueError
        With one sentence on the first value that is wrong.
    """
    plan = cache.trip(state.read(raw, catalog))
    chosen = chosen_drive(plan, raw.drive)
    marked = table.MARKS.of(raw, catalog)
    return {
        "notes": [html.P(note) for note in words.notes(plan)],
        "drives": strips.sections(plan, chosen.key if chosen else "", marked),
        "lenses": lenses.section(plan, "the trip"),
    }


def bookable(raw: Raw, catalog: Catalog) -> list[Component]:
    """Return the drives in the order asked for; raises as `rows`."""
    plan = cache.trip(state.read(raw, catalog))
    order, marked = table.ORDER.of(raw, catalog), table.MARKS.of(raw, catalog)
    return booking.table(plan, order, marked)


def booked(raw: Raw, catalog: Catalog) -> str:
    """Return what the marked drives sum up to; raises as `rows`."""
    plan = cache.trip(state.read(raw, catalog))
    return booking.total_sentence(plan, table.MARKS.of(raw, catalog))


def drive(raw: Raw, catalog: Catalog, theme: str) -> dict[str, Any]:
    """Return what the page shows below the rows of a drive; raises as `rows`."""
    plan = cache.trip(state.read(raw, catalog))
    chosen = chosen_drive(plan, raw.drive)
    if chosen is None:
        return {
            **dict.fromkeys(("title", "why", "text", "tables", "minutes")),
            "frame": frame.section(plan, None),
            "figure": None,
            "sky": "",
            "last": 1,
            "minute": 0,
        }
    minute = first_minute(plan, chosen)
    return {
        "title": f"{chosen.name}: the ISO each rig needs",
        "figure": drive_figure(plan, chosen, THEMES.get(theme, PAPER), minute),
        "why": light_words.why(plan, chosen),
        "text": picture_text(plan, chosen),
        "tables": [
            html.H2("Rigs by side of the sun"),
            *tables.rig_table(plan, chosen),
            html.H2("By the minute"),
            *tables.minute_table(plan, chosen),
        ],
        "frame": frame.section(plan, chosen),
        "minutes": tables.readings(plan, chosen),
        "sky": dict(plan.request.skies).get(chosen.key, ""),
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
    return next(iter([*mine, *(mark.minute for mark in found)]), len(drive.utc) // 2)


def picture_text(plan: TripPlan, drive: DrivePlan) -> str:
    """Return what the picture shows, for people who cannot see it."""
    return f"{words.picture(plan, drive)} {frame_words.strips(plan, drive)}"
