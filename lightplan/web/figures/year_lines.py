"""A picture of a year by date and clock: its cells, lines, closures and names."""

import base64
import datetime as dt
from html import escape
from itertools import groupby
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lightplan import naming
from lightplan.catalog.gates import SESSIONS, Session
from lightplan.sky import localtime
from lightplan.trip.drives import Closed, Day, Drive
from lightplan.web.figures.base import Figure
from lightplan.web.figures.theme import Theme, faded

Days = tuple[Day, ...]


def heat(
    values: NDArray[np.int8], date: str, first_min: float, step_min: float
) -> Figure:
    """Return cells by clock (down) and date (across), from a date and a minute on."""
    return {
        "type": "heatmap",
        "z": {
            "dtype": "i1",
            "bdata": base64.b64encode(values.tobytes()).decode(),
            "shape": f"{values.shape[0]}, {values.shape[1]}",
        },
        "x0": date,
        "dx": 86_400_000,
        "y0": first_min,
        "dy": step_min,
        "zsmooth": False,
    }


def of_day(zone: str, utc: np.datetime64 | None, date: dt.date) -> float | None:
    """Return the local time of an instant as minutes of the day; None for None."""
    if utc is None:
        return None
    wall = localtime.to_wall(zone, utc)
    minutes = float((wall - np.datetime64(date)) / np.timedelta64(1, "m"))
    return round(minutes, 1) if 0 <= minutes < 24 * 60 else round(minutes % 1440, 1)


def _unjoined(values: list[float | None]) -> list[float | None]:
    """Leave a gap where a time passes midnight, from bottom to top of the picture."""
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
    days: Days, values: list[float | None], theme: Theme, dash: str, width: float
) -> list[Figure]:
    """Return a line visible on light and dark ground: ink with a pale border."""
    line = {
        "type": "scatter",
        "mode": "lines",
        "x0": days[0].date.isoformat(),
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


def sun_lines(days: Days, zone: str, theme: Theme) -> list[Figure]:
    """Return sunrise and sunset on a level horizon."""
    lines = []
    for event in ("sunrise_utc", "sunset_utc"):
        values = [of_day(zone, getattr(d.sun, event), d.date) for d in days]
        lines += _line(days, values, theme, "2px,3px", 1)
    return lines


def gate_lines(days: Days, zone: str, theme: Theme) -> list[Figure]:
    """Return the gates of every session."""
    lines = []
    for session in SESSIONS:
        drives = held(days, session)
        for side in ("opens_utc", "closes_utc"):
            values = [
                of_day(zone, getattr(drives[d.date], side), d.date)
                if d.date in drives
                else None
                for d in days
            ]
            if any(value is not None for value in values):
                lines += _line(days, _bridged(values), theme, "solid", 1.5)
    return lines


def held(days: Days, session: Session) -> dict[dt.date, Drive]:
    """Return a session's drives by date."""
    return {
        s.date: s
        for day in days
        for s in day.sessions
        if isinstance(s, Drive) and s.session == session
    }


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


def closed_runs(days: Days) -> list[tuple[dt.date, dt.date, str]]:
    """Return stretches of at least a week with every session closed, and why."""
    shut = [
        next((s.reason for s in day.sessions if isinstance(s, Closed)), "")
        if all(isinstance(s, Closed) for s in day.sessions)
        else ""
        for day in days
    ]
    runs = []
    for reason, group in groupby(range(len(shut)), lambda i: shut[i]):
        run = list(group)
        if reason and len(run) >= 7:
            runs.append((days[run[0]].date, days[run[-1]].date, reason))
    return runs


def closed_shapes(days: Days, theme: Theme) -> list[Figure]:
    """Return a pale box over each of `closed_runs`."""
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
        for first, last, _ in closed_runs(days)
    ]


def closed_names(days: Days, theme: Theme) -> list[Figure]:
    """Name each of `closed_runs`."""
    return [
        label(
            (first + (last - first) / 2).isoformat(),
            0.5,
            reason,
            theme,
            # Across only if it fits on a phone, at less than a pixel per day.
            textangle=-90 if (last - first).days < 200 else 0,
        )
        for first, last, reason in closed_runs(days)
    ]


def clock_changes(days: Days, zone: str) -> list[tuple[dt.date, str]]:
    """Return the dates on which the clock changes, with the offsets before and after."""
    offsets = [localtime.offset_text(zone, day.sun.noon_utc) for day in days]
    return [
        (days[i].date, f"{offsets[i - 1]} to {offsets[i]}")
        for i in range(1, len(days))
        if offsets[i] != offsets[i - 1]
    ]


def change_shapes(days: Days, zone: str, theme: Theme) -> list[Figure]:
    """Return a rule at each of `clock_changes`."""
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
        for date, _ in clock_changes(days, zone)
    ]


def change_names(days: Days, zone: str, theme: Theme) -> list[Figure]:
    """Name each of `clock_changes` above the picture.

    In two lines, so that those of spring and autumn stand side by side on a phone.
    """
    return [
        label(
            date.isoformat(),
            1.0,
            f"clock {change}, {naming.day_month(date)}".replace(" to ", "\nto "),
            theme,
            yanchor="bottom",
        )
        for date, change in clock_changes(days, zone)
    ]


def label(x: str, y: float, text: str, theme: Theme, **more: Any) -> Figure:
    """Return a text on the picture, at a date and a share of its height."""
    return {
        "x": x,
        "y": y,
        "xref": "x",
        "yref": "paper",
        # Plotly reads it as markup.
        "text": escape(text, quote=False).replace("\n", "<br>"),
        "showarrow": False,
        "bgcolor": faded(theme.surface, 0.9),
        "font": {"size": 12, "color": theme.ink},
        **more,
    }
