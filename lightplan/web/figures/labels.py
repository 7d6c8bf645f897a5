"""Texts in pictures, so that none lies on another, whatever the picture's size.

A text keeps its size and its distance from a place in pixels, while the places move
apart in a larger picture. So it has a box, in units of the axes, for every scale at
which a picture is tried; what is drawn already has such boxes too.

A picture says where a text may stand and what it costs there; here is how to find room:
`place` on the plane, `apart` along one axis.
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
# Where the middle of a text may lie: halves of its size off the place. Above and
# below it may lie askew, which finds room at the edge of a picture.
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
        """Tell whether the two have some of the plane in common."""
        across = self.left < other.right and other.left < self.right
        return across and self.low < other.high and other.low < self.high

    def holds(self, other: "Box") -> bool:
        """Tell whether the other lies within this one."""
        across = self.left <= other.left and other.right <= self.right
        return across and self.low <= other.low and other.high <= self.high


# One box for each scale that is tried.
Boxes = tuple[Box, ...]


def text_px(text: str, bold: bool = False) -> Point:
    """Return about how wide and how high a text is, of one line or more. [px]"""
    lines = text.replace("<b>", "").replace("</b>", "").split("<br>")
    wide = max(map(len, lines)) * _CHAR_PX
    return wide * (_BOLD if bold else 1.0), len(lines) * _LINE_PX


def boxes(
    at: Point, size_px: Point, scales: Sequence[float], off_px: Point = (0.0, 0.0)
) -> Boxes:
    """Return the boxes of what keeps its size on the screen.

    Parameters
    ----------
    at : tuple of float
        Its place, in units of the axes.
    size_px : tuple of float
        Its width and height.
    scales : sequence of float
        Pixels to a unit, one for each size of the picture.
    off_px : tuple of float
        How far its middle is off its place, to the right and up.
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
    """Tell whether two things lie on one another in a picture of any size."""
    return any(a.meets(b) for a, b in zip(some, others, strict=True))


class Label(NamedTuple):
    """A text for a place.

    ``gaps_px`` are how far off it may stand, the best first, ``toward`` is the
    direction in which it would best stand.
    """

    text: str
    at: Point
    toward: Point = (0.0, 1.0)
    gaps_px: tuple[float, ...] = (7.0,)
    bold: bool = False


class Room(NamedTuple):
    """What there is to place texts in: the scales [px per unit], a frame, things drawn."""

    scales: tuple[float, ...]
    frame: Box
    taken: list[Boxes]


class Placed(NamedTuple):
    """A label, the way [px] from its place to its middle, and its boxes."""

    label: Label
    off_px: Point
    boxes: Boxes


def place(
    labels: Iterable[Label],
    room: Room,
    cost: Callable[[Placed], float] = lambda _: 0.0,
) -> Placed | None:
    """Return the first place of least cost at which a text has room, None for none.

    Parameters
    ----------
    labels : iterable of Label
        Ways to say it, or places to say it at, the best first.
    room : Room
        What to stay within and to keep off; the place found is not added.
    cost : callable
        What speaks against a place: 0 for nothing, infinity where it must not be.
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
    """Yield where a label may stand in the frame: close by on every side, then off."""
    wide, high = size = text_px(label.text, label.bold)

    def turned(side: Point) -> float:
        along = side[0] * label.toward[0] + side[1] * label.toward[1]
        return -along / math.hypot(*side)

    sides = sorted(_SIDES, key=turned)
    for gap in label.gaps_px:
        for x, y in sides:
            for across, up in _ways((x, y), gap, label.gaps_px[0]):
                off = x * (wide / 2 + across), y * (high / 2 + up)
                found = boxes(label.at, size, room.scales, off)
                if all(map(room.frame.holds, found)):
                    yield Placed(label, off, found)


def _ways(side: Point, gap: float, near: float) -> list[Point]:
    """Return how far off on a side, across and up; near in one, far in the other too."""
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
    """Move texts along one axis, as little as may be, until none lies on another.

    Parameters
    ----------
    middles : sequence of float
        Where each would best have its middle, in the order that they keep.
    sizes : sequence of float
        How long each is, in the same unit.
    low, high : float
        What they stay within; those that cannot all do so go beyond ``high``.

    Returns
    -------
    list of float
        The middles: least squares, by pooling of adjacent violators.
    """
    if not len(middles):
        return []
    # Less what the texts before it take up, each must only not be before the last.
    steps = [(a + b) / 2 for a, b in pairwise(sizes)]
    packed = np.concatenate(([0.0], np.cumsum(steps)))
    blocks: list[tuple[float, int]] = []  # those that touch, about their mean
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
