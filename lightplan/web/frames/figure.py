"""Measured against expected: each burst over the sun's altitude, group by group.

Open ground, or whatever a group is counted from, is the line at zero; darker
is lower. A group keeps its mark and its name; bursts set aside are hollow.
"""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lightplan import naming
from lightplan.arrays import FloatArray, Instants
from lightplan.catalog.places import Place
from lightplan.frames import calibrate, learning
from lightplan.frames.calibrate import Fit
from lightplan.frames.learning import Learned
from lightplan.frames.read import Timed
from lightplan.light import daylight
from lightplan.light.daylight import Cover
from lightplan.sky import localtime, sun
from lightplan.web.figures.base import FONT, Figure, sheet
from lightplan.web.figures.theme import SYMBOLS, Theme

HEIGHT_PX = 400  # of the plot's inside; the style sheet gives a little more
_LINE_PX = 30  # the height of a name
MOST_NAMES = 8
_LONGEST_NAME = 18
_ABOVE, _BELOW = 3.0, 4.0  # stops around the groups; marks beyond are at the edge
_SIGNS = dict(zip(SYMBOLS, "●■◆▲✚✖", strict=True))


class Points(NamedTuple):
    """A group's bursts, shape (n,): altitude of the sun, stops darker, when.

    ``aside`` marks outliers, ``frames`` counts each one's frames; ``first``
    and ``last`` are local times.
    """

    fit: Fit
    altitude_deg: FloatArray
    stops: FloatArray
    aside: NDArray[np.bool_]
    frames: NDArray[np.int64]
    first: NDArray[np.datetime64]
    last: NDArray[np.datetime64]


def points(
    timed: Timed, names: tuple[str, ...], found: Learned, place: Place
) -> list[Points]:
    """Return the bursts of every group that has any, in the order of the fits."""
    of, lit = learning.members(names), ~np.isnan(found.taken)
    altitude_deg = sun.position(
        timed.utc, place.latitude_deg, place.longitude_deg
    ).altitude_deg
    walls = localtime.to_wall(place.timezone, timed.utc)
    shift = found.reference.stops if found.reference else 0.0
    every = [
        _points(fit, timed.utc[i], found.taken[i] - shift, altitude_deg[i], walls[i])
        for fit in found.fits
        for mine in [of[fit.group.name]]
        for i in [mine[lit[mine]]]
    ]
    return [group for group in every if len(group.stops)]


def _points(
    fit: Fit,
    utc: Instants,
    taken: FloatArray,
    altitude_deg: FloatArray,
    walls: Instants,
) -> Points:
    _, first, count = np.unique(
        calibrate.bursts(utc), return_index=True, return_counts=True
    )
    stops = calibrate.votes(utc, taken)
    # The bursts kept are those nearest to the middle.
    aside = np.ones(len(stops), dtype=bool)
    nearest = np.argsort(np.abs(stops - fit.stops), kind="stable")
    aside[nearest[: fit.bursts - fit.outliers]] = False
    return Points(
        fit=fit,
        altitude_deg=altitude_deg[first],
        stops=stops,
        aside=aside,
        frames=count,
        first=walls[first],
        last=walls[first + count - 1],
    )


def figure(groups: list[Points], preset: Cover | None, theme: Theme) -> Figure | None:
    """Return the picture; ``preset`` is drawn as the curve of the first group."""
    if not groups or preset is None:
        return None
    middles = [g.fit.stops for g in groups]
    low, high = min(0.0, *middles) - _ABOVE, max(0.0, *middles) + _BELOW
    left = min(float(g.altitude_deg.min()) for g in groups) - 1
    right = max(float(g.altitude_deg.max()) for g in groups) + 1
    altitude = np.linspace(left, right, 60)
    level, base = curve(groups[0].fit, preset, altitude)
    return {
        "data": [
            _preset(altitude, level, theme),
            *(_marks(g, i, (low, high), theme) for i, g in enumerate(groups)),
        ],
        "layout": {
            **sheet(theme),
            "margin": {"l": 52, "r": 132, "t": 12, "b": 44},
            "hovermode": "closest",
            "font": {"family": FONT, "size": 12, "color": theme.ink},
            "xaxis": _axis("sun altitude, °", (left, right), theme),
            "yaxis": _axis("stops darker than expected", (high, low), theme),
            "shapes": [
                _rule(0.0, theme.ink),
                *(shape for i, g in enumerate(groups) for shape in _level(g, i, theme)),
            ],
            "annotations": _names(groups, (base, preset, level), (low, high), theme),
        },
    }


def curve(fit: Fit, preset: Cover, altitude: FloatArray) -> tuple[FloatArray, str]:
    """Return how much darker the preset is than the base, and the base's label."""
    apparent = sun.apparent_altitude_deg(altitude)
    base = daylight.cover_named(fit.group.base)
    angle, sky = fit.group.facing_deg, fit.group.sky
    lux, under = (
        daylight.subject_lux(apparent, angle, sky, cover) for cover in (base, preset)
    )
    return np.log2(lux / under), base.label


def _preset(altitude: FloatArray, level: FloatArray, theme: Theme) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "lines",
        "x": altitude.round(2).tolist(),
        "y": level.round(2).tolist(),
        "line": {"color": theme.muted, "width": 1.5, "dash": "dot"},
        "hoverinfo": "skip",
    }


def _marks(
    group: Points, i: int, within: tuple[float, float], theme: Theme
) -> dict[str, Any]:
    symbol = SYMBOLS[i % len(SYMBOLS)]
    texts = [
        f"{_short(group.fit.group.name)}, {str(at)[:16].replace('T', ' ')}<br>"
        f"{stops:+.1f} stops, {count} frame{'' if count == 1 else 's'}"
        + (", set aside" if aside else "")
        for at, stops, count, aside in zip(
            group.first, group.stops, group.frames, group.aside, strict=True
        )
    ]
    return {
        "type": "scatter",
        "mode": "markers",
        "name": _short(group.fit.group.name),
        "x": group.altitude_deg.round(2).tolist(),
        "y": np.clip(group.stops, *within).round(2).tolist(),
        "text": texts,
        "hovertemplate": "%{text}<extra></extra>",
        "customdata": [
            [str(a), str(b)] for a, b in zip(group.first, group.last, strict=True)
        ],
        "marker": {
            "symbol": [f"{symbol}-open" if aside else symbol for aside in group.aside],
            "color": _colour(i, theme),
            "size": 8,
            "opacity": 0.75,
        },
    }


def _colour(i: int, theme: Theme) -> str:
    return theme.rigs[i % len(theme.rigs)]


def _level(group: Points, i: int, theme: Theme) -> list[dict[str, Any]]:
    """Return a group's middle and the band of its ±, if it is usable."""
    if not group.fit.usable:
        return []
    middle, half = group.fit.stops, group.fit.sure_to_stops
    band = {
        "type": "rect",
        "xref": "paper",
        "x0": 0,
        "x1": 1,
        "y0": middle - half,
        "y1": middle + half,
        "line": {"width": 0},
        "fillcolor": _colour(i, theme),
        "opacity": 0.1,
        "layer": "below",
    }
    return [band, _rule(middle, _colour(i, theme))]


def _rule(stops: float, colour: str) -> dict[str, Any]:
    return {
        "type": "line",
        "xref": "paper",
        "x0": 0,
        "x1": 1,
        "y0": stops,
        "y1": stops,
        "line": {"color": colour, "width": 1.5},
        "layer": "below",
    }


def _axis(title: str, ends: tuple[float, float], theme: Theme) -> dict[str, Any]:
    return {
        "title": {"text": title, "font": {"color": theme.muted}},
        "range": list(ends),
        "gridcolor": theme.faint,
        "zeroline": False,
        "fixedrange": True,
        "nticks": 8,
        "tickfont": {"color": theme.muted},
    }


def _names(
    groups: list[Points],
    lines: tuple[str, Cover, FloatArray],
    within: tuple[float, float],
    theme: Theme,
) -> list[dict[str, Any]]:
    """Return the names at the right end of every line, moved apart."""
    base, preset, level = lines
    low, high = within
    wanted = [
        (0.0, base, theme.ink),
        (float(np.clip(level[-1], low, high)), f"{preset.label}, preset", theme.muted),
    ]
    for i, group in enumerate(groups[:MOST_NAMES]):
        sign = _SIGNS[SYMBOLS[i % len(SYMBOLS)]]
        name = _short(group.fit.group.name)
        text = f"{sign} {name}<br>{naming.minus(f'{group.fit.stops:+.1f}')}"
        wanted.append((group.fit.stops, text, _colour(i, theme)))
    wanted.sort(key=lambda entry: entry[0])
    gap = _LINE_PX / HEIGHT_PX * (high - low)
    placed = _apart([at for at, _, _ in wanted], gap, high)
    return [
        {
            "xref": "paper",
            "x": 1,
            "xshift": 6,
            "xanchor": "left",
            "y": at,
            "yanchor": "middle",
            "align": "left",
            "text": text,
            "showarrow": False,
            "font": {"color": colour, "size": 12},
        }
        for at, (_, text, colour) in zip(placed, wanted, strict=True)
    ]


def _short(name: str) -> str:
    # Plotly reads it as markup, and a folder may have any name.
    cut = name if len(name) <= _LONGEST_NAME else name[: _LONGEST_NAME - 1] + "…"
    return cut.replace("&", "&amp;").replace("<", "&lt;")


def _apart(wanted: list[float], gap: float, most: float) -> list[float]:
    """Return rising values at least ``gap`` apart, none beyond ``most``."""
    placed: list[float] = []
    for at in wanted:
        placed.append(max(at, placed[-1] + gap) if placed else at)
    for i in reversed(range(len(placed))):
        room = most - gap / 2 if i == len(placed) - 1 else placed[i + 1] - gap
        placed[i] = min(placed[i], room)
    return placed
