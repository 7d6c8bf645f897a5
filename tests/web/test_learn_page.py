"""The page of one's own frames, without a browser: headers in, covers out."""

import datetime as dt
import json
import re
import struct
from fractions import Fraction as F

import numpy as np
import pytest

from lightplan.camera import exposure
from lightplan.catalog.covers import OwnCover
from lightplan.catalog.places import Loaded
from lightplan.choices import state
from lightplan.cli import main as cli
from lightplan.frames import headers, learning
from lightplan.frames import read as frames
from lightplan.frames import words as calibrate_words
from lightplan.frames.headers import Exposure
from lightplan.frames.read import Dropped, Frame
from lightplan.light import daylight
from lightplan.sky import sun
from lightplan.trip.request import choose
from lightplan.web import app as factory
from lightplan.web import ids, saved
from lightplan.web.frames import content as learn_content
from lightplan.web.frames import heads as learn_heads
from lightplan.web.frames import kept as learn_frames
from lightplan.web.frames.heads import Part
from lightplan.web.kit import changes as kit_changes
from lightplan.web.kit import edit as catalog_edit

# Tag numbers of Exif 2.32 (CIPA DC-008-2019), tables 4, 7 and 8.
TIME, F_NUMBER, SHUTTER, ISO, BIAS = 0x9003, 0x829D, 0x829A, 0x8827, 0x9204
USUAL = {
    TIME: "2025:08:12 17:34:05",
    F_NUMBER: F(63, 10),
    SHUTTER: F(1, 1250),
    ISO: 3200,
    BIAS: F(-2, 3),
}
WALL = np.datetime64("2025-08-12T17:34:05")

AT = (-14.0, 29.0)  # Mopane Loop; its clock is UTC+2 all year
FOREST_STOPS, NOISE_STOPS, COUNT = 3.4, 0.5, 60
# Four times the error of a median of 60 bursts with that noise, 1.25 σ/√n.
WITHIN_STOPS = 4 * 1.2533 * NOISE_STOPS / COUNT**0.5


# ------------------------------------------------------------- headers, in pieces


def piecewise(data, name="a.jpg", first=64, size=None):
    """Hand a file over as the script does: what is left out, only if asked for."""
    size = len(data) if size is None else size
    pieces = [(0, data[:first])]
    for _ in range(200):
        said = learn_heads.answer(Part(name, size, tuple(pieces)))
        if "more" not in said:
            return said, sum(len(piece) for _, piece in pieces)
        offset, length = said["more"]
        pieces.append((offset, data[offset : offset + length]))
    raise AssertionError("it asks without end")


@pytest.mark.parametrize("kind", ["JPEG", "TIFF"])
@pytest.mark.parametrize("piece", [16, 64, 1000])
def test_a_header_in_pieces_says_what_the_whole_file_does(
    image, kind, piece, monkeypatch
):
    monkeypatch.setattr(learn_heads, "PIECE_BYTES", piece)
    data = image(USUAL, kind=kind)
    said, _ = piecewise(data, f"a.{kind.lower()}", piece)
    (frame,) = learn_frames.kept(said)
    assert frame.exposure.wall == WALL
    assert frame.exposure.f_number == 6.3
    assert frame.exposure.shutter_s == pytest.approx(1 / 1250, rel=1e-5)
    assert frame.exposure.iso == 3200
    assert frame.exposure.compensation_stops == pytest.approx(-2 / 3, abs=0.005)


def test_of_a_long_file_only_its_header_is_asked_for(image):
    data = image(USUAL) + bytes(5_000_000)
    said, sent = piecewise(data, first=learn_heads.PIECE_BYTES)
    assert len(said["frames"]) == 1
    assert sent <= 2 * learn_heads.PIECE_BYTES


def test_a_header_at_the_end_of_a_long_file_is_found(image):
    # TIFF 6.0: bytes 4–7 of the file tell where its first directory begins, so it
    # may stand behind anything. Offsets in it are moved by as much.
    data = image(USUAL, kind="TIFF")
    body = struct.pack("<2sHI", b"II", 42, 3_000_000) + bytes(2_999_992)
    entries = [  # tag, type, count, value: Exif's directory, just behind
        (0x8769, 4, 1, 3_000_000 + 2 + 12 + 4),
    ]
    directory = struct.pack("<H", 1) + struct.pack("<HHII", *entries[0]) + bytes(4)
    at = 3_000_018 + 2 + 4 * 12 + 4
    exif = struct.pack("<H", 4)
    exif += struct.pack("<HHII", SHUTTER, 5, 1, at)
    exif += struct.pack("<HHII", F_NUMBER, 5, 1, at + 8)
    exif += struct.pack("<HHII", ISO, 3, 1, 800)
    exif += struct.pack("<HHII", TIME, 2, 20, at + 16) + bytes(4)
    values = struct.pack("<4I", 1, 500, 56, 10) + b"2025:08:12 17:34:05\0"
    long = body + directory + exif + values
    said, sent = piecewise(long, "a.tif")
    (frame,) = learn_frames.kept(said)
    assert frame.exposure == Exposure(WALL, None, None, 5.6, 1 / 500, 800.0, 0.0)
    assert sent < len(data) + 4 * learn_heads.PIECE_BYTES


@pytest.mark.parametrize(
    ("name", "size", "reason"),
    [
        ("letter.docx", 5000, frames.NOT_IMAGE),
        ("a.jpg", 0, frames.EMPTY),
        ("a.jpg", 5_000_000_000, frames.TOO_LONG),
    ],
)
def test_what_is_no_frame_is_dropped_before_any_of_it_is_sent(name, size, reason):
    assert learn_heads.frame(Part(name, size, ())) == Dropped(name, reason)


@pytest.mark.parametrize("data", [b"\xff\xd8" + bytes(500), bytes(40), b"II*\0" * 99])
def test_a_broken_file_is_dropped_with_the_reason(data):
    said, _ = piecewise(data)
    assert said == {"frames": [], "dropped": [["a.jpg", headers.NO_HEADER]]}


def test_a_table_gives_its_rows_and_tells_bad_ones():
    data = b"time,f,shutter,iso\n2025-08-12 17:34:05,6.3,1/1250,3200\nsoon,8,1/60,100\n"
    said = learn_heads.answer(Part("a.csv", len(data), ((0, data),)))
    assert [row[:2] for row in said["frames"]] == [["a.csv, row 2", str(WALL)]]
    assert said["dropped"] == [["a.csv, row 3", headers.NO_TIME]]


def test_a_table_without_its_columns_is_dropped_with_a_sentence():
    said = learn_heads.answer(Part("a.csv", 8, ((0, b"a,b\n1,2\n"),)))
    ((example, reason),) = said["dropped"]
    assert reason.startswith("a.csv needs columns time, f-number, shutter, ISO")
    assert example == ""  # for the sentence names the file


def test_a_table_that_was_too_long_to_send_says_so():
    ((_, reason),) = learn_heads.answer(Part("a.csv", 9_000_000, ()))["dropped"]
    assert "longer than 4 MB" in reason


def test_a_table_of_too_many_rows_says_so():
    # Rows of one letter: no frames, but an answer of 100 MB.
    data = b"time,f,shutter,iso\n" + b"x\n" * 20_000
    said = learn_heads.answer(Part("a.csv", len(data), ((0, data),)))
    ((_, reason),) = said["dropped"]
    assert reason == "a table of 20,001 rows, more than 20,000: leave some out"


# ------------------------------------------------------------- the address


def body(*files):
    index = [[name, len(data), [[0, len(data)]]] for name, data in files]
    text = json.dumps(index).encode()
    return struct.pack(">I", len(text)) + text + b"".join(data for _, data in files)


@pytest.fixture(name="client")
def _client(app):
    return app.server.test_client()


def test_the_address_answers_each_file_in_order(client, image):
    sent = body(("Forest/a.jpg", image(USUAL)), ("b.txt2", b"x"), ("c.jpg", b"xyz"))
    response = client.post(learn_heads.PATH, data=sent)
    first, second, third = response.json
    assert first["frames"][0][0] == "Forest/a.jpg"
    assert second["dropped"] == [["b.txt2", frames.NOT_IMAGE]]
    assert third["dropped"] == [["c.jpg", headers.NO_HEADER]]
    assert response.headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize(
    "sent",
    [b"", b"\0\0", b"\0\0\0\x02{}", b"\xff\xff\xff\xff[]", b"\0\0\0\x05[[1]]", b"\0\0\0\x03[1]",
     b"\0\0\0\x0c[[1,2,[[3]]]", b"\0\0\0\x04\xff\xfe\xfd\xfc"],
)  # fmt: skip
def test_what_is_no_request_of_the_page_is_refused(client, sent):
    assert client.post(learn_heads.PATH, data=sent).status_code == 400


@pytest.mark.parametrize(
    "index",
    # Back and forth over the same bytes; a file in crumbs; many files at once.
    ['[["a.jpg", 9, [[0, 9], [0, -9], [0, 9]]]]',
     json.dumps([["a.jpg", 9, [[i, 1] for i in range(1000)]]]),
     json.dumps([["a.jpg", 9, []]] * 1000),
     "[" * 100_000],
    ids=["backwards", "pieces", "files", "deep"],
)  # fmt: skip
def test_an_index_that_would_keep_the_server_busy_is_refused(client, index):
    sent = struct.pack(">I", len(index)) + index.encode() + b"x" * 2000
    assert client.post(learn_heads.PATH, data=sent).status_code == 400


def test_a_request_that_is_too_long_is_refused(client):
    sent = bytes(learn_heads.LARGEST_BODY_BYTES + 1)
    assert client.post(learn_heads.PATH, data=sent).status_code == 413


# ------------------------------------------------------------- rows of a store


def test_an_exposure_survives_the_browsers_store():
    gps = np.datetime64("2025-08-12T15:34:05")
    exposed = Exposure(WALL, 120, gps, 6.3, 0.0008, 3200.0, -0.67)
    frame = Frame("Forest/a.jpg", exposed, "Forest")
    row = json.loads(json.dumps(learn_frames.packed(frame)))
    assert learn_frames.kept({"frames": [row]}) == (frame,)


@pytest.mark.parametrize(
    "row",
    [[], 7, ["a"] * 9, ["a", "2025-08-12", None, None, 0, 1, 1, 0, ""],
     ["a", "2025-08-12", None, None, "nan", 0.01, 100, 0, ""],
     ["a", "someday", None, None, 8, 0.01, 100, 0, ""],
     ["a", "2025-08-12T17:00:00Z", None, None, 8, 0.01, 100, 0, ""],
     ["a", "2025-08-12T17:00:00", 10**30, None, 8, 0.01, 100, 0, ""],
     ["a", "2025-08-12T17:00:00", 120, "0001-01-01", 8, 0.01, 100, 0, ""]],
)  # fmt: skip
def test_a_row_that_the_page_did_not_write_is_left_out(row):
    assert learn_frames.kept({"frames": [row]}) == ()


def test_a_file_that_comes_twice_is_one_frame():
    row, other = rows("Forest", FOREST_STOPS, 1, count=2)
    again = ["Selected/0.jpg", *row[1:]]
    found = learn_frames.kept({"frames": [row, other, row, again]})
    assert [frame.name for frame in found] == ["Selected/0.jpg", "Forest/1.jpg"]


@pytest.mark.parametrize(
    ("at", "value"),
    [(0, "Forest/9.jpg"), (1, "2025-08-19T17:00:00"), (4, 8.0), (5, 0.5), (6, 100.0)],
)
def test_files_of_another_name_moment_or_exposure_are_frames_of_their_own(at, value):
    (row,) = rows("Forest", FOREST_STOPS, 1, count=1)
    other = [*row[:at], value, *row[at + 1 :]]
    assert len(learn_frames.kept({"frames": [row, other]})) == 2


def test_a_tab_holds_so_many_frames_and_no_more(monkeypatch):
    monkeypatch.setattr(learn_frames, "MOST_FRAMES", 3)
    found = learn_frames.kept({"frames": rows("Forest", FOREST_STOPS, 1, count=5)})
    assert len(found) == 3


# ------------------------------------------------------------- what the page says


def rows(group, stops, seed, count=COUNT, noise=NOISE_STOPS):
    """Rows of a store: the model's light, so many stops less, and noise."""
    rng = np.random.default_rng(seed)
    day = rng.integers(0, 6, count) * 86_400
    since = (
        day + rng.choice([4, 5, 14, 15], count) * 3600 + rng.integers(0, 3000, count)
    )
    utc = np.datetime64("2025-08-12T00:00:00") + since.astype("timedelta64[s]")
    altitude = sun.apparent_altitude_deg(sun.position(utc, *AT).altitude_deg)
    ev = exposure.ev100(daylight.subject_lux(altitude, 90.0)) - stops
    # N²/t = 2^EV · S/100, solved for t.
    shutter_s = 6.3**2 / (2 ** (ev + rng.normal(0, noise, count)) * 32)
    walls = utc + np.timedelta64(2, "h")
    return [
        [f"{group}/{i}.jpg", str(wall), None, None, 6.3, float(s), 3200.0, 0.0, ""]
        for i, (wall, s) in enumerate(zip(walls, shutter_s, strict=True))
    ]


FOREST = {"frames": rows("Forest", FOREST_STOPS, 1), "dropped": []}
EVENINGS = {"frames": [r for r in FOREST["frames"] if r[1][10:] > "T16"]}
PLACES_TIME = {ids.LEARN_CLOCK_ZONE: "place"}


@pytest.fixture(name="shown")
def _shown(usual, catalog, now):
    def show(kept, choices=None, raw=None, of=None):
        wanted = {**PLACES_TIME, **(choices or {})}
        return learn_content.content(
            raw or usual(), wanted, kept, of or catalog, "paper", now
        )

    return show


def test_frames_give_back_the_stops_they_were_made_with(shown):
    (cover,) = shown(FOREST)["covers"]
    assert cover["name"] == "Forest"
    assert cover["stops"] == pytest.approx(FOREST_STOPS, abs=WITHIN_STOPS)
    assert cover["bursts"] <= COUNT


def test_the_answer_is_the_groups_sentence_and_what_it_means(shown):
    answer = shown(FOREST)["answer"]
    assert re.match(
        r"Forest costs you 3\.\d ± 0\.\d stops \(60 frames in \d+ b", answer
    )
    assert re.search(
        r"Your 600 mm f/6\.3 runs out of light at 1\d:\d\d on \d+ \w+, \d+ min earlier",
        answer,
    )


@pytest.fixture(name="printed")
def _printed(tmp_path, capsys, example_file, monkeypatch):
    """What the command line says of EVENINGS, on one line."""
    monkeypatch.setenv("LIGHTPLAN_FILE", str(example_file))
    path = tmp_path / "frames.csv"
    lines = [f"{r[1]},{r[4]},{r[5]!r},{r[6]},Forest" for r in EVENINGS["frames"]]
    path.write_text("\n".join(["time,f,shutter,iso,group", *lines]), "utf-8")

    def run(*options):
        where = ("--place", "Mopane Loop", "--zone", "Africa/Lusaka")
        assert cli.main(["learn", str(path), *where, *options]) == 0
        return " ".join(capsys.readouterr().out.split())

    return run


@pytest.mark.parametrize(
    ("settings", "side"),
    [("side=back", "back"), ("side=front", "front"), ("spot=Ebony bend", "side")],
)
def test_page_and_command_line_tell_the_evening_of_the_groups_own_side(
    shown, printed, catalog, settings, side
):
    line = f"Forest:{settings}"
    found = shown(EVENINGS, {ids.LEARN_GROUPS: line})
    assert found["answer"] in printed("--group", line)
    if settings.startswith("side"):  # said of one group, or of all of them
        assert found["answer"] in printed(f"--{settings}")
    place, (cover,) = catalog.place("Mopane Loop"), found["covers"]
    rig = choose(catalog.rig(catalog.rigs[0].name))
    last = max(row[1] for row in EVENINGS["frames"])[:10]
    end = learning.evening_end(
        place,
        dt.date.fromisoformat(last),
        rig,
        side,
        place.sky,
        OwnCover(**cover).cover,
    )
    clock = str(end.utc + np.timedelta64(2, "h"))[11:16]
    assert f"our {rig.label} runs out of light at {clock}" in found["answer"]


def test_the_evening_of_a_group_at_a_spot_says_which_side_it_is_told_from(shown):
    at_spot = shown(EVENINGS, {ids.LEARN_GROUPS: "Forest:spot=Ebony bend"})["answer"]
    assert ". Lit from the side, your 600 mm f/6.3 runs out of light at" in at_spot
    assert ". Your 600 mm f/6.3 runs out of light at" in shown(EVENINGS)["answer"]


def test_without_frames_nothing_is_made_up(shown):
    said = shown(None)
    assert said["found"] == "hidden"
    assert said["covers"] == said["keeps"] == said["table"] == []


def test_frames_that_do_not_tell_their_zone_are_asked_about(shown, text_of):
    said = shown(FOREST, {ids.LEARN_CLOCK_ZONE: ""})
    assert "Which time zone was the camera’s clock set to?" in said["answer"]
    assert "60 frames do not say" in said["answer"]
    assert said["found"] == "hidden"
    assert frames.NO_ZONE in text_of(said["account"])


def test_a_clock_in_a_far_zone_is_doubted(shown, text_of):
    # Lusaka is UTC+2, Bangkok UTC+7 all year (IANA): read so, they lie 5 h early.
    said = shown(FOREST, {ids.LEARN_CLOCK_ZONE: "Asia/Bangkok"})
    assert "The frames fit much better 5 h 00 later" in text_of(said["account"])
    assert "fit much better" not in text_of(shown(FOREST)["account"])


def test_while_the_clock_is_doubted_nothing_is_called_good_to_keep(shown, text_of):
    def told(zone):
        found = shown(FOREST, {ids.LEARN_CLOCK_ZONE: zone})
        return text_of(found["table"]), text_of(found["keeps"])

    table, keeps = told("Asia/Kolkata")  # 3 h 30 off
    assert "check the clock first" in table
    assert "good enough" not in table
    assert "Check the clock first." in keeps
    table, keeps = told("place")
    assert "good enough" in table
    assert "heck the clock first" not in table + keeps


def test_of_very_many_groups_the_page_says_what_to_do(shown):
    row = FOREST["frames"][0]
    # 101 folders of a frame each, one more than the page tells.
    kept = {"frames": [[f"{i}/{i}.jpg", *row[1:]] for i in range(101)], "dropped": []}
    with pytest.raises(ValueError, match="at most 100 groups, got 101: choose"):
        shown(kept)
    assert shown(kept, {ids.LEARN_BY: "all"})["answer"]


def test_more_groups_do_not_ask_more_often_where_the_sun_was(shown, monkeypatch):
    # 100 groups are answered in a second because they are computed together.
    position, calls = sun.position, []

    def counted(*args):
        calls.append(args)
        return position(*args)

    def asked(groups):
        calls.clear()
        found = [[f"g{i}/{i}.jpg", *FOREST["frames"][0][1:]] for i in range(groups)]
        assert shown({"frames": found, "dropped": []})["answer"]
        return len(calls)

    monkeypatch.setattr(sun, "position", counted)
    assert asked(80) == asked(20)


@pytest.mark.parametrize(
    ("name", "top", "last"),
    [
        ("a.jpg", learning.ALL, learning.ALL),
        ("forest/a.jpg", "forest", "forest"),
        ("day 1/forest/a.jpg", "day 1", "forest"),
        ("./day 1//forest/a.jpg", "day 1", "forest"),
        ("/a.jpg", learning.ALL, learning.ALL),
    ],
)
def test_a_frame_belongs_to_its_first_or_its_last_folder(name, top, last):
    assert learning.GROUPINGS["folder"](name, "2025-08-12") == top
    assert learning.GROUPINGS["subfolder"](name, "2025-08-12") == last


def test_what_is_said_of_groups_may_be_long_and_is_not_cut(shown):
    line = "Forest:from=2025-08-12T06:00,to=2025-08-12T07:00"
    assert shown(FOREST, {ids.LEARN_GROUPS: "\n".join([line] * 20)})["answer"]
    with pytest.raises(ValueError, match="at most 8000 characters"):
        shown(FOREST, {ids.LEARN_GROUPS: "x" * 8001})


def test_every_file_is_accounted_for(shown, text_of):
    night = [[*row[:1], "2025-08-12T23:00:00", *row[2:]] for row in rows("N", 0, 2, 3)]
    kept = {
        "frames": [*FOREST["frames"], *night],
        "dropped": [[frames.NOT_IMAGE, 7, "notes.txt"], [headers.FLASH, 2, "a.jpg"]],
    }
    text = text_of(shown(kept)["account"])
    assert "60 of 72 files or rows used; 12 dropped" in text
    assert f"7 {frames.NOT_IMAGE}, such as notes.txt" in text
    assert "3 sun below −12°" in text


@pytest.mark.parametrize(
    ("choices", "said"),
    [
        ({ids.LEARN_CLOCK: 1e6}, "seconds that the clock was slow must be"),
        ({ids.LEARN_HABIT: "dark"}, "habit must be -5 to 5 stops, got 'dark'"),
        ({ids.LEARN_GROUPS: "Forest:colour=red"}, "setting 'colour' of group"),
        ({ids.LEARN_GROUPS: "Foret:side=back"}, "group 'Foret' has no usable frame"),
        ({ids.LEARN_CLOCK_ZONE: "Africa/Lusakka"}, "Lusakka"),
        ({ids.LEARN_SIDE: "spot:Nowhere"}, "spot 'Nowhere' of Mopane Loop is unknown"),
        ({ids.LEARN_REFERENCE: "Pan"}, "group 'Pan' has no usable frame"),
    ],
)
def test_a_wrong_choice_is_told_in_a_sentence(shown, choices, said):
    with pytest.raises(ValueError, match=re.escape(said)):
        shown(FOREST, choices)


def test_a_habit_is_taken_off(shown):
    (plain,), (habit,) = (
        shown(FOREST, {ids.LEARN_HABIT: text})["covers"] for text in ("0", "−0.7")
    )
    # One who exposes 0.7 stop darker than the meter wants chose values as if there
    # were 0.7 stop more light than there is.
    assert habit["stops"] - plain["stops"] == pytest.approx(0.7, abs=0.011)


def test_a_line_makes_a_group_of_a_stretch_of_time(shown, text_of):
    line = "Dawn:from=2025-08-12T00:00,to=2025-08-14T23:59"
    found = shown(FOREST, {ids.LEARN_GROUPS: line})
    early = [r for r in FOREST["frames"] if r[1] < "2025-08-15"]
    names = {c["name"]: c["frames"] for c in found["covers"]}
    assert names == {"Dawn": len(early), "Forest": COUNT - len(early)}


def test_bursts_picked_into_a_group_leave_what_was_said_of_it(shown):
    side = "Forest:side=back"
    picked = "Forest:from=2025-08-12T06:00,to=2025-08-12T06:10"
    alone = shown(FOREST, {ids.LEARN_GROUPS: side})["covers"]
    both = shown(FOREST, {ids.LEARN_GROUPS: f"{side}\n{picked}"})["covers"]
    assert both == alone != shown(FOREST)["covers"]


@pytest.mark.parametrize(
    ("by", "names"),
    [("", ["Fig grove"]), ("folder", ["Fig grove"]), ("all", ["my cover"])],
)
def test_a_choice_of_all_as_one_goes_before_a_tables_groups(shown, by, names):
    table = [[*row[:-1], "Fig grove"] for row in FOREST["frames"]]
    found = shown({"frames": table, "dropped": []}, {ids.LEARN_BY: by})
    assert [cover["name"] for cover in found["covers"]] == names


def test_groups_are_counted_from_a_reference(shown):
    kept = {"frames": [*rows("Pan", 0.8, 3), *FOREST["frames"]], "dropped": []}
    (cover,) = shown(kept, {ids.LEARN_REFERENCE: "Pan"})["covers"]
    wanted = pytest.approx(FOREST_STOPS - 0.8, abs=2**0.5 * WITHIN_STOPS)
    assert cover["stops"] == wanted


# ------------------------------------------------------------- keeping


def buttons(found, walk):
    every = [getattr(c, "id", None) for c in walk(found["keeps"])]
    return [i for i in every if isinstance(i, dict) and i["type"] == "learn-keep"]


def test_too_few_frames_are_told_and_cannot_be_kept(shown, walk, text_of):
    found = shown({"frames": rows("Den", 2.0, 4, count=5), "dropped": []})
    assert found["covers"] == buttons(found, walk) == []
    assert "5 bursts are too few to learn from" in text_of(found["keeps"])
    assert "3 more would be enough" in text_of(found["keeps"])


def test_too_wide_a_spread_is_told_and_cannot_be_kept(shown, walk, text_of):
    found = shown({"frames": rows("Den", 2.0, 5, noise=3.0), "dropped": []})
    assert found["covers"] == buttons(found, walk) == []
    assert "so nothing is learned" in text_of(found["keeps"])


def test_buttons_and_covers_go_together(shown, walk):
    bad = rows("Den", 2.0, 4, count=5)
    kept = {"frames": [*bad, *FOREST["frames"], *rows("Pan", 0, 6)], "dropped": []}
    found = shown(kept)
    assert buttons(found, walk) == [ids.learn_keep(0), ids.learn_keep(1)]
    fields = [c for c in walk(found["keeps"]) if hasattr(c, "value")]
    typed = [field.value for field in fields]
    assert typed == [cover["name"] for cover in found["covers"]]


@pytest.fixture(name="served_file")
def _served_file(catalog, example_file):
    return Loaded(catalog, example_file)


@pytest.fixture(name="kept_forest")
def _kept_forest(shown, served_file):
    """The record of a browser after its forest is kept as ``Fig forest``."""
    (cover,) = shown(FOREST)["covers"]
    sent = kit_changes.learned("Fig forest", cover, None, served_file)
    assert sent["wanted"]["ask"] == ""
    assert "choose it under “Over the animal”" in sent["wanted"]["said"]
    return {"text": sent["wanted"]["text"], "revision": "1"}


def test_a_kept_cover_is_in_the_catalog_with_what_it_was_learned_from(
    kept_forest, served_file, shown
):
    (cover,) = saved.catalog(kept_forest, served_file).covers
    (learned,) = shown(FOREST)["covers"]
    assert cover.name == "Fig forest"
    assert (cover.stops, cover.frames) == (learned["stops"], COUNT)


def test_the_trip_page_offers_a_kept_cover_and_its_link_holds(
    kept_forest, served_file, usual, now, walk
):
    raw = usual({"cover": "Fig forest"})
    catalog = saved.catalog(kept_forest, served_file)
    assert state.mended(raw, catalog, now)[1] == ()
    assert state.read(raw, catalog).cover.label == "Fig forest"
    page = factory.page("/", raw.search(), kept_forest, served_file)
    (select,) = [c for c in walk(page) if getattr(c, "id", "") == "cover"]
    assert select.value == "Fig forest"
    assert "Fig forest" in select.data


def test_a_link_to_a_cover_that_this_browser_lacks_is_mended(usual, catalog, now):
    raw, said = state.mended(usual({"cover": "Fig forest"}), catalog, now)
    assert raw["cover"] in daylight.COVERS
    assert "cover must be one of" in said[0]


def test_what_is_kept_says_so_and_leads_to_a_trip_under_it(
    kept_forest, served_file, shown, walk
):
    found = shown(FOREST, of=saved.catalog(kept_forest, served_file))
    (link,) = [c.href for c in walk(found["keeps"]) if hasattr(c, "href")]
    assert "cover=Fig+forest" in link


def test_a_cover_is_not_replaced_unasked(kept_forest, served_file):
    other = {"stops": 1.0, "spread_stops": 0.3}
    sent = kit_changes.learned(" Fig forest ", other, kept_forest, served_file)
    assert sent["wanted"]["ask"].startswith("A cover Fig forest is already saved.")
    (cover,) = saved.read(sent["wanted"]["text"], "it").covers
    assert cover.stops == 1.0


@pytest.mark.parametrize(
    ("name", "said"),
    [("", "A cover needs a name."), ("woodland", "must not have the name of a preset")],
)
def test_a_name_that_cannot_be_is_told(served_file, name, said):
    cover = {"stops": 1.0, "spread_stops": 0.3}
    sent = kit_changes.learned(name, cover, None, served_file)
    assert sent["wanted"] is None
    assert said in sent["said"]


def test_places_follow_a_covers_new_name_and_hold_it_back_from_removal(
    kept_forest, served_file
):
    catalog = saved.catalog(kept_forest, served_file)
    place = catalog_edit.document(catalog)["places"][0] | {"cover": "Fig forest"}
    catalog = catalog_edit.put(catalog, "places", place["name"], place)
    cover = {"name": "Figs", "stops": 3.0, "spread_stops": 0.5}
    catalog = catalog_edit.put(catalog, "covers", "Fig forest", cover)
    assert catalog.places[0].cover == "Figs"
    with pytest.raises(
        ValueError, match="cover 'Figs' is the usual cover of Mopane Loop"
    ):
        catalog_edit.without(catalog, "covers", "Figs")


def test_a_cover_that_nothing_needs_can_be_removed(kept_forest, served_file):
    catalog = saved.catalog(kept_forest, served_file)
    assert catalog_edit.without(catalog, "covers", "Fig forest").covers == ()


# ------------------------------------------------------------- the picture


def test_each_burst_is_in_the_picture_once_and_outliers_are_hollow(shown):
    kept = {"frames": rows("Pan", 0, 6), "dropped": []}
    # Three stops off with a spread of half a stop is twice what is set aside.
    kept["frames"][7][5] *= 8.0 * 2
    found = shown(kept)
    (marks,) = [t for t in found["figure"]["data"] if t["mode"] == "markers"]
    (cover,) = found["covers"]
    assert len(marks["x"]) == cover["bursts"]
    hollow = [i for i, s in enumerate(marks["marker"]["symbol"]) if "open" in s]
    moment = kept["frames"][7][1]
    assert moment in [marks["customdata"][i][0] for i in hollow]


def sun_range(frames):
    """The lowest and highest sun of frames as their pictures' text rounds them."""
    utc = np.array([r[1] for r in frames], "datetime64[s]") - np.timedelta64(2, "h")
    altitude = sun.position(utc, *AT).altitude_deg
    return [f"{round(a)}°".replace("-", "−") for a in (altitude.min(), altitude.max())]


def test_the_pictures_text_says_what_it_shows(shown):
    found = shown(FOREST)
    low, high = sun_range(FOREST["frames"])
    (cover,) = found["covers"]
    curve = found["figure"]["data"][0]  # a degree wider than the marks at either end
    within = np.interp(
        np.linspace(min(curve["x"]) + 1, max(curve["x"]) - 1), curve["x"], curve["y"]
    )
    levels = f"{within.min():.1f} to {within.max():.1f}"
    assert found["text"].startswith(
        f"Sun from {low} to {high}. Forest {cover['stops']:.1f} stops darker; "
        f"woodland, the preset, {levels} stops darker over the same range. "
        f"{cover['bursts']} bursts over"
    )


def test_the_pictures_text_tells_every_group(shown):
    pan, den = rows("Pan", -0.6, 6), rows("Den", 2.0, 4, count=5)
    kept = {"frames": [*FOREST["frames"], *pan, *den], "dropped": []}
    text = shown(kept)["text"]
    assert re.search(r"Forest 3\.\d stops darker; ", text)
    assert re.search(r"Pan 0\.\d stops brighter; ", text)
    assert "Den no line (too few bursts); woodland, the preset, " in text


@pytest.mark.parametrize(
    ("base", "said"),
    # A preset that is the base itself takes nothing more; open ground lies above it.
    [
        ("woodland", "woodland, the preset, as expected"),
        ("shade", "woodland, the preset, "),
    ],
)
def test_the_pictures_text_tells_the_preset_from_any_base(shown, base, said):
    choices = {ids.LEARN_BASE: base, ids.LEARN_PRESET: "woodland"}
    assert said in shown(FOREST, choices)["text"]
    choices = {ids.LEARN_BASE: base, ids.LEARN_PRESET: "open"}
    brighter = r"open ground, the preset, \d\.\d to \d\.\d stops brighter over"
    assert re.search(brighter, shown(FOREST, choices)["text"])


def test_of_many_groups_the_pictures_text_tells_the_first(shown):
    many = [row for i in range(10) for row in rows(f"G{i}", 2, i, count=12)]
    text = shown({"frames": many, "dropped": []})["text"]
    assert len(re.findall(r"G\d \d\.\d stops darker", text)) == 8
    assert "; and 2 more; woodland, the preset" in text


def test_names_in_the_picture_do_not_touch(shown):
    many = [row for i in range(6) for row in rows(f"G{i}", 2 + i / 50, i, count=12)]
    layout = shown({"frames": many, "dropped": []})["figure"]["layout"]
    places = sorted(a["y"] for a in layout["annotations"])
    low, high = layout["yaxis"]["range"][1], layout["yaxis"]["range"][0]
    line = 26 / 400 * (high - low)  # two lines of 12 px in a plot of 400
    assert min(np.diff(places)) >= line


def test_a_group_called_like_markup_stays_text(shown):
    kept = {"frames": rows("<b>Pan", 0, 6), "dropped": []}
    layout = shown(kept)["figure"]["layout"]
    assert not [a for a in layout["annotations"] if "<b>" in a["text"]]


def test_limits_stand_with_every_result(shown, text_of):
    text = text_of(shown(FOREST)["keeps"])
    assert all(limit in text for limit in calibrate_words.LIMITS)


def test_sides_are_those_of_the_sun_and_of_the_places_spots(shown, catalog):
    sides = shown(None)["sides"]
    values = [side if isinstance(side, str) else side["value"] for side in sides]
    spots = [f"spot:{spot.name}" for spot in catalog.place("Mopane Loop").spots]
    assert values == ["front", "side", "back", *spots]


@pytest.mark.parametrize(
    "files",
    [[("a.csv", b"x")] * 2, [("a.jpg", b"x"), ("a.CSV", b"x")], [("a.jpg", b"x")] * 33],
    ids=["two tables", "a table and a frame", "33 frames"],
)
def test_more_than_a_request_may_hold_is_refused(files):
    with pytest.raises(ValueError, match=r"a table beside|too long"):
        learn_heads.unpacked(body(*files))
    assert learn_heads.unpacked(body(files[0]))
