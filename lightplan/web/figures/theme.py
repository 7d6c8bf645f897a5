"""Colours of the pictures: those of the page, and what only pictures use."""

from typing import NamedTuple

from lightplan import colours
from lightplan.colours import Colours


class Theme(NamedTuple):
    """Colours of one theme.

    ``light`` runs from dark to hard light; ``usable`` from low ISO to the ceiling and
    ``over`` beyond it, in even steps of OKLab lightness, so that every kind of colour
    vision sees the same steps. ``sides`` follow `spots.LIGHTS`: ever darker from front
    light to backlight, then top light.
    """

    surface: str
    ink: str
    muted: str
    line: str
    faint: str
    edge: str
    rim: str
    light: dict[str, str]
    usable: tuple[str, ...]
    over: tuple[str, ...]
    rigs: tuple[str, ...]
    sides: tuple[str, ...]


def faded(colour: str, alpha: float) -> str:
    """Return a ``#RRGGBB`` colour as ``rgba`` with the given opacity."""
    red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return f"rgba({red},{green},{blue},{alpha})"


# The same in both themes: it is the same ISO, and its key is beside it.
_USABLE = (
    "#FCF9EA",
    "#EFE4C8",
    "#E3CEA7",
    "#D9B887",
    "#D0A167",
    "#C78947",
    "#BE7125",
)
_OVER = ("#4A5874", "#3A465F", "#2B354A", "#1D2536", "#0F1624")


def _theme(
    page: Colours,
    line: float,
    faint: float,
    edge: str,
    rim: str,
    sides: tuple[str, ...],
) -> Theme:
    """Return a theme in a page's colours; lines are its ink, faded."""
    return Theme(
        surface=page["surface"],
        ink=page["ink"],
        muted=page["muted"],
        line=faded(page["ink"], line),
        faint=faded(page["ink"], faint),
        edge=edge,
        rim=rim,
        light={name: page[name] for name in colours.WINDOWS},
        usable=_USABLE,
        over=_OVER,
        rigs=tuple(page[name] for name in colours.RIGS),
        sides=sides,
    )


PAPER = _theme(
    colours.PAPER,
    line=0.16,
    faint=0.06,
    edge=colours.PAPER["ink"],
    rim=colours.PAPER["surface"],
    sides=("#F5E8C4", "#E6B862", "#C77A30", "#6E2B1E", "#D3DAE0"),
)

DUSK = _theme(
    colours.DUSK,
    line=0.2,
    faint=0.07,
    edge=colours.DUSK["ground"],
    rim="#D9D3C4",
    sides=("#DCCFA6", "#C79A48", "#BA7230", "#6B2A1F", "#98A1AA"),
)

THEMES = {"paper": PAPER, "dusk": DUSK}

# A rig keeps letter, colour, dash and mark everywhere.
DASHES = ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot")
SYMBOLS = ("circle", "square", "diamond", "triangle-up", "cross", "x")
