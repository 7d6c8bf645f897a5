"""The year's page: which weeks, in a sentence, a picture and a table."""

from typing import Any

from dash import html
from dash.development.base_component import Component

from lightplan import naming
from lightplan.catalog.places import Catalog
from lightplan.choices import state, table
from lightplan.choices.raw import Raw
from lightplan.trip import words
from lightplan.trip.request import LETTERS
from lightplan.web import cache, ids, layout
from lightplan.web.components import Markup
from lightplan.web.figures.theme import PAPER, THEMES
from lightplan.web.pages import Visit
from lightplan.web.parts import Row, captioned, picture, spans
from lightplan.web.trip import lenses
from lightplan.web.year.figure import year_figure
from lightplan.year import words as year_words
from lightplan.year.plan import Week, YearPlan


def page(visit: Visit) -> Component:
    """Return the year's page, its controls filled with the texts given."""
    raw, loaded = visit.raw, visit.loaded
    main = html.Main(
        [
            *layout.replaced_values(visit),
            html.P(id=ids.YEAR_ANSWER, className="answer"),
            html.Div(id=ids.YEAR_NOTES, className="notes"),
            html.Section(
                [
                    html.H2("The year by date and local clock"),
                    picture(ids.YEAR_CHART, ids.YEAR_TEXT),
                ],
                className="detail",
            ),
            Markup(id=ids.YEAR_TABLE, tag="section", className="tables"),
            Markup(id=ids.YEAR_LENSES, tag="section", className="tables"),
            layout.cautions(),
        ],
        id="plan",
        tabIndex=-1,
    )
    asked = layout.plan_controls("year", raw, loaded.catalog)
    return layout.frame("year", raw, loaded, asked, main)


def summary(raw: Raw, catalog: Catalog) -> str:
    """Return the choices on one line, for the closed drawer on a phone."""
    request = state.read(raw, catalog)
    return layout.plan_summary(request, raw[table.YEAR.name])


def content(raw: Raw, catalog: Catalog, theme: str) -> dict[str, Any]:
    """Return what the page shows of the year.

    Raises
    ------
    ValueError
        With one sentence on the first value that is wrong.
    """
    request = state.read(raw, catalog)
    year = cache.year(
        request, table.YEAR.of(raw, catalog), table.SHOWN.of(raw, catalog)
    )
    return {
        "answer": spans(year_words.answer(year)),
        "notes": [html.P(note) for note in words.notes(year.plan)],
        "figure": year_figure(year, THEMES.get(theme, PAPER)),
        "text": year_words.picture(year),
        "table": [html.H2("Week by week"), *week_table(year, raw)],
        "lenses": lenses.section(year.plan, "the year"),
    }


def week_table(year: YearPlan, raw: Raw) -> list[Component]:
    """Return a row for every week; its name opens those dates as a trip."""
    rigs = [
        f"{LETTERS[i]} {c.label}, min" for i, c in enumerate(year.plan.request.rigs)
    ]
    letter = LETTERS[year.rig]
    best = year.plan.request.best.key
    name = best.capitalize()
    can_use = f"{name} {letter} can use, min"
    head = ["Week", f"{name}, min", can_use, "Moon", "Gates", "Closed"]
    rows = [_week_row(week, year.rig, raw) for week in year.weeks]
    caption = (
        "Minutes inside the gates, mornings + evenings"
        + (" + nights" if _has_nights(year) else "")
        + "; those of a rig end at turn-back"
        + f"; {best} minutes that {letter} can use are for the whole week. A week "
        "opens as a trip."
    )
    return captioned(caption, "Week by week", [*head[:3], *rigs, *head[3:]], rows)


def _has_nights(year: YearPlan) -> bool:
    return any(d.session == "night" for d in year.plan.drives)


def _week_row(week: Week, rig: int, raw: Raw) -> Row:
    dates = {
        table.FIRST.name: week.first.isoformat(),
        table.LAST.name: week.last.isoformat(),
    }
    span = naming.day_span(week.first, week.last)
    link = html.A(span, href="/" + raw.replaced(dates).search())
    closed = f"{week.closed} of {week.closed + week.drives} drives"
    return [
        link,
        _by_session(week.best_min),
        str(sum(week.usable_best_min[rig])),
        *map(_by_session, week.usable_min),
        _moon(week),
        ", ".join(week.gates) or "–",
        closed if week.closed else "",
    ]


def _moon(week: Week) -> str:
    age = round(week.moon_age_days)
    lit = naming.percent(week.moon_fraction)
    return f"{age} day{'' if age == 1 else 's'} old, {lit} lit"


def _by_session(minutes: tuple[int, ...]) -> str:
    morning, evening, night = minutes
    return f"{morning} + {evening}" + (f" + {night}" if night else "")
