"""Letters on the picture of a year at a fixed spot: each in a field of its light."""

import datetime as dt
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from lightplan.arrays import Mask
from lightplan.spots.spots import KINDS, LIGHTS, NO_SUN, STEP_MIN, Picture
from lightplan.web.figures.base import Figure
from lightplan.web.figures.theme import Theme

# The free room a letter needs on each side to fit on a phone: dates, and a share of
# the height. Within the second distance no other letter is needed.
_LETTER_DAYS, _LETTER_HEIGHT = 4, 1 / 44
_SPEAKS_DAYS, _SPEAKS_MIN, _MOST = 56, 120, 8
_MOST_OUTSIDE = 2  # light outside the gates is no answer, so few letters do


class Fields(NamedTuple):
    """A picture, and where letters may stand in it; masks have the picture's shape.

    ``free`` is False on other names, ``hatched`` True on chances; ``rows`` are the
    first and the last row shown.
    """

    first: dt.date
    shown: Picture
    free: Mask
    hatched: Mask
    rows: tuple[int, int]


def letters(fields: Fields, inks: list[tuple[str, str]], theme: Theme) -> list[Figure]:
    """Put each kind's letter into its fields, off the hatching if there is room.

    ``inks`` are colours of fields and letters, in the order of `KINDS`. Outside the
    gates letters are not bold, and the night has none.
    """
    shown, notes = fields.shown, []
    first, last = fields.rows
    drawn = np.zeros_like(fields.free)
    drawn[first:last] = True
    for light, (_, ink) in zip((*range(len(LIGHTS)), NO_SUN), inks, strict=True):
        letter = KINDS[light].letter
        alike = shown.light == light
        here = unstriped(alike & shown.inside) & fields.free
        bold = f"<b>{letter}</b>"
        notes += [_letter(fields, at, bold, ink) for at in _places(fields, here, _MOST)]
        if light != NO_SUN:
            outside = alike & ~unstriped(shown.inside) & fields.free & drawn
            places = _places(fields, outside, _MOST_OUTSIDE)
            notes += [_letter(fields, at, letter, theme.ink) for at in places]
    return notes


def _letter(fields: Fields, at: tuple[int, int], text: str, ink: str) -> Figure:
    row, column = at
    return {
        "x": (fields.first + dt.timedelta(days=column)).isoformat(),
        "y": row * STEP_MIN,
        "xref": "x",
        "yref": "y",
        "text": text,
        "showarrow": False,
        "font": {"size": 13, "color": ink},
    }


def _places(fields: Fields, here: Mask, most: int) -> Iterator[tuple[int, int]]:
    """Return cells deep inside a mask, far from one another."""
    first, last = fields.rows
    rows, columns = -int(-(last - first) * _LETTER_HEIGHT // 1), _LETTER_DAYS
    clear = here & ~fields.hatched
    if _deepest(clear[::rows, ::columns]) is None:
        clear = here.copy()
    for _ in range(most):
        at = _deepest(clear[::rows, ::columns])
        if at is None:
            return
        row, column = at[0] * rows, at[1] * columns
        yield row, column
        taken(clear, row, column, _SPEAKS_MIN, _SPEAKS_DAYS)


def taken(free: Mask, row: int, column: int, minutes: int, days: int) -> None:
    """Remove from a mask everything within a distance of a cell."""
    high = minutes // STEP_MIN
    rows = slice(max(row - high, 0), row + high + 1)
    free[rows, max(column - days, 0) : column + days + 1] = False


def unstriped(mask: Mask) -> Mask:
    """Fill single days between two of the same: a weekday's closure."""
    filled = mask.copy()
    filled[:, 1:-1] |= mask[:, :-2] & mask[:, 2:]
    return filled


def _deepest(mask: Mask) -> tuple[int, int] | None:
    """Return the cell farthest from the edge of a mask; None if none is inside."""
    last = None
    while (mask := _inner(_inner(mask).T).T).any():
        last = mask
    if last is None:
        return None
    cells = np.argwhere(last)
    middle = cells[len(cells) // 2]
    return int(middle[0]), int(middle[1])


def _inner(mask: Mask) -> Mask:
    """Keep what has a neighbour on either side along the first axis."""
    kept = np.zeros_like(mask)
    kept[1:-1] = mask[:-2] & mask[1:-1] & mask[2:]
    return kept
