"""The page of fixed spots: when each has the light waited for."""

import datetime as dt
from typing import Any

from dash import dcc, html
from dash.development.base_component import Component

from lightplan import naming
from lightplan.catalog.places import Catalog, Place
from lightplan.choices import state, table
from lightplan.choices.raw import OWN, Raw
from lightplan.sky import localtime
from lightplan.spots import chances
from lightplan.spots import words as spot_words
from lightplan.spots.chances import WORTH_MIN, Chance, Week, Wish
from lightplan.spots.spots import INDEX, KINDS, LIGHTS, SpotYear
from lightplan.web import cache, form, ids, layout, rig_form
from lightplan.web.components import Markup
from lightplan.web.figures.theme import PAPER, THEMES, Theme
from lightplan.web.pages import BY_KEY, Visit
from lightplan.web.parts import Row, aria, captioned, picture, spans
from lightplan.web.spots.figure import colours, faint, hatch_ink, spots_figure, striped

NEXT = 10
# The trip's plan knows three sides; rim light is closest to its "back".
_FACING = {"back": "back", "rim": "back", "side": "side", "front": "front"}


def page(visit: Visit) -> Component:
    """Return the page, its controls filled with the texts given."""
    raw, loaded = visit.raw, visit.loaded
    asked = _controls(raw, loaded.catalog)
    main = html.Main(
        [
            *layout.replaced_values(visit),
            html.P(id=ids.SPOTS_ANSWER, className="answer"),
            html.Div(id=ids.SPOTS_NOTES, className="notes"),
            html.Div(
                [
                    html.Section(id=ids.SPOTS_RUNS, className="tables"),
                    _picture(),
                    Markup(id=ids.SPOTS_NEXT, tag="section", className="tables"),
                    _weeks(),
                ],
                id=ids.SPOTS_SHOWN,
                className="" if table.SPOT.of(raw, loaded.catalog) else "hidden",
            ),
            layout.cautions(),
        ],
        id="plan",
        tabIndex=-1,
    )
    return layout.frame("spots", raw, loaded, asked, main)


def _controls(raw: Raw, catalog: Catalog) -> list[Component]:
    """Return the page's controls; the list of spots follows the place."""
    of = {p.name: [spot.name for spot in p.spots] for p in catalog.places}
    listed = [(name, name) for name in of.get(raw[table.PLACE.name], [])]
    chosen = table.SPOT.of(raw, catalog)
    spot = form.select(
        ids.SPOT_CHOICE,
        table.SPOT.label,
        listed,
        chosen.name if chosen else None,
        placeholder="none here",
    )
    return [
        *form.asked("spots", raw, catalog, after={table.PLACE.name: [spot]}),
        dcc.Store(id=ids.SPOTS_OF, data=of),
        rig_form.hidden(raw, catalog),
    ]


def _picture() -> html.Section:
    return html.Section(
        [
            html.H2("The year by date and local clock"),
            html.Ul(
                id=ids.SPOTS_KEY, className="spot-key", **aria(label="Kinds of light")
            ),
            picture(ids.SPOTS_CHART, ids.SPOTS_TEXT),
            *layout.stop_cautions(),
        ],
        className="detail",
    )


def _weeks() -> html.Section:
    """Return the box of the long table, closed at first; it stays as the user left it."""
    return html.Section(
        html.Details(
            [html.Summary(html.H2("Week by week")), Markup(id=ids.SPOTS_WEEKS)]
        ),
        className="tables spot-weeks",
    )


def summary(raw: Raw, catalog: Catalog) -> str:
    """Return the choices on one line, for the closed drawer on a phone."""
    place, spot = table.PLACE.of(raw, catalog), table.SPOT.of(raw, catalog)
    year = table.YEAR.of(raw, catalog)
    light = LIGHTS[INDEX[table.WISH.of(raw, catalog)]].label
    return f"{place.name} · {spot.name if spot else 'no spot'} · {year} · {light}"


def content(raw: Raw, catalog: Catalog, theme: str, now: dt.datetime) -> dict[str, Any]:
    """Return what the page shows at a moment.

    Raises
    ------
    ValueError
        With one sentence on the first value that is wrong.
    """
    place = table.PLACE.of(raw, catalog)
    spot = table.SPOT.of(raw, catalog)
    wish, year = state.wish(raw, catalog), table.YEAR.of(raw, catalog)
    if spot is None:
        return _nothing(place, raw)
    today = localtime.date_at(place.timezone, now)
    since = first_day(raw, year, today)
    of = cache.spot(place, spot, year)
    colouring = THEMES.get(theme, PAPER)
    in_year = chances.chances(of, wish)
    coming = chances.upcoming(
        (cache.spot(place, spot, y) for y in _years(since.year)), wish, since, NEXT
    )
    return {
        "answer": spans(spot_words.answer(of, wish, coming, since, today)),
        "notes": [html.P(note) for note in spot_words.notes(of)],
        "shown": "",
        "runs": _runs(of, wish, in_year),
        "key": _key(of, wish, colouring),
        "figure": spots_figure(of, wish, colouring),
        "text": spot_words.picture(of, wish),
        "next": _next(of, wish, coming, (since, today), raw),
        "weeks": _week_table(of, wish, in_year, raw),
    }


def _nothing(place: Place, raw: Raw) -> dict[str, Any]:
    before, named, after = spot_words.no_spots(
        place, raw[table.PLACE.name] != OWN
    ).partition(BY_KEY["kit"].title)
    return {
        "answer": [before, html.A(named, href="/kit" + raw.search()), after],
        "notes": [],
        "shown": "hidden",
        "runs": [],
        "key": [],
        "figure": None,
        "text": "",
        "next": [],
        "weeks": [],
    }


def first_day(raw: Raw, year: int, today: dt.date) -> dt.date:
    """Return the first date to look at: not before today, nor before the trip.

    It is the latest of 1 January, today, and the trip's first day if that is in the
    year.

    Raises
    ------
    ValueError
        If the first day is no date.
    """
    first = dt.date.fromisoformat(raw[table.FIRST.name])
    begins = first if first.year == year else dt.date(year, 1, 1)
    return max(begins, today)


def _years(year: int) -> range:
    return range(year, min(year + 1, localtime.LAST_YEAR) + 1)


def _key(of: SpotYear, wish: Wish, theme: Theme) -> list[html.Li]:
    kinds = [
        _key_item(kind.letter, kind.label, {"backgroundColor": fill, "color": ink})
        for kind, (fill, ink) in zip(KINDS, colours(theme), strict=True)
    ]
    full = colours(theme)[INDEX["side"]][0]
    pale = faint(full, theme)
    halves = f"linear-gradient(90deg, {full} 50%, {pale} 50%)"
    stripes = f"repeating-linear-gradient(90deg, {full} 0 6px, {pale} 6px 8px)"
    drawn = [("faint: outside the gates", halves)]
    if striped(of):
        drawn.append(("faint stripe: closed on that day", stripes))
    index = INDEX[wish.key]
    ground, line = colours(theme)[index][0], hatch_ink(wish, theme)
    leaning = f"repeating-linear-gradient(115deg, {ground} 0 5px, {line} 5px 6px)"
    drawn.append(("slanted lines: the light you wait for", leaning))
    return kinds + [_key_item("", text, {"background": fill}) for text, fill in drawn]


def _key_item(letter: str, text: str, style: dict[str, str]) -> html.Li:
    return html.Li(
        [
            html.Span(letter, className="swatch", style=style, **aria(hidden="true")),
            text,
        ]
    )


def _runs(of: SpotYear, wish: Wish, in_year: tuple[Chance, ...]) -> list[Component]:
    sentences = [
        html.P(spans(spot_words.run_sentence(of, wish, run)), className="said")
        for run in chances.spells(of, in_year)
    ]
    return [html.H2(f"Through {of.year}"), *sentences] if sentences else []


def _next(
    of: SpotYear,
    wish: Wish,
    coming: tuple[Chance, ...],
    dates: tuple[dt.date, dt.date],
    raw: Raw,
) -> list[Component]:
    """Return the table of chances; ``dates`` are the first to look at, and today."""
    if not coming:
        return []
    since, today = dates
    head = ["Date", "From – to", "Length", "Sun’s altitude", "Sun from straight behind"]
    rows = [_chance_row(of, wish, chance, today, raw) for chance in coming]
    caption = (
        f"From {naming.day_name(since)} {since.year} on, inside the gates, for at least "
        f"{WORTH_MIN} minutes: {spot_words.wished_low(wish)}. A date opens as a trip, "
        "with the spot’s cover."
    )
    title = "The next chances"
    return [html.H2(title), *captioned(caption, title, head, rows)]


def _chance_row(
    of: SpotYear, wish: Wish, chance: Chance, today: dt.date, raw: Raw
) -> Row:
    date = chance.drive.date
    name = f"{spot_words.dated(date, today)}, {chance.drive.session}"
    return [
        html.A(name, href=_trip(of, wish, date, date, raw)),
        spot_words.span(of, chance),
        _duration(chance.minutes),
        spot_words.height(chance),
        spot_words.off_behind(chance),
    ]


def _trip(of: SpotYear, wish: Wish, first: dt.date, last: dt.date, raw: Raw) -> str:
    changes = {
        table.FIRST.name: first.isoformat(),
        table.LAST.name: last.isoformat(),
        table.FACING.name: _FACING[wish.key],
        table.COVER.name: of.spot.cover,
    }
    return "/" + raw.replaced(changes).search()


def _week_table(
    of: SpotYear, wish: Wish, in_year: tuple[Chance, ...], raw: Raw
) -> list[Component]:
    label = LIGHTS[INDEX[wish.key]].label
    head = ["Week", "Chances", "Total", "Skyline, mid-week"]
    head += [light.label.capitalize() for light in LIGHTS]
    caption = (
        f"Dates with a chance of {label}, and their total length; when the sun clears "
        "and leaves the skyline on the week’s middle day; then the time inside the "
        "gates by kind of light. A week opens as a trip."
    )
    rows = [_week_row(of, wish, week, raw) for week in chances.weeks(of, in_year)]
    return captioned(caption, "Week by week", head, rows)


def _week_row(of: SpotYear, wish: Wish, week: Week, raw: Raw) -> Row:
    span = naming.day_span(week.first, week.last)
    link = html.A(span, href=_trip(of, wish, week.first, week.last, raw))
    dates = len({chance.drive.date for chance in week.chances})
    days = (week.last - week.first).days + 1
    together = sum(chance.minutes for chance in week.chances)
    return [
        link,
        f"on {dates} of {days} days" if dates else "–",
        _duration(together),
        spot_words.passages(of, week.middle),
        *map(_duration, week.light_min),
    ]


def _duration(minutes: int) -> str:
    return naming.duration(minutes) if minutes else "–"
