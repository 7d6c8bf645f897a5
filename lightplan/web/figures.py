"""The selected drive as a picture: needed ISO by the minute, and the sun.

Figures are plain dictionaries, pure functions of a plan: quicker to build and
lighter to send than graph objects.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from lightplan import exposure, localtime, words
from lightplan.plan import FACING_INDEX, LETTERS, DrivePlan, TripPlan
from lightplan.web import marks
from lightplan.web.theme import DASHES, SYMBOLS, Theme

Figure = dict[str, Any]

GRAPH_CONFIG = {
    "displayModeBar": False,
    "displaylogo": False,
    "showSendToCloud": False,  # plotly's own button would upload the chart
    "scrollZoom": False,
    "doubleClick": False,
    "responsive": True,
}
FONT = "ui-sans-serif, system-ui, sans-serif"

# Heights of the three panels, as shares of the picture: ISO, altitude, bearing.
_ISO_PANEL, _ALTITUDE_PANEL, _BEARING_PANEL = (0.40, 1.0), (0.19, 0.33), (0.0, 0.12)
_NARROW = 0.10  # a window narrower than this share has its name set upright


def drive_figure(
    plan: TripPlan, drive: DrivePlan, theme: Theme, minute: int = 0
) -> Figure:
    """Return a drive's picture.

    Three panels share a clock: needed ISO of each rig with its spread, ceiling
    and last minute over the named light windows; sun altitude; sun bearing.
    """
    facing = FACING_INDEX[plan.request.facing]
    iso = drive.iso[:, facing]
    lowest, highest = _iso_range(plan, iso)
    flat_left = drive.drive.session == "evening"
    return {
        "data": [
            *_spread_traces(plan, drive, iso, theme),
            *_iso_traces(plan, drive, iso, theme),
            *_mark_traces(plan, drive, facing, theme),
            _line(drive, drive.altitude_deg.round(2), "y2", theme),
            _line(drive, _unwrapped(drive.azimuth_deg).round(1), "y3", theme),
        ],
        "layout": {
            **_frame(theme),
            "xaxis": _clock_axis(plan, drive, theme),
            "yaxis": _iso_axis(lowest, highest, theme),
            "yaxis2": _plain_axis(_ALTITUDE_PANEL, theme, rangemode="tozero"),
            "yaxis3": _bearing_axis(drive, theme),
            "shapes": [
                *_window_shapes(drive, theme),
                *_ceiling_shapes(plan, theme),
                _cursor(minute, theme),
            ],
            "annotations": [
                *_window_names(drive, theme),
                *_ceiling_names(plan, theme, flat_left),
                *_line_names(plan, iso, theme, flat_left, (lowest, highest)),
                *_mark_names(plan, drive, facing, theme),
                _panel_name("sun altitude", _ALTITUDE_PANEL, theme),
                _panel_name("sun bearing from north", _BEARING_PANEL, theme),
            ],
        },
    }


def _minute(drive: DrivePlan, utc: np.datetime64) -> int:
    return int((utc - drive.utc[0]) / np.timedelta64(1, "m"))


def _x(drive: DrivePlan) -> dict[str, Any]:
    # Minutes since the gate opened; the axis writes them as the place's clock,
    # which stays right on a night the clock changes.
    return {"x0": 0, "dx": 1}


def _spread_traces(
    plan: TripPlan, drive: DrivePlan, iso: NDArray[np.float64], theme: Theme
) -> list[Figure]:
    traces = []
    factor = 2.0**plan.spread_stops
    for rig, values in enumerate(iso):
        edge = {
            **_x(drive),
            "type": "scatter",
            "mode": "lines",
            "line": {"width": 0},
            "hoverinfo": "skip",
            "showlegend": False,
        }
        colour = _faded(theme.rigs[rig], 0.13)
        traces.append({**edge, "y": _short(values / factor)})
        traces.append(
            {
                **edge,
                "y": _short(values * factor),
                "fill": "tonexty",
                "fillcolor": colour,
            }
        )
    return traces


def _iso_traces(
    plan: TripPlan, drive: DrivePlan, iso: NDArray[np.float64], theme: Theme
) -> list[Figure]:
    return [
        {
            **_x(drive),
            "type": "scatter",
            "mode": "lines",
            "name": f"{LETTERS[rig]} {plan.request.rigs[rig].label}",
            "y": _short(values),
            "line": {"color": theme.rigs[rig], "width": 2.2, "dash": DASHES[rig]},
            "hoverinfo": "none",
            "showlegend": False,
        }
        for rig, values in enumerate(iso)
    ]


def _mark_traces(
    plan: TripPlan, drive: DrivePlan, facing: int, theme: Theme
) -> list[Figure]:
    return [
        {
            "type": "scatter",
            "mode": "markers",
            "x": [mark.minute],
            "y": [float(drive.iso[mark.rig, facing, mark.minute])],
            "marker": {
                "color": theme.rigs[mark.rig],
                "symbol": SYMBOLS[mark.rig],
                "size": 9,
                "line": {"color": theme.surface, "width": 1.5},
            },
            "hoverinfo": "skip",
            "showlegend": False,
        }
        for mark in marks.of_drive(plan, drive, facing)
    ]


def _line(
    drive: DrivePlan, values: NDArray[np.float64], axis: str, theme: Theme
) -> Figure:
    return {
        **_x(drive),
        "type": "scatter",
        "mode": "lines",
        "y": values.tolist(),
        "yaxis": axis,
        "line": {"color": theme.muted, "width": 1.6},
        "hoverinfo": "none",
        "showlegend": False,
    }


def _frame(theme: Theme) -> Figure:
    return {
        "paper_bgcolor": theme.surface,
        "plot_bgcolor": theme.surface,
        "font": {"family": FONT, "size": 12, "color": theme.muted},
        "margin": {"l": 76, "r": 14, "t": 10, "b": 34},
        "hovermode": "x",
        "hoverdistance": -1,
        "dragmode": False,
        "showlegend": False,
    }


def _clock_axis(plan: TripPlan, drive: DrivePlan, theme: Theme) -> Figure:
    zone = plan.request.place.timezone
    of_day = localtime.to_wall(zone, drive.utc).astype("datetime64[m]").astype(np.int64)
    length = len(of_day) - 1
    step = next(s for s in (30, 60, 120, 240, 1440) if length <= 6 * s or s == 1440)
    ticks = [int(i) for i in np.flatnonzero(of_day % step == 0)]
    return {
        "range": [0, length],
        "domain": [0, 1],
        "anchor": "y3",
        "fixedrange": True,
        "tickvals": ticks,
        "ticktext": [words.clock(plan, drive.utc[i]) for i in ticks],
        "tickangle": 0,
        "gridcolor": theme.faint,
        "zeroline": False,
        "ticks": "outside",
        "tickcolor": theme.line,
    }


def _iso_range(plan: TripPlan, iso: NDArray[np.float64]) -> tuple[float, float]:
    ceiling = max(choice.iso_ceiling for choice in plan.request.rigs)
    lowest = max(float(np.nanmin(iso)) / 1.6, 20.0)
    lowest = min(lowest, min(c.iso_ceiling for c in plan.request.rigs) / 4)
    return lowest, ceiling * 6.0


def _iso_axis(lowest: float, highest: float, theme: Theme) -> Figure:
    thirds = [s for s in (25, 32, 40, *exposure.ISO_SPEEDS) if lowest <= s <= highest]
    whole = [100.0 * 2.0**n for n in range(-2, 15)]
    named = [s for s in whole if lowest <= s <= highest]
    return {
        "type": "log",
        "range": [float(np.log10(lowest)), float(np.log10(highest))],
        "domain": list(_ISO_PANEL),
        "fixedrange": True,
        "tickvals": named,
        "ticktext": [f"ISO {s:.0f}" for s in named],
        "gridcolor": theme.line,
        "zeroline": False,
        "minor": {
            "tickmode": "array",
            "tickvals": thirds,
            "showgrid": True,
            "gridcolor": theme.faint,
            "gridwidth": 1,
        },
    }


def _plain_axis(panel: tuple[float, float], theme: Theme, **more: Any) -> Figure:
    return {
        "domain": list(panel),
        "fixedrange": True,
        "ticksuffix": "°",
        "nticks": 4,
        "gridcolor": theme.faint,
        "zerolinecolor": theme.line,
        **more,
    }


def _bearing_axis(drive: DrivePlan, theme: Theme) -> Figure:
    values = _unwrapped(drive.azimuth_deg)
    low, high = float(values.min()), float(values.max())
    step = next((s for s in (5, 10, 15, 30, 45, 90) if (high - low) / s <= 4), 180)
    ticks = np.arange(np.ceil(low / step) * step, high + 0.1, step)
    return _plain_axis(
        _BEARING_PANEL,
        theme,
        tickvals=ticks.tolist(),
        ticktext=[f"{t % 360:.0f}" for t in ticks],
        zeroline=False,
    )


def _window_shapes(drive: DrivePlan, theme: Theme) -> list[Figure]:
    return [
        {
            "type": "rect",
            "layer": "below",
            "xref": "x",
            "yref": "paper",
            "x0": _minute(drive, s.start_utc),
            "x1": _minute(drive, s.end_utc),
            "y0": _ISO_PANEL[0],
            "y1": _ISO_PANEL[1],
            "line": {"width": 0},
            "fillcolor": _faded(theme.light[s.window.key], 0.38),
        }
        for s in drive.windows
    ]


def _window_names(drive: DrivePlan, theme: Theme) -> list[Figure]:
    names = []
    length = len(drive.utc) - 1
    for s in drive.windows:
        start, end = _minute(drive, s.start_utc), _minute(drive, s.end_utc)
        narrow = (end - start) / length < _NARROW
        if (end - start) / length < 0.02:
            continue  # too thin for any text; its minutes are in the table
        names.append(
            {
                "x": (start + end) / 2,
                "y": 1.0,
                "xref": "x",
                "yref": "paper",
                "text": s.window.label,
                "showarrow": False,
                "textangle": -90 if narrow else 0,
                "yanchor": "top",
                "font": {"size": 12, "color": theme.ink},
            }
        )
    return names


def _ceilings(plan: TripPlan) -> dict[float, str]:
    found: dict[float, list[str]] = {}
    for rig, choice in enumerate(plan.request.rigs):
        found.setdefault(choice.iso_ceiling, []).append(LETTERS[rig])
    return {iso: ", ".join(letters) for iso, letters in found.items()}


def _ceiling_shapes(plan: TripPlan, theme: Theme) -> list[Figure]:
    return [
        {
            "type": "line",
            "layer": "below",
            "xref": "paper",
            "yref": "y",
            "x0": 0,
            "x1": 1,
            "y0": iso,
            "y1": iso,
            "line": {"color": theme.ink, "width": 1.2, "dash": "4px,3px"},
        }
        for iso in _ceilings(plan)
    ]


def _ceiling_names(plan: TripPlan, theme: Theme, left: bool) -> list[Figure]:
    return [
        _inside_name(
            f"ceiling of {letters}: {exposure.iso_text(iso)}",
            float(np.log10(iso)),
            theme.ink,
            left,
            theme,
        )
        for iso, letters in _ceilings(plan).items()
    ]


def _line_names(
    plan: TripPlan,
    iso: NDArray[np.float64],
    theme: Theme,
    left: bool,
    bounds: tuple[float, float],
) -> list[Figure]:
    """Name each line at its flat end, keeping names a line's height apart."""
    at = int(iso.shape[1] * 0.03) if left else int(iso.shape[1] * 0.97) - 1
    heights = np.log10(np.clip(iso[:, at], *bounds))
    step = float(np.log10(bounds[1] / bounds[0])) * 0.055
    order = np.argsort(heights)
    placed: dict[int, float] = {}
    floor = -np.inf
    for rig in order:
        placed[int(rig)] = floor = max(float(heights[rig]) + step * 0.25, floor + step)
    return [
        _inside_name(
            f"<b>{LETTERS[rig]} {plan.request.rigs[rig].label}</b>",
            placed[rig],
            theme.rigs[rig],
            left,
            theme,
        )
        for rig in range(len(iso))
    ]


def _inside_name(text: str, y: float, colour: str, left: bool, theme: Theme) -> Figure:
    return {
        "x": 0.012 if left else 0.988,
        "y": y,
        "xref": "paper",
        "yref": "y",
        "xanchor": "left" if left else "right",
        "yanchor": "bottom",
        "bgcolor": _faded(theme.surface, 0.7),  # lines do not cross the text
        "borderpad": 0,
        "text": text,
        "showarrow": False,
        "font": {"size": 12, "color": colour},
    }


def _mark_names(
    plan: TripPlan, drive: DrivePlan, facing: int, theme: Theme
) -> list[Figure]:
    """Put a rig's letter beside its mark; the times stand in the rows above."""
    return [
        {
            "x": mark.minute,
            "y": float(np.log10(drive.iso[mark.rig, facing, mark.minute])),
            "xref": "x",
            "yref": "y",
            "xshift": -11 if mark.side == "end" else 11,
            "yshift": 7,
            "text": f"<b>{LETTERS[mark.rig]}</b>",
            "showarrow": False,
            "font": {"size": 12, "color": theme.ink},
        }
        for mark in marks.of_drive(plan, drive, facing)
    ]


def _panel_name(text: str, panel: tuple[float, float], theme: Theme) -> Figure:
    return {
        "x": 0,
        "y": panel[1],
        "xref": "paper",
        "yref": "paper",
        "xanchor": "left",
        "yanchor": "bottom",
        "text": text,
        "showarrow": False,
        "font": {"size": 12, "color": theme.muted},
    }


def _cursor(minute: int, theme: Theme) -> Figure:
    return {
        "type": "line",
        "name": "cursor",
        "xref": "x",
        "yref": "paper",
        "x0": minute,
        "x1": minute,
        "y0": 0,
        "y1": 1,
        "line": {"color": theme.ink, "width": 1, "dash": "2px,2px"},
    }


def _unwrapped(azimuth_deg: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.unwrap(azimuth_deg, period=360.0)


def _short(values: NDArray[np.float64]) -> list[float]:
    # Four figures are enough for a line, and halve what is sent.
    return [float(f"{v:.4g}") for v in np.clip(values, 1e-3, 1e12)]


def _faded(colour: str, alpha: float) -> str:
    red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return f"rgba({red},{green},{blue},{alpha})"
