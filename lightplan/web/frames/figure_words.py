"""The picture of measured against expected, in words."""

import numpy as np

from lightplan import naming
from lightplan.frames.learning import Learned
from lightplan.light.daylight import Cover
from lightplan.web.frames import tables
from lightplan.web.frames.figure import MOST_NAMES, Points, curve


def picture(learned: Learned, groups: list[Points], preset: Cover | None) -> str:
    """Return what the picture shows and how to read it, from the same arguments."""
    if not groups or preset is None:
        return ""
    return f"{_shown(groups, preset)} {_key(learned, groups)}"


def _shown(groups: list[Points], preset: Cover) -> str:
    low = min(float(g.altitude_deg.min()) for g in groups)
    high = max(float(g.altitude_deg.max()) for g in groups)
    named = "; ".join(_group(group) for group in groups[:MOST_NAMES])
    rest = len(groups) - MOST_NAMES
    more = f"; and {rest} more" if rest > 0 else ""
    levels, _ = curve(groups[0].fit, preset, np.linspace(low, high, 60))
    return (
        f"Sun {_span(_degrees(low), _degrees(high))}. {named}{more}; {preset.label}, "
        f"the preset, {_levels(levels.min(), levels.max())} over the same range."
    )


def _group(group: Points) -> str:
    fit = group.fit
    if not fit.usable:
        return f"{fit.group.name} no line ({tables.verdict(fit, doubted=False)})"
    return f"{fit.group.name} {_levels(fit.stops, fit.stops)}"


def _levels(low: float, high: float) -> str:
    """Return ``1.9 to 2.9 stops darker``."""
    least, most = round(low, 1) + 0.0, round(high, 1) + 0.0  # no −0.0
    if least == most == 0:
        return "as expected"
    if least < 0 < most:
        return f"{-least:.1f} stops brighter to {most:.1f} darker"
    way = "brighter" if least < 0 else "darker"
    small, large = sorted((abs(least), abs(most)))
    many = f"{small:.1f}" if small == large else f"{small:.1f} to {large:.1f}"
    return f"{many} stops {way}"


def _degrees(altitude: float) -> str:
    return naming.minus(f"{altitude + 0.0:.0f}°".replace("-0°", "0°"))


def _span(low: str, high: str) -> str:
    return f"at {low}" if low == high else f"from {low} to {high}"


def _key(learned: Learned, groups: list[Points]) -> str:
    bursts = sum(len(g.stops) for g in groups)
    aside = sum(int(g.aside.sum()) for g in groups)
    counted = " and the reference" if learned.reference else ""
    set_aside = (
        f"{aside:,} hollow {'mark was' if aside == 1 else 'marks were'} set aside as "
        "outliers; marks at the edge lie outside the chart. "
        if aside
        else ""
    )
    each = "1 burst" if bursts == 1 else f"{bursts:,} bursts"
    return (
        f"{each} over the sun’s altitude. The line at 0 is the light expected under "
        f"the base cover{counted}; a burst below it was metered darker. Each group’s "
        f"line is its middle, its band the ± to plan with. {set_aside}The dotted curve "
        "is the preset."
    )
