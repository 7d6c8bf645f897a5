"""The loop's page: its fields, its drawing, its tables, and files read for it."""

import base64
from functools import cache
from itertools import combinations, pairwise

import numpy as np
import pytest

from lightplan.choices import state, table
from lightplan.choices.raw import LONGEST_LINK, Raw
from lightplan.loop import gpx, route
from lightplan.web import ids
from lightplan.web.callbacks import choices
from lightplan.web.figures.labels import Box, text_px
from lightplan.web.figures.theme import DUSK, PAPER
from lightplan.web.loop import callbacks as loop_callbacks
from lightplan.web.loop import page as loop_page
from lightplan.web.pages import BY_KEY

TRACK = (
    '<gpx version="1.1"><trk><trkseg>'
    '<trkpt lat="-13.1" lon="31.8"/><trkpt lat="-13.08" lon="31.8"/>'
    '<trkpt lat="-13.08" lon="31.82"/></trkseg></trk></gpx>'
)
EVENING, MORNING = "2027-08-12-evening", "2027-08-12-morning"
ROUND = "N 3 km\nE 3 km\nS 3 km\nW 3 km"


def as_url(data: bytes) -> str:
    """A file as browsers read it into a data URL."""
    return "data:application/octet-stream;base64," + base64.b64encode(data).decode()


@pytest.fixture(scope="module")
def content(usual, catalog):
    """What the page shows for some texts, on the evening of 12 August."""

    shown_for = cache(loop_page.content)  # many look at the same, none changes it

    def show(changes=None, drive=EVENING, theme="paper"):
        return shown_for(usual(changes, drive=drive), catalog, theme)

    return show


# ------------------------------------------------------------- fields and links


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("start", "25:00", "start must be a time like 15:30, got '25:00'"),
        ("speed", "0", "speed must be 1 to 120 km/h"),
        ("light", "rin", "light 'rin' is unknown"),
    ],
)
def test_a_wrong_text_in_a_link_is_replaced_and_told(
    field, text, said, usual, catalog, now
):
    raw, sentences = state.mended(usual({field: text}), catalog, now)
    assert raw[field] == state.defaults(catalog, now)[field]
    assert any(said in sentence for sentence in sentences)


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [("legs", "N three km", "Leg 1 must be"), ("speed", "", "Speed must be 1 to")],
)
def test_a_wrong_text_in_the_form_is_told_and_keeps_the_link(
    field, text, said, usual, catalog
):
    found = choices(usual({field: text}), catalog, "loop")
    assert found["problem"].startswith(said)
    assert not isinstance(found["link"], str)


@pytest.mark.parametrize(
    ("legs", "said"),
    [
        ("N 5 km\nbanana\nS 5 km", "Leg 2 must be written like"),
        ("N 500 km", "A route may take at most 24 hours"),
    ],
)
def test_wrong_legs_are_told_on_the_loops_page_and_carried_by_its_links(
    legs, said, usual, catalog
):
    found = choices(usual({"legs": legs}), catalog, "loop")
    assert found["problem"].startswith(said)
    assert Raw.from_search(found["typed"])["legs"] == legs


def test_wrong_legs_do_not_stop_the_other_pages(usual, catalog):
    raw = usual({"legs": "banana"})
    found = choices(raw, catalog, "year")
    assert found["problem"] == ""
    assert found["link"] == raw.search()


def test_legs_too_long_for_a_link_leave_the_links_as_they_were(usual, catalog):
    found = choices(usual({"legs": "‽" * 3000}), catalog, "loop")
    assert not isinstance(found["typed"], str)


def test_the_caption_names_gates_only_where_there_are_some(content, own, walk, text_of):
    assert "Inside the gates, while" in text_of(content()["tables"])
    assert "During the drive, while" in text_of(content(own)["tables"])


def test_legs_survive_the_address(usual):
    legs = "from -13.1 31.8\n45 3.2 km\nNE 15 min; stop 5 min"
    assert Raw.from_search(usual({"legs": legs}).search())["legs"] == legs


def test_the_longest_legs_fit_a_link(usual):
    turns = np.linspace(0, 2 * np.pi, 61)
    whole = route.through(
        -13.123456 + 0.4 * np.sin(turns), 131.8 + 0.4 * np.cos(turns), turns * 111.11
    )
    assert len(whole.legs) == route.MAX_LEGS
    search = usual({"legs": route.write_legs(whole)}).search()
    assert len(search) < LONGEST_LINK / 2
    assert route.read_legs(Raw.from_search(search)["legs"]).legs == whole.legs


def test_the_page_is_among_the_pages_and_carries_every_field(app, served):
    assert (BY_KEY["loop"].title, BY_KEY["loop"].path) == ("The loop", "/loop")
    page = str(served(app, "loop"))
    for field in table.BY_NAME:
        assert f"'id': '{field}'" in page


def test_a_picture_of_no_plan_is_not_drawn_at_all(app, served, by_id):
    # Wrong legs in a link leave it as it was sent.
    assert "figure" not in by_id(served(app, "loop"))[ids.LOOP_CHART]


def test_the_phones_line_names_what_is_asked(usual, catalog):
    raw = usual({"light": "rim", "legs": ROUND})
    line = choices(raw, catalog, "loop")["summary"]
    assert line == "Mopane Loop · rim light · 4 legs · 15 km/h"


# ------------------------------------------------------------- what is shown


@pytest.mark.parametrize(
    ("skies", "told"),
    [
        (f"{EVENING}:overcast", True),
        (f"{MORNING}:overcast", False),
        (f"{EVENING}:clear", False),  # as the trip's
    ],
)
def test_a_drives_own_sky_is_named(skies, told, content, text_of):
    said = text_of(content({"skies": skies})["notes"])
    sentence = "Overcast on this drive, as set on the trip’s page."
    assert (sentence in said) == told
    assert ("as set on the trip" in said) == told


def test_the_answer_names_the_drive_and_the_seat(content, text_of):
    # On 12 August at 13° S the sun sets north of west: northwards the right-hand
    # side has it behind, southwards the left.
    said = text_of(content({"legs": "N 5 km\nS 5 km", "light": "front"})["answer"])
    assert said.startswith(
        "Evening drive, Thu 12 Aug: for front light sit on the right"
    )
    assert "until 15:50, then on the left." in said


def test_the_start_typed_counts_and_else_the_gates_do(content, text_of):
    assert "from 15:30 to" in text_of(content({"legs": ROUND})["answer"])
    later = content({"legs": ROUND, "start": "16:10"})
    assert "from 16:10 to 16:58" in text_of(later["answer"])  # 12 km at 15 km/h


def test_a_start_before_midnight_is_within_a_drive_that_opens_then(content, text_of):
    # At 70° N a morning of June reaches from the sun's lowest point, at 23:57 of the
    # day before by Oslo's clock at 31° E (an hour and four minutes' worth of 15°).
    place = {"place": "own coordinates", "lat": "70.4", "lon": "31.1"}
    day = {"zone": "Europe/Oslo", "from": "2027-06-21", "to": "2027-06-21"}
    typed = {**place, **day, "legs": "N 5 km", "start": "23:58"}
    said = text_of(content(typed, drive="2027-06-21-morning")["answer"])
    assert "after the drive ends" not in said
    assert "23:58" in said


def test_another_drive_has_another_seat(content, text_of):
    legs = {"legs": "N 8 km"}  # half an hour
    evening = text_of(content(legs)["answer"])
    morning = text_of(content(legs, drive="2027-08-12-morning")["answer"])
    assert "sit on the right" in evening
    assert "(the sun is down), then on the left. " in morning


def test_an_overcast_drive_needs_no_seat(content, text_of):
    said = text_of(content({"legs": ROUND, "sky": "overcast"})["answer"])
    assert "it does not matter where you sit" in said


def test_a_forecast_of_the_drive_alone_counts(content, text_of):
    skies = {"legs": ROUND, "skies": f"{EVENING}:overcast"}
    assert "it does not matter" in text_of(content(skies)["answer"])


def test_with_nothing_typed_an_example_is_shown_and_called_one(content, text_of):
    notes = text_of(content({"legs": ""})["notes"])
    assert "This is an invented example" in notes
    assert "invented" not in text_of(content({"legs": ROUND})["notes"])


def test_the_table_has_a_row_for_every_leg(content, walk, text_of):
    tables = content({"legs": ROUND})["tables"]
    *_, body = (c for c in walk(tables) if type(c).__name__ == "Tbody")
    rows = [[text_of(cell) for cell in row.children] for row in body.children]
    assert [row[0] for row in rows] == ["1", "2", "3", "4"]
    assert [row[1] for row in rows][:2] == ["15:30–15:42", "15:42–15:54"]
    assert [row[2] for row in rows] == ["right", "right", "left", "left"]
    assert [row[5] for row in rows] == ["0° N", "90° E", "180° S", "270° W"]
    assert {row[6] for row in rows} == {"3.0 km"}


def test_dates_without_a_drive_say_so(usual, catalog):
    (place,) = [
        p for p in catalog.places if any(c.weekday == "Tuesday" for c in p.closures)
    ]
    tuesday = {"from": "2027-08-17", "to": "2027-08-17"}
    raw = usual({"place": place.name, **tuesday})
    shown = loop_page.content(raw, catalog, "paper")
    assert shown["answer"].startswith("No drive on these dates")
    assert loop_page.drives(raw, catalog) == []


def test_a_button_for_every_drive_names_its_gates(usual, catalog, text_of):
    days = {"from": "2027-08-12", "to": "2027-08-13"}
    found = loop_page.drives(usual(days, drive=EVENING), catalog)
    assert [text_of(b) for b in found][:2] == [
        "Thu 12 Aug, morning 06:00–10:00",
        "Thu 12 Aug, evening 15:30–18:30",
    ]
    pressed = [
        getattr(b, "data-drive") for b in found if getattr(b, "aria-pressed") == "true"
    ]
    assert pressed == [EVENING]


def test_a_list_longer_than_is_seen_says_how_many_drives_it_has(
    usual, catalog, text_of
):
    days = {"from": "2027-08-12", "to": "2027-08-15"}
    *buttons, count = loop_page.drives(usual(days, drive=EVENING), catalog)
    assert text_of(count) == f"{len(buttons)} drives"
    assert len(buttons) > 4


# ------------------------------------------------------------- the drawing

WINDING = "\n".join(f"{n * 50 % 360} {0.4 + n % 5 / 5:.1f} km" for n in range(40))
DRAWN = [
    ROUND,
    WINDING,
    "N 0.05 km",
    "N 300 km",
    "N 5 km\nS 5 km",
    "stop 5 min\nE 9 km",
]


def shown(figure, name):
    return [a["text"] for a in figure["layout"]["annotations"] if name in a["text"]]


@pytest.mark.parametrize("legs", DRAWN)
def test_the_drawing_has_one_scale_both_ways_and_north_up(legs, content):
    figure = content({"legs": legs, "speed": "60"})["figure"]
    assert figure["layout"]["yaxis"]["scaleanchor"] == "x"
    assert all(
        a["range"][0] < a["range"][1]
        for a in (figure["layout"]["xaxis"], figure["layout"]["yaxis"])
    )


def test_a_way_north_and_east_runs_up_and_to_the_right(content):
    figure = content({"legs": "N 3 km\nE 2 km"})["figure"]
    marks = figure["data"][-1]
    assert marks["x"][1] - marks["x"][0] == pytest.approx(2, abs=0.07)
    assert marks["y"][1] - marks["y"][0] == pytest.approx(3, abs=0.07)


def test_arrowheads_point_the_way_of_travel(content):
    figure = content({"legs": "NE 5 km\n200 5 km"})["figure"]
    marks = [t["marker"] for t in figure["data"] if "marker" in t]
    (arrows,) = [m for m in marks if m["symbol"] == "arrow"]
    assert set(arrows["angle"]) == {45.0, 200.0}


def test_a_stretch_has_a_colour_a_dash_and_a_name(content):
    figure = content({"legs": ROUND, "light": "front"})["figure"]
    lines = [t for t in figure["data"] if t["mode"] == "lines"]
    kinds = {(t["name"], t["line"]["color"], t["line"]["dash"]) for t in lines}
    assert len({name for name, *_ in kinds}) == len(kinds) >= 2
    assert len({dash for *_, dash in kinds}) == len(kinds)
    for name, colour, _ in kinds:
        labels = figure["layout"]["annotations"]
        mine = [a for a in labels if a["text"] == name]
        assert mine, name
        assert {a["font"]["color"] for a in mine} == {colour}


def test_the_change_of_seat_is_named_where_it_is(content):
    figure = content({"legs": "N 5 km\nS 5 km", "light": "front"})["figure"]
    (label,) = [a for a in figure["layout"]["annotations"] if "left 1" in a["text"]]
    assert "15:50" in label["text"]
    assert label["y"] == pytest.approx(5, abs=0.1)


@pytest.mark.parametrize("legs", [ROUND, "N 12 km"])
def test_both_ends_are_named_with_their_times(legs, content):
    figure = content({"legs": legs})["figure"]
    assert shown(figure, "start") == ["<b>start 15:30</b>"]
    assert shown(figure, "end") == ["<b>end 16:18</b>"]  # 12 km at 15 km/h


SIZES_PX = ((320, 340), (356, 340), (600, 464), (1066, 464), (1500, 464))


def boxes(figure, wide_px, high_px):
    """Where the drawing's names stand at a size of the figure, in pixels."""
    margin = figure["layout"]["margin"]["l"]
    x, y = (figure["layout"][a]["range"] for a in ("xaxis", "yaxis"))
    scale = min(
        (wide_px - 2 * margin) / (x[1] - x[0]), (high_px - 2 * margin) / (y[1] - y[0])
    )
    for a in figure["layout"]["annotations"]:
        if not a["text"]:  # the arrow to the sun
            continue
        right = (
            a.get("ax", a.get("xshift", 0)) if a["showarrow"] else a.get("xshift", 0)
        )
        up = -a["ay"] if a["showarrow"] else a.get("yshift", 0)
        text = a["text"].removeprefix("<b>").removesuffix("</b>")
        wide = text_px(text, bold=text != a["text"])[0]
        middle = a["x"] * scale + right + (wide / 2 if a["xanchor"] == "left" else 0)
        height = a["y"] * scale + up
        # A pixel is given up to rounding.
        yield (
            text,
            Box(middle - wide / 2 + 1, height - 6, middle + wide / 2 - 1, height + 6),
        )


@pytest.mark.parametrize("legs", DRAWN)
@pytest.mark.parametrize("light", ["front", "rim"])
def test_no_two_names_touch_at_any_width(legs, light, content):
    figure = content({"legs": legs, "light": light, "speed": "30"})["figure"]
    for size in SIZES_PX:
        found = list(boxes(figure, *size))
        for (one, a), (other, b) in combinations(found, 2):
            assert not a.meets(b), (size, one, other)


@pytest.mark.parametrize("legs", DRAWN)
@pytest.mark.parametrize("size", SIZES_PX)
def test_every_name_is_within_the_drawing(legs, size, content):
    figure = content({"legs": legs, "speed": "30"})["figure"]
    margin = figure["layout"]["margin"]["l"]
    x, y = (figure["layout"][a]["range"] for a in ("xaxis", "yaxis"))
    wide, high = (side - 2 * margin for side in size)
    scale = min(wide / (x[1] - x[0]), high / (y[1] - y[0]))
    for text, box in boxes(figure, *size):
        assert x[0] * scale <= box.left < box.right <= x[1] * scale, text
        assert y[0] * scale <= box.low < box.high <= y[1] * scale, text


def leaders(figure, wide_px, high_px):
    """Points of the lines that lead from a name far off back to its place."""
    margin = figure["layout"]["margin"]["l"]
    x, y = (figure["layout"][a]["range"] for a in ("xaxis", "yaxis"))
    scale = min(
        (wide_px - 2 * margin) / (x[1] - x[0]), (high_px - 2 * margin) / (y[1] - y[0])
    )
    for a in figure["layout"]["annotations"]:
        for share in np.linspace(0.03, 0.97, 50) if a["showarrow"] else ():
            yield (
                a["text"],
                a["x"] * scale + a.get("xshift", 0) + share * a["ax"],
                a["y"] * scale + a.get("yshift", 0) - share * a["ay"],
            )


def test_no_line_to_a_name_runs_through_another(content):
    figure = content({"legs": WINDING, "light": "rim", "speed": "30"})["figure"]
    counted = 0
    for size in SIZES_PX:
        found = list(boxes(figure, *size))
        for text, x, y in leaders(figure, *size):
            counted += 1
            for other, box in found:
                within = box.left < x < box.right and box.low < y < box.high
                assert (text and other in text) or not within, (size, text, other)
    assert counted


def test_the_arrow_in_the_corner_points_to_the_sun(content):
    # At 13° S the August sun stands north of west in the afternoon: the arrow's
    # tail is to the right of its head and below it.
    shown = content({"legs": "N 5 km"})
    arrows = [a for a in shown["figure"]["layout"]["annotations"] if not a["text"]]
    assert arrows
    assert all(a["ax"] > 0 and a["ay"] > 0 for a in arrows)
    assert "points to the sun" in shown["text"]


def test_a_loop_in_the_dark_has_no_arrow_to_the_sun(content):
    shown = content({"legs": "N 5 km", "start": "22:00"})
    assert all(a["text"] for a in shown["figure"]["layout"]["annotations"])
    assert "points to the sun" not in shown["text"]


def test_the_themes_differ_in_colours_alone(content):
    paper, dusk = (content({"legs": ROUND}, theme=t) for t in ("paper", "dusk"))
    assert paper["figure"]["layout"]["paper_bgcolor"] == PAPER.surface
    assert dusk["figure"]["layout"]["paper_bgcolor"] == DUSK.surface
    texts = [
        [a["text"] for a in s["figure"]["layout"]["annotations"]] for s in (paper, dusk)
    ]
    assert texts[0] == texts[1]


def test_clock_labels_are_round_and_few(content):
    figure = content({"legs": "N 40 km"})["figure"]
    times = [
        a["text"] for a in figure["layout"]["annotations"] if a["text"][2:3] == ":"
    ]
    minutes = [60 * int(t[:2]) + int(t[3:5]) for t in times]
    assert 3 <= len(minutes) <= 9
    assert all(b - a == minutes[1] - minutes[0] for a, b in pairwise(minutes))


# ------------------------------------------------------------- files


def test_a_file_becomes_legs(catalog):
    legs, said = loop_callbacks.from_file(as_url(TRACK.encode()), "drive.gpx")
    found = route.read_legs(legs)
    assert [leg.bearing_deg for leg in found.legs] == [0, 90]
    assert found.start == (-13.1, 31.8)
    assert said.startswith("Read drive.gpx.")
    assert "no times: the speed you set" in said


@pytest.mark.parametrize(
    ("contents", "said"),
    [
        (as_url(b"<kml/>"), "my.gpx is not a GPX file."),
        (as_url(b"<!DOCTYPE gpx><gpx/>"), "my.gpx declares a document type"),
        ("data:;base64,%%%", "my.gpx did not arrive complete."),
        ("", "my.gpx is not a GPX file."),
    ],
)
def test_a_wrong_file_is_told_in_a_sentence_and_changes_no_legs(contents, said):
    legs, sentence = loop_callbacks.from_file(contents, "my.gpx")
    assert legs == ""
    assert sentence.startswith(said)
    assert sentence.endswith("The legs are unchanged.")


def test_a_file_too_large_is_not_even_decoded(monkeypatch):
    monkeypatch.setattr(base64, "b64decode", lambda *a, **k: pytest.fail("decoded"))
    contents = "data:;base64," + "A" * (gpx.LARGEST_BYTES * 2)
    assert "at most 8 MB" in loop_callbacks.from_file(contents, "my.gpx")[1]
