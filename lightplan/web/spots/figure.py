"""The year at a fixed spot as one picture: kinds of light by date and local clock."""

import datetime as dt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lightplan import naming
from lightplan.arrays import Mask
from lightplan.sky import localtime
from lightplan.spots import chances, spots
from lightplan.spots.chances import Chance, Wish
from lightplan.spots.spots import LIGHTS, NO_SUN, STEP_MIN, Picture, SpotYear
from lightplan.trip.drives import Closed
from lightplan.web.figures import year_clock, year_lines, year_names
from lightplan.web.figures.base import Figure, sheet
from lightplan.web.figures.theme import Theme
from lightplan.web.spots.letters import Fields, letters, taken

Bar = tuple[dt.date, int, int]  # minutes of a date, from and to

# Share of a colour that is left outside the gates, and of the night's own.
_OUTSIDE, _NIGHT, _NIGHT_OUTSIDE = 0.30, 0.55, 0.14
_UNKNOWN = 2 * (len(LIGHTS) + 1)  # a clock time that the date does not have
_HATCH_DAYS, _LEAN_DAYS = 5, 4  # between two strokes; to either side of each
_LETTER_INK = "#14171A"  # on all but the darkest colour, in either theme


def spots_figure(of: SpotYear, wish: Wish, theme: Theme) -> Figure:
    """Return the picture: light as colour and letter, chances hatched, gates, sun."""
    shown = spots.picture(of)
    days, zone = of.days, of.place.timezone
    first, last = _rows(shown)
    dates = [day.date.isoformat() for day in days]
    names = year_names.line_names(days, zone, theme)
    runs = _runs(of, wish)
    return {
        "data": [
            _heat(shown, theme, dates[0], first, last),
            *_wish_lines(runs, hatch_ink(wish, theme)),
            *year_lines.sun_lines(days, zone, theme),
            *year_lines.gate_lines(days, zone, theme),
        ],
        "layout": {
            **sheet(theme),
            "margin": {"l": 52, "r": 12, "t": 40, "b": 30},
            "xaxis": {
                "type": "date",
                "range": [dates[0], dates[-1]],
                "tickvals": [f"{of.year}-{month:02d}-15" for month in range(1, 13)],
                "ticktext": list(naming.MONTHS),
                "tickangle": 0,
                "tickfont": {"size": 11},
                "fixedrange": True,
                "showgrid": False,
            },
            "yaxis": year_clock.axis(first * STEP_MIN, last * STEP_MIN, STEP_MIN),
            "shapes": [
                *year_lines.closed_shapes(days, theme),
                *_seen_at_night(year_lines.change_shapes(days, zone, theme), theme),
            ],
            "annotations": [
                *year_lines.closed_names(days, theme),
                *year_lines.change_names(days, zone, theme),
                *names,
                *letters(
                    _fields(of, shown, names, _hatched(of, runs)), colours(theme), theme
                ),
            ],
        },
    }


def _seen_at_night(rules: list[Figure], theme: Theme) -> list[Figure]:
    return [{**rule, "line": {**rule["line"], "color": theme.ink}} for rule in rules]


def colours(theme: Theme) -> list[tuple[str, str]]:
    """Return the colour of each of `KINDS`, and that of a letter on it."""
    sides = [
        (side, theme.rim if light.key == "back" else _LETTER_INK)
        for light, side in zip(LIGHTS, theme.sides, strict=True)
    ]
    return [*sides, (_mixed(theme.light["twilight"], theme.surface, _NIGHT), theme.ink)]


def hatch_ink(wish: Wish, theme: Theme) -> str:
    """Return the colour of the strokes where a wish is met."""
    return theme.rim if wish.key == "back" else theme.edge


def faint(colour: str, theme: Theme) -> str:
    """Return a light's colour outside the gates."""
    return _mixed(colour, theme.surface, _OUTSIDE)


def striped(of: SpotYear) -> bool:
    """Return whether a session is closed on single days: thin stripes in the picture."""
    held = {(drive.date, drive.session) for drive in of.drives}
    shut = [s for day in of.days for s in day.sessions if isinstance(s, Closed)]
    day = dt.timedelta(days=1)
    return any(
        {(s.date - day, s.session), (s.date + day, s.session)} <= held for s in shut
    )


def _rows(shown: Picture) -> tuple[int, int]:
    """Return first and last row: the whole hours with sun or open gates."""
    hour = 60 // STEP_MIN
    busy = np.flatnonzero(((shown.light != NO_SUN) | shown.inside).any(axis=1))
    if not len(busy):
        return 0, len(shown.light)
    return int(busy[0] // hour * hour), int(-(-(busy[-1] + 1) // hour) * hour)


def cells(shown: Picture) -> NDArray[np.int8]:
    """Return a number for each cell: twice the light's, one more inside the gates.

    Lights count from 1, and no sun is 0.
    """
    value = 2 * (shown.light - NO_SUN) + shown.inside
    return np.where(shown.known, value, _UNKNOWN).astype(np.int8)


def _heat(shown: Picture, theme: Theme, date: str, first: int, last: int) -> Figure:
    values = np.ascontiguousarray(cells(shown)[first:last])
    return {
        **year_lines.heat(values, date, first * STEP_MIN, STEP_MIN),
        "zmin": -0.5,
        "zmax": _UNKNOWN + 0.5,
        "colorscale": _scale(theme),
        "showscale": False,
        "hoverinfo": "skip",
    }


def _scale(theme: Theme) -> list[list[Any]]:
    night, surface = theme.light["twilight"], theme.surface
    steps = [_mixed(night, surface, _NIGHT_OUTSIDE), _mixed(night, surface, _NIGHT)]
    for side in theme.sides:
        steps += [faint(side, theme), side]
    steps.append(surface)
    wide = 1 / len(steps)
    return [
        [min(edge, 1.0), colour]
        for i, colour in enumerate(steps)
        for edge in (i * wide, (i + 1) * wide)
    ]


def _mixed(colour: str, ground: str, share: float) -> str:
    pairs = [
        (int(colour[i : i + 2], 16), int(ground[i : i + 2], 16)) for i in (1, 3, 5)
    ]
    return "#" + "".join(f"{round(share * a + (1 - share) * b):02X}" for a, b in pairs)


def _runs(of: SpotYear, wish: Wish) -> list[list[Bar]]:
    runs = chances.runs(of, chances.chances(of, wish))
    return [[bar for chance in run for bar in _bars(of, chance)] for run in runs]


def _wish_lines(runs: list[list[Bar]], colour: str) -> list[Figure]:
    """Hatch each run of dates on which the wish is met, and draw its edges.

    The strokes are slanted, unlike the stripes of closed days; upright at the ends.
    """
    hatch: list[tuple[str, int] | None] = []
    edges: list[tuple[str, int] | None] = []
    for bars in runs:
        for field in _single(bars):
            for a, b in _leaning(field):
                hatch += [(a[0].isoformat(), a[1]), (b[0].isoformat(), b[2]), None]
        if len({date for date, _, _ in bars}) < len(bars):
            continue  # twice on one date, so more than one field
        edges += [*((date.isoformat(), start) for date, start, _ in bars), None]
        edges += [*((date.isoformat(), end) for date, _, end in bars), None]
    return [_strokes(hatch, colour, 1), _strokes(edges, colour, 1.5)]


def _single(bars: list[Bar]) -> list[list[Bar]]:
    """Split a run into fields of one bar per date, each overlapping the one before."""
    fields: list[list[Bar]] = []
    for date, start, end in bars:
        for field in fields:
            before = field[-1]
            if before[0] < date and before[1] < end and start < before[2]:
                field.append((date, start, end))
                break
        else:
            fields.append([(date, start, end)])
    return fields


def _leaning(field: list[Bar]) -> list[tuple[Bar, Bar]]:
    """Return for each stroke the bar at which it begins and the bar at which it ends."""
    last = len(field) - 1
    leaning = [
        (field[max(i - _LEAN_DAYS, 0)], field[min(i + _LEAN_DAYS, last)])
        for i, (date, _, _) in enumerate(field)
        if date.toordinal() % _HATCH_DAYS == 0
    ]
    return [(field[0], field[0]), *leaning, (field[last], field[last])]


def _strokes(points: list[tuple[str, int] | None], colour: str, width: float) -> Figure:
    """Return a line through points, with a gap at each None."""
    return {
        "type": "scatter",
        "mode": "lines",
        "x": [point and point[0] for point in points],
        "y": [point and point[1] for point in points],
        "connectgaps": False,
        "hoverinfo": "skip",
        "line": {"color": colour, "width": width},
    }


def _bars(of: SpotYear, chance: Chance) -> list[Bar]:
    """Return a chance as minutes of its date; one past midnight as two of them."""
    wall = localtime.to_wall(of.place.timezone, chance.start_utc)
    date: dt.date = wall.astype("datetime64[D]").item()
    start = int((wall - np.datetime64(date)) / np.timedelta64(1, "m"))
    end = start + chance.minutes
    if end <= 24 * 60:
        return [(date, start, end)]
    following = date + dt.timedelta(days=1)
    return [(date, start, 24 * 60), (following, 0, end - 24 * 60)]


def _hatched(of: SpotYear, runs: list[list[Bar]]) -> Mask:
    mask = np.zeros((24 * 60 // STEP_MIN, len(of.days)), dtype=np.bool_)
    for date, start, end in (bar for run in runs for bar in run):
        if date.year == of.year:
            column = (date - of.days[0].date).days
            mask[start // STEP_MIN : -(-end // STEP_MIN) + 1, column] = True
    return mask


def _fields(of: SpotYear, shown: Picture, names: list[Figure], hatched: Mask) -> Fields:
    """Return where letters may stand: off names, clock changes and closures' boxes."""
    free = np.ones_like(shown.inside)
    for name in names:
        taken(free, int(name["y"]) // STEP_MIN, _day(of, name["x"]), 45, 62)
    for date, _ in year_lines.clock_changes(of.days, of.place.timezone):
        taken(free, 0, _day(of, date.isoformat()), 24 * 60, 8)
    for shut, until, _ in year_lines.closed_runs(of.days):
        free[:, _day(of, shut.isoformat()) : _day(of, until.isoformat()) + 1] = False
    return Fields(of.days[0].date, shown, free, hatched, _rows(shown))


def _day(of: SpotYear, date: str) -> int:
    return (dt.date.fromisoformat(date) - of.days[0].date).days
