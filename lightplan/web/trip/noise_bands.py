"""Strips below the ISO lines: how much noise each rig's picture has, and when.

All pictures are cropped to one view, so that rigs of equal entrance pupil have equal
strips. Thickness says the band, whatever the colours.
"""

import numpy as np
from numpy.typing import NDArray

from lightplan.camera.noise import BANDS
from lightplan.trip import frame
from lightplan.trip.plan import TripPlan
from lightplan.trip.request import LETTERS
from lightplan.web.figures.base import Figure
from lightplan.web.figures.theme import Theme, faded

# Heights as shares of the picture: of a strip, and of the line that names the bands.
ROW, HEAD = 0.029, 0.036
# Thickness [px] and dash of each of `noise.BANDS`.
_LOOKS = ((11, "solid"), (5, "solid"), (2, "2px,3px"))
_KEY = "noise:  ▬ clean   ━ acceptable   ┄ record shot"


def foot(rigs: int) -> float:
    """Return the height that the strips of so many rigs take."""
    return HEAD + rigs * ROW


def shapes(
    plan: TripPlan, iso: NDArray[np.float64], theme: Theme, bottom: float
) -> list[Figure]:
    """Return the strips, the first rig's on top, above ``bottom`` of the picture."""
    return [
        {
            "type": "line",
            "name": f"{LETTERS[rig]} {BANDS[stretch.band].key}",
            "xref": "x",
            "yref": "paper",
            "x0": stretch.first,
            "x1": stretch.end,
            "y0": _height(rig, len(iso), bottom),
            "y1": _height(rig, len(iso), bottom),
            "line": {
                "color": theme.rigs[rig],
                "width": _LOOKS[stretch.band][0],
                "dash": _LOOKS[stretch.band][1],
            },
        }
        for rig, seen in enumerate(frame.in_frame(plan.request))
        if seen is not None
        for stretch in frame.stretches(iso[rig], seen.clean_iso, seen.usable_iso)
    ]


def names(plan: TripPlan, theme: Theme, bottom: float) -> list[Figure]:
    """Return the letter of each strip, and above them what thickness means."""
    rigs = len(plan.request.rigs)
    plain = {
        "xref": "paper",
        "yref": "paper",
        "showarrow": False,
        "bgcolor": faded(theme.surface, 0.7),
        "borderpad": 0,
    }
    letters = [
        {
            **plain,
            "x": -0.008,
            "y": _height(rig, rigs, bottom),
            "xanchor": "right",
            "yanchor": "middle",
            "text": f"<b>{LETTERS[rig]}</b>",
            "font": {"size": 12, "color": theme.rigs[rig]},
        }
        for rig in range(rigs)
    ]
    key = {
        **plain,
        "x": 0.012,
        "y": bottom + rigs * ROW + 0.002,
        "xanchor": "left",
        "yanchor": "bottom",
        "text": _KEY,
        "font": {"size": 12, "color": theme.ink},
    }
    return [*letters, key]


def _height(rig: int, rigs: int, bottom: float) -> float:
    return round(bottom + (rigs - rig - 0.5) * ROW, 4)
