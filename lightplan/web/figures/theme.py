"""Colours for the chart; the page's own are in ``assets/lightplan.css``."""

from typing import NamedTuple


class Theme(NamedTuple):
    """Colours of one theme.

    ``light`` runs from dark to hard light; ``usable`` from little ISO to the
    ceiling and ``over`` beyond it, in even steps of OKLab lightness, so that
    they read alike to every kind of colour vision. ``sides`` follow
    `spots.LIGHTS`: from front light to backlight ever darker, then top light.
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


PAPER = Theme(
    surface="#FFFDF8",
    ink="#20251F",
    muted="#5C6259",
    line="rgba(32,37,31,0.16)",
    faint="rgba(32,37,31,0.06)",
    edge="#20251F",
    rim="#FFFDF8",
    light={
        "dark": "#2F3440",
        "twilight": "#7C88A6",
        "golden": "#E5AE45",
        "open": "#F3E3B5",
        "hard": "#FFFAF0",
    },
    usable=(
        "#FCF9EA",
        "#EFE4C8",
        "#E3CEA7",
        "#D9B887",
        "#D0A167",
        "#C78947",
        "#BE7125",
    ),
    over=("#4A5874", "#3A465F", "#2B354A", "#1D2536", "#0F1624"),
    rigs=("#0B6E69", "#7A2E5D", "#A3431F", "#2B5AA5", "#5F6B1E", "#444444"),
    sides=("#F5E8C4", "#E6B862", "#C77A30", "#6E2B1E", "#D3DAE0"),
)

DUSK = Theme(
    surface="#1C2024",
    ink="#E9E4D8",
    muted="#A49E90",
    line="rgba(233,228,216,0.20)",
    faint="rgba(233,228,216,0.07)",
    edge="#14171A",
    rim="#D9D3C4",
    light={
        "dark": "#0B0D11",
        "twilight": "#3A4562",
        "golden": "#9A6F1F",
        "open": "#A39468",
        "hard": "#C9C1AA",
    },
    usable=(
        "#FCF9EA",
        "#EFE4C8",
        "#E3CEA7",
        "#D9B887",
        "#D0A167",
        "#C78947",
        "#BE7125",
    ),
    over=("#4A5874", "#3A465F", "#2B354A", "#1D2536", "#0F1624"),
    rigs=("#5FC4BA", "#E08FC0", "#EE9A76", "#8CB4F2", "#B9C56A", "#C8C4BA"),
    sides=("#DCCFA6", "#C79A48", "#BA7230", "#6B2A1F", "#98A1AA"),
)

THEMES = {"paper": PAPER, "dusk": DUSK}

# A rig keeps letter, colour, dash and mark everywhere.
DASHES = ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot")
SYMBOLS = ("circle", "square", "diamond", "triangle-up", "cross", "x")
