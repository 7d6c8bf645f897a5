"""The page of where to stop, without a browser: sentence, drawing and tables."""

import dataclasses
import datetime as dt
import json
import math
import re

import numpy as np
import pytest
import wild

from lightplan.choices import state, table
from lightplan.choices import stop as stop_fields
from lightplan.choices.raw import OWN
from lightplan.light import backlight
from lightplan.stop import answer, rim, stop
from lightplan.stop import words as stop_words
from lightplan.trip import plan, words
from lightplan.web import ids
from lightplan.web.figures.labels import Box
from lightplan.web.figures.theme import DUSK, PAPER
from lightplan.web.stop import ground as stop_ground
from lightplan.web.stop import page as stop_page
from lightplan.web.stop import tables as stop_tables
from lightplan.web.stop.beside import UNITS_PX
from lightplan.web.stop.figure import EDGE, stop_figure

DAY = {"from": "2027-08-12", "to": "2027-08-12"}
EVENING, MORNING = "2027-08-12-evening", "2027-08-12-morning"
LATE = 110  # 17:20: the sun 8.0° high at 287.6°, by SPA
# WCAG 2.2, 1.4.3: text against its ground.
CONTRAST = 4.5
# A letter of the wide font that tests and phones without a better one show is about
# 0.58 of its height; bold ones are a little wider.
CHAR_PX, LINE_PX = 6.4, 13.0


@pytest.fixture
def shown(usual, catalog):
    """Return what the page shows of one minute of an evening."""

    def minute(changes=None, at=LATE, drive=EVENING, theme="paper"):
        raw = usual({**DAY, **(changes or {})}, drive=drive)
        return stop_page.minute(raw, catalog, at, theme)

    return minute


@pytest.fixture
def computed(usual, catalog):
    """Return plan, rim and stop of the same minute."""

    def values(changes=None, at=LATE, drive=EVENING):
        raw = usual({**DAY, **(changes or {})}, drive=drive)
        of = plan.make(state.read(raw, catalog))
        aim = table.AIM.of(raw, catalog)
        found = rim.make(of, of.drive(drive), aim)
        return of, found, stop.stop_at(of, found, at, table.DISTANCE.of(raw, catalog))

    return values


# ------------------------------------------------------------- the sentence


def test_the_sentence_says_where_to_stop_and_which_way_to_look(
    shown, computed, text_of
):
    _, _, at = computed()
    said = text_of(shown()["answer"])
    assert said.startswith("Rim light at 17:20, Thu 12 Aug, evening. The rim works")
    assert "The sun stands at 288° WNW" in said
    for look in at.looks:
        if look.sector.key in ("rim", "back"):
            assert stop_words.range_text(look) in said
            stand = backlight.side_name(backlight.stand_deg(look.middle_deg))
            towards = backlight.side_name(look.middle_deg)
            assert f"and look {towards} ({stop_words.range_text(look)})" in said
            assert f"{stand} of " in said
    assert (
        "For rim light stop east-north-east of the animal, 30 m off, and look" in said
    )


def test_the_sentence_gives_the_windows_times_and_its_spread(shown, computed, text_of):
    of, found, _ = computed()
    said = text_of(shown()["answer"])
    (window,) = found.windows
    clock = of.clock
    last = window.last
    early, late = clock(last.earliest_utc), clock(last.latest_utc)
    spread = f"to about {clock(last.utc)} (earliest {early}, latest {late})"
    # The start is where the sun comes down to 15°, which no haze moves.
    assert f"from {clock(window.first.utc)} {spread}" in said


def test_the_sentence_gives_every_rigs_iso_for_face_and_rim(shown, computed, text_of):
    of, _, at = computed()
    said = text_of(shown()["answer"])
    for choice, rig in zip(of.request.rigs, at.rigs, strict=True):
        assert choice.label in said
        face, edge = map(stop_words.iso_text, (rig.face_iso, rig.rim_iso))
        assert f"{choice.label} needs {face} for the face, {edge} for the rim." in said


def test_another_distance_is_said(shown, text_of):
    assert "45 m off" in text_of(shown({"distance": "45"})["answer"])


def test_an_aim_is_told_with_its_light_and_the_side_of_the_sun(shown, text_of):
    said = text_of(shown({"aim": "250"})["answer"])
    assert "Looking along your aim, 250° WSW, gives rim light" in said
    assert "38° to the right" in said  # the sun at 287.6°
    assert "to the left" in text_of(shown({"aim": "330"})["answer"])


def test_after_sunset_the_sentence_says_why_there_is_no_rim(shown, text_of):
    said = text_of(shown(at=150)["answer"])
    assert "the sun is below the horizon" in said
    assert re.search(r" needs ISO \d+ for the face", said)
    assert "for the rim" not in said


def test_a_day_without_a_drive_says_so(shown, text_of):
    days = {"from": "2027-10-12", "to": "2027-10-12"}
    found = shown({"place": "Two Rivers Plain", **days}, drive="")
    assert found["answer"] == words.NO_DRIVE


@pytest.mark.parametrize(
    ("iso", "text"),
    [
        (49, "ISO 50"),
        (39, "below ISO 50"),
        (3100, "ISO 3200"),
        (2e5, "over ISO 102400"),
    ],
)
def test_an_iso_beyond_the_scale_is_said_to_be(iso, text):
    assert stop_words.iso_text(iso) == text


@pytest.mark.parametrize(
    ("skies", "told"),
    [
        (f"{EVENING}:overcast", True),
        (f"{MORNING}:overcast", False),
        (f"{EVENING}:clear", False),  # as the trip's
    ],
)
def test_a_drives_own_sky_is_named(skies, told, shown, text_of):
    said = text_of(shown({"skies": skies})["notes"])
    sentence = "Overcast on this drive, as set on the trip’s page."
    assert (sentence in said) == told
    assert ("as set on the trip" in said) == told


# ------------------------------------------------------------- the sun


@pytest.mark.parametrize(
    ("turn_deg", "said"),
    [
        (0.4, "straight ahead"),
        (-0.6, "1° to the right"),
        (90, "90° to the left"),
        (179.6, "straight behind you"),
    ],
)
def test_the_sun_is_told_from_the_aim(turn_deg, said, computed):
    _, _, at = computed()
    aimed = dataclasses.replace(at, look_deg=(at.azimuth_deg + turn_deg) % 360)
    assert stop_words.sun_side(aimed) == said


def test_at_the_south_pole_every_way_is_north(computed):
    # And its meridians are told by the longitude that was given.
    of, found, at = computed(
        {
            "place": OWN,
            "lat": "-90",
            "lon": "31.8",
            "zone": "Africa/Lusaka",
            "from": "2027-12-12",
            "to": "2027-12-12",
        },
        at=0,
        drive="2027-12-12-evening",
    )
    at = dataclasses.replace(at, trouble="pole")
    (note,) = stop_words.notes(of, found, at)
    assert note == (
        "At the pole every direction is north: bearings are counted so that 0° follows the "
        "meridian of 31.8°."
    )


def test_a_path_all_the_way_round_is_said_to_be(computed):
    _, found, _ = computed()
    round_about = np.linspace(10, 371, len(found.drive.utc)) % 360
    drive = dataclasses.replace(found.drive, azimuth_deg=round_about)
    said = stop_words.path_text(dataclasses.replace(found, drive=drive))
    assert said == "Over the drive the sun goes all the way round."


def test_a_sun_without_a_bearing_leaves_the_animal_alone_in_the_picture(computed):
    _, found, at = computed()
    said = stop_words.picture(found, dataclasses.replace(at, looks=()))
    assert said.startswith("Seen from above, north up, the animal in the middle. Over")


def test_no_shadow_is_a_dash():
    assert stop_words.shadow_text(math.inf) == "–"


# ------------------------------------------------------------- notes


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"sky": "haze"}, "Dusty air weakens the sun"),
        ({"air": "smoke"}, "Smoke weakens the sun: the edge is"),
        ({"sky": "broken"}, "a cloud in front of the sun ends the rim at once"),
        ({"cover": "shade"}, "Under open shade only about 5 % of the direct sun"),
        (
            {"skyline": "Two Rivers Plain: Salt lick"},
            "Salt lick is not at Mopane Loop: the horizon is taken as level.",
        ),
    ],
)
def test_what_weakens_the_beam_is_noted(changes, words, shown, text_of):
    assert words in text_of(shown(changes)["notes"])


def test_a_clear_low_sun_over_open_ground_leaves_nothing_to_note(shown, text_of):
    assert text_of(shown({"sky": "clear"})["notes"]) == ""


def test_a_skyline_of_another_place_changes_nothing(shown, text_of):
    elsewhere = shown({"skyline": "Two Rivers Plain: Salt lick"}, at=135)
    assert text_of(elsewhere["answer"]) == text_of(shown(at=135)["answer"])
    assert elsewhere["figure"] == shown(at=135)["figure"]


def test_a_sun_in_the_frame_is_warned_of_where_the_sentence_is(shown, text_of):
    said = text_of(shown({"aim": "286"}, at=140)["notes"])
    assert "the sun is in the frame of A, B and C: keep your eye away from" in said
    assert "in the frame" not in text_of(shown({"aim": "250"}, at=140)["notes"])


def test_a_skyline_of_the_place_shortens_the_window(shown, text_of):
    level = text_of(shown()["answer"])
    walled = shown({"skyline": "Mopane Loop: Oxbow hide"})
    assert text_of(walled["answer"]) != level
    assert "skyline of Oxbow hide" in walled["text"]


# ------------------------------------------------------------- the drawing


def annotations(figure):
    return figure["layout"]["annotations"]


def names(figure):
    return [note["text"] for note in annotations(figure)]


def test_the_drawing_names_the_sectors_the_compass_and_the_sun(shown):
    found = " ".join(names(shown()["figure"]))
    for word in ("rim light", "backlight", "side light", "front light", "sun 17:20"):
        assert word in found
    letters = {n["text"]: (n["x"], n["y"]) for n in annotations(shown()["figure"])}
    assert letters["N"][1] > 1
    assert abs(letters["N"][0]) < 1e-6
    assert letters["E"][0] > 1


def bearing_of(x, y):
    return math.degrees(math.atan2(x, y)) % 360


def test_the_sun_is_drawn_at_its_bearing(shown, computed):
    _, _, at = computed()
    sun = shown()["figure"]["data"][-1]
    found = bearing_of(sun["x"][0], sun["y"][0])
    assert found == pytest.approx(at.azimuth_deg, abs=0.1)


def test_the_vehicle_is_drawn_on_the_side_opposite_to_its_look(shown):
    (line,) = (
        s
        for s in shown({"aim": "250"})["figure"]["layout"]["shapes"]
        if s["type"] == "line" and s["line"]["dash"] != "solid"
    )
    assert bearing_of(line["x0"], line["y0"]) == pytest.approx(70, abs=0.1)


def test_a_sectors_name_stands_where_the_vehicle_would(shown, computed):
    _, _, at = computed()
    back = next(n for n in annotations(shown()["figure"]) if "backlight" in n["text"])
    away = backlight.stand_deg(at.azimuth_deg)
    assert bearing_of(back["x"], back["y"]) == pytest.approx(away, abs=0.1)


def test_minute_and_aim_change_the_drawing(shown):
    first = json.dumps(shown()["figure"])
    assert json.dumps(shown(at=LATE + 10)["figure"]) != first
    assert json.dumps(shown({"aim": "300"})["figure"]) != first


# A unit of the axes in the narrowest picture (a phone 390 px wide) and the widest.
NARROW_PX, WIDE_PX = 351 / (2 * EDGE), 620 / (2 * EDGE)


def boxes(figure, unit_px):
    """Where each text lies in a picture of some size, in units of the axes."""
    found = []
    for note in annotations(figure):
        plain = note["text"].replace("<b>", "").replace("</b>", "")
        lines = plain.split("<br>")
        px = note["font"]["size"] / 12
        width = max(map(len, lines)) * CHAR_PX * px / unit_px
        height = len(lines) * LINE_PX * px / unit_px
        x = note["x"] + note.get("xshift", 0) / unit_px
        y = note["y"] + note.get("yshift", 0) / unit_px
        x -= {"left": 0, "right": width}.get(note.get("xanchor"), width / 2)
        y -= {"bottom": 0, "top": height}.get(note.get("yanchor"), height / 2)
        found.append((plain, Box(x, y, x + width, y + height)))
    return found


TRIPS = [
    ("Mopane Loop", "2027-08-12", "morning"),
    ("Mopane Loop", "2027-12-12", "evening"),
    ("Two Rivers Plain", "2027-03-20", "evening"),
    ("Heron Marsh", "2027-06-23", "morning"),
    ("Tussock Steppe", "2027-01-10", "evening"),
    ("Ptarmigan Fjord", "2027-06-12", "evening"),
]


@pytest.fixture(
    scope="module",
    params=[(*of, aim) for of in TRIPS for aim in (None, 0.0, 200.0)],
    ids=lambda case: "-".join(map(str, case)),
)
def pictures(request, trip):
    """The drawing at minutes all through a drive: minute, answer, figure."""
    place, date, session, aim = request.param
    of = trip(place, date)
    drive = of.drive(f"{date}-{session}")
    found = rim.make(of, drive, aim)
    answers = [
        (minute, stop.stop_at(of, found, minute, 30.0))
        for minute in wild.some(range(0, len(drive.utc), 10))
    ]
    return [(minute, at, stop_figure(of, found, at, PAPER)) for minute, at in answers]


def test_no_text_lies_on_another_or_leaves_the_picture(pictures):
    for minute, _, figure in pictures:
        for unit_px in np.linspace(NARROW_PX, WIDE_PX, 7):
            texts = boxes(figure, unit_px)
            for i, (name, box) in enumerate(texts):
                assert max(map(abs, box)) <= EDGE, name
                for other, beside in texts[:i]:
                    assert not box.meets(beside), (minute, name, other, unit_px)


def test_the_sun_is_named_wherever_it_is_drawn(pictures):
    for minute, at, figure in pictures:
        named = [name for name in names(figure) if "sun" in name]
        assert bool(named) == (at.apparent_deg >= -6.0), minute


def test_the_sizes_that_texts_are_placed_for_span_those_of_the_picture():
    assert UNITS_PX[0] <= NARROW_PX + 0.5
    assert UNITS_PX[-1] >= WIDE_PX - 0.5


def test_what_lies_behind_a_text_does_not_show_through(shown):
    for note in annotations(shown()["figure"]):
        if "sun" in note["text"] or ":" in note["text"]:
            assert note["bgcolor"] == PAPER.surface


def luminance(colour):
    """Relative luminance, WCAG 2.2."""
    parts = [value / 255 for value in colour]
    linear = [
        v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts
    ]
    return float(np.dot(linear, (0.2126, 0.7152, 0.0722)))


def rgb(colour):
    return [int(colour[i : i + 2], 16) for i in (1, 3, 5)]


@pytest.mark.parametrize("theme", [PAPER, DUSK], ids=["paper", "dusk"])
def test_names_of_sectors_can_be_read_on_their_ground(theme, computed):
    of, found, at = computed()
    shapes = stop_figure(of, found, at, theme)["layout"]["shapes"]
    fills = [
        s["fillcolor"] for s in shapes if str(s.get("fillcolor")).startswith("rgba")
    ]
    assert len(fills) == 6
    for fill in fills:
        *colour, alpha = map(float, fill[5:-1].split(","))
        ground = [
            alpha * c + (1 - alpha) * s
            for c, s in zip(colour, rgb(theme.surface), strict=True)
        ]
        dark, light = sorted((luminance(ground), luminance(rgb(theme.ink))))
        assert (light + 0.05) / (dark + 0.05) >= CONTRAST


def test_a_shadow_is_drawn_only_while_the_sun_shows(computed):
    assert stop_ground.shadow_falls(computed()[2])
    assert not stop_ground.shadow_falls(computed(at=150)[2])
    assert not stop_ground.shadow_falls(computed({"sky": "overcast"})[2])


def test_under_full_cloud_nothing_throws_a_shadow(computed):
    of, found, at = computed({"sky": "overcast"})
    assert at.shadow_per_m == np.inf
    assert not any("casts" in line for _, line in stop_tables.readings(of, found))
    assert any("casts" in line for _, line in stop_tables.readings(*computed()[:2]))


def test_a_sun_under_ones_feet_is_down_and_not_overhead(gated, trip):
    # On 4 November it stands 15° south of the equator (almanac), so at local midnight
    # straight below 15° north.
    of = trip(gated("23:00", "25:00", "night", latitude_deg=15.4), "2027-11-04")
    found = rim.make(of, of.drives[0])
    lowest = int(found.drive.apparent_deg.argmin())
    assert found.drive.apparent_deg[lowest] < -stop.ZENITH_DEG
    assert stop.stop_at(of, found, lowest, 30.0).trouble == "down"


def test_a_sun_overhead_leaves_the_animal_alone_and_says_why(
    gated, trip, walk, text_of
):
    # On 12 August the sun stands 15° north of the equator (almanac).
    of = trip(gated("11:00", "13:00", latitude_deg=14.9))
    found = rim.make(of, of.drives[0])
    at = stop.stop_at(of, found, int(found.drive.apparent_deg.argmax()), 30.0)
    assert at.trouble == "zenith"
    texts = names(stop_figure(of, found, at, PAPER))
    assert "animal" in texts
    assert not any("light" in text for text in texts)
    said = "".join(part.text for part in answer.answer(of, found, at))
    assert "the sun stands overhead and has no bearing" in said
    rows = rows_of(stop_tables.rig_table(of, at), walk, text_of)
    assert {row[4] for row in rows[1:]} == {"–"}
    assert stop_tables.sector_table(at, None) == []


# ------------------------------------------------------------- tables


def rows_of(table, walk, text_of):
    found = [c for c in walk(table) if type(c).__name__ == "Tr"]
    return [[text_of(cell) for cell in row.children] for row in found]


def test_every_kind_of_light_has_a_row_with_its_bearings(shown, walk, text_of):
    rows = rows_of(shown()["tables"], walk, text_of)
    lights = [row[0] for row in rows[1:7]]
    assert lights == [
        "backlight",
        *["rim light"] * 2,
        *["side light"] * 2,
        "front light",
    ]
    assert rows[1][1:] == ["268–308°", "east-south-east of it", "9 m south, 29 m east"]


def test_a_declination_adds_bearings_by_the_compass(shown, walk, text_of):
    rows = rows_of(shown({"declination": "-3"})["tables"], walk, text_of)
    assert rows[0][2] == "By the compass (3° W)"
    assert rows[1][1:3] == ["268–308°", "271–311°"]
    plain = rows_of(shown()["tables"], walk, text_of)
    assert "By the compass" not in " ".join(plain[0])


@pytest.mark.parametrize(
    ("typed", "said"), [("-3", "(3° W)"), ("12.5", "(12.5° E)"), ("0", "(0°)")]
)
def test_the_compass_column_tells_the_declination(typed, said, shown, walk, text_of):
    rows = rows_of(shown({"declination": typed})["tables"], walk, text_of)
    assert rows[0][2] == f"By the compass {said}"


def test_beside_bearings_by_the_compass_the_sentences_are_told_true(shown, text_of):
    both = {"declination": "-3", "aim": "250"}
    said = text_of(shown(both)["answer"])
    assert "(268–308° true)" in said
    assert "250° WSW true" in said
    assert "true" not in text_of(shown({"aim": "250"})["answer"])


def test_every_rig_has_a_row_with_three_isos_and_the_suns_place(
    shown, computed, walk, text_of
):
    _, _, at = computed()
    rows = rows_of(shown()["tables"], walk, text_of)[8:]
    assert len(rows) == 3
    for row, rig in zip(rows, at.rigs, strict=True):
        for cell, iso in zip(
            row[1:4], (rig.face_iso, rig.rim_iso, rig.silhouette_iso), strict=True
        ):
            assert cell == stop_words.iso_text(iso)
        assert row[4] == f"{rig.outside_deg:.0f}° outside, well clear"
        assert row[5] == "in the sun"


def test_an_iso_above_its_rigs_ceiling_is_struck_through(
    shown, computed, classed, text_of
):
    _, _, at = computed(at=140)
    # At 17:50 A wants more for the face than its body's ceiling of 6400.
    assert at.rigs[0].face_iso > 6400
    struck = [text_of(cell) for cell in classed(shown(at=140)["tables"], "over")]
    assert stop_words.iso_text(at.rigs[0].face_iso) in struck
    early = shown(at=60)["tables"]  # all three are well within theirs
    assert classed(early, "over") == []


def test_a_sun_that_does_not_show_is_not_told_against_the_frame(shown, walk, text_of):
    down = rows_of(shown(at=150)["tables"], walk, text_of)
    assert down[8][4:6] == ["sun is down", "in shade"]
    hide = {"skyline": "Mopane Loop: Oxbow hide"}
    hidden = rows_of(shown(hide, at=120)["tables"], walk, text_of)
    assert hidden[8][4:6] == ["behind the skyline", "in shade"]


def test_an_aim_at_the_sun_says_it_is_in_the_frame(shown, walk, text_of):
    # 17:50: the sun a degree high at 286°, and the frame of 600 mm 2.3° high.
    rows = rows_of(shown({"aim": "286"}, at=140)["tables"], walk, text_of)
    assert rows[8][4] == "inside the frame: use the screen"


@pytest.fixture
def by_time(usual, catalog, walk, text_of):
    """Rows of the table by time, by their first cell."""

    def rows(changes=None, drive=EVENING):
        raw = usual({**DAY, **(changes or {})}, drive=drive)
        times = stop_page.drive(raw, catalog, None, 0)["times"]
        return {row[0]: row for row in rows_of(times, walk, text_of)}

    return rows


def test_the_table_by_time_says_why_the_rim_does_not_work(by_time):
    rim_of = {time: row[1] for time, row in by_time().items()}
    assert rim_of["15:30–16:40"] == "sun too high"
    assert rim_of["17:00"] == "works"
    assert rim_of["17:50"] == "too little sun"
    assert rim_of["18:00–18:30"] == "sun is down"


def test_a_run_without_a_rim_is_one_row_with_the_suns_range(by_time, computed):
    rows = by_time()
    drive = computed()[1].drive
    high = drive.apparent_deg[:71]
    assert rows["15:30–16:40"][2].endswith(f"{high.min():.1f}–{high.max():.1f}° high")
    down = rows["18:00–18:30"][2]
    assert down.endswith(f"–{-drive.apparent_deg.min():.1f}° below the horizon")
    assert not {"15:40", "16:00", "16:40", "18:10"} & rows.keys()
    assert {"16:50", "17:00", "17:20", "17:30", "17:40"} <= rows.keys()


def test_behind_the_skyline_nothing_throws_a_shadow(by_time, usual, catalog):
    rows = by_time({"skyline": "Mopane Loop: Oxbow hide"})
    hidden = next(row for row in rows.values() if row[1] == "behind the skyline")
    assert hidden[0].endswith("–17:50")
    assert rows["17:20"][4] == "7.1 m"  # 1 ÷ tan 8.0°
    changes = {**DAY, "skyline": "Mopane Loop: Oxbow hide"}
    found = stop_page.drive(usual(changes, drive=EVENING), catalog, None, 0)
    assert "shadow" not in found["readings"]["lines"][120][1]


def test_the_light_along_the_aim_is_told_by_time_only_where_there_is_one(by_time):
    assert by_time()["Time"][-1] == "Edge over shadow side"
    rows = by_time({"aim": "250"})
    assert rows["Time"][-1] == "Along the aim"
    assert rows["17:00"][-1] == "rim light"


def test_an_aim_away_from_the_sun_is_told_in_the_table_by_time(by_time):
    words = {row[1] for row in by_time({"aim": "105"}).values()}
    assert "sun not behind the animal" in words
    assert "works" not in words


# ------------------------------------------------------------- drive and minute


def test_the_minute_stays_while_the_drive_does(usual, catalog):
    raw = usual(DAY, drive=EVENING)
    first = stop_page.drive(raw, catalog, None, 0)
    again = stop_page.drive(raw, catalog, first["readings"], 33)
    assert again["minute"] == 33
    other = stop_page.drive(usual(DAY, drive=MORNING), catalog, first["readings"], 33)
    assert other["minute"] != 33


def test_the_first_minute_shown_is_one_in_which_the_rim_works(usual, catalog, computed):
    raw = usual(DAY, drive=EVENING)
    minute = stop_page.drive(raw, catalog, None, 0)["minute"]
    assert computed()[1].works[0, minute]


def test_the_first_minute_is_the_middle_of_the_rims_spell_and_says_so(usual, catalog):
    found = stop_page.drive(usual(DAY, drive=EVENING), catalog, None, 0)
    assert found["why"] == "Shown first: 17:14, the middle of the spell of rim light."
    lines = found["readings"]["lines"]
    works = [time for time, rest in lines if "rim: works" in rest]
    assert works[(len(works) - 1) // 2] == lines[found["minute"]][0] == "17:14"


def test_without_beam_the_drives_start_is_shown_first_and_it_says_so(usual, catalog):
    raw = usual({**DAY, "sky": "overcast"}, drive=EVENING)
    found = stop_page.drive(raw, catalog, None, 0)
    assert (found["minute"], found["why"]) == (
        0,
        "Shown first: 15:30, the start of the drive.",
    )


def test_where_the_rim_only_may_work_the_first_minute_has_a_low_sun(usual, catalog):
    # At noon the edge stands out more, but from above: 15° is the highest for a rim.
    raw = usual({**DAY, "sky": "broken"}, drive=EVENING)
    found = stop_page.drive(raw, catalog, None, 0)
    time, line = found["readings"]["lines"][found["minute"]]
    assert "rim: perhaps" in line
    assert found["why"] == (
        f"Shown first: {time}, where the edge stands out most with a low sun."
    )


def test_a_links_minute_is_shown_and_needs_no_reason(usual, catalog):
    found = stop_page.drive(
        usual({**DAY, "at": "15:57"}, drive=EVENING), catalog, None, 0
    )
    assert (found["minute"], found["why"]) == (27, "")


def test_a_link_that_moved_to_another_drive_shows_that_drives_own_minute(
    usual, catalog
):
    moved = usual({**DAY, "at": "05:57"}, drive=EVENING)
    found = stop_page.drive(moved, catalog, None, 0)
    own = stop_page.drive(usual(DAY, drive=EVENING), catalog, None, 0)
    assert (found["minute"], found["why"]) == (own["minute"], own["why"])


def test_a_links_minute_does_not_follow_to_another_drive(usual, catalog):
    evening = stop_page.drive(usual(DAY, drive=EVENING), catalog, None, 0)
    raw = usual({**DAY, "at": "06:10"}, drive=MORNING)
    found = stop_page.drive(raw, catalog, evening["readings"], 33)
    assert found["why"].endswith("the middle of the spell of rim light.")


@pytest.mark.parametrize("text", ["25:00", "5:57", "17.30", "minute", "17:60"])
def test_a_minute_that_is_no_time_is_replaced_with_a_sentence(text, usual, catalog):
    now = dt.datetime(2027, 8, 1, tzinfo=dt.UTC)
    raw, said = state.mended(usual({"at": text}), catalog, now)
    assert raw["at"] == ""
    assert said == (f"minute must be a time like 05:57, got '{text}'",)


def test_the_slider_is_marked_with_the_gates_hours(usual, catalog, text_of):
    found = stop_page.drive(usual(DAY, drive=EVENING), catalog, None, 0)
    assert [text_of(end) for end in found["ends"]] == [
        "gates open 15:30",
        "gates shut 18:30",
    ]


def test_every_minute_has_a_line_to_read_off(usual, catalog):
    found = stop_page.drive(usual(DAY, drive=EVENING), catalog, None, 0)
    lines = found["readings"]["lines"]
    assert len(lines) == found["last"] + 1
    assert lines[LATE][0] == "17:20"
    assert "rim: works" in lines[LATE][1]


def test_a_sun_below_the_horizon_is_not_read_off_as_high(usual, catalog):
    found = stop_page.drive(usual(DAY, drive=EVENING), catalog, None, 0)
    last = found["readings"]["lines"][-1][1]
    assert re.search(r"^sun 28\d° W(NW)?, \d+\.\d° below the horizon · ", last)


@pytest.fixture
def night(trip, gated):
    """Return what a night drive's minute 2 h after sunset is told to be."""
    of = trip(gated("19:30", "22:00", "night"))
    found = rim.make(of, of.drives[0])
    return of, found, stop.stop_at(of, found, 30, 30.0)


def test_at_night_no_side_of_the_animal_is_named(night):
    of, found, at = night
    # Two hours after a tropical sunset the sun stands about 27° down, 15° an hour.
    assert at.apparent_deg < -20
    assert at.looks == ()
    assert stop_tables.sector_table(at, None) == []
    assert stop_words.picture(found, at).startswith(
        "Seen from above, north up, the animal in the middle. Over the drive"
    )
    assert stop_words.trouble(of, at) == (
        "The sun is below the horizon, so nothing has a lit edge."
    )


def test_at_night_no_heading_stands_over_nothing(usual, catalog, text_of):
    place = {"place": "Two Rivers Plain", **DAY}
    raw = usual(place, drive="2027-08-12-night")
    said = text_of(stop_page.minute(raw, catalog, 30, "paper")["tables"])
    assert "By kind of light" not in said
    assert "By rig" in said


def test_at_night_a_sun_that_is_down_is_told_against_the_frame(night, walk, text_of):
    of, _, at = night
    rows = rows_of(stop_tables.rig_table(of, at), walk, text_of)
    assert {row[4] for row in rows[1:]} == {"sun is down"}


def test_a_sun_that_keeps_its_bearing_is_at_it(trip, walk, text_of):
    # About the equinox the sun sets due west and sinks straight down at the equator:
    # at 269.7° to 270.0° in these hours, by SPA.
    of = trip("Two Rivers Plain", "2027-03-19")
    night = next(d for d in of.drives if d.session == "night")
    table = stop_tables.time_table(of, rim.make(of, night))
    (_, row) = rows_of(table, walk, text_of)
    assert row[2].startswith("at 270° W, ")


def test_the_list_of_drives_names_each_and_marks_the_chosen(usual, catalog):
    found = stop_page.drive(usual(DAY, drive=EVENING), catalog, None, 0)
    assert [d["value"] for d in found["drives"]] == [MORNING, EVENING]
    assert found["drive"] == EVENING


# ------------------------------------------------------------- what is typed


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"aim": "400"}, "aim must be 0 to 360°, got '400'"),
        ({"declination": "x"}, "magnetic declination must be -180 to 180°, got 'x'"),
        ({"skyline": "Mopane Loop: Oxbow hid"}, "skyline of"),
    ],
)
def test_a_wrong_value_is_refused_in_a_sentence(changes, words, usual, catalog):
    (name,) = changes
    with pytest.raises(ValueError, match=words.replace("°", ".")):
        table.BY_NAME[name].of(usual(changes), catalog)


def test_only_spots_with_a_skyline_can_be_chosen(catalog):
    known = stop_fields.skylines(catalog)
    assert "Mopane Loop: Oxbow hide" in known
    assert "Mopane Loop: Ebony bend" not in known  # its horizon is level


def test_the_page_carries_a_links_aim_declination_and_skyline(app, usual, by_id):
    changes = {
        "aim": "250",
        "declination": "-3.5",
        "skyline": "Mopane Loop: Oxbow hide",
        "at": "17:02",
    }
    search = usual(changes).search()
    response = app.server.test_client().get(
        "/_dash-layout", headers={"Referer": f"http://127.0.0.1/stop{search}"}
    )
    found = by_id(json.loads(response.text))
    assert found["aim"]["value"] == 250
    assert found["declination"]["value"] == -3.5
    assert found["skyline"]["value"] == changes["skyline"]
    assert found["at"]["value"] == "17:02"
    assert found[ids.PAGE]["data"] == "stop"


def test_the_cautions_stand_by_the_picture(app, by_id):
    response = app.server.test_client().get(
        "/_dash-layout", headers={"Referer": "http://127.0.0.1/stop"}
    )
    said = response.text
    for caution in stop_words.CAUTIONS:
        assert json.dumps(caution, ensure_ascii=False)[1:20] in said
    assert "never aim a long lens at it through an optical finder" in said
