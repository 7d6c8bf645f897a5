"""The colour of the light on the animal as colour, below the ISO panel."""

from base64 import b64encode
from html import escape

import numpy as np

from lightplan import naming
from lightplan.arrays import true_runs
from lightplan.light import daylight
from lightplan.light.chromaticity import srgb
from lightplan.light.colour import DARK_DEG
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import FACING_INDEX, FACINGS
from lightplan.web.figures.base import Figure
from lightplan.web.figures.theme import Theme

# Heights as shares of the picture: the strip's foot and top.
STRIP = (0.345, 0.385)
_EVERY_MIN = 4  # a browser blends the colours between
# Words for a colour, by the kelvins from which they hold.
_NAMES = (
    (0, "warm"),
    (4500, "yellowish"),
    (5200, "neutral"),
    (6500, "cool"),
    (8000, "blue"),
)
_WIDE, _END = 0.36, 0.2  # of a phone's picture: for words and kelvins, for kelvins


def images(plan: TripPlan, drive: DrivePlan) -> list[Figure]:
    """Return the strip, from the first minute with a colour to the last."""
    return [
        {
            "source": _gradient(plan, drive, first, end - 1),
            "xref": "x",
            "yref": "paper",
            "x": first,
            "y": STRIP[1],
            "sizex": end - 1 - first,
            "sizey": STRIP[1] - STRIP[0],
            "sizing": "stretch",
            "layer": "below",
        }
        for first, end in true_runs(drive.apparent_deg >= DARK_DEG)
        if end - first > 1
    ]


def _gradient(plan: TripPlan, drive: DrivePlan, first: int, last: int) -> str:
    """Return the colours of some minutes as an SVG picture, in a data URL."""
    minutes = np.unique([*range(first, last, _EVERY_MIN), last])
    angle = FACINGS[FACING_INDEX[plan.request.facing]].angle_deg
    xyz = daylight.subject_xyz(
        drive.apparent_deg[minutes], angle, drive.kind, plan.request.cover
    )
    stops = "".join(
        f'<stop offset="{(minute - first) / (last - first):.4f}" '
        f'stop-color="rgb({",".join(str(round(c)) for c in colour)})"/>'
        for minute, colour in zip(minutes.tolist(), srgb(xyz).tolist(), strict=True)
    )
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="400" height="10" '
        'preserveAspectRatio="none" viewBox="0 0 400 10"><linearGradient id="g">'
        f'{stops}</linearGradient><rect width="400" height="10" fill="url(#g)"/></svg>'
    )
    return f"data:image/svg+xml;base64,{b64encode(svg.encode()).decode()}"


def names(plan: TripPlan, drive: DrivePlan, theme: Theme) -> list[Figure]:
    """Name the strip and say its colour in words and kelvins where there is room."""
    kelvin = drive.kelvin[FACING_INDEX[plan.request.facing]]
    length = len(kelvin) - 1
    said: list[tuple[float, str, str]] = []
    lit = np.flatnonzero(np.isfinite(kelvin))
    if len(lit):
        warmest = int(lit[kelvin[lit].argmin()])
        middle = min(max(warmest / length, _WIDE / 2), 1 - _WIDE / 2)
        said.append((middle, "center", _name(float(kelvin[warmest]))))
        # The ends where a phone has room for them, in kelvins only.
        for minute, anchor, free in (
            (int(lit[0]), "left", middle - _WIDE / 2 - lit[0] / length),
            (int(lit[-1]), "right", lit[-1] / length - middle - _WIDE / 2),
        ):
            if free >= _END:
                said.append(
                    (minute / length, anchor, naming.kelvin(float(kelvin[minute])))
                )
    plain = {
        "xref": "paper",
        "yref": "paper",
        "showarrow": False,
        "font": {"size": 12, "color": theme.muted},
    }
    return [
        {
            **plain,
            "x": middle,
            "y": STRIP[0],
            "xanchor": anchor,
            "yanchor": "top",
            "text": escape(text),
        }
        for middle, anchor, text in said
    ]


def _name(kelvin: float) -> str:
    word = [name for least, name in _NAMES if kelvin >= least][-1]
    return f"{word}, {naming.kelvin(kelvin)}"
