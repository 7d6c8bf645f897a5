"""Contrast and order of the colours, in the picture and in the style sheets."""

import re
from itertools import pairwise
from pathlib import Path

import pytest

from lightplan import colours as palette
from lightplan.export.pocket import page as pocket
from lightplan.trip.request import MAX_RIGS
from lightplan.web import sheet
from lightplan.web.figures import theme
from lightplan.web.figures.theme import THEMES
from lightplan.web.trip import figure as figures

# WCAG 2.2, success criteria 1.4.3 (text) and 1.4.11 (what is not text).
TEXT, GRAPHICS = 4.5, 3.0

Colour = tuple[float, float, float]


def parsed(text: str) -> tuple[Colour, float]:
    """A colour's red, green and blue, 0 to 255, and its opacity."""
    if match := re.fullmatch(
        r"#([0-9a-fA-F]{2})([0-9a-fA-F]{2})([0-9a-fA-F]{2})", text
    ):
        red, green, blue = (float(int(part, 16)) for part in match.groups())
        return (red, green, blue), 1.0
    match = re.fullmatch(r"rgba\((\d+),(\d+),(\d+),([\d.]+)\)", text)
    assert match, text
    red, green, blue, alpha = map(float, match.groups())
    return (red, green, blue), alpha


def over(top: str, ground: Colour) -> Colour:
    """Lay a colour over an opaque one."""
    colour, alpha = parsed(top)
    red, green, blue = (
        alpha * a + (1 - alpha) * b for a, b in zip(colour, ground, strict=True)
    )
    return red, green, blue


def luminance(colour: Colour) -> float:
    """WCAG 2.2, "relative luminance"."""
    linear = [
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
        for c in (value / 255 for value in colour)
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a: Colour, b: Colour) -> float:
    """WCAG 2.2, "contrast ratio": 1 to 21."""
    dark, light = sorted((luminance(a), luminance(b)))
    return (light + 0.05) / (dark + 0.05)


def hexed(text: str) -> Colour:
    return parsed(text)[0]


# WCAG 2.2: black on white has the largest ratio, 21; W3C's Understanding SC 1.4.3
# and many a checker give #777777 on white as 4.48, just short of the mark (from
# memory, not confirmed).
@pytest.mark.parametrize(("grey", "ratio"), [("#000000", 21.0), ("#777777", 4.48)])
def test_the_formula_gives_known_ratios(grey, ratio):
    assert contrast(hexed(grey), hexed("#FFFFFF")) == pytest.approx(ratio, abs=0.005)


# --------------------------------------------------------------- the picture


@pytest.fixture(params=THEMES)
def picture(request, trip):
    """Yield an evening with every kind of light and six rigs, in each theme."""
    of = trip(rigs=6)
    return figures.drive_figure(of, of.drives[1], THEMES[request.param])


@pytest.fixture
def surface(picture) -> Colour:
    return hexed(picture["layout"]["plot_bgcolor"])


def test_axis_texts_can_be_read(picture, surface):
    layout = picture["layout"]
    assert layout["paper_bgcolor"] == layout["plot_bgcolor"]
    assert contrast(hexed(layout["font"]["color"]), surface) >= TEXT


def test_every_name_in_the_picture_can_be_read_on_what_lies_behind_it(picture, surface):
    layout = picture["layout"]
    bands = [s["fillcolor"] for s in layout["shapes"] if s["type"] == "rect"]
    assert len(bands) >= 4  # hard, open, golden and twilight at least
    for name in layout["annotations"]:
        ink = hexed(name["font"]["color"])
        behind = [surface, *(over(band, surface) for band in bands)]
        if backing := name.get("bgcolor"):
            behind = [over(backing, ground) for ground in behind]
        if name["yref"] == "paper" and name["y"] < 0.4:
            behind = behind[:1]  # below the ISO panel there are no bands
        worst = min(contrast(ink, ground) for ground in behind)
        assert worst >= TEXT, (name["text"], round(worst, 2))


def test_every_line_stands_out_from_the_bands(picture, surface):
    layout = picture["layout"]
    bands = [s["fillcolor"] for s in layout["shapes"] if s["type"] == "rect"]
    drawn = [t for t in picture["data"] if t.get("line", {}).get("dash")]
    assert len(drawn) == 6
    worst = {
        line["name"]: min(
            contrast(hexed(line["line"]["color"]), over(band, surface))
            for band in bands
        )
        for line in drawn
    }
    assert {n: round(c, 2) for n, c in worst.items() if c < GRAPHICS} == {}


@pytest.mark.parametrize("of_theme", THEMES.values(), ids=THEMES)
def test_light_colours_run_from_dark_to_hard(of_theme):
    assert tuple(of_theme.light) == palette.WINDOWS
    found = [luminance(hexed(colour)) for colour in of_theme.light.values()]
    assert found == sorted(found)
    assert len(set(found)) == len(found)


# Machado, Oliveira & Fernandes (2009), "A physiologically-based model for simulation
# of color vision deficiency", severity 1.0, for linear red, green and blue; from
# memory, not confirmed. The last one sees luminance alone (WCAG 2.2's weights).
DEFICIENT = {
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
    "achromatopsia": ((0.2126, 0.7152, 0.0722),) * 3,
}
# Of neighbours' lightness, so that the edge between them is seen without hue; a
# judgement: well above the one or two hundredths that eyes tell apart side by side.
STEP = 1.15


def seen(colour: Colour, sight: str) -> float:
    """The luminance of a colour to a deficient sight."""
    linear = [
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
        for c in (value / 255 for value in colour)
    ]
    rows = [
        min(max(sum(m * c for m, c in zip(row, linear, strict=True)), 0.0), 1.0)
        for row in DEFICIENT[sight]
    ]
    return 0.2126 * rows[0] + 0.7152 * rows[1] + 0.0722 * rows[2]


@pytest.mark.parametrize("sight", DEFICIENT)
@pytest.mark.parametrize("of_theme", THEMES.values(), ids=THEMES)
def test_neighbouring_lights_are_told_apart_without_colour(of_theme, sight):
    found = [seen(hexed(colour), sight) for colour in of_theme.light.values()]
    for darker, lighter in pairwise(found):
        assert (lighter + 0.05) / (darker + 0.05) >= STEP
    # Front, side, rim and back light; top light has a region of its own.
    sides = [seen(hexed(colour), sight) for colour in of_theme.sides[:4]]
    for lighter, darker in pairwise(sides):
        assert (lighter + 0.05) / (darker + 0.05) >= STEP


def test_every_rig_has_a_dash_and_a_mark_of_its_own():
    for ways in (theme.DASHES, theme.SYMBOLS):
        assert len(set(ways)) == len(ways) == MAX_RIGS


# --------------------------------------------------------------- the style sheet


POCKET = Path(pocket.__file__).with_name("page.css")
WRITTEN = [*sorted((Path(sheet.__file__).parent / "styles").glob("*.css")), POCKET]


def variables(css: str, selector: str) -> dict[str, str]:
    """The colours that a sheet, as browsers get it, gives to its variables."""
    body = re.search(re.escape(selector) + r"\s*\{(.*?)\}", css, re.DOTALL)
    assert body, selector
    return dict(re.findall(r"--([\w-]+):\s*(#[0-9a-fA-F]{6});", body[1]))


@pytest.fixture(scope="module")
def sent(app, trip) -> dict[str, str]:
    """What browsers get: the pages' sheet, and the pocket plan's within its page."""
    plan = pocket.page(trip()).decode()
    return {
        "page": app.server.test_client().get(sheet.address()).text,
        "pocket": re.search("<style>(.*?)</style>", plan, re.DOTALL)[1],
    }


SHEETS = {"paper": palette.PAPER, "dusk": palette.DUSK}


@pytest.mark.parametrize(
    ("which", "selector", "colours"),
    [
        ("page", ":root", palette.PAPER),
        ("page", ':root[data-theme="dusk"]', palette.DUSK),
        ("pocket", ":root", palette.LAMP),
        ("pocket", ':root[data-theme="sun"]', palette.SUN),
    ],
)
def test_browsers_get_each_colour_before_any_rule(sent, which, selector, colours):
    css = sent[which]
    assert variables(css, selector) == colours
    assert css.index(selector) < css.index("box-sizing")


@pytest.mark.parametrize("file", WRITTEN, ids=lambda path: path.name)
def test_no_sheet_has_a_colour_of_its_own(file):
    # All but black, white and grey, which printed cards are in.
    written = set(
        re.findall(r"#[0-9a-fA-F]{3,8}\b(?=[^{}]*;)|rgba?\(", file.read_text())
    )
    assert written <= {"#000000", "#999999", "#ffffff"}


def test_sheets_use_every_colour_and_no_other(sent):
    for css, themes in (
        (sent["page"], (palette.PAPER, palette.DUSK)),
        (sent["pocket"], (palette.LAMP, palette.SUN)),
    ):
        named = {name for colours in themes for name in colours}
        assert named <= set(re.findall(r"var\(--([\w-]+)", css))
        without_another = set(re.findall(r"var\(--([\w-]+)\)", css))
        assert without_another <= set(re.findall(r"--([\w-]+):", css))


def test_every_sheet_has_its_place_in_the_cascade():
    assert sorted(sheet.ORDER) == [path.stem for path in WRITTEN[:-1]]


INKS = ("ink", "muted", "accent", "warn", *(f"rig-{x}" for x in "ABCDEF"))


def test_both_themes_of_the_style_sheet_name_the_same_colours():
    assert SHEETS["paper"].keys() == SHEETS["dusk"].keys()


@pytest.mark.parametrize("ground", ["ground", "surface", "chosen"])
@pytest.mark.parametrize("ink", INKS)
@pytest.mark.parametrize("sheet", SHEETS)
def test_text_of_the_page_can_be_read_on_every_ground(sheet, ink, ground):
    colours = SHEETS[sheet]
    assert contrast(hexed(colours[ink]), hexed(colours[ground])) >= TEXT


@pytest.mark.parametrize("sheet", SHEETS)
def test_text_on_the_accent_can_be_read(sheet):
    colours = SHEETS[sheet]
    assert contrast(hexed(colours["on-accent"]), hexed(colours["accent"])) >= TEXT


@pytest.mark.parametrize("ground", ["ground", "surface", "chosen"])
@pytest.mark.parametrize("sheet", SHEETS)
def test_edges_of_controls_can_be_seen(sheet, ground):
    colours = SHEETS[sheet]
    assert contrast(hexed(colours["edge"]), hexed(colours[ground])) >= GRAPHICS


@pytest.mark.parametrize("colours", [*SHEETS.values(), palette.SUN, palette.LAMP])
def test_the_rows_light_runs_from_dark_to_hard(colours):
    found = [luminance(hexed(colours[name])) for name in palette.WINDOWS]
    assert found == sorted(found)
    assert len(set(found)) == len(found)


@pytest.mark.parametrize("light", palette.WINDOWS)
@pytest.mark.parametrize("sheet", SHEETS)
def test_a_mark_can_be_seen_on_every_light(sheet, light):
    # A mark is a line of ink in a rim of surface: one of the two must stand out.
    colours = SHEETS[sheet]
    on = hexed(colours[light])
    seen = max(contrast(hexed(colours[name]), on) for name in ("ink", "surface"))
    assert seen >= GRAPHICS
