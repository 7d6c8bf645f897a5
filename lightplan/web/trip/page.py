"""The trip's page: every drive as a row, and the selected one in full."""

from typing import Any

from dash import html
from dash.development.base_component import Component

from lightplan import naming
from lightplan.catalog.places import Catalog
from lightplan.trip import words
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import FACING_INDEX
from lightplan.web import cache
from lightplan.web.choices import state
from lightplan.web.choices.raw import Raw
from lightplan.web.figures.theme import PAPER, THEMES
from lightplan.web.parts import spans
from lightplan.web.trip import booking, lenses, marks, tables
from lightplan.web.trip import rows as strips
from lightplan.web.trip.figure import drive_figure


def rows(raw: Raw, catalog: Catalog) -> dict[str, Any]:
    """Return what the page shows of the whole trip but for its order and marks.

    Raises
    ------
    ValueError
        With one sentence on the first value that is wrong.
    """
    plan = cache.trip(state.read(raw, catalog))
    chosen = chosen_drive(plan, raw.drive)
    marked = state.marks_of(raw)
    return {
        "notes": [html.P(note) for note in words.notes(plan)],
        "drives": strips.sections(plan, chosen.key if chosen else "", marked),
        "lenses": lenses.section(plan, "the trip"),
    }


def bookable(raw: Raw, catalog: Catalog) -> list[Component]:
    """Return the drives in the order asked for; raises as `rows`."""
    plan = cache.trip(state.read(raw, catalog))
    return booking.table(plan, state.order_of(raw), state.marks_of(raw))


def booked(raw: Raw, catalog: Catalog) -> str:
    """Return what the marked drives sum up to; raises as `rows`."""
    plan = cache.trip(state.read(raw, catalog))
    return booking.total_sentence(plan, state.marks_of(raw))


def drive(raw: Raw, catalog: Catalog, theme: str) -> dict[str, Any]:
    """Return what the page shows of the selected drive; raises as `rows`."""
    plan = cache.trip(state.read(raw, catalog))
    chosen = chosen_drive(plan, raw.drive)
    if chosen is None:
        return {
            **dict.fromkeys(("title", "text", "tables", "minutes")),
            "answer": words.NO_DRIVE,
            "figure": None,
            "sky": "",
            "last": 1,
            "minute": 0,
        }
    minute = first_minute(plan, chosen)
    return {
        "answer": spans(words.answer(plan, chosen)),
        "title": f"{naming.drive_name(chosen.drive)}: the ISO each rig needs",
        "figure": drive_figure(plan, chosen, THEMES.get(theme, PAPER), minute),
        "text": words.picture(plan, chosen),
        "tables": [
            html.H2("Rigs by side of the sun"),
            *tables.rig_table(plan, chosen),
            html.H2("By the minute"),
            *tables.minute_table(plan, chosen),
        ],
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
