"""Names beside points of the stop's drawing: which positions are good, which are not."""

import math
from typing import NamedTuple

from lightplan.web.figures import labels
from lightplan.web.figures.base import Figure
from lightplan.web.figures.labels import Box, Boxes, Label, Placed, Point, Room

# A unit of the axes, from a phone 390 px wide to the picture at its widest, 620 px.
UNITS_PX = (108.0, 122.0, 138.0, 156.0, 173.0, 191.0)
FAR = (1.0, 1.8, 3.0)  # distances of a name, in times its gap


class Name(NamedTuple):
    """A label with its colour, and radii of circles round the middle of the drawing.

    It must stay outside ``beyond`` and inside ``within``, and should not cross
    ``ring``; ``narrow`` is a narrower text if there is little room.
    """

    label: Label
    colour: str
    beyond: float = 0.0
    within: float = float("inf")
    ring: float = 0.0
    narrow: str = ""


def room(taken: list[Boxes], edge: float) -> Room:
    """Return the room of the drawing, whose axes run to ``edge``, less what is taken."""
    return Room(UNITS_PX, Box(-edge, -edge, edge, edge), taken)


def spot(point: Point, radius: float) -> Boxes:
    """Return the box round a point, the same in every size."""
    x, y = point
    return (Box(x - radius, y - radius, x + radius, y + radius),) * len(UNITS_PX)


def disc(point: Point, radius_px: float) -> Boxes:
    """Return the boxes round a mark that keeps its size on the screen."""
    return labels.boxes(point, (2 * radius_px, 2 * radius_px), UNITS_PX)


def lettering(text: str, middle: Point) -> Boxes:
    """Return the boxes of a text about its middle."""
    return labels.boxes(middle, labels.text_px(text), UNITS_PX)


def place(names: list[Name], within: Room, ground: str) -> list[Figure]:
    """Return notes, with a background, for the names with room, in order of priority.

    Their boxes are added to those taken.
    """
    notes = []
    for name in names:
        texts = [name.label]
        if name.narrow:
            texts.append(name.label._replace(text=name.narrow))

        def cost(tried: Placed, of: Name = name) -> float:
            return _cost(of, tried.boxes)

        placed = labels.place(texts, within, cost)
        if placed:
            within.taken.append(placed.boxes)
            # The background keeps lines from crossing the text.
            notes.append({**labels.note(placed, name.colour), "bgcolor": ground})
    return notes


def _cost(name: Name, boxes: Boxes) -> float:
    """Return infinity outside a name's bounds, 1 on its ring, else 0."""
    spans = [_span(box) for box in boxes]
    if any(near < name.beyond or far > name.within for near, far in spans):
        return float("inf")
    return float(any(near < name.ring < far for near, far in spans))


def _span(box: Box) -> tuple[float, float]:
    """Return the distances of a box's nearest and farthest points from the middle."""
    x = min(max(0.0, box.left), box.right), max(abs(box.left), abs(box.right))
    y = min(max(0.0, box.low), box.high), max(abs(box.low), abs(box.high))
    return math.hypot(x[0], y[0]), math.hypot(x[1], y[1])
