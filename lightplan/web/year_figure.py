"""The year at a place as one picture: needed ISO by date and local clock."""

import base64
import datetime as dt
from html import escape
from itertools import groupby
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lightplan import localtime, season_words, words
from lightplan.drives import Closed
from lightplan.gates import SESSIONS, Session
from lightplan.plan import DrivePlan
from lightplan.season import STEP_MIN, Season
from lightplan.web.figures import FONT
from lightplan.web.furniture import Figure, faded
from lightplan.web.theme import Theme

# Thirds of a stop below and above the ceiling that the colours tell apart.
BELOW, ABOVE = 21, 18
_NONE = ABOVE + 1  # beyond it, and where a rig is of no use at all


def year_figure(season: Season, theme: Theme) -> Figure:
    """Return the picture: ISO as colour, its ceiling as an edge, gates and sun."""
    dates = [date.isoformat() for date in season.picture.dates]
    return {
        "data": [
            _heat(season, theme, dates[0]),
            *_sun_lines(season, theme, dates),
            *_gate_lines(season, theme, dates),
        ],
        "layout": {
            "paper_bgcolor": theme.surface,
            "plot_bgcolor": theme.surface,
            "font": {"family": FONT, "size": 12, "color": theme.muted},
            "margin": {"l": 52, "r": 12, "t": 26, "b": 76},
            "dragmode": False,
            "hovermode": "closest",
            "showlegend": False,
            "xaxis": {
                "type": "date",
                "range": [dates[0], dates[-1]],
                "tickvals": [
                    f"{dates[0][:4]}-{month:02d}-15" for month in range(1, 13)
                ],
                "ticktext": list(words.MONTHS),
                "fixedrange": True,
                "showgrid": False,
            },
            "yaxis": {
                "range": [24 * 60 - STEP_MIN / 2, -STEP_MIN / 2],
                "tickvals": list(range(0, 24 * 60 + 1, 180)),
                "ticktext": [f"{hour:02d}:00" for hour in range(0, 25, 3)],
                "fixedrange": True,
                "showgrid": False,
                "zeroline": False,
            },
            "shapes": [
                *_closed_shapes(season, theme),
                *_change_shapes(season, theme),
            ],
            "annotations": [
                *_closed_names(season, theme),
                *_change_names(season, theme),
                *_line_names(season, theme),
            ],
        },
    }


def thirds(season: Season) -> NDArray[np.int8]:
    """Return thirds of a stop from the ceiling, shape (clock steps, dates)."""
    ceiling = season.plan.request.rigs[season.rig].iso_ceiling
    stops = np.log2(season.picture.iso / ceiling)
    # Rounded up: a cell past the edge is a minute at which the rig is finished.
    value = np.ceil(np.clip(stops * 3 - 1e-9, -BELOW, _NONE))
    return value.astype(np.int8)


def _heat(season: Season, theme: Theme, first: str) -> Figure:
    values = thirds(season)
    ceiling = season.plan.request.rigs[season.rig].iso_ceiling
    whole = [n for n in range(-BELOW, ABOVE + 1) if n % 6 == 0]
    return {
        "type": "heatmap",
        "z": {
            "dtype": "i1",
            "bdata": base64.b64encode(values.tobytes()).decode(),
            "shape": f"{values.shape[0]}, {values.shape[1]}",
        },
        "x0": first,
        "dx": 86_400_000,
        "y0": 0,
        "dy": STEP_MIN,
        "zmin": -BELOW,
        "zmax": ABOVE,
        "zsmooth": False,
        "colorscale": _scale(theme),
        "hoverinfo": "none",
        "colorbar": {
            "orientation": "h",
            "thickness": 10,
            "len": 0.8,
            "y": -0.1,
            "yanchor": "top",
            "tickvals": whole,
            "ticktext": [f"ISO {ceiling * 2 ** (n / 3):.0f}" for n in whole],
            "outlinewidth": 0,
        },
    }


def _scale(theme: Theme) -> list[list[Any]]:
    """Even steps of lightness up to the ceiling, then an edge to the dark."""
    edge = (BELOW + 0.5) / (BELOW + ABOVE)
    usable, over = theme.usable, theme.over
    low = [[edge * i / (len(usable) - 1), c] for i, c in enumerate(usable)]
    high = [[edge + (1 - edge) * i / (len(over) - 1), c] for i, c in enumerate(over)]
    return [*low, *high]


def _of_day(season: Season, utc: np.datetime64 | None, date: dt.date) -> float | None:
    if utc is None:
        return None
    wall = localtime.to_wall(season.plan.request.place.timezone, utc)
    minutes = float((wall - np.datetime64(date)) / np.timedelta64(1, "m"))
    return round(minutes, 1) if 0 <= minutes < 24 * 60 else round(minutes % 1440, 1)


def _unjoined(values: list[float | None]) -> list[float | None]:
    """Leave a gap where a time passes midnight, from the foot to the head."""
    return [
        None
        if i
        and v is not None
        and (last := values[i - 1]) is not None
        and abs(v - last) > 12 * 60
        else v
        for i, v in enumerate(values)
    ]


def _line(
    dates: list[str], values: list[float | None], theme: Theme, dash: str, width: float
) -> list[Figure]:
    """Return a line that shows on light and dark alike: ink with a pale rim."""
    line = {
        "type": "scatter",
        "mode": "lines",
        "x0": dates[0],
        "dx": 86_400_000,
        "y": _unjoined(values),
        "connectgaps": False,
        "hoverinfo": "skip",
    }
    rim = {"color": theme.rim, "width": width + 2}
    return [
        {**line, "line": rim},
        {**line, "line": {"color": theme.edge, "width": width, "dash": dash}},
    ]


def _sun_lines(season: Season, theme: Theme, dates: list[str]) -> list[Figure]:
    days = season.plan.days
    lines = []
    for event in ("sunrise_utc", "sunset_utc"):
        values = [_of_day(season, getattr(d.sun, event), d.date) for d in days]
        lines += _line(dates, values, theme, "2px,3px", 1)
    return lines


def _gate_lines(season: Season, theme: Theme, dates: list[str]) -> list[Figure]:
    lines = []
    for session in SESSIONS:
        held = _held(season, session)
        for side in ("opens_utc", "closes_utc"):
            values = [
                _of_day(season, getattr(held[d].drive, side), d) if d in held else None
                for d in season.picture.dates
            ]
            if any(value is not None for value in values):
                lines += _line(dates, _bridged(values), theme, "solid", 1.5)
    return lines


def _held(season: Season, session: Session) -> dict[dt.date, DrivePlan]:
    return {d.drive.date: d for d in season.plan.drives if d.drive.session == session}


def _bridged(values: list[float | None]) -> list[float | None]:
    """Draw through a single day without the session: a weekday's closure."""
    return [
        values[i - 1]
        if v is None
        and 0 < i < len(values) - 1
        and None not in (values[i - 1], values[i + 1])
        else v
        for i, v in enumerate(values)
    ]


def closed_runs(season: Season) -> list[tuple[dt.date, dt.date, str]]:
    """Return stretches of at least a week with every session closed, and why."""
    shut = [
        next((s.reason for s in day.sessions if isinstance(s, Closed)), "")
        if all(isinstance(s, Closed) for s in day.sessions)
        else ""
        for day in season.plan.days
    ]
    runs = []
    for reason, group in groupby(range(len(shut)), lambda i: shut[i]):
        days = list(group)
        if reason and len(days) >= 7:
            dates = season.picture.dates
            runs.append((dates[days[0]], dates[days[-1]], reason))
    return runs


def _closed_shapes(season: Season, theme: Theme) -> list[Figure]:
    return [
        {
            "type": "rect",
            "xref": "x",
            "yref": "paper",
            "x0": first.isoformat(),
            "x1": last.isoformat(),
            "y0": 0,
            "y1": 1,
            "line": {"color": theme.edge, "width": 1},
            "fillcolor": faded(theme.surface, 0.72),
        }
        for first, last, _ in closed_runs(season)
    ]


def _closed_names(season: Season, theme: Theme) -> list[Figure]:
    return [
        _name(
            (first + (last - first) / 2).isoformat(),
            0.5,
            reason,
            theme,
            textangle=-90 if (last - first).days < 120 else 0,
        )
        for first, last, reason in closed_runs(season)
    ]


def clock_changes(season: Season) -> list[tuple[dt.date, str]]:
    """Return the dates on which the clock has changed, and from what to what."""
    zone = season.plan.request.place.timezone
    days = season.plan.days
    offsets = [localtime.offset_text(zone, day.sun.noon_utc) for day in days]
    return [
        (days[i].date, f"{offsets[i - 1]} to {offsets[i]}")
        for i in range(1, len(days))
        if offsets[i] != offsets[i - 1]
    ]


def _change_shapes(season: Season, theme: Theme) -> list[Figure]:
    return [
        {
            "type": "line",
            "xref": "x",
            "yref": "paper",
            "x0": date.isoformat(),
            "x1": date.isoformat(),
            "y0": 0,
            "y1": 1,
            "line": {"color": theme.edge, "width": 1, "dash": "4px,4px"},
        }
        for date, _ in clock_changes(season)
    ]


def _change_names(season: Season, theme: Theme) -> list[Figure]:
    return [
        _name(
            date.isoformat(),
            1.0,
            f"clock {change}, {season_words.day_month(date)}",
            theme,
            yanchor="bottom",
        )
        for date, change in clock_changes(season)
    ]


def _line_names(season: Season, theme: Theme) -> list[Figure]:
    """Name the lines once, at the first day of the year that has them."""
    names = []
    for day in season.plan.days[15:]:
        if day.sun.sunrise_utc is not None and day.sun.sunset_utc is not None:
            for word, utc, anchor in (
                ("sunrise", day.sun.sunrise_utc, "bottom"),
                ("sunset", day.sun.sunset_utc, "top"),
            ):
                minute = _of_day(season, utc, day.date)
                at = {"yref": "y", "xanchor": "left", "yanchor": anchor}
                names.append(
                    _name(day.date.isoformat(), minute or 0, word, theme, **at)
                )
            break
    for session in SESSIONS:
        held = list(_held(season, session).items())
        if held:
            date, drive = held[len(held) * 3 // 4]  # clear of the names on the left
            opens = _of_day(season, drive.drive.opens_utc, date) or 0
            closes = _of_day(season, drive.drive.closes_utc, date) or 0
            if closes > opens:
                middle = (opens + closes) / 2
                name = f"{session} gates"
                names.append(_name(date.isoformat(), middle, name, theme, yref="y"))
    return names


def _name(x: str, y: float, text: str, theme: Theme, **more: Any) -> Figure:
    return {
        "x": x,
        "y": y,
        "xref": "x",
        "yref": "paper",
        "text": escape(text, quote=False),  # Plotly takes it for markup
        "showarrow": False,
        "bgcolor": faded(theme.surface, 0.9),
        "font": {"size": 12, "color": theme.ink},
        **more,
    }
