"""The command line: what it prints is the plan, what it refuses it says once."""

import csv
import datetime as dt
import importlib
import io
import os
import re
import shlex
import socket
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest

from lightplan.catalog import places
from lightplan.cli import main as cli
from lightplan.export import calendar, files, sheet, table
from lightplan.light import daylight
from lightplan.trip import plan
from lightplan.trip.request import FACING_INDEX, Request, choose

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / places.EXAMPLE_FILE
TRIP = ["--place", "Mopane Loop", "--from", "2027-08-12", "--to", "2027-08-14"]


@pytest.fixture(autouse=True)
def _example_file(monkeypatch):
    # A developer's own locations.toml must not change what is tested.
    monkeypatch.setenv("LIGHTPLAN_FILE", str(EXAMPLE))


@pytest.fixture(scope="module")
def catalog():
    return places.load(EXAMPLE)


@pytest.fixture(name="run")
def _run(capsys):
    """Run the command line in this process: exit code, output, errors."""

    def run(*arguments):
        try:
            code = cli.main(arguments)
        except SystemExit as leaving:
            code = leaving.code
        return code, *capsys.readouterr()

    return run


@pytest.fixture(name="rows")
def _csv_rows(run):
    """Run ``plan --csv`` and read what it prints back."""

    def rows(*arguments):
        code, output, errors = run("plan", "--csv", *arguments)
        assert (code, errors) == (0, "")
        return list(csv.DictReader(io.StringIO(output, newline="")))

    return rows


def started(*arguments, **kwargs):
    """Run the command line as a person does, in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "lightplan", *arguments],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        check=False,
        **kwargs,
    )


def request(catalog, first, last, *rigs, pace="walking", **kwargs):
    place = catalog.place("Mopane Loop")
    chosen = tuple(choose(catalog.rig(name), pace) for name in rigs)
    dates = dt.date.fromisoformat(first), dt.date.fromisoformat(last)
    return Request(place, *dates, chosen, pace=pace, **kwargs)


# --- plan ---------------------------------------------------------------------


def test_plan_prints_the_minutes_of_the_plan(run, catalog):
    rigs = [rig.name for rig in catalog.rigs[:3]]
    trip = plan.make(request(catalog, "2027-08-12", "2027-08-14", *rigs))
    code, output, errors = run("plan", *TRIP)
    assert (code, errors) == (0, "")
    side = FACING_INDEX["side"]
    assert re.findall(r"\((\d+) min\)", output) == [
        str(of_rig[side].usable_min)
        for drive in trip.drives
        for of_rig in drive.outcomes
    ]


def test_plan_csv_is_the_tables_csv(run, catalog):
    rigs = [rig.name for rig in catalog.rigs[:3]]
    trip = plan.make(request(catalog, "2027-08-12", "2027-08-14", *rigs))
    assert run("plan", *TRIP, "--csv") == (0, sheet.csv_text(trip), "")


def test_options_reach_the_plan(run, catalog):
    trip = plan.make(
        request(
            catalog, "2027-08-12", "2027-08-14", "600 prime", "400 prime ×2",
            pace="flying", facing="back", sky="broken", cover="shade", travel_min=40,
        )
    )  # fmt: skip
    _, output, _ = run(
        "plan", *TRIP, "--rig", "600 prime", "--rig", "400 prime ×2", "--pace", "flying",
        "--facing", "back", "--sky", "broken", "--cover", "shade", "--travel", "40",
    )  # fmt: skip
    assert output == table.text(trip)


def test_sky_and_cover_are_the_places_own_unless_named(rows):
    # The example file gives Teak Hollow woodland.
    dates = ("--from", "2027-11-01", "--to", "2027-11-01")
    own = rows("--place", "Teak Hollow", *dates)
    assert {(row["sky"], row["cover"]) for row in own} == {("clear", "woodland")}
    named = rows("--place", "Teak Hollow", *dates, "--sky", "storm", "--cover", "open")
    assert {(row["sky"], row["cover"]) for row in named} == {("storm", "open")}


def test_light_limits_are_the_files_own(run, tmp_path):
    wide = tmp_path / "wide.toml"
    text = EXAMPLE.read_text(encoding="utf-8")
    wide.write_text(
        text.replace("golden_high_deg = 6.0", "golden_high_deg = 20.0"),
        encoding="utf-8",
    )
    minutes = []
    for file in (EXAMPLE, wide):
        _, output, _ = run("plan", *TRIP, "--csv", "--file", str(file))
        row = next(csv.DictReader(io.StringIO(output, newline="")))
        minutes.append(int(row["golden light (min)"]))
    assert minutes[1] > minutes[0]


def test_dates_default_to_a_week_from_tomorrow_at_the_place(rows, monkeypatch):
    # At 11:00 UTC on the 12th it is 01:00 on the 13th where clocks are at UTC+14.
    monkeypatch.setattr(
        cli, "_now", lambda: dt.datetime(2027, 8, 12, 11, tzinfo=dt.UTC)
    )
    found = rows(
        "--latitude", "1.9", "--longitude", "-157.4", "--zone", "Pacific/Kiritimati"
    )  # fmt: skip
    dates = sorted({row["date (local, ISO 8601)"] for row in found})
    assert dates == [f"2027-08-{day}" for day in range(14, 21)]


def test_a_week_stops_at_the_last_date_there_is(rows):
    found = rows("--place", "Mopane Loop", "--from", "2037-12-30")
    dates = sorted({row["date (local, ISO 8601)"] for row in found})
    assert dates == ["2037-12-30", "2037-12-31"]


def test_own_coordinates_stand_for_a_place(rows):
    found = rows(
        "--latitude", "-13.1", "--longitude", "31.8", "--zone", "Africa/Lusaka",
        "--from", "2027-08-12", "--to", "2027-08-12", "--with-position",
    )  # fmt: skip
    assert {(r["place"], r["latitude (°)"], r["longitude (°)"]) for r in found} == {
        ("13.1° S 31.8° E", "-13.1", "31.8")
    }


def test_a_file_without_its_position_does_not_name_it_either(rows, run, tmp_path):
    where = ("--latitude", "-13.1", "--longitude", "31.8", "--zone", "Africa/Lusaka")
    found = rows(*where)
    assert {(r["place"], r["latitude (°)"], r["longitude (°)"]) for r in found} == {
        ("Unnamed place", "", "")
    }
    run("plan", *where, "--output", str(tmp_path))
    (written,) = tmp_path.iterdir()
    assert "unnamed-place" in written.name
    assert "31.8" not in written.read_text("utf-8")


def test_a_position_in_no_file_is_refused(run):
    said = "lightplan: --with-position belongs to --as, --csv or --output\n"
    assert run("plan", *TRIP, "--with-position") == (2, "", said)


def test_rig_settings_reach_the_plan(rows):
    found = rows(*TRIP, "--rig", "150–600 zoom:focal=420,f=8,shutter=1/2000,iso=12800")
    columns = (
        "rig",
        "focal length (mm)",
        "aperture (f-number)",
        "shutter (s)",
        "ceiling (ISO)",
    )
    assert {tuple(row[c] for c in columns) for row in found} == {
        ("150–600 zoom", "420", "8", "0.0005", "12800")
    }


def test_a_rig_may_have_a_colon_in_its_name(rows, tmp_path):
    file = tmp_path / "own.toml"
    text = EXAMPLE.read_text(encoding="utf-8")
    file.write_text(
        text.replace('name = "600 prime"', 'name = "hide: f=4"'), encoding="utf-8"
    )
    found = rows(
        *TRIP, "--file", str(file), "--rig", "hide: f=4", "--rig", "hide: f=4:f=8"
    )
    assert {(row["rig"], row["aperture (f-number)"]) for row in found} == {
        ("hide: f=4", "4"),
        ("hide: f=4", "8"),
    }


@pytest.mark.parametrize(
    "steering",
    # Escape and its one-byte form (ECMA-48), and a turn of writing direction
    # (Unicode, bidirectional override).
    ["\x1b[2J", "\x9b2J", "\u202e"],
)
def test_words_of_the_file_cannot_steer_the_terminal(run, tmp_path, steering):
    file = tmp_path / "own.toml"
    text = EXAMPLE.read_text(encoding="utf-8")
    written = "".join(f"\\u{ord(c):04x}" for c in steering)
    file.write_text(text.replace("closed Friday", f"{written}shut"), encoding="utf-8")
    code, output, errors = run("plan", *TRIP, "--file", str(file))
    assert steering[0] not in output + errors
    assert "shut" in output if code == 0 else "one line of text" in errors


def test_words_of_an_argument_cannot_steer_the_terminal(run):
    for arguments in (
        ("places", "--file", "\x1b[2J.toml"),
        ("plan", "--place", "\x1b[2J"),
        ("plan", "\x1b[2J"),
    ):
        code, _, errors = run(*arguments)
        assert code == 2
        assert "\x1b" not in errors


def test_spaces_of_good_typography_are_printed_as_they_are(run, tmp_path):
    file = one_place(tmp_path / "own.toml", "Mopane\u00a0Loop\u2009II")
    _, output, _ = run("places", "--file", str(file))
    assert "Mopane\u00a0Loop\u2009II" in output


# --- the files of a trip ------------------------------------------------------

NOW = dt.datetime(2027, 8, 1, 12, 30, 15, 250_000, tzinfo=dt.UTC)


@pytest.fixture(name="written")
def _bytes_written(capfdbinary, monkeypatch):
    """Run ``plan`` at a fixed moment and return the very bytes it put out."""
    monkeypatch.setattr(cli, "_now", lambda: NOW)

    def written(*arguments):
        assert cli.main(["plan", *TRIP, *arguments]) == 0
        output, errors = capfdbinary.readouterr()
        assert errors == b""
        return output

    return written


@pytest.fixture(scope="module")
def trip(catalog):
    rigs = [rig.name for rig in catalog.rigs[:3]]
    return plan.make(request(catalog, "2027-08-12", "2027-08-14", *rigs))


def options(*alarms, leave_min=calendar.LEAVE_MIN):
    stamp = NOW.replace(microsecond=0)  # RFC 5545 knows whole seconds
    return files.Options(stamp, calendar.Alarms(alarms, leave_min))


@pytest.mark.parametrize("kind", files.FILES)
def test_as_puts_out_the_bytes_of_the_file(written, trip, kind):
    assert written("--as", kind) == files.FILES[kind].write(trip, options())


def test_alarms_reach_the_calendar(written, trip):
    found = written("--as", "calendar", "--alarm", "back", "--alarm", "leave=45")
    chosen = options("back", "leave", leave_min=45)
    assert found == files.FILES["calendar"].write(trip, chosen)
    usual = written("--as", "calendar", "--alarm", "leave")
    assert usual == files.FILES["calendar"].write(trip, options("leave"))
    assert found != usual


@pytest.mark.parametrize("kind", files.FILES)
def test_output_writes_the_file_and_prints_where(written, trip, tmp_path, kind):
    path = tmp_path / "out"
    assert written("--as", kind, "--output", str(path)) == f"{path}\n".encode()
    assert path.read_bytes() == files.FILES[kind].write(trip, options())


@pytest.mark.parametrize("kind", files.FILES)
def test_output_into_a_folder_gives_the_file_its_own_name(
    written, trip, tmp_path, kind
):
    written("--as", kind, "--output", str(tmp_path))
    assert [p.name for p in tmp_path.iterdir()] == [files.FILES[kind].name(trip)]


def test_output_writes_the_table_and_the_csv_too(written, trip, tmp_path):
    written("--output", str(tmp_path / "table.txt"))
    assert (tmp_path / "table.txt").read_text(encoding="utf-8") == table.text(trip)
    written("--csv", "--output", str(tmp_path / "drives.csv"))
    found = (tmp_path / "drives.csv").read_bytes()
    assert found == sheet.csv_text(trip).encode("utf-8")


def test_what_cannot_be_written_leaves_no_file(run, tmp_path):
    # Heron Marsh is shut on Tuesdays, so there is nothing for a calendar.
    path = tmp_path / "trip.ics"
    path.write_text("before", encoding="utf-8")
    code, output, errors = run(
        "plan", "--place", "Heron Marsh", "--from", "2027-08-17", "--to", "2027-08-17",
        "--as", "calendar", "--output", str(path),
    )  # fmt: skip
    assert (code, output) == (2, "")
    assert errors.startswith("lightplan: no drive on these dates")
    assert path.read_text(encoding="utf-8") == "before"


# --- places -------------------------------------------------------------------


def test_places_lists_the_file_its_places_and_its_rigs(run, catalog):
    code, output, errors = run("places")
    assert (code, errors) == (0, "")
    assert output.startswith(f"{EXAMPLE}\n")
    assert table.catalog_text(catalog) in output


OWN_COVERS = """
[[covers]]
name = "Fig forest"
stops = 3.42
spread_stops = 0.51
bursts = 41
frames = 180

[[covers]]
name = "Thin crowns"
stops = -0.5
spread_stops = 0.3
base = "canopy"
"""


def test_places_lists_own_covers_with_stops_spread_and_base(run, tmp_path):
    own = tmp_path / "own.toml"
    own.write_text(EXAMPLE.read_text(encoding="utf-8") + OWN_COVERS, encoding="utf-8")
    _, output, _ = run("places", "--file", str(own))
    rows = [re.split(r" {2,}", line) for line in output.splitlines()]
    assert ["Fig forest", "3.42 ± 0.51", "open ground", "180 in 41 bursts"] in rows
    assert ["Thin crowns", "−0.50 ± 0.30", "closed canopy"] in rows


def test_places_without_own_covers_has_no_table_of_them(run):
    assert "own cover" not in run("places")[1]


# --- which file ---------------------------------------------------------------


def one_place(path, name):
    text = EXAMPLE.read_text(encoding="utf-8")
    path.write_text(text.replace("Mopane Loop", name), encoding="utf-8")
    return path


def test_file_goes_before_the_environment(run, monkeypatch, tmp_path):
    monkeypatch.setenv("LIGHTPLAN_FILE", str(one_place(tmp_path / "a.toml", "Alder")))
    _, output, _ = run("places", "--file", str(one_place(tmp_path / "b.toml", "Birch")))
    assert "Birch" in output


def test_the_environment_goes_before_the_folder(run, monkeypatch, tmp_path):
    one_place(tmp_path / places.OWN_FILE, "Birch")
    monkeypatch.setattr(places, "PACKAGE", tmp_path / "lightplan")
    monkeypatch.setenv("LIGHTPLAN_FILE", str(one_place(tmp_path / "a.toml", "Alder")))
    assert "Alder" in run("places")[1]


def test_the_owners_file_beside_the_app_goes_before_the_example(
    run, monkeypatch, tmp_path
):
    monkeypatch.delenv("LIGHTPLAN_FILE")
    monkeypatch.setattr(places, "PACKAGE", tmp_path / "lightplan")
    one_place(tmp_path / places.EXAMPLE_FILE, "Alder")
    assert "Alder" in run("places")[1]
    one_place(tmp_path / places.OWN_FILE, "Birch")
    assert "Birch" in run("places")[1]


def test_a_broken_file_beside_the_app_is_told_not_passed_over(
    run, monkeypatch, tmp_path
):
    monkeypatch.delenv("LIGHTPLAN_FILE")
    monkeypatch.setattr(places, "PACKAGE", tmp_path / "lightplan")
    one_place(tmp_path / places.EXAMPLE_FILE, "Alder")
    (tmp_path / places.OWN_FILE).write_text("places = 3", encoding="utf-8")
    code, output, errors = run("places")
    assert (code, output) == (2, "")
    assert errors.startswith(f"lightplan: {places.OWN_FILE}: ")


# --- wrong input --------------------------------------------------------------

EAST = ("--longitude", "29", "--zone", "Africa/Lusaka")
MOPANE = ("plan", "--place", "Mopane Loop")
WEEK = (*MOPANE, "--from", "2027-08-12")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((), "plan|places"),
        (("paln",), "paln"),
        (("plan", "--bogus"), "--bogus"),
        (("plan",), "--place"),
        (("plan", "--latitude", "3", "--longitude", "4"), "--zone"),
        ((*MOPANE, "--zone", "Africa/Lusaka"), "not both"),
        (("plan", "--place", "Mopan"), "did you mean 'Mopane Loop'?"),
        ((*MOPANE, "--from", "2027-08-12", "--to", "2027-08-11"), "2027-08-11"),
        ((*MOPANE, "--from", "2027-01-01", "--to", "2027-03-04"), "62 days, got 63"),
        ((*MOPANE, "--from", "1949-12-31", "--to", "1950-01-02"), "1949-12-31"),
        ((*MOPANE, "--from", "9999-12-31"), "9999-12-31"),
        ((*MOPANE, "--from", "2027-02-29"), "2027-02-29"),
        ((*MOPANE, "--from"), "--from"),
        ((*MOPANE, "--rig", "600 pirme"), "did you mean '600 prime'?"),
        ((*MOPANE, *["--rig", "600 prime"] * 7), "1 to 6 rigs"),
        ((*MOPANE, "--rig", "600 prime:apperture=8"), "apperture"),
        ((*MOPANE, "--rig", "600 prime:f=wide"), "'wide'"),
        ((*MOPANE, "--rig", "600 prime:shutter=1/0"), "'1/0'"),
        ((*MOPANE, "--rig", "600 prime:shutter=nan"), "nan"),
        ((*MOPANE, "--rig", "600 prime:iso=inf"), "inf"),
        ((*MOPANE, "--rig", "600 prime:focal=300"), "600 mm only"),
        ((*MOPANE, "--rig", "600 prime:f=2"), "f/4"),
        ((*MOPANE, "--pace", "x"), "resting, walking, trotting"),
        ((*MOPANE, "--facing", "up"), "front, side, back"),
        ((*MOPANE, "--sky", "green"), "clear, broken"),
        ((*MOPANE, "--drive-sky", "overcast"), "like 2027-08-12-evening=overcast"),
        (
            (*WEEK, "--drive-sky", "2027-08-12-evening=green"),
            "sky must be one of clear, broken, overcast, storm, haze, got 'green'",
        ),
        (
            (*WEEK, "--drive-sky", "2027-08-12-evenin=haze"),
            "'2027-08-12-evenin' is no drive of this trip (the nearest is "
            "'2027-08-12-evening')",
        ),
        (
            (*MOPANE, "--distance", "0"),
            "distance to the animal must be 1 to 2000 m, got '0'",
        ),
        ((*MOPANE, "--distance", "nan"), "must be 1 to 2000 m, got 'nan'"),
        ((*MOPANE, "--blur", "much"), "blur must be 0.5 to 50 px, got 'much'"),
        ((*MOPANE, "--cover", "roof"), "open, shade"),
        ((*MOPANE, "--travel", "soon"), "must be 0 to 600 min, got 'soon'"),
        ((*MOPANE, "--travel", "-1"), "0 to 600"),
        ((*MOPANE, "--as", "pdf"), "drives, minutes, json"),
        ((*MOPANE, "--as", "json", "--csv"), "not both"),
        ((*MOPANE, "--alarm", "back"), "--as calendar"),
        ((*MOPANE, "--as", "json", "--alarm", "back"), "--as calendar"),
        ((*MOPANE, "--as", "calendar", "--alarm", "wake"), "got 'wake'"),
        ((*MOPANE, "--as", "calendar", "--alarm", "leave=soon"), "'leave=soon'"),
        ((*MOPANE, "--as", "calendar", "--alarm", "leave=601"), "got 601"),
        ((*MOPANE, "--as", "calendar", "--alarm", "back=5"), "'back=5'"),
        ((*MOPANE, "--as", "json", "--output", "/nowhere/x"), "/nowhere/x"),
        (("plan", "--latitude", "north", *EAST), "-90 to 90°, got 'north'"),
        ((*MOPANE, "--file", "/nowhere/places.toml"), "/nowhere/places.toml"),
        (("places", "--file", str(ROOT / "pyproject.toml")), "unknown key"),
        (("places", "--file", str(ROOT)), "cannot be read"),
    ],
)
def test_wrong_input_is_one_sentence_and_exit_code_2(run, arguments, said):
    code, output, errors = run(*arguments)
    assert (code, output) == (2, "")
    assert errors.startswith("lightplan: ")
    assert errors.count("\n") == 1
    assert said in errors


@pytest.mark.parametrize(
    ("latitude", "longitude", "zone", "said"),
    [
        ("95", "31.8", "Africa/Lusaka", "-90 to 90°, got '95'"),
        ("-91", "31.8", "Africa/Lusaka", "-90 to 90°, got '-91'"),
        ("-13.1", "181", "Africa/Lusaka", "-180 to 180°"),
        ("nan", "31.8", "Africa/Lusaka", "-90 to 90°, got 'nan'"),
        ("-13.1", "31.8", "Africa/Lusak", "did you mean Africa/Lusaka?"),
    ],
)
def test_wrong_coordinates_are_one_sentence(run, latitude, longitude, zone, said):
    code, output, errors = run(
        "plan", "--latitude", latitude, "--longitude", longitude, "--zone", zone
    )
    assert (code, output) == (2, "")
    assert errors.count("\n") == 1
    assert said in errors


# --- serve --------------------------------------------------------------------


@pytest.fixture(name="taken")
def _taken_port():
    with socket.create_server(("127.0.0.1", 0)) as listening:
        yield str(listening.getsockname()[1])


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--port", "65536"], "port must be 1 to 65535, got '65536'"),
        (["--port", ""], "port must be 1 to 65535, got ''"),
        (["--port", "-1"], "port must be 1 to 65535, got '-1'"),
        ([], "cannot listen on 127.0.0.1, port {taken}: another program is using it; "
         "stop that one or choose another port"),
        (["--host", "a..b"], "cannot listen on a..b, port {taken}: that is neither an "
         "address nor a name"),
        (["--file", "nowhere.toml"], "nowhere.toml cannot be read: No such file or "
         "directory"),
    ],
)  # fmt: skip
def test_serve_refuses_in_a_sentence(run, monkeypatch, taken, arguments, said):
    # The port of the environment is taken, so that nothing can start to serve here.
    monkeypatch.setenv("LIGHTPLAN_HOST", "127.0.0.1")
    monkeypatch.setenv("LIGHTPLAN_PORT", taken)
    assert run("serve", *arguments) == (2, "", f"lightplan: {said}\n".format(**vars()))


# --- as a process -------------------------------------------------------------


def test_module_runs_from_any_folder_without_input(tmp_path):
    done = started("plan", *TRIP, cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout.decode().startswith("Mopane Loop (Africa/Lusaka, UTC+2)")


def test_files_are_looked_for_beside_app_py(tmp_path):
    code = "from lightplan.catalog import places; print(places.example())"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, check=True
    )
    assert Path(done.stdout.decode().strip()) == EXAMPLE


def test_wrong_input_leaves_the_process_with_2():
    done = started("plan", "--place", "Mopan")
    assert (done.returncode, done.stdout) == (2, b"")
    assert done.stderr.count(b"\n") == 1


@pytest.mark.parametrize(
    ("buffered", "what"), [(True, ()), (True, ("--as", "json")), (False, ())]
)
def test_a_reader_that_has_left_gets_no_traceback(buffered, what):
    # Buffered, as usual, Python writes a last time after the program has ended.
    reading, writing = os.pipe()
    os.close(reading)
    with os.fdopen(writing, "wb") as pipe:
        done = subprocess.run(
            [sys.executable, "-m", "lightplan", "plan", *TRIP, *what],
            stdin=subprocess.DEVNULL,
            stdout=pipe,
            stderr=subprocess.PIPE,
            env={**os.environ, "PYTHONUNBUFFERED": "" if buffered else "1"},
            check=False,
        )
    assert done.stderr == b""


def test_a_terminal_without_dashes_still_gets_the_table():
    done = started("plan", *TRIP, env={**os.environ, "PYTHONIOENCODING": "ascii"})
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"06:00?10:00" in done.stdout


def test_files_are_utf_8_whatever_the_terminal_speaks(trip):
    done = started(
        "plan", *TRIP, "--as", "drives", env={**os.environ, "PYTHONIOENCODING": "ascii"}
    )
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout == files.FILES["drives"].write(trip, options())
    assert not done.stdout.isascii()


def test_csv_is_utf_8_whatever_the_terminal_speaks(catalog):
    done = started(
        "plan", *TRIP, "--csv", env={**os.environ, "PYTHONIOENCODING": "ascii"}
    )
    rigs = [rig.name for rig in catalog.rigs[:3]]
    trip = plan.make(request(catalog, "2027-08-12", "2027-08-14", *rigs))
    assert done.stdout == sheet.csv_text(trip).encode("utf-8")


# --- the README ---------------------------------------------------------------


def test_readme_shows_what_the_command_prints(run):
    # Not a check of the numbers, but that README and program say the same.
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    shown = re.search(r"```console\n\$ (\S+) -m lightplan (.*)\n((?s:.*?))```", readme)
    assert shown is not None
    _, output, _ = run(*shlex.split(shown[2]))
    assert output == shown[3]


@pytest.mark.thorough
def test_readmes_accuracy_is_what_its_command_prints():
    # Again only that they say the same: the limits are held by the tests themselves.
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    command = [sys.executable, "tests/bench/accuracy.py"]
    printed = subprocess.run(command, cwd=ROOT, capture_output=True, check=True)
    assert command[1] in readme
    assert printed.stdout.decode() in readme


def test_readmes_times_are_of_what_its_command_measures(monkeypatch, capsys):
    # Nothing is timed here: the tables' heads and the names of their rows.
    monkeypatch.syspath_prepend(ROOT / "tests" / "bench")
    figures = importlib.import_module("figures")
    monkeypatch.setattr(figures, "least_ms", lambda runs, work: 1.0)
    monkeypatch.setattr(figures, "peak_mb", lambda work: 1.0)
    monkeypatch.setattr(figures, "cell", lambda runs, make: "1.0 ms, 1.0 kB")
    figures.main(1)
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert "tests/bench/figures.py" in readme
    shown = readme.split("\n## How fast it is\n")[1].split("\n## ")[0]
    assert row_names(shown) == row_names(capsys.readouterr().out)


def row_names(markdown):
    """Every head of a table whole, of its rows the first cell."""
    lines = [line for line in markdown.splitlines() if line.startswith("|")]
    heads = [one for one, rule in pairwise(lines) if rule.startswith("|---")]
    return heads, [line.split("|")[1] for line in lines]


def test_readme_gives_the_spread_of_every_sky_and_cover():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for kind in (*daylight.SKIES.values(), *daylight.COVERS.values()):
        assert f"{kind.key} {kind.spread_stops:g}" in readme


@pytest.mark.parametrize("command", ["serve", "plan", "places", "learn"])
def test_readme_names_every_option(run, command):
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    _, help_text, _ = run(command, "--help")
    options = set(re.findall(r"--[a-z]+", help_text)) - {"--help"}
    assert options - set(re.findall(r"--[a-z]+", readme)) == set()


def test_output_that_cannot_be_written_is_told_in_a_sentence(tmp_path):
    # POSIX's EBADF, as a full disk's ENOSPC: a stream that is open for reading only.
    file = tmp_path / "plan.txt"
    file.touch()
    with file.open("rb") as closed:
        done = subprocess.run(
            [sys.executable, "-m", "lightplan", "plan", *TRIP],
            stdout=closed, stderr=subprocess.PIPE, check=False,
        )  # fmt: skip
    assert done.returncode == 2
    assert (
        done.stderr
        == b"lightplan: cannot write all of the output: Bad file descriptor\n"
    )


@pytest.mark.parametrize("port", ["abc", "0", "65536", "-1", ""])
def test_a_wrong_port_is_told_in_a_sentence(port):
    app = Path(__file__).parents[2] / "app.py"
    done = subprocess.run(
        [sys.executable, str(app)],
        env={**os.environ, "LIGHTPLAN_PORT": port},
        stderr=subprocess.PIPE, timeout=60, check=False,
    )  # fmt: skip
    said = f"lightplan: port must be 1 to 65535, got {port!r}\n"
    assert (done.returncode, done.stderr.decode()) == (1, said)
