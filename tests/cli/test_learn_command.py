"""``lightplan learn``: what frames say, printed, and kept in the file."""

import datetime as dt
import re
import shutil
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from lightplan.camera import exposure
from lightplan.catalog import places
from lightplan.cli import main as cli
from lightplan.frames import learning
from lightplan.frames.learning import End
from lightplan.frames.words import consequence
from lightplan.light import daylight
from lightplan.sky import sun
from lightplan.trip import plan
from lightplan.trip.request import FACING_INDEX, Request, choose

EXAMPLE = Path(__file__).parents[2] / places.EXAMPLE_FILE
AT = (-14.0, 29.0)  # Mopane Loop; its clock is UTC+2 all year
PLACE = ("--place", "Mopane Loop")
ZONE = ("--zone", "Africa/Lusaka")
FOREST_STOPS, NOISE_STOPS, COUNT = 3.4, 0.5, 60

# Four times the error of a median of 60 bursts with that noise, 1.25 σ/√n.
WITHIN_STOPS = 4 * 1.2533 * NOISE_STOPS / COUNT**0.5


@pytest.fixture(autouse=True)
def _example_file(monkeypatch):
    monkeypatch.setenv("LIGHTPLAN_FILE", str(EXAMPLE))
    monkeypatch.setattr(cli, "_now", lambda: dt.datetime(2026, 1, 1, tzinfo=dt.UTC))


@pytest.fixture(name="run")
def _run(capsys):
    """Run the command line in this process: exit code, output, errors."""

    def run(*arguments):
        try:
            code = cli.main(["learn", *map(str, arguments)])
        except SystemExit as leaving:
            code = leaving.code
        return code, *capsys.readouterr()

    return run


def exposures(stops, seed, count=COUNT, facing_deg=90.0, bearing_deg=None):
    """Wall times and shutters at f/6.3 and ISO 3200, from the model and noise."""
    rng = np.random.default_rng(seed)
    since = (
        rng.integers(0, 6, count) * 86_400 + rng.choice([4, 5, 14, 15], count) * 3600
    )
    since = since + rng.integers(0, 3000, count)
    utc = np.datetime64("2025-08-12T00:00:00") + since.astype("timedelta64[s]")
    geometric, azimuth = sun.position(utc, *AT)
    altitude = sun.apparent_altitude_deg(geometric)
    if bearing_deg is not None:  # between the sun and the way back to the camera
        back = np.cos(np.radians(azimuth - bearing_deg - 180))
        facing_deg = np.degrees(np.arccos(back))
    ev = exposure.ev100(daylight.subject_lux(altitude, facing_deg)) - stops
    ev = ev + rng.normal(0, NOISE_STOPS, count)
    # N²/t = 2^EV · S/100, solved for t.
    shutter_s = 6.3**2 / (2**ev * 32)
    return utc + np.timedelta64(2, "h"), shutter_s


def rows(group, stops, seed, **kwargs):
    walls, shutters = exposures(stops, seed, **kwargs)
    return [
        f"{wall},6.3,{shutter:.7f},3200,{group}"
        for wall, shutter in zip(walls, shutters, strict=True)
    ]


@pytest.fixture(name="table")
def _table(tmp_path):
    def write(*lines):
        path = tmp_path / "frames.csv"
        path.write_text("\n".join(["time,f,shutter,iso,group", *lines]), "utf-8")
        return path

    return write


@pytest.fixture(name="forest")
def _forest(table):
    return table(*rows("Riverine forest", FOREST_STOPS, 1))


@pytest.fixture(name="folder")
def _folder(tmp_path, image):
    """Frames in two folders, and files that are none."""
    root = tmp_path / "frames"
    for name, stops in (("Riverine forest", FOREST_STOPS), ("Plain", 0.0)):
        (root / name).mkdir(parents=True)
        for i, (wall, shutter) in enumerate(zip(*exposures(stops, 2), strict=True)):
            tags = {
                0x9003: str(wall).replace("-", ":").replace("T", " "),
                0x829D: Fraction(63, 10),
                0x829A: Fraction(shutter).limit_denominator(30_000),
                0x8827: 3200,
            }
            (root / name / f"{i:03}.jpg").write_bytes(image(tags))
    (root / "notes.md").write_text("the gate")
    (root / "cut.jpg").write_bytes(b"\xff\xd8\xff")
    return root


def stops_of(output, group):
    """The stops in a group's row of the printed table."""
    row = re.search(rf"^{re.escape(group)}  .*$", output, re.MULTILINE)
    assert row, output
    return float(re.search(r"[+−]\d+\.\d+", row[0])[0].replace("−", "-"))


def spread_of(output, group):
    """The ± in a group's row of the printed table."""
    row = re.search(rf"^{re.escape(group)}  .*$", output, re.MULTILINE)
    return float(re.findall(r"\d+\.\d+", row[0])[1])


# --- what it finds ------------------------------------------------------------


def test_stops_of_each_folder_come_back(run, folder):
    code, output, errors = run(folder, *PLACE, *ZONE)
    assert (code, errors) == (0, "")
    forest, plain = (stops_of(output, g) for g in ("Riverine forest", "Plain"))
    assert forest == pytest.approx(FOREST_STOPS, abs=WITHIN_STOPS)
    assert plain == pytest.approx(0.0, abs=WITHIN_STOPS)


def test_frames_of_one_folder_are_a_group_of_its_name(run, folder):
    _, output, _ = run(folder / "Riverine forest", *PLACE, *ZONE)
    assert stops_of(output, "Riverine forest") == pytest.approx(
        FOREST_STOPS, abs=WITHIN_STOPS
    )
    assert 'name = "Riverine forest"' in output


def test_asked_for_one_group_a_folder_does_not_name_it(run, folder):
    _, output, _ = run(folder / "Plain", *PLACE, *ZONE, "--by", "all")
    assert stops_of(output, "my cover") == pytest.approx(0, abs=WITHIN_STOPS)


def test_with_a_zone_none_is_asked_for(run, forest):
    _, output, _ = run(forest, *PLACE, *ZONE)
    assert "do not tell a time zone" not in output


def test_the_account_adds_up(run, folder):
    _, output, _ = run(folder, *PLACE, *ZONE)
    total, used, dropped = re.search(
        r"([\d,]+) files or rows: ([\d,]+) frames used.*; ([\d,]+) dropped", output
    ).groups()
    each = [int(n) for n in re.findall(r"^ +(\d+)  \S", output, re.MULTILINE)]
    assert (int(total), int(used), int(dropped)) == (2 * COUNT + 2, 2 * COUNT, 2)
    assert sum(each) == 2


def test_one_of_a_thing_is_counted_as_one(run, table):
    row = rows("Pan", 0.0, 1)[0]
    _, output, _ = run(table(row), *PLACE, *ZONE)
    head = "1 file or row: 1 frame used, in 1 burst"
    assert output.startswith(f"{head}; none dropped.")
    _, output, _ = run(table(row, "x"), *PLACE, *ZONE)
    assert output.startswith("2 files or rows: 1 frame used, in 1 burst; 1 dropped:")


def test_the_side_of_the_sun_is_taken_into_account(run, table):
    source = table(*rows("Plain", 0.0, 3, facing_deg=180.0))
    _, right, _ = run(source, *PLACE, *ZONE, "--side", "back")
    _, wrong, _ = run(source, *PLACE, *ZONE, "--side", "front")
    assert stops_of(right, "Plain") == pytest.approx(0, abs=WITHIN_STOPS)
    assert stops_of(wrong, "Plain") > 0.5


@pytest.mark.parametrize(
    ("options", "shift"),
    [
        ((), 0.0),
        (("--habit=-0.7",), 0.7),  # darker frames by habit: there was less light
        (("--habit", "0.5"), -0.5),
        (("--group", "Riverine forest:base=shade"), None),
    ],
)
def test_habit_and_base_move_the_stops(run, forest, options, shift):
    _, plain, _ = run(forest, *PLACE, *ZONE)
    _, output, _ = run(forest, *PLACE, *ZONE, *options)
    moved = stops_of(output, "Riverine forest") - stops_of(plain, "Riverine forest")
    if shift is None:
        assert -3 < moved < -0.5  # open shade takes one to two stops of open ground
    else:
        assert moved == pytest.approx(shift, abs=0.011)


def test_compensation_counts_unless_it_is_left_in(run, table):
    head = "time,f,shutter,iso,group,compensation"
    lines = [f"{row},1" for row in rows("Forest", 3.0, 4)]
    source = table()
    source.write_text("\n".join([head, *lines]), "utf-8")
    _, counted, _ = run(source, *PLACE, *ZONE)
    _, left_in, _ = run(source, *PLACE, *ZONE, "--as-exposed")
    # One stop more light was given than metered, so the meter had read one more.
    assert stops_of(left_in, "Forest") - stops_of(counted, "Forest") == pytest.approx(1)


def test_a_reference_on_open_ground_takes_out_what_both_share(run, table):
    habit = 0.9
    source = table(*rows("Forest", FOREST_STOPS + habit, 5), *rows("Plain", habit, 6))
    _, output, _ = run(source, *PLACE, *ZONE, "--reference", "Plain")
    assert stops_of(output, "Forest") == pytest.approx(
        FOREST_STOPS, abs=WITHIN_STOPS * 2**0.5
    )


def test_a_stretch_of_time_makes_a_group(run, table):
    source = table(*rows("", 3.0, 7))
    _, output, _ = run(
        source, *PLACE, *ZONE, "--group",
        "Two days:from=2025-08-12T00:00,to=2025-08-13T23:59",
    )  # fmt: skip
    assert stops_of(output, "Two days") == pytest.approx(3, abs=3 * WITHIN_STOPS)
    assert "my cover" in output


def test_two_options_about_one_group_add_up(run, forest):
    side = ("--group", "Riverine forest:side=back")
    stretch = "Riverine forest:from=2025-08-12T00:00,to=2025-08-12T23:59"
    _, alone, _ = run(forest, *PLACE, *ZONE, *side)
    _, both, _ = run(forest, *PLACE, *ZONE, *side, "--group", stretch)
    assert both == alone


def test_a_spot_gives_the_side_from_where_it_looks(run, table):
    # Ebony bend looks to 285°: mornings are front-lit there, evenings backlit.
    source = table(*rows("Bend", 2.0, 8, bearing_deg=285.0))
    _, output, _ = run(source, *PLACE, *ZONE, "--group", "Bend:spot=Ebony bend")
    _, plain, _ = run(source, *PLACE, *ZONE)
    assert stops_of(output, "Bend") == pytest.approx(2, abs=WITHIN_STOPS)
    assert spread_of(output, "Bend") < 0.7 * spread_of(plain, "Bend")


def test_groups_by_date(run, forest):
    lines = [line.rpartition(",")[0] + "," for line in rows("", 3.0, 9)]
    forest.write_text("\n".join(["time,f,shutter,iso,group", *lines]), "utf-8")
    _, output, _ = run(forest, *PLACE, *ZONE, "--by", "date")
    dates = re.findall(r"^(2025-08-\d\d)  ", output, re.MULTILINE)
    assert dates == [f"2025-08-{day}" for day in range(12, 18)]


@pytest.mark.parametrize(
    ("by", "names"),
    [
        ((), ["Riverine forest"]),
        (("--by", "folder"), ["Riverine forest"]),
        (("--by", "subfolder"), ["Riverine forest"]),
        (("--by", "date"), [f"2025-08-{day}" for day in range(12, 18)]),
        (("--by", "all"), ["my cover"]),
    ],
)
def test_a_tables_groups_stand_for_folders_only(run, forest, by, names):
    _, output, _ = run(forest, *PLACE, *ZONE, *by)
    assert re.findall(r"^(\S.*?)  +\d+  ", output, re.MULTILINE) == names


def test_groups_by_the_innermost_folder(run, folder):
    trip = folder.parent / "trip"
    folder.rename(trip)
    (folder / "2025").mkdir(parents=True)
    trip.rename(folder / "2025" / "trip")
    _, by_folder, _ = run(folder, *PLACE, *ZONE)
    assert stops_of(by_folder, "2025") is not None
    _, output, _ = run(folder, *PLACE, *ZONE, "--by", "subfolder")
    forest, plain = (stops_of(output, g) for g in ("Riverine forest", "Plain"))
    assert forest - plain == pytest.approx(FOREST_STOPS, abs=2 * WITHIN_STOPS)


# --- what it says -------------------------------------------------------------


def test_what_it_means_for_a_lens_is_what_the_plans_say(run, forest):
    _, output, _ = run(forest, *PLACE, *ZONE, "--rig", "600 prime")
    said = " ".join(output.split())
    found = re.search(
        r"Your 600 mm f/4 runs out of light at (\d\d:\d\d) on \d+ \w+, (\d+) min (earlier|later) than "
        r"with the woodland preset", said,
    )  # fmt: skip
    assert found, said
    written = re.search(r"stops = ([\d.]+)", output)[1]
    ends = [finished(cover) for cover in (cover_of(float(written)), "woodland")]
    assert found[1] == str(ends[0] + np.timedelta64(2, "h"))[11:16]
    minutes = int((ends[0] - ends[1]) / np.timedelta64(1, "m"))
    assert (int(found[2]), found[3]) == (
        abs(minutes),
        "later" if minutes > 0 else "earlier",
    )


@pytest.mark.parametrize(
    ("options", "preset"),
    [
        ((), "woodland"),
        (("--base", "shade"), "open shade"),
        (("--base", "shade", "--preset", "canopy"), "closed canopy"),
    ],
)
def test_results_are_set_against_the_preset_asked_or_the_base(
    run, forest, options, preset
):
    _, output, _ = run(forest, *PLACE, *ZONE, *options)
    assert f"{preset} preset" in " ".join(output.split())


def cover_of(stops):
    share = 2.0**-stops
    return daylight.Cover("x", "x", share, share, 0.5)


def finished(cover):
    """The last usable minute of the last evening with frames, by a plan of its own."""
    catalog = places.load(EXAMPLE)
    place = catalog.place("Mopane Loop").model_copy(
        update={"gates": (), "closures": ()}
    )
    date = max(exposures(FOREST_STOPS, 1)[0]).astype("datetime64[D]").astype(object)
    rigs = (choose(catalog.rig("600 prime")),)
    trip = plan.make(Request(place, date, date, rigs, cover=cover))
    return trip.drives[-1].outcomes[0][FACING_INDEX["side"]].last.utc


def test_what_is_printed_is_a_cover_of_the_file_to_plan_with(
    run, forest, tmp_path, monkeypatch, capsys
):
    _, output, _ = run(forest, *PLACE, *ZONE)
    own = tmp_path / "locations.toml"
    shutil.copy(EXAMPLE, own)
    with own.open("a", encoding="utf-8") as file:
        file.write("\n" + output[output.index("[[covers]]") :])
    cover = places.load(own).covers[0]
    assert (cover.name, cover.frames) == ("Riverine forest", COUNT)
    assert cover.stops == pytest.approx(FOREST_STOPS, abs=WITHIN_STOPS)
    assert cover.spread_stops == pytest.approx(NOISE_STOPS, abs=0.25)
    monkeypatch.setenv("LIGHTPLAN_FILE", str(own))
    code = cli.main(["plan", *PLACE, "--cover", "Riverine forest"])
    assert code == 0
    head = capsys.readouterr().out.partition("\n\n")[0]
    assert "Riverine forest" in " ".join(head.split())


def test_a_wrong_zone_is_said(run, forest):
    _, output, _ = run(forest, *PLACE, "--zone", "Asia/Kolkata")
    # Kolkata is 3 h 30 ahead of Lusaka, so its instants come out that much early.
    assert "fit much better 3 h 30 later" in " ".join(output.split())
    assert "\n\nCheck the clock first. To plan with it, add this" in output


def test_the_right_zone_is_not_doubted(run, forest):
    _, output, _ = run(forest, *PLACE, *ZONE)
    assert "much better" not in output
    assert "Check the clock" not in output


@pytest.mark.parametrize(
    ("zone", "clock"),
    # Nairobi is UTC+3, Luanda UTC+1, Lusaka UTC+2.
    [
        ("Africa/Nairobi", "+1h"),
        ("Africa/Luanda", "-60min"),
        ("Africa/Luanda", "−3600s"),
    ],
)
def test_a_correction_of_the_clock_mends_a_wrong_zone(run, forest, zone, clock):
    _, right, _ = run(forest, *PLACE, *ZONE)
    _, mended, _ = run(forest, *PLACE, "--zone", zone, f"--clock={clock}")
    assert mended == right


def test_gates_do_not_hide_when_a_lens_is_finished():
    catalog = places.load(EXAMPLE)
    place = catalog.place("Mopane Loop")
    early = place.gates[0].model_copy(update={"evening": ("12:00", "13:00")})
    shut = place.model_copy(update={"gates": (early,)})
    rig, date = choose(catalog.rig("600 prime")), dt.date(2025, 8, 12)
    for at in (place, shut):
        end = learning.evening_end(at, date, rig, "side", "clear", "woodland")
        # The gate shuts at 11:00 UTC; hours of daylight are left by then.
        assert end.utc > np.datetime64("2025-08-12T14:30")
        assert not end.dusk


def test_too_few_frames_are_said_and_nothing_is_kept(run, table):
    _, output, _ = run(table(*rows("Thicket", 3.0, 1, count=5)), *PLACE, *ZONE)
    assert re.search(r"Thicket: \d bursts are too few to learn from", output)
    assert "[[covers]]" not in output
    assert "good enough for a cover" in output


def test_without_a_zone_frames_that_do_not_tell_are_dropped(run, forest):
    code, output, _ = run(forest, *PLACE)
    assert code == 0
    assert f"{COUNT}  no UTC offset" in output
    assert f"{COUNT} frames do not tell a time zone: state" in output
    assert "--zone Africa/Lusaka." in " ".join(output.split())
    assert "No usable frame" in output


def test_a_group_called_like_a_preset_gets_a_name_of_its_own(run, table):
    _, output, _ = run(table(*rows("woodland", 3.0, 1)), *PLACE, *ZONE)
    assert 'name = "own woodland"' in output


def test_an_empty_folder_is_answered(run, tmp_path):
    code, output, _ = run(tmp_path, *PLACE, *ZONE)
    assert code == 0
    assert output.startswith("0 files or rows: 0 frames used")


@pytest.mark.parametrize(
    ("ends", "said"),
    [
        ((End(None, False), End(None, False)), "is too slow all evening there, as"),
        ((End(None, False), End("17:30", False)), "preset it lasts to 19:30 on 12 Aug"),
        ((End("17:30", False), End(None, False)), "preset it is too slow all evening"),
        ((End("17:30", True), End("17:30", True)), "the end of civil twilight, 19:30"),
        ((End("17:20", False), End("17:30", True)), "at least 10 min earlier"),
        (
            (End("17:20", False), End("17:20", False)),
            "out of light at 19:20 on 12 Aug, as",
        ),
    ],
)
def test_every_pair_of_ends_has_its_sentence(ends, said):
    filled = tuple(
        end._replace(utc=np.datetime64(f"2025-08-12T{end.utc}") if end.utc else None)
        for end in ends
    )
    preset, date = daylight.COVERS["woodland"], dt.date(2025, 8, 12)
    place = places.load(EXAMPLE).place("Mopane Loop")
    assert said in consequence("600 mm f/4", place, date, preset, filled)


# --- wrong input --------------------------------------------------------------


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--place", "Mopan", *ZONE), "did you mean 'Mopane Loop'?"),
        ((*PLACE, "--zone", "Africa/Lusak"), "did you mean Africa/Lusaka?"),
        ((*PLACE, *ZONE, "--side", "up"), "front, side, back"),
        ((*PLACE, *ZONE, "--sky", "green"), "clear, broken"),
        ((*PLACE, *ZONE, "--base", "roof"), "open, shade"),
        ((*PLACE, *ZONE, "--preset", "roof"), "open, shade"),
        ((*PLACE, *ZONE, "--by", "colour"), "folder, subfolder, date, all"),
        ((*PLACE, *ZONE, "--clock", "soon"), "90s, -3min or +1h"),
        ((*PLACE, *ZONE, "--clock", "99h"), "90s, -3min or +1h"),
        ((*PLACE, *ZONE, "--habit", "nan"), "from -5 to 5"),
        ((*PLACE, *ZONE, "--rig", "600 pirme"), "did you mean '600 prime'?"),
        ((*PLACE, *ZONE, "--reference", "Plain"), "'Plain' has no usable frame"),
        ((*PLACE, *ZONE, "--group", "Plain:sky=haze"), "'Plain' has no usable frame"),
        ((*PLACE, *ZONE, "--group", "Riverine forest:skye=haze"), "'sky'"),
        ((*PLACE, *ZONE, "--group", "Riverine forest:side=up"), "front, side, back"),
        ((*PLACE, *ZONE, "--group", "Riverine forest:spot=hide"), "'Oxbow hide'"),
        ((*PLACE, *ZONE, "--group", "x:from=noon,to=night"), "got 'noon'"),
        ((*PLACE, *ZONE, "--group", "x:from=2025-08-12T06:00"), "to of group 'x'"),
        (ZONE, "--place"),
    ],
)  # fmt: skip
def test_wrong_input_is_one_sentence_and_exit_code_2(run, forest, options, said):
    code, output, errors = run(forest, *options)
    assert (code, output) == (2, "")
    assert errors.startswith("lightplan: ")
    assert errors.count("\n") == 1
    assert said in errors


def test_a_folder_that_is_not_there_is_one_sentence(run, tmp_path):
    code, output, errors = run(tmp_path / "gone", *PLACE, *ZONE)
    assert (code, output, errors.count("\n")) == (2, "", 1)
    assert "does not exist" in errors


def test_a_reference_of_few_frames_is_refused(run, table):
    source = table(*rows("Forest", 3, 1), *rows("Plain", 0, 2, count=4))
    code, _, errors = run(source, *PLACE, *ZONE, "--reference", "Plain")
    assert code == 2
    assert "cannot be the reference" in errors
