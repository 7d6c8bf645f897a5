"""The strip that shows the colour of the light as colour."""

import itertools
import re
from base64 import b64decode
from dataclasses import replace

import numpy as np
import pytest

from lightplan.light import chromaticity, daylight
from lightplan.web.figures.theme import PAPER
from lightplan.web.trip import annotations, colour_strip
from lightplan.web.trip.figure import drive_figure

SIDE = 1


@pytest.fixture(scope="module")
def evening(trip):
    of = trip("Mopane Loop", "2027-08-12")
    return of, of.drives[1]


def stops(of, drive):
    """Share of the strip's width and colour of each stop of its gradient."""
    (image,) = colour_strip.images(of, drive)
    svg = b64decode(image["source"].split(",")[1]).decode()
    found = re.findall(r'offset="([\d.]+)" stop-color="rgb\(([\d,]+)\)"', svg)
    return image, [(float(at), [int(c) for c in rgb.split(",")]) for at, rgb in found]


def test_it_has_the_lights_own_colours_over_its_minutes(evening):
    of, drive = evening
    image, found = stops(of, drive)
    assert (image["x"], image["x"] + image["sizex"]) == (0, len(drive.utc) - 1)
    assert len(found) > 40
    for at, rgb in found:
        minute = round(at * image["sizex"])
        xyz = daylight.subject_xyz(
            drive.apparent_deg[minute], 90.0, drive.kind, of.request.cover
        )
        assert rgb == pytest.approx(chromaticity.srgb(xyz), abs=0.51)


def test_its_warm_minutes_are_orange_and_its_last_ones_blue(evening):
    of, drive = evening
    _, found = stops(of, drive)
    warmest = int(np.nanargmin(drive.kelvin[SIDE]))
    red, _, blue = min(found, key=lambda s: abs(s[0] * 180 - warmest))[1]
    assert red > blue + 60
    red, _, blue = found[-1][1]
    assert blue > red + 60


@pytest.mark.parametrize("session", [0, 1], ids=["morning", "evening"])
def test_words_and_kelvins_stand_beside_it_and_apart_on_a_phone(session, evening):
    of, _ = evening
    names = colour_strip.names(of, of.drives[session], PAPER)
    assert names[0]["text"] == "warm, 4,250 K"
    # 256 px of picture and 7 px a letter, as on a phone of 390 px.
    spans = []
    for name in names:
        wide = len(name["text"]) * 7 / 256
        left = {"left": 0, "center": wide / 2, "right": wide}[name["xanchor"]]
        spans.append((name["x"] - left, name["x"] - left + wide))
    spans.sort()
    assert all(a >= 0 and b <= 1.001 for a, b in spans)
    assert all(b <= c for (_, b), (c, _) in itertools.pairwise(spans))


def test_it_lies_between_the_panels(evening):
    foot, top = colour_strip.STRIP
    assert annotations.ALTITUDE_PANEL[1] < foot < top < annotations.ISO_PANEL[0]
    assert drive_figure(*evening, PAPER)["layout"]["images"]


def test_in_the_dark_there_is_no_strip_and_no_word(evening):
    of, drive = evening
    dark = replace(
        drive,
        apparent_deg=np.full_like(drive.apparent_deg, -15.0),
        kelvin=np.full_like(drive.kelvin, np.nan),
    )
    assert colour_strip.images(of, dark) == []
    assert colour_strip.names(of, dark, PAPER) == []
