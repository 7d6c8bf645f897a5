"""What stands on the drive's picture beside its lines: bands, rules and names."""

import numpy as np
from numpy.typing import NDArray

from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import LETTERS
from lightplan.web.figures.base import Figure
from lightplan.web.figures.labels import apart
from lightplan.web.figures.theme import Theme, faded
from lightplan.web.trip import marks, noise_bands

# Heights of the three panels, as shares of the picture: ISO, altitude, bearing. Below
# the first lies the strip of colour, see `colour_strip`.
ISO_PANEL, ALTITUDE_PANEL, BEARING_PANEL = (0.40, 1.0), (0.16, 0.27), (0.0, 0.10)

# A window narrower than the first share has its name set upright, one narrower
# than the second none: its minutes are in the table.
_NARROW, _THIN = 0.13, 0.02


def window_shapes(drive: DrivePlan, theme: Theme) -> list[Figure]:
    """Return a band behind the ISO panel for each light window."""
    return [
        {
            "type": "rect",
            "layer": "below",
            "xref": "x",
            "yref": "paper",
            "x0": drive.minute(s.start_utc),
            "x1": drive.minute(s.end_utc),
            "y0": ISO_PANEL[0],
            "y1": ISO_PANEL[1],
            "line": {"width": 0},
            "fillcolor": faded(theme.light[s.window.key], 0.28),
        }
        for s in drive.windows
    ]


def window_names(drive: DrivePlan, theme: Theme) -> list[Figure]:
    """Name each band at its top, upright where it is narrow."""
    names = []
    length = len(drive.utc) - 1
    for s in drive.windows:
        start, end = drive.minute(s.start_utc), drive.minute(s.end_utc)
        share = s.minutes / length
        if share < _THIN:
            continue
        names.append(
            {
                "x": (start + end) / 2,
                "y": 1.0,
                "xref": "x",
                "yref": "paper",
                "text": s.window.short,
                "showarrow": False,
                "textangle": -90 if share < _NARROW else 0,
                "yanchor": "top",
                "bgcolor": faded(theme.surface, 0.7),  # lines do not cross the text
                "borderpad": 0,
                "font": {"size": 12, "color": theme.ink},
            }
        )
    return names


def _ceilings(plan: TripPlan) -> dict[float, str]:
    """Return what to call each rule: whose it is, and who set it."""
    letters: dict[tuple[float, bool, str], list[str]] = {}
    for rig, choice in enumerate(plan.request.rigs):
        key = choice.iso_ceiling, choice.ceiling_typed, choice.ceiling_text
        letters.setdefault(key, []).append(LETTERS[rig])
    return {
        iso: f"{'ceiling' if typed else 'limit by noise'} {' '.join(of)}: {text}"
        for (iso, typed, text), of in letters.items()
    }


def ceiling_shapes(plan: TripPlan, theme: Theme) -> list[Figure]:
    """Return a rule at each ISO ceiling."""
    return [
        {
            "type": "line",
            "xref": "paper",
            "yref": "y",
            "x0": 0,
            "x1": 1,
            "y0": iso,
            "y1": iso,
            "line": {"color": theme.ink, "width": 1.2, "dash": "4px,3px"},
        }
        for iso in _ceilings(plan)
    ]


def names_inside(
    plan: TripPlan,
    iso: NDArray[np.float64],
    theme: Theme,
    left: bool,
    bounds: tuple[float, float],
) -> list[Figure]:
    """Name lines and ceilings at the lines' flat end, a line's height apart.

    There they are clear of the steep ends and of the marks on them, on a phone too.
    """
    at = int(iso.shape[1] * 0.03) if left else int(iso.shape[1] * 0.97) - 1
    heights = np.log10(np.clip(iso[:, at], *bounds)) + _height(bounds, len(iso)) / 4
    texts = [
        (float(foot), f"<b>{LETTERS[rig]} {choice.label}</b>", theme.rigs[rig])
        for rig, (foot, choice) in enumerate(
            zip(heights, plan.request.rigs, strict=True)
        )
    ]
    texts += [
        (float(np.log10(ceiling)), text, theme.ink)
        for ceiling, text in _ceilings(plan).items()
    ]
    texts.sort(key=lambda text: text[0])
    feet = _apart(np.array([foot for foot, *_ in texts]), bounds, len(iso))
    return [
        _inside_name(text, foot, colour, left, theme)
        for foot, (_, text, colour) in zip(feet, texts, strict=True)
    ]


def _height(bounds: tuple[float, float], rigs: int) -> float:
    """Return how high a name is above the strips of so many rigs, in powers of ten."""
    panel = ISO_PANEL[1] - ISO_PANEL[0] - noise_bands.foot(rigs)
    return float(np.log10(bounds[1] / bounds[0])) * 0.033 / panel


def _apart(
    feet: NDArray[np.float64], bounds: tuple[float, float], rigs: int
) -> list[float]:
    """Move names within the panel until none lies on another; all in powers of ten."""
    high = _height(bounds, rigs)
    low, top = np.log10(bounds).tolist()
    moved = apart((feet + high / 2).tolist(), [high] * len(feet), low, top)
    return [middle - high / 2 for middle in moved]


def _inside_name(text: str, y: float, colour: str, left: bool, theme: Theme) -> Figure:
    return {
        "x": 0.012 if left else 0.988,
        "y": y,
        "xref": "paper",
        "yref": "y",
        "xanchor": "left" if left else "right",
        "yanchor": "bottom",
        "bgcolor": faded(theme.surface, 0.7),  # lines do not cross the text
        "borderpad": 0,
        "text": text,
        "showarrow": False,
        "font": {"size": 12, "color": colour},
    }


# How wide the panel is on a phone, a bold letter with a little room, and how far aside
# of its mark a letter stands, towards the light. [px]
_PHONE_PX, _LETTER_PX, _ASIDE_PX = 256, 11, 6


def mark_names(
    plan: TripPlan,
    drive: DrivePlan,
    facing: int,
    iso: NDArray[np.float64],
    theme: Theme,
) -> list[Figure]:
    """Put a rig's letter beside its mark; the times stand in the rows above.

    Letters that are apart on a phone are so in a wider picture, where the marks move
    apart and the letters keep their distance from them.
    """
    groups: dict[int, list[marks.Mark]] = {}
    for mark in marks.of_drive(plan, drive, facing):
        # A mark is as high as its ceiling; a stop is more than a letter's height.
        stop = round(float(np.log2(plan.request.rigs[mark.rig].iso_ceiling)))
        groups.setdefault(stop, []).append(mark)
    return [
        {
            "x": mark.minute,
            "y": float(np.log10(iso[mark.rig, mark.minute])),
            "xref": "x",
            "yref": "y",
            "xshift": shift,
            "yshift": 12,
            "text": f"<b>{LETTERS[mark.rig]}</b>",
            "showarrow": False,
            "font": {"size": 12, "color": theme.ink},
        }
        for group in groups.values()
        for mark, shift in zip(group, _shifts(group, len(drive.utc) - 1), strict=True)
    ]


def _shifts(group: list[marks.Mark], length: int) -> list[float]:
    """Return how far aside the letters of marks stand that are about as high. [px]"""
    at_px = [mark.minute / length * _PHONE_PX for mark in group]
    wishes = [
        at + (-_ASIDE_PX if mark.side == "end" else _ASIDE_PX)
        for mark, at in zip(group, at_px, strict=True)
    ]
    moved = apart(wishes, [_LETTER_PX] * len(group), 0, _PHONE_PX)
    return [round(middle - at, 1) for middle, at in zip(moved, at_px, strict=True)]


# More rigs than these leave no room for the names of shutter times, and neither does
# less than this share of the panel beside a ring, on a phone.
_NAMED_RIGS, _NAME_ROOM = 3, 0.2


def rungs_on(
    plan: TripPlan,
    drive: DrivePlan,
    facing: int,
    iso: NDArray[np.float64],
    highest: float,
) -> dict[int, list[marks.RungMark]]:
    """Return by rig the marks of slower shutter times that lie on the panel."""
    found: dict[int, list[marks.RungMark]] = {}
    for mark in marks.of_rungs(plan, drive, facing):
        if iso[mark.rig, mark.minute] <= highest:
            found.setdefault(mark.rig, []).append(mark)
    return found


def rung_names(
    rungs: dict[int, list[marks.RungMark]], iso: NDArray[np.float64], theme: Theme
) -> list[Figure]:
    """Write each slower shutter time beside its ring, on the side of its darkness."""
    rigs, minutes = iso.shape
    if rigs > _NAMED_RIGS:
        return []
    return [
        {
            "x": mark.minute,
            "y": float(np.log10(iso[rig, mark.minute])),
            "xref": "x",
            "yref": "y",
            "xanchor": "left" if mark.side == "end" else "right",
            "xshift": 5 if mark.side == "end" else -5,
            "text": mark.shutter,
            "showarrow": False,
            "font": {"size": 11, "color": theme.muted},
        }
        for rig, named in rungs.items()
        for mark in named
        if _has_room(mark, minutes - 1)
    ]


def _has_room(mark: marks.RungMark, length: int) -> bool:
    """Return whether a ring's name would stay clear of the panel's edge."""
    room = mark.minute if mark.side == "start" else length - mark.minute
    return room >= _NAME_ROOM * length


def turn_back(
    drive: DrivePlan, theme: Theme, rigs: int
) -> tuple[list[Figure], list[Figure]]:
    """Return a rule at the minute to turn back, and its name."""
    at = drive.minute(drive.turn_back_utc)
    if not drive.can_turn_back:
        return [], []
    rule = {
        "type": "line",
        "xref": "x",
        "yref": "paper",
        "x0": at,
        "x1": at,
        "y0": ISO_PANEL[0],
        "y1": ISO_PANEL[1],
        "line": {"color": theme.ink, "width": 1.2, "dash": "6px,3px"},
    }
    name = {
        "x": at,
        "y": ISO_PANEL[0] + noise_bands.foot(rigs),
        "xref": "x",
        "yref": "paper",
        "xanchor": "right",
        "yanchor": "bottom",
        "text": "turn back",
        "bgcolor": faded(theme.surface, 0.7),
        "showarrow": False,
        "font": {"size": 12, "color": theme.ink},
    }
    return [rule], [name]


def panel_name(text: str, panel: tuple[float, float], theme: Theme) -> Figure:
    """Name a lower panel above its left corner."""
    return {
        "x": 0,
        "y": panel[1],
        "xref": "paper",
        "yref": "paper",
        "xanchor": "left",
        "yanchor": "bottom",
        "text": text,
        "showarrow": False,
        "font": {"size": 12, "color": theme.muted},
    }


def cursor(minute: int, theme: Theme) -> Figure:
    """Return the upright rule at the minute that is read off."""
    return {
        "type": "line",
        "name": "cursor",
        "xref": "x",
        "yref": "paper",
        "x0": minute,
        "x1": minute,
        "y0": 0,
        "y1": 1,
        "line": {"color": theme.ink, "width": 1, "dash": "2px,2px"},
    }
