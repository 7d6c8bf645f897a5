"""Texts beside points, so that none lies on another, whatever the picture's size.

Texts keep their size and their distance from a point in pixels, while the points
move apart in a larger picture. So each text has a box for every size tried.
"""

from typing import NamedTuple

from lightplan.web.figures.base import Figure

Point = tuple[float, float]

# A unit of the axes, from a phone 390 px wide to the picture at its widest, 620 px.
UNITS_PX = (108.0, 122.0, 138.0, 156.0, 173.0, 191.0)
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
    off, ``ground`` the colour behind it, ``beyond`` the radius round the middle that
    it must leave free, ``within`` the one that it must not leave, ``ring`` that of a
    circle that it had better not cross; ``far`` lets it stand farther off, ``narrow``
    is another text, for want of room.
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
    ring: float = 0.0
    narrow: str = ""


# One box for each of `UNITS_PX`.
Boxes = tuple[Box, ...]


def meet(some: Boxes, others: Boxes) -> bool:
    """Tell whether two things lie on one another in a picture of any size."""
    return any(a.meets(b) for a, b in zip(some, others, strict=True))


def spot(point: Point, radius: float) -> Boxes:
    """Return the box round a point, the same in every size."""
    x, y = point
    return (Box(x - radius, y - radius, x + radius, y + radius),) * len(UNITS_PX)


def disc(point: Point, radius_px: float) -> Boxes:
    """Return the boxes round a mark that keeps its size on the screen."""
    both = (radius_px, radius_px)
    return tuple(_box(point, (0.0, 0.0), both, unit) for unit in UNITS_PX)


def lettering(text: str, middle: Point) -> Boxes:
    """Return the boxes of a text, of one line or more, about its middle."""
    width_px, height_px = _size_px(text)
    half_px = width_px / 2, height_px / 2
    return tuple(_box(middle, (0.0, 0.0), half_px, unit) for unit in UNITS_PX)


def _size_px(text: str) -> tuple[float, float]:
    lines = text.replace("<b>", "").replace("</b>", "").split("<br>")
    return max(map(len, lines)) * _CHAR_PX, len(lines) * _LINE_PX


def place(labels: list[Label], taken: list[Boxes], edge: float) -> list[Figure]:
    """Return annotations for those labels that find room, in order of preference.

    Parameters
    ----------
    labels : list of Label
        The first are placed first.
    taken : list of tuple of Box
        What is drawn already; each label's boxes are added.
    edge : float
        The axes run from −edge to edge.
    """
    found = []
    for label in labels:
        for tried in _tries(label, edge):
            if _fits(tried, edge) and not any(meet(tried.boxes, t) for t in taken):
                taken.append(tried.boxes)
                found.append(_annotation(tried))
                break
    return found


class _Try(NamedTuple):
    """A place for a label: its boxes, which side of the point, and how shifted."""

    label: Label
    boxes: Boxes
    side: tuple[int, int]
    shift_px: Point


def _fits(tried: _Try, edge: float) -> bool:
    """Tell whether a label stays within its bounds in a picture of any size."""
    return all(
        max(map(abs, box)) <= edge + 1e-9
        and tried.label.beyond <= box.nearest()
        and box.farthest() <= tried.label.within
        for box in tried.boxes
    )


def _crosses(tried: _Try) -> bool:
    ring = tried.label.ring
    return any(box.nearest() < ring < box.farthest() for box in tried.boxes)


def _tries(label: Label, edge: float) -> list[_Try]:
    """Return where a label may stand: close by on every side, then farther off."""
    times = (1.0, 1.8, 3.0) if label.far else (1.0,)
    texts = (label.text, label.narrow) if label.narrow else (label.text,)
    sides = _sides(label.toward)
    tries = [
        _beside(label._replace(text=text), side, label.gap_px * n, edge)
        for text in texts
        for n in times
        for side in sides
    ]
    return sorted(tries, key=_crosses)


def _sides(toward: Point) -> list[tuple[int, int]]:
    """Return the eight sides of a point, the one nearest a direction first."""

    def towards(side: tuple[int, int]) -> float:
        return (side[0] * toward[0] + side[1] * toward[1]) / _length(side)

    return sorted(_AROUND, key=towards, reverse=True)


def _length(side: tuple[int, int]) -> float:
    return float((side[0] ** 2 + side[1] ** 2) ** 0.5)


def _beside(label: Label, side: tuple[int, int], gap_px: float, edge: float) -> _Try:
    width_px, height_px = _size_px(label.text)
    half_px = width_px / 2 * (_BOLD if label.bold else 1.0), height_px / 2
    gap = gap_px / _length(side)
    # Above or below its point a text may move sideways, back into the picture.
    x, room = label.point[0] * UNITS_PX[0], edge * UNITS_PX[0] - half_px[0]
    back = 0.0 if side[0] else min(max(x, -room), room) - x
    shift = side[0] * gap + back, side[1] * gap
    middle = shift[0] + side[0] * half_px[0], shift[1] + side[1] * half_px[1]
    boxes = tuple(_box(label.point, middle, half_px, unit) for unit in UNITS_PX)
    return _Try(label, boxes, side, shift)


def _box(point: Point, off_px: Point, half_px: Point, unit_px: float) -> Box:
    """Return the box of a text whose middle is off a point."""
    x, y = (at + off / unit_px for at, off in zip(point, off_px, strict=True))
    across, up = (half / unit_px for half in half_px)
    return Box(x - across, y - up, x + across, y + up)


def _annotation(tried: _Try) -> Figure:
    label = tried.label
    return {
        "x": label.point[0],
        "y": label.point[1],
        "xanchor": ("right", "center", "left")[tried.side[0] + 1],
        "yanchor": ("top", "middle", "bottom")[tried.side[1] + 1],
        "xshift": round(tried.shift_px[0]),
        "yshift": round(tried.shift_px[1]),
        "borderpad": 0,
        "bgcolor": label.ground,  # lines do not cross the text
        "text": f"<b>{label.text}</b>" if label.bold else label.text,
        "showarrow": False,
        "font": {"size": 12, "color": label.colour},
    }
