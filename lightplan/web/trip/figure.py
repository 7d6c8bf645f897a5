"""The selected drive as a picture: needed ISO by the minute, and the sun.

Figures are plain dictionaries, pure functions of a plan: quicker to build and
lighter to send than graph objects.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from lightplan.camera import exposure
from lightplan.sky import localtime
from lightplan.trip.minutes import set_iso
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import FACING_INDEX, LETTERS
from lightplan.web.figures.base import Figure, sheet
from lightplan.web.figures.theme import DASHES, SYMBOLS, Theme, faded
from lightplan.web.trip import annotations, colour_strip, marks, noise_bands
from lightplan.web.trip.annotations import ALTITUDE_PANEL, BEARING_PANEL, ISO_PANEL


def drive_figure(
    plan: TripPlan, drive: DrivePlan, theme: Theme, minute: int = 0
) -> Figure:
    """Return a drive's picture.

    Three panels share a clock: ISO of each rig, flat at its base, with its spread,
    ceiling and last minute over the named light windows, and below it how clean its
    picture is; sun altitude; sun bearing.
    """
    facing = FACING_INDEX[plan.request.facing]
    iso = set_iso(drive.iso[:, facing], plan.request.rigs)
    lowest, highest = _iso_range(plan, iso)
    flat_left = drive.session == "evening"
    rungs = annotations.rungs_on(plan, drive, facing, iso, highest)
    back_rule, back_name = annotations.turn_back(drive, theme, len(iso))
    return {
        "data": [
            *_spread_traces(plan, drive, drive.iso[:, facing], theme),
            *_iso_traces(plan, drive, iso, theme),
            *_mark_traces(plan, drive, facing, iso, theme),
            *_rung_traces(iso, rungs, theme),
            _line(drive, drive.altitude_deg.round(2), "y2", theme),
            _line(drive, _unwrapped(drive.azimuth_deg).round(2), "y3", theme),
        ],
        "layout": {
            **sheet(theme),
            "margin": {"l": 76, "r": 24, "t": 10, "b": 34},
            "hovermode": "x",
            "hoverdistance": -1,
            "xaxis": _clock_axis(plan, drive, theme),
            "yaxis": _iso_axis(lowest, highest, len(iso), theme),
            "yaxis2": _plain_axis(ALTITUDE_PANEL, theme, rangemode="tozero"),
            "yaxis3": _bearing_axis(drive, theme),
            "shapes": [
                *annotations.window_shapes(drive, theme),
                *noise_bands.shapes(plan, iso, theme, ISO_PANEL[0]),
                *annotations.ceiling_shapes(plan, theme),
                *back_rule,
                annotations.cursor(minute, theme),
            ],
            "images": colour_strip.images(plan, drive),
            "annotations": [
                *annotations.window_names(drive, theme),
                *annotations.names_inside(
                    plan, iso, theme, flat_left, (lowest, highest)
                ),
                *annotations.mark_names(plan, drive, facing, iso, theme),
                *noise_bands.names(plan, theme, ISO_PANEL[0]),
                *annotations.rung_names(rungs, iso, theme),
                *back_name,
                *colour_strip.names(plan, drive, theme),
                annotations.panel_name("sun altitude", ALTITUDE_PANEL, theme),
                annotations.panel_name("sun bearing from north", BEARING_PANEL, theme),
            ],
        },
    }


def _x(drive: DrivePlan) -> dict[str, Any]:
    # Minutes since the gate opened; the axis writes them as the place's clock,
    # which stays right on a night the clock changes.
    return {"x0": 0, "dx": 1}


def _spread_traces(
    plan: TripPlan, drive: DrivePlan, needed: NDArray[np.float64], theme: Theme
) -> list[Figure]:
    traces = []
    factor = 2.0**drive.spread_stops
    dark, bright = (
        set_iso(needed * f, plan.request.rigs) for f in (factor, 1 / factor)
    )
    for rig in range(len(needed)):
        edge = {
            **_x(drive),
            "type": "scatter",
            "mode": "lines",
            "line": {"width": 0},
            "hoverinfo": "skip",
            "showlegend": False,
        }
        # Six bands over one another would be mud.
        strength = 0.13 if len(needed) <= 3 else 0.07
        colour = faded(theme.rigs[rig], strength)
        traces.append({**edge, "y": _short(bright[rig])})
        traces.append(
            {
                **edge,
                "y": _short(dark[rig]),
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
    plan: TripPlan,
    drive: DrivePlan,
    facing: int,
    iso: NDArray[np.float64],
    theme: Theme,
) -> list[Figure]:
    return [
        {
            "type": "scatter",
            "mode": "markers",
            "x": [mark.minute],
            "y": [float(iso[mark.rig, mark.minute])],
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


def _rung_traces(
    iso: NDArray[np.float64], rungs: dict[int, list[marks.RungMark]], theme: Theme
) -> list[Figure]:
    """Return small rings on each line where a slower shutter time ends or begins."""
    return [
        {
            "type": "scatter",
            "mode": "markers",
            "name": "slower",
            "x": [rung.minute for rung in of_rig],
            "y": [float(iso[rig, rung.minute]) for rung in of_rig],
            "marker": {
                "color": theme.surface,
                "symbol": "circle",
                "size": 6,
                "line": {"color": theme.rigs[rig], "width": 1.5},
            },
            "hoverinfo": "skip",
            "showlegend": False,
        }
        for rig, of_rig in rungs.items()
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


def _clock_axis(plan: TripPlan, drive: DrivePlan, theme: Theme) -> Figure:
    zone = plan.request.place.timezone
    of_day = localtime.to_wall(zone, drive.utc).astype("datetime64[m]").astype(np.int64)
    length = len(of_day) - 1
    steps = (1, 5, 15, 30, 60, 120, 240, 1440)
    step = next(s for s in steps if length <= 6 * s or s == 1440)
    ticks = [int(i) for i in np.flatnonzero(of_day % step == 0)]
    return {
        "range": [0, length],
        "domain": [0, 1],
        "anchor": "y3",
        "fixedrange": True,
        "tickvals": ticks,
        "ticktext": [plan.clock(drive.utc[i]) for i in ticks],
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


def _iso_axis(lowest: float, highest: float, rigs: int, theme: Theme) -> Figure:
    thirds = [s for s in (25, 32, 40, *exposure.ISO_SPEEDS) if lowest <= s <= highest]
    whole = [100.0 * 2.0**n for n in range(-2, 15)]
    named = [s for s in whole if lowest <= s <= highest]
    return {
        "type": "log",
        "range": [float(np.log10(lowest)), float(np.log10(highest))],
        "domain": [ISO_PANEL[0] + noise_bands.foot(rigs), ISO_PANEL[1]],
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
    step = next(
        (s for s in (1, 2, 5, 10, 15, 30, 45, 90) if (high - low) / s <= 4), 180
    )
    ticks = np.arange(np.ceil(low / step) * step, high + 0.1, step)
    return _plain_axis(
        BEARING_PANEL,
        theme,
        tickvals=ticks.tolist(),
        ticktext=[f"{t % 360:.0f}°" for t in ticks],
        zeroline=False,
    )


def _unwrapped(azimuth_deg: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.unwrap(azimuth_deg, period=360.0)


def _short(values: NDArray[np.float64]) -> list[float]:
    # Four figures are enough for a line, and halve what is sent.
    return [float(f"{v:.4g}") for v in np.clip(values, 1e-3, 1e12)]
