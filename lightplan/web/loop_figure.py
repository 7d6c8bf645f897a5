"""The loop as a drawing: what the chosen seat sees, where, and when.

North is up and a kilometre the same both ways. A stretch has a colour, a dash and
a name; a name that finds no room is left to the table.
"""

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from lightplan import route
from lightplan.backlight import SECTORS
from lightplan.loop import EITHER, SIDES, Loop, Spell
from lightplan.loop_words import clock, kind_name
from lightplan.route import FloatArray
from lightplan.web.figures import FONT
from lightplan.web.furniture import Figure
from lightplan.web.theme import Theme

# A kind of light keeps its colour (one of the theme's, which are told apart by
# every kind of colour vision) and its dash; the rest is thin and grey.
_COLOURS = {"front": 2, "side": 4, "rim": 0, "back": 3}
_DASHES = {"front": "solid", "side": "dash", "rim": "dot", "back": "dashdot"}
_FONT_PX = 12
_LETTER_PX, _LINE_PX, _GAP_PX = 6.6, 15.0, 9.0
# Sizes of the drawing, from a phone's to a desktop's, at which no two names may
# touch. The page's style sheet sets the heights.
_SIZES_PX = ((330, 330), (440, 400), (620, 440), (940, 440))
_MARGIN = {"l": 12, "r": 12, "t": 12, "b": 12}


class Line(NamedTuple):
    """The loop on the plane: km east and north of its start, at the loop's steps."""

    east: FloatArray
    north: FloatArray


class Label(NamedTuple):
    """A name at a place on the plane, put beside it where there is room."""

    east: float
    north: float
    text: str
    strong: bool = False


def loop_figure(loop: Loop, zone: str, theme: Theme) -> Figure:
    """Return the drawing as a plain figure."""
    line = _line(loop)
    frame = _frame(line)
    spells = [s for s in loop.spells(loop.seen()) if s.minutes > 0]
    return {
        "data": [
            *(_stretch(loop, line, spell, theme) for spell in spells),
            _arrows(loop, line, theme),
            _ends(line, theme),
        ],
        "layout": {
            "paper_bgcolor": theme.surface,
            "plot_bgcolor": theme.surface,
            "font": {"family": FONT, "size": _FONT_PX, "color": theme.muted},
            "margin": _MARGIN,
            "hovermode": False,
            "dragmode": False,
            "showlegend": False,
            "xaxis": _axis(frame[0], frame[1]),
            "yaxis": {**_axis(frame[2], frame[3]), "scaleanchor": "x"},
            "shapes": [_scale_bar(frame, theme)],
            "annotations": [
                *_placed(_labels(loop, line, zone, spells), line, frame, theme),
                _scale_name(frame, theme),
            ],
        },
    }


def _line(loop: Loop) -> Line:
    laid = loop.track
    start = float(laid.latitude_deg[0]), float(laid.longitude_deg[0])
    return Line(*route.plane_km(loop.latitude_deg, loop.longitude_deg, start))


def _frame(line: Line) -> tuple[float, float, float, float]:
    """Return west, east, south and north [km], with room for names and the scale."""
    west, east = float(line.east.min()), float(line.east.max())
    south, north = float(line.north.min()), float(line.north.max())
    size = max(east - west, north - south, 0.05)
    return (
        west - 0.16 * size,
        east + 0.16 * size,
        south - 0.2 * size,
        north + 0.1 * size,
    )


def _axis(low: float, high: float) -> Figure:
    return {
        "range": [low, high],
        "visible": False,
        "fixedrange": True,
        "constrain": "domain",
    }


def _stretch(loop: Loop, line: Line, spell: Spell, theme: Theme) -> Figure:
    first = round(spell.from_min / loop.step_min)
    # One step more, so that stretches join.
    last = round(spell.to_min / loop.step_min) + 1
    lit = spell.value >= 0
    key = SECTORS[spell.value].key if lit else ""
    return {
        "type": "scatter",
        "mode": "lines",
        "name": kind_name(spell.value),
        "x": _metres(line.east[first:last]),
        "y": _metres(line.north[first:last]),
        "line": {
            "color": theme.rigs[_COLOURS[key]] if lit else theme.muted,
            "width": 4 if lit else 1.5,
            "dash": _DASHES[key] if lit else "solid",
        },
        "hoverinfo": "skip",
    }


def _metres(km: FloatArray) -> list[float]:
    return [round(v, 3) for v in km.tolist()]


def _arrows(loop: Loop, line: Line, theme: Theme) -> Figure:
    """Return an arrowhead in the middle of each longer leg, pointing the way."""
    km = np.diff(loop.track.km)
    legs = [i for i in np.flatnonzero(km > 0.06 * km.sum()) if (loop.leg == i).any()]
    middles = [int(np.median(np.flatnonzero(loop.leg == leg))) for leg in legs]
    return {
        "type": "scatter",
        "mode": "markers",
        "x": _metres(line.east[middles]),
        "y": _metres(line.north[middles]),
        "marker": {
            "symbol": "arrow",
            "size": 13,
            "angle": [float(loop.track.heading_deg[leg]) for leg in legs],
            "color": theme.ink,
            "line": {"color": theme.surface, "width": 1.5},
        },
        "hoverinfo": "skip",
    }


def _ends(line: Line, theme: Theme) -> Figure:
    return {
        "type": "scatter",
        "mode": "markers",
        "x": _metres(line.east[[0, -1]]),
        "y": _metres(line.north[[0, -1]]),
        "marker": {
            "symbol": ["circle", "circle-open"],
            "size": [11, 15],
            "color": theme.ink,
            "line": {"color": theme.ink, "width": 2},
        },
        "hoverinfo": "skip",
    }


def _labels(loop: Loop, line: Line, zone: str, spells: list[Spell]) -> list[Label]:
    """Return the names in the order in which they get room."""

    def at(minute: float, text: str, strong: bool = False) -> Label:
        i = min(int(minute / loop.step_min), len(line.east) - 1)
        return Label(float(line.east[i]), float(line.north[i]), text, strong)

    total = float(loop.track.minutes[-1])
    start, end = clock(loop, zone, 0), clock(loop, zone, total)
    away = np.hypot(line.east[-1] - line.east[0], line.north[-1] - line.north[0])
    ends = (
        [at(0, f"start {start}, end {end}", True)]
        if away < 0.1 * float(loop.track.km[-1])
        else [at(0, f"start {start}", True), at(total, f"end {end}", True)]
    )
    seats = [s for s in loop.spells(loop.seat) if s.value != EITHER]
    changes = [
        at(s.from_min, f"{clock(loop, zone, s.from_min)} to the {SIDES[s.value]}", True)
        for s in seats[1:]
    ]
    longest = sorted(spells, key=lambda s: -s.minutes)
    names = [at((s.from_min + s.to_min) / 2, kind_name(s.value)) for s in longest]
    return [
        *ends,
        *changes,
        *names,
        *(at(m, clock(loop, zone, m)) for m in _round(loop)),
    ]


def _round(loop: Loop) -> list[float]:
    """Return the minutes at which the clock is round, at most nine."""
    total = float(loop.track.minutes[-1])
    step = next((s for s in (5, 10, 15, 30, 60, 120) if total / s <= 9), 240)
    since = loop.start_utc.astype("datetime64[m]").astype(int) % step
    return np.arange(step - since, total, step).tolist()


def _placed(
    labels: Iterable[Label],
    line: Line,
    frame: tuple[float, float, float, float],
    theme: Theme,
) -> list[Figure]:
    """Put each name beside its place, where it touches no other and no line."""
    scales = [_pixels_per_km(frame, size) for size in _SIZES_PX]
    taken: list[list[_Box]] = [[_scale_box(frame, scale)] for scale in scales]
    found = []
    for label in labels:
        for shift in _shifts(label):
            boxes = [_box(label, shift, scale) for scale in scales]
            rooms = zip(boxes, taken, scales, strict=True)
            if all(
                _is_free(box, others, line, frame, scale)
                for box, others, scale in rooms
            ):
                for box, others in zip(boxes, taken, strict=True):
                    others.append(box)
                found.append(_annotation(label, shift, theme))
                break
    return found


class _Box(NamedTuple):
    """A rectangle in pixels of the plane, north up."""

    left: float
    right: float
    bottom: float
    top: float


def _pixels_per_km(
    frame: tuple[float, float, float, float], size_px: tuple[int, int]
) -> float:
    west, east, south, north = frame
    return min(
        (size_px[0] - _MARGIN["l"] - _MARGIN["r"]) / (east - west),
        (size_px[1] - _MARGIN["t"] - _MARGIN["b"]) / (north - south),
    )


def _size(label: Label) -> tuple[float, float]:
    return len(label.text) * _LETTER_PX * (1.08 if label.strong else 1.0), _LINE_PX


def _shifts(label: Label) -> list[tuple[float, float]]:
    """Return how far the middle of a name may stand from its place, nearest first."""
    wide, high = (side / 2 for side in _size(label))
    gap = _GAP_PX
    near = [
        (wide + gap, 0.0), (-wide - gap, 0.0), (0.0, high + gap), (0.0, -high - gap),
        (wide + 4, high + 6), (-wide - 4, high + 6),
        (wide + 4, -high - 6), (-wide - 4, -high - 6),
    ]  # fmt: skip
    return [*near, *((1.0 * x, y + np.sign(y) * 14) for x, y in near[2:])]


def _box(label: Label, shift: tuple[float, float], scale: float) -> _Box:
    wide, high = (side / 2 for side in _size(label))
    x, y = label.east * scale + shift[0], label.north * scale + shift[1]
    return _Box(x - wide, x + wide, y - high, y + high)


def _is_free(
    box: _Box,
    others: list[_Box],
    line: Line,
    frame: tuple[float, float, float, float],
    scale: float,
) -> bool:
    west, east, south, north = (edge * scale for edge in frame)
    if box.left < west or box.right > east or box.bottom < south or box.top > north:
        return False
    if any(
        box.left < o.right and o.left < box.right
        and box.bottom < o.top and o.bottom < box.top
        for o in others
    ):  # fmt: skip
        return False
    x, y = line.east * scale, line.north * scale
    over = (x > box.left) & (x < box.right) & (y > box.bottom) & (y < box.top)
    return not over.any()


def _annotation(label: Label, shift: tuple[float, float], theme: Theme) -> Figure:
    return {
        "x": round(label.east, 3),
        "y": round(label.north, 3),
        "xshift": round(float(shift[0])),
        "yshift": round(float(shift[1])),
        "text": f"<b>{label.text}</b>" if label.strong else label.text,
        "showarrow": False,
        "xanchor": "center",
        "yanchor": "middle",
        "font": {"color": theme.ink if label.strong else theme.muted},
    }


def _scale_km(frame: tuple[float, float, float, float]) -> float:
    """Return the roundest length that is at most a third of the width."""
    wide = frame[1] - frame[0]
    rounds = [m * 10.0**n for n in range(-3, 4) for m in (1, 2, 5)]
    return max(length for length in rounds if length <= wide / 3)


def _scale_bar(frame: tuple[float, float, float, float], theme: Theme) -> Figure:
    length, y = _scale_km(frame), _scale_y(frame)
    return {
        "type": "line",
        "x0": frame[0],
        "x1": frame[0] + length,
        "y0": y,
        "y1": y,
        "line": {"color": theme.muted, "width": 2},
    }


def _scale_y(frame: tuple[float, float, float, float]) -> float:
    return frame[2] + 0.02 * (frame[3] - frame[2])


def _scale_name(frame: tuple[float, float, float, float], theme: Theme) -> Figure:
    return {
        "x": frame[0],
        "y": _scale_y(frame),
        "yshift": 11,
        "text": _scale_text(frame),
        "showarrow": False,
        "xanchor": "left",
        "yanchor": "middle",
        "font": {"color": theme.muted},
    }


def _scale_text(frame: tuple[float, float, float, float]) -> str:
    length = _scale_km(frame)
    size = f"{length * 1000:g} m" if length < 1 else f"{length:g} km"
    return f"{size}, north up ↑"


def _scale_box(frame: tuple[float, float, float, float], scale: float) -> _Box:
    left, y = frame[0] * scale, _scale_y(frame) * scale
    wide = max(len(_scale_text(frame)) * _LETTER_PX, _scale_km(frame) * scale)
    return _Box(left, left + wide, y - 3, y + 11 + _LINE_PX / 2)
