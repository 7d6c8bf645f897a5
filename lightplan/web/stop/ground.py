"""The inner part of the drawing: the animal, the vehicle and the band of light."""

import numpy as np

from lightplan.light import backlight
from lightplan.stop import words as stop_words
from lightplan.stop.stop import Stop
from lightplan.web.figures.base import Figure
from lightplan.web.figures.labels import Boxes, Label, Point
from lightplan.web.figures.theme import Theme, faded
from lightplan.web.stop import beside
from lightplan.web.stop.beside import FAR, Name

# Radii; the animal is at 0.
SHADOW, VEHICLE, BAND_IN, BAND_OUT = 0.36, 0.46, 0.58, 1.06
_ANIMAL, _LONG, _BROAD = 0.035, 0.07, 0.038

# Each sector carries its name; the depth of colour only helps the eye.
_STRENGTH = {"front": 0.14, "side": 0.34, "rim": 0.78, "back": 0.56}


def point(bearing_deg: float, radius: float) -> Point:
    """Return the point at a bearing and a radius, north up."""
    north, east = backlight.offset_m(bearing_deg, radius)
    return round(east, 4), round(north, 4)


def polygon(points: list[Point]) -> str:
    """Return points as the closed path of a shape."""
    return "M" + "L".join(f"{x},{y}" for x, y in points) + "Z"


def circle(radius: float, colour: str, width: float) -> Figure:
    """Return a circle about the animal."""
    return {
        "type": "circle",
        "layer": "below",
        "x0": -radius,
        "x1": radius,
        "y0": -radius,
        "y1": radius,
        "line": {"color": colour, "width": width},
    }


def shapes(at: Stop, theme: Theme) -> list[Figure]:
    """Return the band of light, the shadow, the vehicle and the animal."""
    animal = {**circle(_ANIMAL, theme.surface, 1.5), "fillcolor": theme.ink}
    animal["layer"] = "above"
    if not at.looks:
        return [animal]
    stand = backlight.stand_deg(at.look_deg)
    look = _line(point(stand, VEHICLE), point(stand, 0.06), theme.ink, 1.4, "4px,3px")
    shadow = _line((0.0, 0.0), point(_away(at), SHADOW), theme.muted, 6, "solid")
    return [
        *_sectors(at, theme),
        *([{**shadow, "opacity": 0.45}] * shadow_falls(at)),
        look,
        _vehicle(stand, theme),
        animal,
    ]


def shadow_falls(at: Stop) -> bool:
    """Return whether the animal has a shadow to draw."""
    shown = at.trouble in ("", "high", "pole")
    return shown and bool(np.isfinite(at.shadow_per_m))


def _away(at: Stop) -> float:
    return backlight.stand_deg(at.azimuth_deg)


def _arc(from_deg: float, to_deg: float, radius: float) -> list[Point]:
    """Return points clockwise along an arc, at most three degrees apart."""
    width = (to_deg - from_deg) % 360.0
    steps = np.linspace(from_deg, from_deg + width, int(width // 3) + 2)
    return [point(float(bearing), radius) for bearing in steps]


def _sectors(at: Stop, theme: Theme) -> list[Figure]:
    """Return the band: where the vehicle stands for each kind of light."""
    paths = []
    for look in at.looks:
        start, end = map(backlight.stand_deg, (look.from_deg, look.to_deg))
        ring = [*_arc(start, end, BAND_OUT), *_arc(start, end, BAND_IN)[::-1]]
        paths.append(
            {
                "type": "path",
                "layer": "below",
                "path": polygon(ring),
                "fillcolor": faded(theme.light["golden"], _STRENGTH[look.sector.key]),
                "line": {"color": theme.surface, "width": 2},
            }
        )
    return paths


def _line(start: Point, end: Point, colour: str, width: float, dash: str) -> Figure:
    return {
        "type": "line",
        "x0": start[0],
        "y0": start[1],
        "x1": end[0],
        "y1": end[1],
        "line": {"color": colour, "width": width, "dash": dash},
    }


def _vehicle(stand_deg: float, theme: Theme) -> Figure:
    """Return the vehicle, its long side towards the animal."""
    along, across = np.radians(stand_deg), np.radians(stand_deg + 90.0)
    axes = np.array([[np.sin(across), np.cos(across)], [np.sin(along), np.cos(along)]])
    corners = np.array([[1, 1], [1, -1], [-1, -1], [-1, 1]]) * (_LONG, _BROAD)
    outline = np.array(point(stand_deg, VEHICLE)) + corners @ axes
    return {
        "type": "path",
        "path": polygon([(round(x, 4), round(y, 4)) for x, y in outline.tolist()]),
        "fillcolor": theme.ink,
        "line": {"color": theme.surface, "width": 1.5},
    }


def names(at: Stop, theme: Theme, edge: float) -> list[Figure]:
    """Return the names of the sectors, the vehicle, the animal and its shadow."""
    sectors = [_sector_name(look, theme) for look in at.looks]
    taken = sector_boxes(at)
    taken.append(beside.spot((0.0, 0.0), _ANIMAL))
    toward, wanted = (0.0, 1.0), []
    if at.looks:
        stand, away = backlight.stand_deg(at.look_deg), _away(at)
        taken += [beside.spot(point(stand, VEHICLE), 0.055), *_along(stand, VEHICLE)]
        # "vehicle" and "shadow" stand on different sides of the sun–animal line.
        right = (stand - away + 180.0) % 360.0 - 180.0 > 0
        aside = point(away + (90.0 if right else -90.0), 1.0)
        toward = point(at.azimuth_deg, 1.0)
        vehicle = Label("vehicle", point(stand, VEHICLE), aside, _gaps(8.0))
        wanted.append(Name(vehicle, theme.ink, within=0.62))
        if shadow_falls(at):
            taken += _along(away, SHADOW)
            other = (-aside[0], -aside[1])
            shadow = Label("shadow", point(away, SHADOW * 0.6), other)
            wanted.append(Name(shadow, theme.muted, within=BAND_IN))
    animal = Label("animal", (0.0, 0.0), toward, _gaps(9.0))
    wanted.insert(0, Name(animal, theme.ink, within=BAND_IN))
    return [*sectors, *beside.place(wanted, beside.room(taken, edge), theme.surface)]


def _gaps(px: float) -> tuple[float, ...]:
    return tuple(px * times for times in FAR)


def sector_boxes(at: Stop) -> list[Boxes]:
    """Return the boxes of the sectors' names, for other texts to avoid."""
    return [
        beside.lettering(_sector_text(look), _sector_middle(look)) for look in at.looks
    ]


def _along(bearing_deg: float, length: float) -> list[Boxes]:
    """Return boxes along a line from the animal, for texts to avoid."""
    return [
        beside.spot(point(bearing_deg, r), 0.02)
        for r in np.arange(0.06, length, 0.03).tolist()
    ]


def _sector_middle(look: backlight.Look) -> Point:
    return point(backlight.stand_deg(look.middle_deg), (BAND_IN + BAND_OUT) / 2)


def _sector_text(look: backlight.Look) -> str:
    return f"<b>{look.sector.label}</b><br>{stop_words.range_text(look)}"


def _sector_name(look: backlight.Look, theme: Theme) -> Figure:
    x, y = _sector_middle(look)
    return {
        "x": x,
        "y": y,
        "text": _sector_text(look),
        "showarrow": False,
        "font": {"size": 11, "color": theme.ink},
    }
