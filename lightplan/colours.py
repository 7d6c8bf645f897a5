"""The colours of pages, pictures and the pocket plan, each written once.

Their names are those of the style sheets' variables: ``PAPER["ink"]`` is
``var(--ink)``. ``web.figures.theme`` adds what only pictures use.
"""

from collections.abc import Mapping

Colours = Mapping[str, str]

# Light windows, in the order of the sun's altitude; rigs in that of their letters.
WINDOWS = ("dark", "twilight", "golden", "open", "hard")
RIGS = tuple(f"rig-{letter}" for letter in "ABCDEF")


def _windows(*colours: str) -> Colours:
    return dict(zip(WINDOWS, colours, strict=True))


def _rigs(*colours: str) -> Colours:
    return dict(zip(RIGS, colours, strict=True))


PAPER: Colours = {
    "ground": "#FAF7F0",
    "surface": "#FFFDF8",
    "ink": "#20251F",
    "muted": "#5C6259",
    "line": "#DDD6C6",
    "edge": "#837D6B",
    "accent": "#1F5F5B",
    "on-accent": "#FFFDF8",
    "chosen": "#EFE9DA",
    "warn": "#8A2D0C",
    **_windows("#2F3440", "#7C88A6", "#E5AE45", "#F3E3B5", "#FFFAF0"),
    **_rigs("#0B6E69", "#7A2E5D", "#A3431F", "#2B5AA5", "#5F6B1E", "#444444"),
}

DUSK: Colours = {
    "ground": "#14171A",
    "surface": "#1C2024",
    "ink": "#E9E4D8",
    "muted": "#A49E90",
    "line": "#363B40",
    "edge": "#7D8288",
    "accent": "#6FC2BA",
    "on-accent": "#14171A",
    "chosen": "#262B30",
    "warn": "#F0A184",
    **_windows("#0B0D11", "#3A4562", "#9A6F1F", "#A39468", "#C9C1AA"),
    **_rigs("#5FC4BA", "#E08FC0", "#EE9A76", "#8CB4F2", "#B9C56A", "#C8C4BA"),
}

# Paper for a phone in the sun: lighter ground, darker ink and edges.
SUN: Colours = {
    "ground": PAPER["surface"],
    "surface": "#FFFFFF",
    "ink": "#14170F",
    "muted": "#4C5249",
    "line": PAPER["line"],
    "edge": "#6D6A5C",
    "chosen": PAPER["accent"],
    "on-chosen": PAPER["on-accent"],
    **{name: PAPER[name] for name in (*WINDOWS, *RIGS)},
}

# For a phone at night: one dim hue, which spares night vision.
LAMP: Colours = {
    "ground": "#000000",
    "surface": "#0B0300",
    "ink": "#E0602A",
    "muted": "#C9552A",
    "line": "#4A1D0B",
    "edge": "#96401D",
    "chosen": "#E0602A",
    "on-chosen": "#000000",
    **_windows("#000000", "#240D04", "#4F1F0B", "#833515", "#AB481F"),
}


def variables(selector: str, scheme: str, colours: Colours) -> str:
    """Return the rule that defines colours as variables of a style sheet.

    Parameters
    ----------
    selector : str
        Where they apply: ``:root``, or that with the theme's attribute.
    scheme : {"light", "dark"}
        For what the browser itself draws: scroll bars, the clock of a time field.
    colours : Mapping
        Colours by the names of their variables, without the dashes.

    Returns
    -------
    str
        One rule of CSS on one line.
    """
    declared = "".join(f"--{name}:{colour};" for name, colour in colours.items())
    return f"{selector}{{color-scheme:{scheme};{declared}}}\n"
