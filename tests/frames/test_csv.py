"""Exposures from CSV tables as spreadsheets write them."""

import numpy as np
import pytest

from lightplan.frames import headers
from lightplan.frames import table as frames_csv

WALL = np.datetime64("2025-08-12T17:34:05")


def read(text):
    return frames_csv.read_bytes(text.encode(), "mine.csv")


def only(text):
    reading = read(text)
    assert (len(reading.frames), reading.dropped) == (1, ())
    return reading.frames[0]


@pytest.mark.parametrize(
    "text",
    [
        "time,f-number,shutter,iso\n2025-08-12 17:34:05,6.3,1/1250,3200\n",
        "ISO,Shutter,F-Number,Time\r\n3200,0.0008,f/6.3,2025-08-12T17:34:05\r\n",
        "Time;F number;Shutter (s);ISO\n12.08.2025 17:34:05;6,3;0,0008;3.200\n",
        "time\taperture\tshutter speed\tISO speed\n"
        "2025:08:12 17:34:05\tF6.3\t1/1250 s\tISO 3200\n",
        "DateTimeOriginal,FNumber,ExposureTime,ISO\n"
        '2025:08:12 17:34:05,"6,3",1/1250,"3,200"\n',
        'time,f,shutter,iso\n2025-08-12 17:34:05,6.3,"1/1,250",3200.000\n',
        "date,time,f,shutter,iso\n2025-08-12,17:34:05,6.3,1/1250,3200\n",
        "\ufefftime,f,shutter,iso\n\n2025-08-12 17:34:05,6.3,1/1250,3200\n\n",
    ],
)
def test_columns_come_in_any_order_and_numbers_as_spreadsheets_write_them(text):
    exposure = only(text).exposure
    assert exposure.wall == WALL
    assert exposure[1:3] == (None, None)
    assert exposure.f_number == 6.3
    assert exposure.shutter_s == pytest.approx(1 / 1250)
    assert exposure.iso == 3200


@pytest.mark.parametrize(
    ("heading", "value", "field", "wanted"),
    [
        ("compensation", "-0.7", "compensation_stops", -0.7),
        ("Exposure compensation", "−1/3", "compensation_stops", -1 / 3),
        ("compensation", "", "compensation_stops", 0.0),
        ("UTC offset", "+02:00", "offset_min", 120),
    ],
)
def test_further_columns_are_read(heading, value, field, wanted):
    head = f"time,f,shutter,iso,{heading}\n"
    found = only(f"{head}2025-08-12 17:34:05,6.3,1/1250,3200,{value}\n")
    assert getattr(found.exposure, field) == pytest.approx(wanted)


@pytest.mark.parametrize(
    ("end", "minutes"), [("+02:00", 120), ("Z", 0), ("-0330", -210)]
)
def test_a_time_may_hold_its_offset(end, minutes):
    found = only(f"time,f,shutter,iso\n2025-08-12T17:34:05{end},6.3,1/1250,3200\n")
    assert (found.exposure.wall, found.exposure.offset_min) == (WALL, minutes)


def test_a_group_column_names_the_group():
    text = "time,f,shutter,iso,group\n2025-08-12 17:34,6.3,1/1250,3200,forest\n"
    assert only(text).group == "forest"


def test_a_field_without_end_is_cut_before_it_is_read():
    # In the shutter's column, patterns would try such a run of spaces for a minute.
    endless = "a" + " " * 100_000 + "b"
    text = f"time,f,shutter,iso,group\n2025-08-12 15:00,6.3,1/500,800,{endless}\n"
    (frame,) = frames_csv.read_bytes(text.encode(), "a.csv").frames
    assert len(frame.group) == 300


def test_a_group_of_two_lines_is_made_one():
    text = 'time,f,shutter,iso,group\n2025-08-12 17:34,6.3,1/1250,3200,"a\nb"\n'
    assert only(text).group == "a?b"


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("2025-08-12 17:34,,1/1250,3200,", headers.NO_EXPOSURE),
        ("2025-08-12 17:34,6.3", headers.NO_EXPOSURE),
        ("2025-08-12,6.3,1/1250,3200,", headers.NO_TIME),
        ("in the evening,6.3,1/1250,3200,", headers.NO_TIME),
        ("2025-08-12 17:34,wide,1/1250,3200,", frames_csv.NO_NUMBER),
        ("2025-08-12 17:34,6.3,1/0,3200,", frames_csv.NO_NUMBER),
        ("9999-12-31 23:59,6.3,1/1250,3200,", headers.IMPOSSIBLE),
        ("2025-08-12 17:34,0,1/1250,3200,", headers.IMPOSSIBLE),
        ("2025-08-12 17:34,nan,1/1250,3200,", headers.IMPOSSIBLE),
        ("2025-08-12 17:34,6.3,0,3200,", headers.IMPOSSIBLE),
        ("2025-08-12 17:34,6.3,1/1250,inf,", headers.IMPOSSIBLE),
        ("2025-08-12 17:34,6.3,1/1250,3200,yes", headers.FLASH),
        ("2025-08-12 17:34,6.3,1/1250,3200,25", headers.FLASH),
        ("2025-08-12 17:34,6.3,1/1250,3200,²", headers.FLASH),
    ],
)
def test_a_row_that_is_no_evidence_is_dropped_with_its_reason(row, reason):
    good = "2025-08-12 17:40,6.3,1/1250,3200,no"
    reading = read(f"time,f,shutter,iso,flash\n{row}\n{good}\n")
    assert [d.reason for d in reading.dropped] == [reason]
    assert [d.name for d in reading.dropped] == ["mine.csv, row 2"]
    assert [f.name for f in reading.frames] == ["mine.csv, row 3"]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "mine.csv is empty"),
        (b"\xef\xbb\xbf \r\n\n", "mine.csv is empty"),
        (b"a note\n", "missing: time, f-number, shutter, ISO"),
        (b"time,f,iso\n", "missing: shutter"),
        (b"\xff\xfe\x00\x01", "mine.csv is not UTF-8 text"),
        (b"time,f,shutter,iso\n" + b"x" * 200_000, "mine.csv, row 2: field larger"),
    ],
)
def test_a_file_that_is_no_table_is_one_sentence(data, said):
    with pytest.raises(ValueError, match=said):
        frames_csv.read_bytes(data, "mine.csv")


def test_a_file_too_long_is_not_read(tmp_path, monkeypatch):
    monkeypatch.setattr(type(tmp_path), "read_bytes", lambda _: pytest.fail("read"))
    path = tmp_path / "mine.csv"
    with path.open("wb") as file:
        file.truncate(frames_csv.LARGEST_CSV_BYTES + 1)
    with pytest.raises(ValueError, match="at most 50 MB"):
        frames_csv.read_file(path)


def test_a_file_that_is_not_there_is_one_sentence(tmp_path):
    with pytest.raises(ValueError, match=r"none\.csv cannot be read"):
        frames_csv.read_file(tmp_path / "none.csv")


def test_no_pattern_can_try_a_run_of_blanks_again_and_again(monkeypatch):
    # One that begins with any number of blanks, anywhere, takes the square of a run.
    used = []
    sub = frames_csv.re.sub
    monkeypatch.setattr(
        frames_csv.re, "sub", lambda p, *a, **k: used.append(p) or sub(p, *a, **k)
    )
    assert only("time,f,shutter,iso\n2025-08-12 17:34:05,6.3,1/1250 sec,3200\n")
    assert used
    assert all(pattern.startswith(("^", "[")) for pattern in used), used


def test_a_table_of_columns_without_end_is_refused_by_their_number():
    with pytest.raises(ValueError, match=r"at most 1,000 columns, got 1,001: keep"):
        read("time,f,shutter,iso" + "," * 997 + "\n")
