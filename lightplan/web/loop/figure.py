"""The loop as a drawing: what the chosen seat sees, where, and when.

North is up, and a kilometre is as long across as up. A stretch has a colour, a dash
and a name; a name without room is only in the table.
"""

import numpy as np

from lightplan.arrays import FloatArray
from lightplan.light.backlight import SECTORS
from lightplan.loop import words as loop_words
from lightplan.loop.loop import Loop, Spell
from lightplan.loop.seats import EITHER, SIDES
from lightplan.loop.words import clock, kind_name
from lightplan.sky import sphere
from lightplan.web.figures.base import FONT, Figure, sheet
from lightplan.web.figures.labels import FONT_PX, Box, Room, boxes, text_px
from lightplan.web.figures.theme import Theme
from lightplan.web.loop import labels as names_of
from lightplan.web.loop.labels import MARGIN_PX, Line, Name

# A kind of light keeps its colour (one of the theme's, which every kind of colour
# vision can tell apart) and its dash; the rest is thin and grey.
_COLOURS = {"front": 2, "side": 4, "rim": 0, "back": 3}
_DASHES = {"front": "solid", "side": "dash", "rim": "dot", "back": "dashdot"}
_ARROWS = 7
_SUN_PX = 16  # half the length of the arrow to the sun
# Where along a stretch its name may stand, the best first.
_ALONG = (0.5, 0.35, 0.65, 0.2, 0.8)


def loop_figure(loop: Loop, zone: str, theme: Theme) -> Figure:
    """Return the drawing as a plain figure."""
    line = _line(loop)
    frame = _frame(line)
    spells = loop.spells(loop.seen())
    scale = _scale(frame)
    sun = loop_words.sun_shown(loop)
    name = _sun_name(loop, zone, sun)
    scales = names_of.scales(frame)
    wide = text_px(scale.text)[0]
    corners = [
        boxes((scale.east, scale.north), (wide, 19.0), scales, (wide / 2, 9.5)),
        boxes(
            (frame.right, frame.low),
            (_sun_px(name), 2.0 * _SUN_PX + 6),
            scales,
            (-_sun_px(name) / 2, _SUN_PX + 3),
        ),
    ]
    wanted = _names(loop, line, zone, spells)
    names = names_of.placed(wanted, line, Room(scales, frame, corners))
    return {
        "data": [
            *(_stretch(loop, line, spell, theme) for spell in spells),
            _arrows(loop, line, theme),
            _ends(line, theme),
        ],
        "layout": {
            **sheet(theme),
            "margin": dict.fromkeys("lrtb", MARGIN_PX),
            "font": {"family": FONT, "size": FONT_PX, "color": theme.muted},
            "xaxis": _axis(frame.left, frame.right),
            "yaxis": {**_axis(frame.low, frame.high), "scaleanchor": "x"},
            "shapes": [_scale_bar(scale, frame, theme)],
            "annotations": [
                *(
                    names_of.note(tried, _colour(name, theme), theme)
                    for name, tried in names
                ),
                _scale_name(scale, theme),
                *_sun(loop, frame, sun, name, theme),
            ],
        },
    }


def _line(loop: Loop) -> Line:
    laid = loop.track
    start = float(laid.latitude_deg[0]), float(laid.longitude_deg[0])
    return Line(*sphere.plane_km(loop.latitude_deg, loop.longitude_deg, start))


def _frame(line: Line) -> Box:
    """Return what is shown: the line, with room for names and the scale."""
    west, east = float(line.east.min()), float(line.east.max())
    south, north = float(line.north.min()), float(line.north.max())
    size = max(east - west, north - south, 0.05)
    south, north = south - 0.2 * size, north + 0.12 * size
    # The drawing is never narrower than high, so a route due north has room beside it.
    middle = (west + east) / 2
    half = max((east - west) / 2 + 0.2 * size, (north - south) / 2)
    return Box(middle - half, south, middle + half, north)


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
    """Return arrowheads at even distances, pointing the way of travel."""
    km = np.interp(loop.minute, loop.track.minutes, loop.track.km)
    marks = (np.arange(_ARROWS) + 0.5) / _ARROWS * float(loop.track.km[-1])
    steps = np.minimum(np.searchsorted(km, marks), len(km) - 1)
    return {
        "type": "scatter",
        "mode": "markers",
        "x": _metres(line.east[steps]),
        "y": _metres(line.north[steps]),
        "marker": {
            "symbol": "arrow",
            "size": 13,
            "angle": loop.track.heading_deg[loop.leg[steps]].tolist(),
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


def _names(loop: Loop, line: Line, zone: str, spells: list[Spell]) -> list[list[Name]]:
    """Return the names, each with its possible places, in the order they get room."""

    def at(minute: float, text: str, strong: bool = False, kind: int = -1) -> Name:
        i = min(int(minute / loop.step_min), len(line.east) - 1)
        return Name(float(line.east[i]), float(line.north[i]), text, strong, kind)

    total = float(loop.track.minutes[-1])
    start, end = clock(loop, zone, 0), clock(loop, zone, total)
    ends = [at(0, f"start {start}", True), at(total, f"end {end}", True)]
    changes = [
        at(s.from_min, f"{SIDES[s.value]} {clock(loop, zone, s.from_min)}", True)
        for s in loop.spells(loop.seat)[1:]
        if s.value != EITHER
    ]
    kinds = [
        [
            at(s.from_min + share * s.minutes, kind_name(s.value), kind=s.value)
            for share in _ALONG
        ]
        for s in sorted(spells, key=lambda s: -s.minutes)
    ]
    times = [at(minute, clock(loop, zone, minute)) for minute in _round(loop)]
    return [*([one] for one in (*ends, *changes)), *kinds, *([one] for one in times)]


def _round(loop: Loop) -> list[float]:
    """Return the minutes at which the clock shows a round time, at most nine."""
    total = float(loop.track.minutes[-1])
    step = next((s for s in (5, 10, 15, 30, 60, 120) if total / s <= 9), 240)
    since = loop.start_utc.astype("datetime64[m]").astype(int) % step
    return np.arange(step - since, total, step).tolist()


def _colour(name: Name, theme: Theme) -> str:
    if name.kind >= 0:
        return theme.rigs[_COLOURS[SECTORS[name.kind].key]]
    return theme.ink if name.strong else theme.muted


def _sun_name(loop: Loop, zone: str, steps: list[int]) -> str:
    times = [clock(loop, zone, float(loop.minute[i])) for i in steps]
    return f"sun {', '.join(times)}" if times else ""


def _sun_px(name: str) -> float:
    """Return how far the sun's arrow and its name extend from the corner. [px]"""
    return 2 * _SUN_PX + 8 + text_px(name)[0] if name else 0.0


def _sun(
    loop: Loop, frame: Box, steps: list[int], name: str, theme: Theme
) -> list[Figure]:
    """Return arrows to the sun in the corner, the later one faint, and their name."""
    corner: Figure = {"x": frame.right, "y": frame.low}
    arrows = []
    for i, colour in zip(steps, (theme.ink, theme.muted), strict=False):
        way = np.radians(loop.azimuth_deg[i])
        right, up = round(_SUN_PX * np.sin(way)), round(_SUN_PX * np.cos(way))
        arrows.append(
            {
                **corner,
                "text": "",
                "showarrow": True,
                "xshift": right - _SUN_PX - 2,
                "yshift": up + _SUN_PX + 3,
                "ax": -2 * right,
                "ay": 2 * up,  # plotly's pixels run down here
                "arrowhead": 2,
                "arrowwidth": 2,
                "arrowcolor": colour,
            }
        )
    if name:
        middle = -2 * _SUN_PX - 8 - text_px(name)[0] / 2
        arrows.append(
            {
                **corner,
                "text": name,
                "showarrow": False,
                "xshift": round(middle),
                "yshift": _SUN_PX + 3,
                "xanchor": "center",
                "yanchor": "middle",
                "font": {"color": theme.ink},
            }
        )
    return arrows


def _scale_km(frame: Box) -> float:
    """Return the roundest length that is at most a third of the width."""
    most = (frame.right - frame.left) / 3
    rounds = [m * 10.0**n for n in range(-3, 5) for m in (1, 2, 5)]
    return max(length for length in rounds if length <= most)


def _scale(frame: Box) -> Name:
    """Return the scale's name at the left end of its bar."""
    km = _scale_km(frame)
    size = f"{km * 1000:g} m" if km < 1 else f"{km:g} km"
    south = frame.low + 0.02 * (frame.high - frame.low)
    return Name(frame.left, south, f"{size}, north up ↑")


def _scale_bar(scale: Name, frame: Box, theme: Theme) -> Figure:
    return {
        "type": "line",
        "x0": scale.east,
        "x1": scale.east + _scale_km(frame),
        "y0": scale.north,
        "y1": scale.north,
        "line": {"color": theme.muted, "width": 2},
    }


def _scale_name(scale: Name, theme: Theme) -> Figure:
    return {
        "x": scale.east,
        "y": scale.north,
        "yshift": 11,
        "text": scale.text,
        "showarrow": False,
        "xanchor": "left",
        "yanchor": "middle",
        "font": {"color": theme.muted},
    }
