"""Texts beside points, so that none lies on another, whatever the picture's size.

Lengths are those of a picture on a phone: on a larger one, where texts are as
large and points farther apart, what fits there fits too.
"""

from typing import NamedTuple

from lightplan.web.furniture import Figure, faded

Point = tuple[float, float]

UNIT_PX = 117.0  # a unit of the axes on a phone 390 px wide
_CHAR_PX, _LINE_PX = 7.0, 15.0  # of a text of 12 px, in a wide font
_BOLD = 1.12  # how much wider bold letters are
_AROUND = ((1, 0), (0, 1), (-1, 0), (0, -1), (1, 1), (-1, 1), (-1, -1), (1, -1))


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

    def nearest(self) -> float:
        """Return the distance of its nearest point from the middle, (0, 0)."""
        x = min(max(0.0, self.left), self.right)
        y = min(max(0.0, self.low), self.high)
        return float((x * x + y * y) ** 0.5)

    def farthest(self) -> float:
        """Return the distance of its farthest corner from the middle."""
        x = max(abs(self.left), abs(self.right))
        y = max(abs(self.low), abs(self.high))
        return float((x * x + y * y) ** 0.5)


class Label(NamedTuple):
    """A text beside a point.

    ``toward`` is the direction in which it would best stand, ``gap_px`` how far
    off, ``ground`` the colour behind it, ``beyond`` the radius round the middle that it must leave free, ``within``
    the one that it must not leave; ``far`` lets it stand farther off for want of
    room.
    """

    text: str
    point: Point
    toward: Point
    colour: str
    ground: str
    gap_px: float = 7.0
    beyond: float = 0.0
    within: float = float("inf")
    bold: bool = False
    far: bool = False


def spot(point: Point, radius: float) -> Box:
    """Return a box round a point."""
    x, y = point
    return Box(x - radius, y - radius, x + radius, y + radius)


def lettering(text: str, middle: Point) -> Box:
    """Return the box of a text, of one line or more, about its middle."""
    lines = text.split("<br>")
    half_width = max(map(len, lines)) * _CHAR_PX / UNIT_PX / 2
    half_height = len(lines) * _LINE_PX / UNIT_PX / 2
    x, y = middle
    return Box(x - half_width, y - half_height, x + half_width, y + half_height)


def place(labels: list[Label], taken: list[Box], edge: float) -> list[Figure]:
    """Return annotations for those labels that find room, in order of preference.

    Parameters
    ----------
    labels : list of Label
        The first are placed first.
    taken : list of Box
        What is drawn already; each label's box is added.
    edge : float
        The axes run from −edge to edge.
    """
    found = []
    for label in labels:
        for tried in _tries(label, edge):
            box = tried.box
            inside = max(map(abs, box)) <= edge + 1e-9 and (
                label.beyond <= box.nearest() and box.farthest() <= label.within
            )
            if inside and not any(box.meets(other) for other in taken):
                taken.append(box)
                found.append(_annotation(label, tried))
                break
    return found


class _Try(NamedTuple):
    """A place for a label: its box, which side of the point, and how shifted."""

    box: Box
    side: tuple[int, int]
    shift_px: Point


def _tries(label: Label, edge: float) -> list[_Try]:
    """Return where a label may stand: close by on every side, then farther off."""
    times = (1.0, 1.8, 3.0) if label.far else (1.0,)
    sides = _sides(label.toward)
    return [
        _beside(label, side, label.gap_px * n, edge) for n in times for side in sides
    ]


def _sides(toward: Point) -> list[tuple[int, int]]:
    """Return the eight sides of a point, the one nearest a direction first."""

    def towards(side: tuple[int, int]) -> float:
        return (side[0] * toward[0] + side[1] * toward[1]) / _length(side)

    return sorted(_AROUND, key=towards, reverse=True)


def _length(side: tuple[int, int]) -> float:
    return float((side[0] ** 2 + side[1] ** 2) ** 0.5)


def _beside(label: Label, side: tuple[int, int], gap_px: float, edge: float) -> _Try:
    x0, y0, x1, y1 = lettering(label.text, (0.0, 0.0))
    if label.bold:
        x0, x1 = x0 * _BOLD, x1 * _BOLD
    gap = gap_px / _length(side) / UNIT_PX
    x = label.point[0] + side[0] * (x1 + gap)
    y = label.point[1] + side[1] * (y1 + gap)
    # Above or below its point a text may move sideways, back into the picture.
    back = 0.0 if side[0] else max(0.0, x1 - x - edge) - max(0.0, x + x1 - edge)
    box = Box(x + back + x0, y + y0, x + back + x1, y + y1)
    shift = (side[0] * gap + back) * UNIT_PX, side[1] * gap * UNIT_PX
    return _Try(box, side, shift)


def _annotation(label: Label, tried: _Try) -> Figure:
    return {
        "x": label.point[0],
        "y": label.point[1],
        "xanchor": ("right", "center", "left")[tried.side[0] + 1],
        "yanchor": ("top", "middle", "bottom")[tried.side[1] + 1],
        "xshift": round(tried.shift_px[0]),
        "yshift": round(tried.shift_px[1]),
        "borderpad": 0,
        "bgcolor": faded(label.ground, 0.8),  # lines do not cross the text
        "text": f"<b>{label.text}</b>" if label.bold else label.text,
        "showarrow": False,
        "font": {"size": 12, "color": label.colour},
    }
