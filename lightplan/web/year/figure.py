"""The year at a place as one picture: needed ISO by date and local clock."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from lightplan import naming
from lightplan.camera import exposure
from lightplan.web.figures import year_clock, year_lines, year_names
from lightplan.web.figures.base import Figure, sheet
from lightplan.web.figures.theme import Theme
from lightplan.year.plan import STEP_MIN, YearPlan

# Thirds of a stop below and above the ceiling that have colours of their own.
BELOW, ABOVE = 21, 18
_NONE = ABOVE + 1  # beyond that, and where a rig is of no use


def year_figure(year: YearPlan, theme: Theme) -> Figure:
    """Return the picture: ISO as colour, its ceiling as an edge, gates and sun."""
    dates = [date.isoformat() for date in year.picture.dates]
    days, zone = year.plan.days, year.plan.request.place.timezone
    return {
        "data": [
            _heat(year, theme, dates[0]),
            *year_lines.sun_lines(days, zone, theme),
            *year_lines.gate_lines(days, zone, theme),
        ],
        "layout": {
            **sheet(theme),
            "margin": {"l": 52, "r": 12, "t": 40, "b": 76},
            "hovermode": "closest",
            "xaxis": {
                "type": "date",
                "range": [dates[0], dates[-1]],
                "tickvals": [
                    f"{dates[0][:4]}-{month:02d}-15" for month in range(1, 13)
                ],
                "ticktext": list(naming.MONTHS),
                "tickangle": 0,
                "tickfont": {"size": 11},  # twelve fit a phone
                "fixedrange": True,
                "showgrid": False,
            },
            "yaxis": year_clock.axis(*year_clock.span(days, zone), STEP_MIN),
            "shapes": [
                *year_lines.closed_shapes(days, theme),
                *year_lines.change_shapes(days, zone, theme),
            ],
            "annotations": [
                *year_lines.closed_names(days, theme),
                *year_lines.change_names(days, zone, theme),
                *year_names.line_names(days, zone, theme),
            ],
        },
    }


def thirds(year: YearPlan) -> NDArray[np.int8]:
    """Return thirds of a stop from the ceiling, shape (clock steps, dates)."""
    ceiling = year.plan.request.rigs[year.rig].iso_ceiling
    stops = exposure.stops_over(year.picture.iso, ceiling)
    # Rounded up, so that a cell past the edge is a minute without enough light.
    value = np.ceil(np.clip(stops * 3, -BELOW, _NONE))
    return value.astype(np.int8)


def _heat(year: YearPlan, theme: Theme, first: str) -> Figure:
    values = thirds(year)
    ceiling = year.plan.request.rigs[year.rig].iso_ceiling
    whole = [n for n in range(-BELOW, ABOVE + 1) if n % 6 == 0]
    return {
        **year_lines.heat(values, first, 0, STEP_MIN),
        "zmin": -BELOW,
        "zmax": ABOVE,
        "colorscale": _scale(theme),
        "hoverinfo": "none",
        "colorbar": {
            "orientation": "h",
            "thickness": 10,
            "len": 1,
            "xpad": 0,
            "y": -0.1,
            "yanchor": "top",
            "tickvals": whole,
            "ticktext": _named([f"{ceiling * 2 ** (n / 3):.0f}" for n in whole]),
            "tickangle": 0,
            "tickfont": {"size": 11},
            "outlinewidth": 0,
        },
    }


def _named(iso: list[str]) -> list[str]:
    """Write "ISO" at the first only; a phone has no room for it at each."""
    return [f"ISO {iso[0]}", *iso[1:]]


def _scale(theme: Theme) -> list[list[Any]]:
    """Even steps of lightness up to the ceiling, then a jump to the dark colours."""
    edge = (BELOW + 0.5) / (BELOW + ABOVE)
    usable, over = theme.usable, theme.over
    low = [[edge * i / (len(usable) - 1), c] for i, c in enumerate(usable)]
    high = [[edge + (1 - edge) * i / (len(over) - 1), c] for i, c in enumerate(over)]
    return [*low, *high]
