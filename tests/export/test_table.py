"""A trip as table and as CSV: the numbers are the plan's, the cells are safe."""

import csv
import datetime as dt
import io
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from lightplan import naming
from lightplan.catalog import places
from lightplan.catalog.gates import Gates
from lightplan.export import sheet, table
from lightplan.trip import plan, words
from lightplan.trip.drives import Closed
from lightplan.trip.request import FACINGS, Request, choose

planned = cache(plan.make)  # many tests look at the same trip, none changes it

EXAMPLE = Path(__file__).parents[2] / places.EXAMPLE_FILE
# What may stand in brackets behind a quantity: units of the SI and signs
# accepted with it, and the numbers photographers use as units.
UNITS = {
    "500 nm, unitless",
    "°",
    "min",
    "s",
    "mm",
    "m",
    "px",
    "± stops",
    "f-number",
    "ISO",
    "lux",
}
TIMES = {"local, ISO 8601", "local, ISO 8601 intervals", "UTC, ISO 8601"}
# Half a unit of the last digit that a cell holds.
ANGLE_TOLERANCE_DEG = 0.5e-3
SIX_DIGITS = 5e-6  # relative


@pytest.fixture(scope="module")
def catalog():
    return places.load(EXAMPLE)


@pytest.fixture(scope="module")
def trip(catalog):
    """Plan from Thursday to Saturday, with a closed Friday evening between."""
    return make(catalog, "Mopane Loop", "2027-08-12", "2027-08-14")


@pytest.fixture(scope="module")
def hopeless(catalog):
    """Plan for a rig that no daylight is bright enough for."""
    rig = choose(catalog.rig("400 prime"), shutter_s=1 / 32000, iso_ceiling=50)
    date = dt.date(2027, 8, 12)
    return plan.make(Request(catalog.place("Mopane Loop"), date, date, (rig,)))


def make(catalog, place, first, last, rigs=("150–600 zoom", "400 prime"), **kwargs):
    if isinstance(place, str):
        place = catalog.place(place)
    return planned(
        Request(
            place,
            dt.date.fromisoformat(first),
            dt.date.fromisoformat(last),
            tuple(choose(catalog.rig(name)) for name in rigs),
            **kwargs,
        )
    )


def renamed(entry, name):
    return entry.model_copy(update={"name": name})


def lines(trip):
    """Read the CSV back, as a spreadsheet would: from its bytes."""
    text = sheet.csv_text(trip).encode("utf-8").decode("utf-8")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def minute_lines(trip):
    """Read the file of the minutes back, from its bytes."""
    text = sheet.minutes(trip).decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline="")))


@pytest.fixture(scope="module")
def minutes(trip):
    return minute_lines(trip)


def first_lines(trip):
    """Return the table's cells on the first line of each session's row."""
    _, _, _, *body = table.table(trip).splitlines()
    days = {naming.day_name(day.date) for day in trip.days}
    starts = [line for line in body if line[:10].strip() in days]
    return [re.split(r" {2,}", line) for line in starts]


# --- CSV ----------------------------------------------------------------------


def test_csv_has_a_row_for_every_drive_rig_and_facing(trip):
    expected = [
        (drive.date.isoformat(), drive.session, choice.rig.name, facing.key)
        for drive in trip.drives
        for choice in trip.request.rigs
        for facing in FACINGS
    ]
    found = [
        (r["date (local, ISO 8601)"], r["session"], r["rig"], r["facing"])
        for r in lines(trip)
    ]
    assert found == expected


def test_csv_minutes_are_the_plans(trip):
    expected = [
        (outcome.usable_min, outcome.usable_golden_min, drive.window_min("golden"),
         drive.window_min("twilight"), drive.window_min("open"), drive.window_min("hard"))
        for drive in trip.drives
        for of_rig in drive.outcomes
        for outcome in of_rig
    ]  # fmt: skip
    columns = (
        "usable (min)", "usable in golden light (min)", "golden light (min)",
        "civil twilight (min)", "open light (min)", "hard light (min)",
    )  # fmt: skip
    assert [tuple(int(r[c]) for c in columns) for r in lines(trip)] == expected


def test_csv_light_windows_fill_the_time_between_the_gates(trip):
    for row in lines(trip):
        opens, closes = (
            dt.datetime.fromisoformat(row[f"{gate} (local, ISO 8601)"])
            for gate in ("opens", "closes")
        )
        light = sum(
            int(row[f"{kind} (min)"])
            for kind in (
                "dark", "civil twilight", "golden light", "open light", "hard light",
            )
        )  # fmt: skip
        assert dt.timedelta(minutes=light) == closes - opens


def test_every_csv_heading_that_measures_something_carries_its_unit(trip):
    rows = lines(trip)
    bare = []
    for heading in sheet.CSV_HEADER:
        if not (cells := [row[heading] for row in rows if row[heading]]):
            continue
        unit = match[1] if (match := re.search(r"\(([^()]+)\)$", heading)) else ""
        numeric = all(re.fullmatch(r"-?\d+(\.\d+)?", cell) for cell in cells)
        dated = all(re.match(r"\d{4}-\d\d-\d\d", cell) for cell in cells)
        if (numeric and unit not in UNITS) or (dated and unit not in TIMES):
            bare.append(heading)
        if not numeric and not dated and unit:
            bare.append(heading)
    assert bare == []


def test_csv_headings_differ():
    assert len(set(sheet.CSV_HEADER)) == len(sheet.CSV_HEADER)


def test_csv_times_are_the_plans_instants_in_the_places_own_offset(catalog, iana):
    # Clocks in France go forward on 28 March 2027: one offset before, one after.
    trip = make(catalog, "Heron Marsh", "2027-03-27", "2027-03-28")
    zone = iana("Europe/Paris")
    rows = {(r["date (local, ISO 8601)"], r["session"]): r for r in lines(trip)}
    offsets = set()
    for drive in trip.drives:
        row = rows[drive.date.isoformat(), drive.session]
        for heading, utc in (
            ("opens", drive.opens_utc),
            ("closes", drive.closes_utc),
            ("turn back", drive.turn_back_utc),
        ):
            moment = dt.datetime.fromisoformat(row[f"{heading} (local, ISO 8601)"])
            instant = utc.item().replace(tzinfo=dt.UTC)
            assert moment == instant
            assert moment.utcoffset() == instant.astimezone(zone).utcoffset()
            offsets.add(moment.utcoffset())
    assert offsets == {dt.timedelta(hours=1), dt.timedelta(hours=2)}


def test_csv_sunrise_and_sunset_are_rounded_to_the_nearest_minute(trip):
    half_minute = dt.timedelta(seconds=30)
    for drive, row in zip(trip.drives, lines(trip)[::6], strict=True):
        for name, utc in (
            ("sunrise", drive.sun.sunrise_utc),
            ("sunset", drive.sun.sunset_utc),
        ):
            written = dt.datetime.fromisoformat(row[f"{name} (local, ISO 8601)"])
            exact = utc.astype("datetime64[us]").item().replace(tzinfo=dt.UTC)
            assert abs(written - exact) <= half_minute


def test_csv_starts_and_ends_are_the_plans(trip):
    outcomes = [o for d in trip.drives for of_rig in d.outcomes for o in of_rig]
    for row, outcome in zip(lines(trip), outcomes, strict=True):
        for name, span in (("start", outcome.first), ("end", outcome.last)):
            for case, utc in zip(("", "earliest ", "latest "), span, strict=True):
                moment = dt.datetime.fromisoformat(
                    row[f"{case}{name} (local, ISO 8601)"]
                )
                assert (
                    np.datetime64(moment.astimezone(dt.UTC).replace(tzinfo=None)) == utc
                )


def test_csv_golden_intervals_add_up_to_the_golden_minutes(trip):
    for row in lines(trip):
        total = dt.timedelta(0)
        for interval in row["golden light (local, ISO 8601 intervals)"].split():
            start, end = map(dt.datetime.fromisoformat, interval.split("/"))
            total += end - start
        assert total == dt.timedelta(minutes=int(row["golden light (min)"]))


def test_csv_writes_settings_as_plain_numbers(trip):
    row = lines(trip)[0]
    headings = (
        "focal length (mm)", "aperture (f-number)", "shutter (s)", "ceiling (ISO)",
    )  # fmt: skip
    # 600 mm, f/6.3 and ISO 6400 are the rig's own; 1/1600 s = 0.000625 s is proposed.
    assert [row[h] for h in headings] == ["600", "6.3", "0.000625", "6400"]


def test_csv_leaves_out_closed_sessions(trip):
    assert any(isinstance(row, Closed) for row in trip.rows)
    sessions = {(r["date (local, ISO 8601)"], r["session"]) for r in lines(trip)}
    assert ("2027-08-13", "evening") not in sessions
    assert ("2027-08-13", "morning") in sessions


def test_csv_of_a_trip_without_drives_is_its_header_alone(catalog):
    # A Tuesday: Heron Marsh is shut on Tuesdays.
    trip = make(catalog, "Heron Marsh", "2027-08-17", "2027-08-17")
    assert sheet.csv_rows(trip) == []
    assert len(sheet.csv_text(trip).splitlines()) == 1


def test_csv_leaves_a_sunrise_blank_that_does_not_happen(catalog):
    trip = make(catalog, "Ptarmigan Fjord", "2027-06-21", "2027-06-21")
    for row in lines(trip):
        assert row["sunrise (local, ISO 8601)"] == ""
        assert row["sunset (local, ISO 8601)"] == ""


def test_csv_leaves_start_and_end_blank_for_a_rig_that_is_never_usable(hopeless):
    for row in lines(hopeless):
        assert row["usable (min)"] == "0"
        assert row["start (local, ISO 8601)"] == row["end (local, ISO 8601)"] == ""


# The leading characters that make a spreadsheet run a cell: OWASP, "CSV
# Injection" (from memory, not confirmed), and their wide forms.
RUN = ["=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"]


@pytest.mark.parametrize("start", RUN)
@pytest.mark.parametrize("heading", ["place", "rig"])
def test_csv_names_do_not_run_as_formulas(catalog, start, heading):
    name = f'{start}HYPERLINK("x","y")'
    place = renamed(catalog.place("Mopane Loop"), name)
    rig = choose(renamed(catalog.rig("400 prime"), name))
    date = dt.date(2027, 8, 12)
    row = lines(plan.make(Request(place, date, date, (rig,))))[0]
    assert row[heading] == f"'{name}"


@pytest.mark.parametrize("start", RUN)
def test_csv_of_the_minutes_does_not_run_names_as_formulas(catalog, start):
    place = renamed(catalog.place("Mopane Loop"), f"{start}1+1")
    trip = make(catalog, place, "2027-08-12", "2027-08-12")
    assert {row["place"] for row in minute_lines(trip)} == {f"'{start}1+1"}


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_csv_names_run_nowhere_however_cells_are_parted(catalog, separator):
    # OWASP, "CSV Injection": a separator within a text may start a new cell, and
    # then the dangerous character stands at the beginning of that. Line ends are
    # left out: they have the whole text quoted.
    signs = [sign for sign in RUN if sign not in "\r\n"]
    name = "x" + "".join(f"{separator}{s}1{separator} {s}1" for s in signs)
    place = renamed(catalog.place("Mopane Loop"), name)
    rig = choose(renamed(catalog.rig("400 prime"), name))
    date = dt.date(2027, 8, 12)
    trip = plan.make(Request(place, date, date, (rig,)))
    assert lines(trip)[0]["place"].replace("'", "") == name
    read = csv.reader(io.StringIO(sheet.csv_text(trip)), delimiter=separator)
    texts = [cell for line in read for cell in line if not is_number(cell)]
    assert len(texts) > 40
    assert not [cell for cell in texts if cell.lstrip(" ").startswith(tuple(RUN))]


def is_number(cell: str) -> bool:
    return cell.removeprefix("-").replace(".", "", 1).isdecimal()


def test_csv_numbers_below_zero_stay_numbers(trip):
    rows = csv.DictReader(io.StringIO(sheet.csv_text(trip, True), newline=""))
    assert next(rows)["latitude (°)"] == "-14.0"


@pytest.mark.parametrize(
    "name",
    ["a, b", 'the "loop"', "two\nlines", "Grøn Mose – 3 km", "a=b", "x'y",
     "<script>alert(1)</script>", "🦁 👩‍👩‍👧", "مرعى \u2067abc\u2069"],
)  # fmt: skip
def test_csv_names_survive_the_round_trip(catalog, name):
    place = renamed(catalog.place("Mopane Loop"), name)
    trip = make(catalog, place, "2027-08-12", "2027-08-12")
    assert {row["place"] for row in lines(trip)} == {name}


def test_csv_lines_end_as_rfc_4180_says(trip):
    text = sheet.csv_text(trip)
    assert text.endswith("\r\n")
    assert text.count("\r\n") == text.count("\n") == len(sheet.csv_rows(trip)) + 1


def test_csv_has_no_time_to_turn_back_where_there_is_no_gate(catalog):
    place = catalog.place("Mopane Loop").model_copy(update={"gates": ()})
    for row in lines(make(catalog, place, "2027-08-12", "2027-08-12")):
        assert (row["gates"], row["turn back (local, ISO 8601)"]) == ("no", "")


def test_csv_has_no_time_to_turn_back_where_the_way_is_too_long(catalog):
    trip = make(catalog, "Mopane Loop", "2027-08-12", "2027-08-12", travel_min=300)
    for row in lines(trip):
        assert row["way back (min)"] == "300"
        assert (row["gates"], row["turn back (local, ISO 8601)"]) == ("yes", "")


def test_csv_tells_rigs_of_one_name_apart_by_their_letters(catalog):
    trip = make(
        catalog, "Mopane Loop", "2027-08-12", "2027-08-12", rigs=("400 prime",) * 2
    )
    assert [row["rig letter"] for row in lines(trip)[:6]] == [*"AAABBB"]


def test_csv_tells_what_a_clock_change_did_to_a_gate(catalog):
    gates = Gates(morning=("02:30", "08:00"))
    place = catalog.place("Heron Marsh").model_copy(update={"gates": (gates,)})
    trip = make(catalog, place, "2027-03-28", "2027-03-28")
    (note,) = trip.drives[0].drive.notes
    assert {row["notes"] for row in lines(trip)} == {note}


def test_csv_files_begin_with_the_mark_of_utf_8(trip):
    # The Unicode Standard, section 23.8: EF BB BF.
    for file in (sheet.drives(trip), sheet.minutes(trip)):
        assert file.startswith(b"\xef\xbb\xbf")
        assert file.count(b"\xef\xbb\xbf") == 1


def test_file_of_the_drives_is_the_csv(trip):
    assert sheet.drives(trip).decode("utf-8-sig") == sheet.csv_text(trip)


# --- CSV of the minutes -------------------------------------------------------


def test_minutes_have_a_row_for_every_minute_of_every_drive(trip, minutes):
    expected = [
        (d.date.isoformat(), d.session, f"{utc}Z", str(i))
        for d in trip.drives
        for i, utc in enumerate(d.utc)
    ]
    columns = (
        "date (local, ISO 8601)", "session", "time (UTC, ISO 8601)", "since opening (min)",
    )  # fmt: skip
    assert [tuple(row[c] for c in columns) for row in minutes] == expected


def test_minutes_give_one_instant_in_local_time_and_in_utc(catalog, iana):
    # Clocks in France go forward on 28 March 2027 at 01:00 UTC; a night drive over it.
    gates = Gates(night=("22:00", "28:00"))
    place = catalog.place("Heron Marsh").model_copy(update={"gates": (gates,)})
    trip = make(catalog, place, "2027-03-27", "2027-03-27")
    zone = iana("Europe/Paris")
    offsets = set()
    for row in minute_lines(trip):
        local = dt.datetime.fromisoformat(row["time (local, ISO 8601)"])
        utc = dt.datetime.fromisoformat(row["time (UTC, ISO 8601)"])
        assert local == utc
        assert local.utcoffset() == utc.astimezone(zone).utcoffset()
        offsets.add(local.utcoffset())
    assert offsets == {dt.timedelta(hours=1), dt.timedelta(hours=2)}


def test_minutes_of_sun_light_and_iso_are_the_plans(trip, minutes):
    def column(heading):
        return np.array([float(row[heading]) for row in minutes])

    for heading, name in (
        ("sun altitude (°)", "altitude_deg"),
        ("sun altitude with refraction (°)", "apparent_deg"),
        ("sun azimuth from true north (°)", "azimuth_deg"),
    ):
        expected = np.concatenate([getattr(d, name) for d in trip.drives])
        np.testing.assert_allclose(
            column(heading), expected, rtol=0, atol=ANGLE_TOLERANCE_DEG
        )
    for i, facing in enumerate(FACINGS):
        lux = np.concatenate([d.lux[i] for d in trip.drives])
        heading = f"light on the animal, {facing.label} (lux)"
        np.testing.assert_allclose(column(heading), lux, rtol=SIX_DIGITS)
        for rig in range(2):
            iso = np.concatenate([d.iso[rig, i] for d in trip.drives])
            heading = f"{words.rig_name(trip, rig)}, {facing.label} (ISO)"
            np.testing.assert_allclose(column(heading), iso, rtol=SIX_DIGITS)


def test_minutes_name_the_light_as_the_windows_do(trip, minutes):
    named = {row["time (UTC, ISO 8601)"]: row["light"] for row in minutes}
    for drive in trip.drives:
        for s in drive.windows:
            inside = np.arange(s.start_utc, s.end_utc)
            assert {named[f"{utc}Z"] for utc in inside} == {s.window.label}


def test_minutes_have_the_moon_when_it_is_dark_alone(trip, minutes):
    moon = "moon altitude with refraction (°)"
    for row in minutes:
        assert (row[moon] == "") == (float(row["sun altitude (°)"]) >= -6)
    found = [float(row[moon]) for row in minutes if row[moon]]
    moons = np.concatenate([d.moon.altitude_deg for d in trip.drives if d.moon])
    expected = moons[~np.isnan(moons)]
    np.testing.assert_allclose(found, expected, rtol=0, atol=ANGLE_TOLERANCE_DEG)


def test_minutes_of_a_trip_without_drives_are_the_header_alone(catalog):
    trip = make(catalog, "Heron Marsh", "2027-08-17", "2027-08-17")
    assert sheet.minutes_rows(trip) == []
    assert sheet.minutes(trip).count(b"\r\n") == 1


def test_headings_of_the_minutes_differ_even_for_rigs_alike(catalog):
    trip = make(
        catalog, "Mopane Loop", "2027-08-12", "2027-08-12", rigs=("400 prime",) * 6
    )
    headings = sheet.minutes_header(trip)
    assert len(set(headings)) == len(headings)
    assert {len(row) for row in sheet.minutes_rows(trip)} == {len(headings)}


def test_every_heading_of_the_minutes_that_measures_something_carries_its_unit(minutes):
    for heading, cell in minutes[-1].items():  # the last minute is a dark one
        unit = match[1] if (match := re.search(r"\(([^()]+)\)$", heading)) else ""
        if re.fullmatch(r"-?\d+(\.\d+)?", cell):
            assert unit in UNITS, heading
        elif re.match(r"\d{4}-\d\d-\d\d", cell):
            assert unit in TIMES, heading
        else:
            assert not unit, heading


# --- the table ----------------------------------------------------------------


def test_table_has_a_row_for_every_session_in_order(trip):
    body = table.table(trip).splitlines()[3:]
    # A session's first two lines name it; ladders add lines without a name.
    named = [line[:10].strip() for line in body if line[:10].strip()]
    found = list(zip(named[::2], named[1::2], strict=True))
    sessions = [row if isinstance(row, Closed) else row.drive for row in trip.rows]
    assert found == [(naming.day_name(s.date), s.session) for s in sessions]


@pytest.mark.parametrize("facing", ["front", "side", "back"])
def test_table_minutes_of_a_rig_are_the_plans(catalog, facing):
    trip = make(catalog, "Mopane Loop", "2027-08-12", "2027-08-13", facing=facing)
    index = [f.key for f in FACINGS].index(facing)
    expected = [
        [f"({of_rig[index].usable_min} min)" for of_rig in drive.outcomes]
        for drive in trip.drives
    ]
    cells = [row[-2:] for row in first_lines(trip) if len(row) > 2]
    assert [[c[c.index("(") :] for c in row] for row in cells] == expected


def test_table_times_of_a_rig_are_the_plans(trip):
    expected = [
        [
            f"{trip.clock(o[1].first.utc)}–{trip.clock(o[1].last.utc)}"
            for o in drive.outcomes
        ]
        for drive in trip.drives
    ]
    cells = [row[-2:] for row in first_lines(trip) if len(row) > 2]
    assert [[c.split(" ")[0] for c in row] for row in cells] == expected


def test_table_minutes_of_the_light_are_the_plans(trip):
    for drive, row in zip(
        trip.drives, [r for r in first_lines(trip) if len(r) > 2], strict=True
    ):
        assert row[4] == str(drive.window_min("twilight"))
        assert row[5] == str(drive.window_min("hard"))
    of_light = r"(?<![(\d])(\d+) min(?!\))"
    warm = re.findall(of_light, table.table(trip))
    assert warm == [str(drive.warm_min) for drive in trip.drives if drive.warm]
    golden = plan.make(replace(trip.request, gold="golden"))
    found = re.findall(of_light, table.table(golden))
    assert found == [str(drive.window_min("golden")) for drive in trip.drives]


def test_table_gives_earliest_and_latest_as_the_sentences_do(trip):
    printed = re.sub(r"\s+", " ", table.table(trip))
    for drive in trip.drives:
        for of_rig in drive.outcomes:
            outcome = of_rig[1]
            for spread in (
                words.first_spread(trip, drive, outcome),
                words.last_spread(trip, drive, outcome),
            ):
                assert spread in printed


def test_table_gives_the_reason_of_a_closed_session(trip):
    row = next(r for r in first_lines(trip) if len(r) == 2)
    assert row == ["Fri 13 Aug", "closed Friday"]
    assert re.search(r"^evening +evenings$", table.table(trip), re.MULTILINE)


def test_table_says_in_words_that_a_rig_is_never_usable(hopeless):
    drive = hopeless.drives[0]
    said = words.outcome_parts(hopeless, drive, 0, 1)
    body = table.table(hopeless).splitlines()[3:]
    second = next(i for i, line in enumerate(body) if "evening" in line) - 1
    column = table.table(hopeless).splitlines()[2].rindex(" ") + 1
    cells = [line[column:].strip() for line in body[:second]]
    assert " ".join(cells).strip() == naming.plain(tuple(said))


@pytest.mark.parametrize(
    ("latitude_deg", "date", "said"),
    [
        (-13.1, "2027-08-12", r"up \d\d:\d\d"),
        # Inside the arctic circle: midnight sun in June, polar night in December;
        # at 70° the noon sun of 21 December stands 3.4° below the horizon.
        (70.0, "2027-06-21", "always up"),
        (70.0, "2027-12-21", "never up"),
    ],
)
def test_table_says_what_the_sun_does(catalog, latitude_deg, date, said):
    place = places.Place(
        name="x", latitude_deg=latitude_deg, longitude_deg=25, timezone="Etc/GMT-2"
    )
    assert re.fullmatch(said, first_lines(make(catalog, place, date, date))[0][2])


def test_table_says_when_the_way_back_outlasts_the_drive(catalog):
    trip = make(catalog, "Mopane Loop", "2027-08-12", "2027-08-12", travel_min=300)
    assert "way back too" in table.table(trip)
    assert "turn back" not in table.table(trip)


def test_table_gives_no_time_to_turn_back_where_there_is_no_gate(catalog):
    place = catalog.place("Mopane Loop").model_copy(update={"gates": ()})
    printed = table.table(make(catalog, place, "2027-08-12", "2027-08-12"))
    assert "no gates" in printed
    assert "turn back" not in printed


# --- the whole text -----------------------------------------------------------


def test_heading_names_place_zone_dates_and_spread(trip):
    said = table.heading(trip)
    for part in (
        "Mopane Loop", "Africa/Lusaka, UTC+2", "Thu 12 Aug 2027 to Sat 14 Aug 2027",
        f"±{trip.spread_stops:.1f} stops",
    ):  # fmt: skip
        assert part in said


def test_text_ends_with_the_cautions(catalog):
    # A trip with notes, which stand before them.
    trip = make(catalog, "Ptarmigan Fjord", "2027-06-21", "2027-06-21")
    assert words.notes(trip)
    flat = " ".join(table.text(trip).split())
    assert flat.endswith(" ".join(words.CAUTIONS))


def test_text_carries_the_notes(catalog):
    trip = make(catalog, "Ptarmigan Fjord", "2027-06-21", "2027-06-21")
    assert words.notes(trip)
    flat = " ".join(table.text(trip).split())
    assert " ".join(words.notes(trip)) in flat


def test_text_names_every_rig_with_its_ceiling(trip):
    for i, choice in enumerate(trip.request.rigs):
        line = f"{words.rig_name(trip, i)}, up to ISO {choice.iso_ceiling:.0f}: {choice.rig.name}\n"
        assert line in table.text(trip)


def test_catalog_text_lists_every_place_and_rig(catalog):
    firsts = [
        re.split(r" {2,}", line)[0] for line in table.catalog_text(catalog).splitlines()
    ]
    for entry in (*catalog.places, *catalog.rigs):
        assert entry.name in firsts


def test_catalog_text_gives_the_units_of_its_numbers(catalog):
    headings = table.catalog_text(catalog)
    for heading in ("latitude (°)", "longitude (°)", "focal length (mm)"):
        assert heading in headings


def test_a_name_that_looks_like_a_number_is_printed_as_written(catalog):
    one = catalog.model_copy(
        update={"places": (renamed(catalog.place("Mopane Loop"), "007"),)}
    )
    assert re.search(r"^007 ", table.catalog_text(one), re.MULTILINE)
