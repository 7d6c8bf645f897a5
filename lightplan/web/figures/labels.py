"""Place texts in pictures without overlap, whatever the picture's size.

A text keeps its size and its distance from a point in pixels, while the points move
apart in a larger picture. So a text has one box, in units of the axes, for every scale
that is tried; things already drawn have such boxes too.

A picture says where a text may stand and what each position costs; this module finds
room: `place` in the plane, `apart` along one axis.
"""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from lightplan.web.figures.base import Figure

Point = tuple[float, float]

FONT_PX = 12
_CHAR_PX, _LINE_PX = 6.6, 15.0  # of a text of that size, in a wide font
_BOLD = 1.12  # how much wider bold letters are
# Where the middle of a text may be, in halves of its size from the point. Above and
# below, half steps aside help at the edge of a picture.
_SIDES = (
    *((x, y) for y in (1.0, -1.0) for x in (0.0, 1.0, -1.0, 0.5, -0.5)),
    *((1.0, 0.0), (-1.0, 0.0)),
)


class Box(NamedTuple):
    """A rectangle in units of the axes."""

    left: float
    low: float
    right: float
    high: float

    def meets(self, other: "Box") -> bool:
        """Return whether the two overlap."""
        across = self.left < other.right and other.left < self.right
        return across and self.low < other.high and other.low < self.high

    def holds(self, other: "Box") -> bool:
        """Return whether the other lies within this one."""
        across = self.left <= other.left and other.right <= self.right
        return across and self.low <= other.low and other.high <= self.high


# One box for each scale that is tried.
Boxes = tuple[Box, ...]


def text_px(text: str, bold: bool = False) -> Point:
    """Return the approximate width and height of a text of one line or more. [px]"""
    lines = text.replace("<b>", "").replace("</b>", "").split("<br>")
    wide = max(map(len, lines)) * _CHAR_PX
    return wide * (_BOLD if bold else 1.0), len(lines) * _LINE_PX


def boxes(
    at: Point, size_px: Point, scales: Sequence[float], off_px: Point = (0.0, 0.0)
) -> Boxes:
    """Return the boxes of a thing that keeps its size on the screen.

    Parameters
    ----------
    at : tuple of float
        Its point, in units of the axes.
    size_px : tuple of float
        Its width and height.
    scales : sequence of float
        Pixels per unit, one for each size of the picture.
    off_px : tuple of float
        How far its middle is from its point, to the right and up.
    """
    (x, y), (right, up) = at, off_px
    across, half = size_px[0] / 2, size_px[1] / 2
    return tuple(
        Box(
            x + (right - across) / scale,
            y + (up - half) / scale,
            x + (right + across) / scale,
            y + (up + half) / scale,
        )
        for scale in scales
    )


def meet(some: Boxes, others: Boxes) -> bool:
    """Return whether two things overlap at any size of the picture."""
    return any(a.meets(b) for a, b in zip(some, others, strict=True))


class Label(NamedTuple):
    """A text for a point.

    ``gaps_px`` are its possible distances from the point, the best first; ``toward``
    is the preferred direction.
    """

    text: str
    at: Point
    toward: Point = (0.0, 1.0)
    gaps_px: tuple[float, ...] = (7.0,)
    bold: bool = False


class Room(NamedTuple):
    """Room for texts: the scales [px per unit], the frame, the boxes already taken."""

    scales: tuple[float, ...]
    frame: Box
    taken: list[Boxes]


class Placed(NamedTuple):
    """A label, the offset [px] of its middle from its point, and its boxes."""

    label: Label
    off_px: Point
    boxes: Boxes


def place(
    labels: Iterable[Label],
    room: Room,
    cost: Callable[[Placed], float] = lambda _: 0.0,
) -> Placed | None:
    """Return the first position of least cost with room for a text, None for none.

    Parameters
    ----------
    labels : iterable of Label
        Possible texts, or points for them, the best first.
    room : Room
        What to stay within and to avoid; the result is not added to it.
    cost : callable
        The cost of a position: 0 for a good one, infinity for a forbidden one.
    """
    best, least = None, float("inf")
    for tried in (tried for label in labels for tried in _around(label, room)):
        price = cost(tried)
        if price < least and not any(meet(tried.boxes, other) for other in room.taken):
            best, least = tried, price
            if price <= 0:
                break
    return best


def _around(label: Label, room: Room) -> Iterator[Placed]:
    """Yield a label's positions in the frame: near it on every side, then farther."""
    wide, high = size = text_px(label.text, label.bold)

    def turned(side: Point) -> float:
        along = side[0] * label.toward[0] + side[1] * label.toward[1]
        return -along / math.hypot(*side)

    sides = sorted(_SIDES, key=turned)
    for gap in label.gaps_px:
        for x, y in sides:
            for across, up in _ways((x, y), gap, label.gaps_px[0]):
                off = x * (wide / 2 + across), y * (high / 2 + up)
                covered = boxes(label.at, size, room.scales, off)
                if all(map(room.frame.holds, covered)):
                    yield Placed(label, off, covered)


def _ways(side: Point, gap: float, near: float) -> list[Point]:
    """Return distances on a side, across and up, also near in one and far in the other."""
    share = 1 / math.hypot(*side)
    ways = [(gap * share, gap * share)]
    if gap > near and abs(side[0]) == abs(side[1]):
        ways += [(gap, near * share), (near * share, gap)]
    return ways


def note(placed: Placed, colour: str) -> Figure:
    """Return a placed label as an annotation."""
    label = placed.label
    return {
        "x": label.at[0],
        "y": label.at[1],
        "xanchor": "center",
        "yanchor": "middle",
        "xshift": round(placed.off_px[0]),
        "yshift": round(placed.off_px[1]),
        "borderpad": 0,
        "text": f"<b>{label.text}</b>" if label.bold else label.text,
        "showarrow": False,
        "font": {"size": FONT_PX, "color": colour},
    }


def apart(
    middles: Sequence[float],
    sizes: Sequence[float],
    low: float = -float("inf"),
    high: float = float("inf"),
) -> list[float]:
    """Move texts along one axis, as little as possible, until none overlap.

    Parameters
    ----------
    middles : sequence of float
        The preferred middle of each, in the order to keep.
    sizes : sequence of float
        How long each is, in the same unit.
    low, high : float
        The bounds; texts that do not fit go beyond ``high``.

    Returns
    -------
    list of float
        The middles: least squares, by pooling of adjacent violators.
    """
    if not len(middles):
        return []
    # With the lengths of the texts before it subtracted, each middle only has to be
    # no smaller than the last.
    steps = [(a + b) / 2 for a, b in pairwise(sizes)]
    packed = np.concatenate(([0.0], np.cumsum(steps)))
    blocks: list[tuple[float, int]] = []  # texts that touch: their mean and count
    for wish in (np.asarray(middles, dtype=np.float64) - packed).tolist():
        mean, count = wish, 1
        while blocks and blocks[-1][0] > mean:
            before, many = blocks.pop()
            mean = (mean * count + before * many) / (count + many)
            count += many
        blocks.append((mean, count))
    moved = np.repeat(*(np.array(part) for part in zip(*blocks, strict=True)))
    last = high - sizes[-1] / 2 - packed[-1]
    kept = np.maximum(np.minimum(moved, last), low + sizes[0] / 2)
    return (kept + packed).tolist()
