"""Names beside a line on the plane, placed so that no two touch at any width.

Plotly keeps a name's distance from its place in pixels, whatever the scale; so a
position is tried at the scales of a phone, of a desktop and between.
"""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from lightplan.arrays import FloatArray

FONT_PX = 12
MARGIN_PX = 12
# Sizes of the drawing in which nothing may touch; `loop.css` sets the heights.
_SIZES_PX = ((320, 340), (356, 340), (420, 464), (1066, 464))
_LETTER_PX, _LINE_PX, _GAP_PX = 6.6, 15.0, 9.0
_BOLDER = 1.1
# A name that is farther than this from its place is led back to it by a line.
_NEAR_PX = 16.0
_LEADER = tuple(n / 32 for n in range(1, 32))
_FAR_PX = (0.0, 10.0, 24.0, 40.0, 56.0, 74.0)


class Frame(NamedTuple):
    """The part of the plane that is shown. [km]"""

    west: float
    east: float
    south: float
    north: float


class Line(NamedTuple):
    """A line on the plane: km east and north of its start, shape (n,) each."""

    east: FloatArray
    north: FloatArray


class Label(NamedTuple):
    """A name and its place on the plane [km].

    A strong one may stand far off, or over the line where there is no other room;
    ``kind`` is the kind of light it names, −1 for none.
    """

    east: float
    north: float
    text: str
    strong: bool = False
    kind: int = -1


class Box(NamedTuple):
    """A rectangle in pixels of the plane, north up."""

    left: float
    right: float
    bottom: float
    top: float

    def touches(self, other: "Box") -> bool:
        """Return whether two rectangles have a pixel in common."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.bottom < other.top
            and other.bottom < self.top
        )


class Reserved(NamedTuple):
    """A rectangle taken already: from a place on the plane [km], so many pixels."""

    east: float
    north: float
    right_px: float
    up_px: float

    def box(self, scale: float) -> Box:
        """Return it at a scale [px/km]."""
        x, y = self.east * scale, self.north * scale
        to = x + self.right_px
        return Box(min(x, to), max(x, to), y, y + self.up_px)


class Placed(NamedTuple):
    """A name with the way [px] of its middle from its place, and if a line leads back."""

    label: Label
    right_px: float
    up_px: float
    led: bool


def placed(
    labels: Iterable[Sequence[Label]],
    line: Line,
    frame: Frame,
    reserved: Sequence[Reserved],
) -> list[Placed]:
    """Return the names that find room, in the order given.

    Parameters
    ----------
    labels : iterable of sequence of Label
        Each name at the places it may have, the best first. Names before others
        get room first.
    line : Line
        What names should not cover.
    frame : Frame
        What they must stay within.
    reserved : sequence of Reserved
        What is there already.
    """
    scales = [_pixels_per_km(frame, *size) for size in _SIZES_PX]
    taken = [[corner.box(scale) for corner in reserved] for scale in scales]
    found = []
    for places in labels:
        rooms = list(zip(scales, taken, strict=True))
        tried = ((place, _choice(place, line, frame, rooms)) for place in places)
        label, choice = next((t for t in tried if t[1]), (places[0], None))
        if choice is None:
            continue
        for scale, others in zip(scales, taken, strict=True):
            others += _boxes(label, choice, scale)
        found.append(Placed(label, *choice, _is_led(label, choice)))
    return found


def text_px(text: str, strong: bool = False) -> float:
    """Return about how wide a text is. [px]"""
    return len(text) * _LETTER_PX * (_BOLDER if strong else 1.0)


Shift = tuple[float, float]


def _choice(
    label: Label, line: Line, frame: Frame, rooms: list[tuple[float, list[Box]]]
) -> Shift | None:
    """Return the nearest way from its place at which a name is free, None for none."""
    allowed = []
    for shift in _shifts(label):
        if not all(_fits(label, shift, frame, *room) for room in rooms):
            continue
        covered = max(_covered(_box(label, shift, s), line, s) for s, _ in rooms)
        if covered == 0:
            return shift
        allowed.append((covered, shift))
    return min(allowed)[1] if label.strong and allowed else None


def _fits(
    label: Label, shift: Shift, frame: Frame, scale: float, others: list[Box]
) -> bool:
    if _is_out(_box(label, shift, scale), frame, scale):
        return False
    boxes = _boxes(label, shift, scale)
    return not any(box.touches(other) for box in boxes for other in others)


def _boxes(label: Label, shift: Shift, scale: float) -> list[Box]:
    """Return what a name takes up: its own box, and points of the line that leads back."""
    box = _box(label, shift, scale)
    if not _is_led(label, shift):
        return [box]
    x, y = label.east * scale, label.north * scale
    steps = [(x + share * shift[0], y + share * shift[1]) for share in _LEADER]
    return [box, *(Box(x - 2, x + 2, y - 2, y + 2) for x, y in steps)]


def _is_led(label: Label, shift: Shift) -> bool:
    return bool(np.hypot(*_beyond(label, shift)) > _NEAR_PX)


def _shifts(label: Label) -> list[Shift]:
    """Return ways from a place to the middle of its name, nearest first."""
    wide, high = text_px(label.text, label.strong) / 2, _LINE_PX / 2
    far = _FAR_PX if label.strong else _FAR_PX[:1]
    across = (0.0, wide / 2, wide, wide + _GAP_PX)
    ways = {
        (float(a * (x + (away if x > wide else 0.0))), float(b * y))
        for away in far
        for x in across
        for y in (0.0, *(high + _GAP_PX + f for f in far))
        for a in (1, -1)
        for b in (1, -1)
        # In the middle it would lie on its place, which the line runs through.
        if y or x > wide
    }
    return sorted(ways, key=lambda way: (round(np.hypot(*_beyond(label, way))), way))


def _beyond(label: Label, shift: Shift) -> Shift:
    """Return how far the nearest edge of a name is from its place. [px]"""
    wide = text_px(label.text, label.strong) / 2
    return max(0.0, abs(shift[0]) - wide), max(0.0, abs(shift[1]) - _LINE_PX / 2)


def _pixels_per_km(frame: Frame, wide_px: int, high_px: int) -> float:
    return min(
        (wide_px - 2 * MARGIN_PX) / (frame.east - frame.west),
        (high_px - 2 * MARGIN_PX) / (frame.north - frame.south),
    )


def _box(label: Label, shift: Shift, scale: float) -> Box:
    wide, high = text_px(label.text, label.strong) / 2, _LINE_PX / 2
    x, y = label.east * scale + shift[0], label.north * scale + shift[1]
    return Box(x - wide, x + wide, y - high, y + high)


def _is_out(box: Box, frame: Frame, scale: float) -> bool:
    west, east, south, north = (edge * scale for edge in frame)
    return bool(
        box.left < west or box.right > east or box.bottom < south or box.top > north
    )


def _covered(box: Box, line: Line, scale: float) -> int:
    """Return how many points of a line a name would cover."""
    x, y = line.east * scale, line.north * scale
    # Two pixels round it: the line is four wide, and its points are apart.
    beside = (x > box.left - 2) & (x < box.right + 2)
    over = beside & (y > box.bottom - 1) & (y < box.top + 1)
    return int(over.sum())
