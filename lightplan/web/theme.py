"""Colours for the chart; the page's own are in ``assets/lightplan.css``."""

from typing import NamedTuple


class Theme(NamedTuple):
    """Colours of one theme. ``light`` runs from dark to hard light."""

    surface: str
    ink: str
    muted: str
    line: str
    faint: str
    light: dict[str, str]
    rigs: tuple[str, ...]


PAPER = Theme(
    surface="#FFFDF8",
    ink="#20251F",
    muted="#5C6259",
    line="rgba(32,37,31,0.16)",
    faint="rgba(32,37,31,0.06)",
    light={
        "dark": "#2F3440",
        "twilight": "#7C88A6",
        "golden": "#E5AE45",
        "open": "#F3E3B5",
        "hard": "#FFFAF0",
    },
    rigs=("#0B6E69", "#7A2E5D", "#A3431F", "#2B5AA5", "#5F6B1E", "#444444"),
)

DUSK = Theme(
    surface="#1C2024",
    ink="#E9E4D8",
    muted="#A49E90",
    line="rgba(233,228,216,0.20)",
    faint="rgba(233,228,216,0.07)",
    light={
        "dark": "#0E1116",
        "twilight": "#3A4562",
        "golden": "#9A6F1F",
        "open": "#A39468",
        "hard": "#C9C1AA",
    },
    rigs=("#5FC4BA", "#E08FC0", "#EE9A76", "#8CB4F2", "#B9C56A", "#C8C4BA"),
)

THEMES = {"paper": PAPER, "dusk": DUSK}

# A rig keeps letter, colour, dash and mark everywhere.
DASHES = ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot")
SYMBOLS = ("circle", "square", "diamond", "triangle-up", "cross", "x")
