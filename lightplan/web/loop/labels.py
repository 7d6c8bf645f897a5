"""Names on the loop's drawing: beside the line if possible, with a leader if far off."""

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from lightplan.arrays import FloatArray
from lightplan.web.figures import labels
from lightplan.web.figures.base import Figure
from lightplan.web.figures.labels import Box, Boxes, Label, Placed, Room
from lightplan.web.figures.theme import Theme

MARGIN_PX = 12
# Sizes of the drawing at which nothing may touch; `loop.css` sets the heights.
_SIZES_PX = ((320, 340), (356, 340), (420, 464), (1066, 464))
_GAPS_PX = (9.0, 19.0, 33.0, 49.0, 65.0, 83.0)
# A name farther than this from its place gets a leader line.
_NEAR_PX = 16.0
_LEADER = tuple(n / 32 for n in range(1, 32))


class Line(NamedTuple):
    """A line on the plane: km east and north of its start, shape (n,) each."""

    east: FloatArray
    north: FloatArray


class Name(NamedTuple):
    """A name and its place on the plane [km].

    A strong one may stand far off, or on the line if there is no other room; ``kind``
    is the kind of light it names, −1 for none.
    """

    east: float
    north: float
    text: str
    strong: bool = False
    kind: int = -1

    def label(self) -> Label:
        """Return it as a text with its place and its possible distances from it."""
        gaps = _GAPS_PX if self.strong else _GAPS_PX[:1]
        at = (self.east, self.north)
        return Label(self.text, at, gaps_px=gaps, bold=self.strong)


def scales(frame: Box) -> tuple[float, ...]:
    """Return pixels per kilometre at each size of the drawing."""
    return tuple(
        min(
            (wide - 2 * MARGIN_PX) / (frame.right - frame.left),
            (high - 2 * MARGIN_PX) / (frame.high - frame.low),
        )
        for wide, high in _SIZES_PX
    )


def placed(
    names: Iterable[Sequence[Name]], line: Line, room: Room
) -> list[tuple[Name, Placed]]:
    """Return the names that find room, in the order given.

    Parameters
    ----------
    names : iterable of sequence of Name
        Each name at its possible places, the best first. Earlier names get room
        first.
    line : Line
        The line that names should not cover.
    room : Room
        The plane; the boxes of the names are added to those taken.
    """
    named = []
    for places in names:
        strong = places[0].strong

        def cost(tried: Placed, strong: bool = strong) -> float:
            covered = _covered(tried.boxes, line, room.scales)
            if covered and not strong:
                return math.inf
            led = _leader(tried, room.scales)
            crossed = any(labels.meet(a, b) for a in led for b in room.taken)
            return math.inf if crossed else covered

        tried = labels.place((name.label() for name in places), room, cost)
        if tried:
            room.taken.extend((tried.boxes, *_leader(tried, room.scales)))
            at = tried.label.at
            name = next(n for n in places if (n.east, n.north) == at)
            named.append((name, tried))
    return named


def note(tried: Placed, colour: str, theme: Theme) -> Figure:
    """Return a name as an annotation, with a leader line if it stands far off."""
    note = labels.note(tried, colour)
    note["x"], note["y"] = (round(km, 3) for km in tried.label.at)
    if _is_led(tried):
        right, up = note.pop("xshift"), note.pop("yshift")
        # Here Plotly counts pixels downwards.
        note |= {"showarrow": True, "ax": right, "ay": -up, "arrowhead": 0}
        note |= {"arrowwidth": 1, "arrowcolor": theme.muted}
    return note


def _is_led(tried: Placed) -> bool:
    """Return whether the nearest edge of a name is far from its place."""
    size = labels.text_px(tried.label.text, tried.label.bold)
    beyond = (
        max(0.0, abs(off) - px / 2) for off, px in zip(tried.off_px, size, strict=True)
    )
    return math.hypot(*beyond) > _NEAR_PX


def _leader(tried: Placed, scales_: tuple[float, ...]) -> list[Boxes]:
    """Return boxes along a name's leader line, none if it has none."""
    if not _is_led(tried):
        return []
    right, up = tried.off_px
    return [
        labels.boxes(tried.label.at, (4.0, 4.0), scales_, (share * right, share * up))
        for share in _LEADER
    ]


def _covered(boxes: Boxes, line: Line, scales_: tuple[float, ...]) -> int:
    """Return how many points of a line a name would cover, at worst."""
    most = 0
    for box, scale in zip(boxes, scales_, strict=True):
        # With a margin, since the line is 4 px wide and its points are apart.
        aside, over = 2 / scale, 1 / scale
        beside = (line.east > box.left - aside) & (line.east < box.right + aside)
        level = (line.north > box.low - over) & (line.north < box.high + over)
        most = max(most, int((beside & level).sum()))
    return most
