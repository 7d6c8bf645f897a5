"""Exposures read from frames: right values, honest refusals, no trust in files."""

import datetime as dt
import io
import os
import struct
from fractions import Fraction as F

import numpy as np
import pytest

from lightplan.frames import headers
from lightplan.frames import read as frames
from lightplan.frames.headers import Exposure, Unusable
from lightplan.frames.read import Clock, Dropped, Frame
from lightplan.sky import localtime

NOW = dt.datetime(2026, 1, 1, tzinfo=dt.UTC)

# Tag numbers of Exif 2.32 (CIPA DC-008-2019), tables 4, 7, 8 and 15.
TIME, OFFSET, F_NUMBER, SHUTTER, ISO = 0x9003, 0x9011, 0x829D, 0x829A, 0x8827
TV, AV, BIAS, FLASH, INDEX = 0x9201, 0x9202, 0x9204, 0x9209, 0x8832
GPS_TIME, GPS_DATE = 0x0007, 0x001D
CHANGED, DIGITIZED = 0x0132, 0x9004
OFFSET_TIME, OFFSET_DIGITIZED = 0x9010, 0x9012

USUAL = {
    TIME: "2025:08:12 17:34:05",
    F_NUMBER: F(63, 10),
    SHUTTER: F(1, 1250),
    ISO: 3200,
    BIAS: F(-2, 3),
    FLASH: 0x10,  # did not fire, compulsory off
}
WALL = np.datetime64("2025-08-12T17:34:05")
EXPOSURE = Exposure(WALL, None, None, 6.3, 1 / 1250, 3200.0, -2 / 3)


def read(data):
    return headers.read(io.BytesIO(data))


def refused(data):
    with pytest.raises(Unusable) as reason:
        read(data)
    return str(reason.value)


# --- what a header says -------------------------------------------------------


@pytest.mark.parametrize("kind", ["JPEG", "TIFF"])
def test_header_gives_the_exposure_that_was_written(image, kind):
    found = read(image(USUAL, kind=kind))
    assert found == EXPOSURE


@pytest.mark.parametrize(
    ("tags", "f_number", "shutter_s"),
    [
        # Exif: Av = 2·log2 N and Tv = −log2 t. By hand: Av 5 is N = √32, Tv 10 is
        # 1/1024 s, Av 6 is f/8, Tv −2 four seconds.
        ({AV: F(5), TV: F(10)}, 32**0.5, 1 / 1024),
        ({AV: F(6), TV: F(-2)}, 8.0, 4.0),
        # The plain values go first where both are there.
        ({AV: F(6), TV: F(-2), F_NUMBER: F(4), SHUTTER: F(1, 60)}, 4.0, 1 / 60),
    ],
)
def test_apex_values_stand_in_for_missing_plain_ones(image, tags, f_number, shutter_s):
    bare = {k: v for k, v in USUAL.items() if k not in (F_NUMBER, SHUTTER)}
    found = read(image({**bare, **tags}))
    assert found.f_number == pytest.approx(f_number)
    assert found.shutter_s == pytest.approx(shutter_s)


def test_iso_beyond_its_tag_is_read_from_the_longer_one(image):
    # Exif 2.3: PhotographicSensitivity is a SHORT; 65535 sends to the other tags.
    assert read(image({**USUAL, ISO: 65_535, INDEX: 102_400})).iso == 102_400


@pytest.mark.parametrize(
    ("text", "minutes"),
    [("+02:00", 120), ("-03:30", -210), ("Z", 0), ("+05:45", 345), ("", None),
     ("+2", None), ("+25:00", None), ("   :  ", None)],
)  # fmt: skip
def test_offset_is_minutes_from_utc(image, text, minutes):
    assert read(image({**USUAL, OFFSET: text})).offset_min == minutes


def test_gps_time_is_an_instant(image):
    gps = {GPS_DATE: "2025:08:12", GPS_TIME: (F(15), F(34), F(5))}
    found = read(image(USUAL, gps))
    assert found.gps_utc == np.datetime64("2025-08-12T15:34:05")


@pytest.mark.parametrize(
    ("tags", "minutes"),
    [
        ({OFFSET_TIME: "+02:00", CHANGED: USUAL[TIME]}, 120),
        ({OFFSET_TIME: "+02:00", CHANGED: "2025:09:01 10:00:00"}, None),
        ({DIGITIZED: USUAL[TIME], OFFSET_DIGITIZED: "+02:00"}, 120),
        ({OFFSET: "+01:00", OFFSET_TIME: "+02:00", CHANGED: USUAL[TIME]}, 60),
    ],
)
def test_the_offset_of_another_time_serves_where_both_are_one(image, tags, minutes):
    assert read(image({**USUAL, **tags})).offset_min == minutes


@pytest.mark.parametrize(("hour", "taken"), [(15, True), (16, True), (1, False)])
def test_an_old_fix_does_not_go_before_a_stated_offset(image, hour, taken):
    # 17:34 at two hours ahead is 15:34; a camera's clock may be wrong by some.
    gps = {GPS_DATE: "2025:08:12", GPS_TIME: (F(hour), F(34), F(5))}
    found = read(image({**USUAL, OFFSET: "+02:00"}, gps))
    assert (found.gps_utc is not None) == taken


@pytest.mark.parametrize(
    ("date", "clock"),
    [("0000:00:00", (0, 0, 0)), ("2025:13:45", (1, 0, 0)), ("", (1, 0, 0)),
     ("2025:08:12", (99, 0, 0)), ("2025:08:12", (1, 2)),
     ("2005:12:27", (15, 34, 5)), ("2025:08:11", (15, 0, 0))],
)  # fmt: skip
def test_senseless_gps_time_is_none(image, date, clock):
    found = read(image(USUAL, {GPS_DATE: date, GPS_TIME: tuple(map(F, clock))}))
    assert found.gps_utc is None


@pytest.mark.parametrize("flash", [0x01, 0x05, 0x19, 0x5F])
def test_a_frame_with_flash_is_refused(image, flash):
    # Exif: bit 0 tells whether it fired.
    assert refused(image({**USUAL, FLASH: flash})) == headers.FLASH


def test_a_flash_of_one_by_nought_is_no_number_and_no_error():
    # Type 5 is a rational; its two numbers stand after the only directory.
    data = tiff((FLASH, 5, 1, 26)) + struct.pack("<II", 1, 0)
    assert refused(data) == headers.NO_TIME


@pytest.mark.parametrize("flash", [0x00, 0x08, 0x10, 0x18, 0x20])
def test_a_frame_whose_flash_did_not_fire_is_taken(image, flash):
    assert read(image({**USUAL, FLASH: flash})) == EXPOSURE


@pytest.mark.parametrize(
    ("tag", "reason"),
    [(TIME, headers.NO_TIME), (F_NUMBER, headers.NO_EXPOSURE),
     (SHUTTER, headers.NO_EXPOSURE), (ISO, headers.NO_EXPOSURE)],
)  # fmt: skip
def test_a_frame_without_time_aperture_shutter_or_iso_is_refused(image, tag, reason):
    assert refused(image({k: v for k, v in USUAL.items() if k != tag})) == reason


@pytest.mark.parametrize(
    ("tag", "value", "reason"),
    [
        (TIME, "0000:00:00 00:00:00", headers.NO_TIME),
        (TIME, "2025:06:31 12:00:00", headers.NO_TIME),
        (TIME, "yesterday", headers.NO_TIME),
        (TIME, "1970:01:01 00:00:00", headers.IMPOSSIBLE),
        (F_NUMBER, F(0), headers.IMPOSSIBLE),
        (F_NUMBER, F(999), headers.IMPOSSIBLE),
        (SHUTTER, F(0), headers.IMPOSSIBLE),
        (SHUTTER, F(4_000_000), headers.IMPOSSIBLE),
        (ISO, 0, headers.IMPOSSIBLE),
        (BIAS, F(99), headers.IMPOSSIBLE),
    ],
)
def test_values_that_no_camera_sets_are_refused(image, tag, value, reason):
    assert refused(image({**USUAL, tag: value})) == reason


def test_unknown_as_nought_by_nought_is_missing(image):
    # Exif writes an unknown rational as 0/0; Pillow will not, so its bytes are
    # changed: 63/10 stands in the file once.
    data = image(USUAL)
    for order in ("<II", ">II"):
        data = data.replace(struct.pack(order, 63, 10), bytes(8))
    assert refused(data) == headers.NO_EXPOSURE


# --- files not to be trusted --------------------------------------------------


class Counting(io.BytesIO):
    """Counts the bytes that are asked for."""

    taken = 0

    def read(self, size=-1):
        data = super().read(size)
        self.taken += len(data)
        return data


@pytest.mark.parametrize("kind", ["JPEG", "TIFF"])
def test_only_the_header_is_read(image, kind):
    makers_own = {0x010F: "Maker", 0x927C: bytes(30_000)}
    data = image({**USUAL, **makers_own}, kind=kind)
    file = Counting(data + bytes(20_000_000))
    assert headers.read(file) == EXPOSURE
    assert file.taken < 20_000  # of 20 MB, and of the 30 kB that are the maker's own


def tiff(*entries, order="<"):
    """A TIFF of one directory: (tag, type, count, value or offset) entries."""
    body = struct.pack(order + "H", len(entries))
    for tag, kind, count, value in entries:
        body += struct.pack(order + "HHII", tag, kind, count, value)
    head = b"II*\0" if order == "<" else b"MM\0*"
    return head + struct.pack(order + "I", 8) + body + bytes(4)


HOSTILE = {
    "text of 4 GB": tiff((0x010F, 2, 0xFFFFFFFF, 8)) + bytes(5_000_000),
    "fifty texts of 4 GB": tiff(*[(0x9999, 2, 0xFFFFFFFF, 8)] * 50) + bytes(5_000_000),
    "directory within itself": tiff((0x8769, 4, 1, 8)),
    "directories in a ring": tiff((0x8769, 4, 1, 8), (0x8825, 4, 1, 8)),
    "65,535 entries of 999 values": tiff()[:8]
    + struct.pack("<H", 65_535)
    + struct.pack("<HHII", 0x9999, 3, 999, 0) * 65_535,
    "chain of directories": b"II*\0\x08\0\0\0"
    + b"".join(struct.pack("<HI", 0, 8 + 6 * (i + 1)) for i in range(200_000)),
    "JPEG segment of negative length": b"\xff\xd8\xff\xe0\0\0JFIF" + bytes(5_000_000),
    "HEIF box that does not advance": b"\0\0\0\x18ftypheic"
    + bytes(12)
    + b"\0\0\0\x01free"
    + bytes(8) * 2,
    "offset beyond the end": tiff((0x8769, 4, 1, 0xFFFFFFF0)),
    "text": b"MMM, that was a good day.",
    "zeros": bytes(1000),
    "first bytes of a JPEG": b"\xff\xd8",
    "PNG without end": b"\x89PNG\r\n\x1a\n" + b"\0\0\0\0abcd" * 1000,
}


@pytest.mark.parametrize("data", HOSTILE.values(), ids=HOSTILE)
def test_a_hostile_file_is_refused_after_a_bounded_effort(data, monkeypatch):
    steps = []
    original = headers._Header._step
    monkeypatch.setattr(
        headers._Header, "_step", lambda self: (steps.append(1), original(self))
    )
    file = Counting(data)
    with pytest.raises(Unusable):
        headers.read(file)
    assert file.taken <= headers.LARGEST_HEADER_BYTES + headers._LARGEST_PIECE
    assert len(steps) <= headers.MOST_STEPS + 1


@pytest.mark.parametrize("kind", ["JPEG", "TIFF"])
def test_a_file_cut_short_anywhere_is_read_or_refused(image, kind):
    data = image(USUAL, kind=kind)
    for length in range(len(data)):
        found = frames.read_bytes(data[:length], "a.jpg")
        if isinstance(found, Frame):
            # What is cut away may be what says more, never what is needed.
            assert found.exposure.f_number == EXPOSURE.f_number


# --- folders ------------------------------------------------------------------


@pytest.fixture(name="tree")
def _tree(tmp_path, image):
    """Frames in folders, and much that is none."""
    data = image(USUAL)
    root = tmp_path / "frames"
    (root / "forest" / "deep").mkdir(parents=True)
    (root / "forest" / "a.jpg").write_bytes(data)
    (root / "forest" / "deep" / "B.JPG").write_bytes(data)
    (root / "flash.jpeg").write_bytes(image({**USUAL, FLASH: 1}))
    (root / "empty.nef").write_bytes(b"")
    (root / "notes.txt").write_text("gate at six")
    (root / "broken.tif").write_bytes(b"II*\0 and no more")
    return root


def reasons(reading):
    return {dropped.name: dropped.reason for dropped in reading.dropped}


def test_every_file_is_a_frame_or_dropped_with_a_reason(tree):
    reading = frames.read_folder(tree)
    assert [f.name for f in reading.frames] == ["forest/a.jpg", "forest/deep/B.JPG"]
    assert reasons(reading) == {
        "flash.jpeg": headers.FLASH,
        "empty.nef": frames.EMPTY,
        "notes.txt": frames.NOT_IMAGE,
        "broken.tif": headers.NO_HEADER,
    }


def test_files_are_left_as_they_were(tree):
    def state():
        files = sorted(p for p in tree.rglob("*") if p.is_file())
        return [(p, p.read_bytes(), p.stat().st_mtime_ns) for p in files]

    before = state()
    frames.read_folder(tree)
    assert state() == before


def test_links_are_not_followed_and_loops_end(tree, tmp_path, image):
    (tmp_path / "outside.jpg").write_bytes(image(USUAL))
    (tree / "out.jpg").symlink_to(tmp_path / "outside.jpg")
    (tree / "loop").symlink_to(tree, target_is_directory=True)
    (tree / "nowhere.jpg").symlink_to(tmp_path / "gone.jpg")
    reading = frames.read_folder(tree)
    assert len(reading.frames) == 2
    for name in ("out.jpg", "loop", "nowhere.jpg"):
        assert reasons(reading)[name] == frames.LINK


def test_a_pipe_is_no_image_and_does_not_block(tree):
    os.mkfifo(tree / "pipe.jpg")
    assert reasons(frames.read_folder(tree))["pipe.jpg"] == frames.NOT_IMAGE


def test_a_folder_without_permission_is_counted_and_the_rest_read(tree, monkeypatch):
    # Not by its mode: the tests may run as root, who may open everything.
    original = os.scandir

    def scandir(folder):
        if str(folder).endswith("deep"):
            raise PermissionError(13, "Permission denied")
        return original(folder)

    monkeypatch.setattr(os, "scandir", scandir)
    reading = frames.read_folder(tree)
    assert [f.name for f in reading.frames] == ["forest/a.jpg"]
    assert reasons(reading)["forest/deep"] == frames.CLOSED_FOLDER


def test_a_file_that_cannot_be_opened_is_counted(tree, monkeypatch):
    original = type(tree).open

    def open_(self, *args, **kwargs):
        if self.name == "a.jpg":
            raise PermissionError(13, "Permission denied")
        return original(self, *args, **kwargs)

    monkeypatch.setattr(type(tree), "open", open_)
    assert reasons(frames.read_folder(tree))["forest/a.jpg"] == frames.CLOSED


def test_a_file_of_5_gb_is_not_opened(tree):
    with (tree / "huge.tif").open("wb") as file:
        file.truncate(5_000_000_000)  # sparse: takes no room
    assert reasons(frames.read_folder(tree))["huge.tif"] == frames.TOO_LONG


def test_names_that_would_steer_a_terminal_are_made_harmless(tree, image):
    (tree / "a\x1b[2Jb\n.jpg").write_bytes(image(USUAL))
    assert "a?[2Jb?.jpg" in [f.name for f in frames.read_folder(tree).frames]


def test_a_name_that_is_not_utf_8_is_read(tree, image):
    path = os.fsencode(tree) + b"/caf\xe9.jpg"
    with open(path, "wb") as file:
        file.write(image(USUAL))
    assert "caf?.jpg" in [f.name for f in frames.read_folder(tree).frames]


@pytest.mark.parametrize("name", ["gone", "forest/a.jpg"])
def test_what_is_no_folder_is_one_sentence(tree, name):
    with pytest.raises(ValueError, match="name a folder"):
        frames.read_folder(tree / name)


def test_progress_sees_every_file_that_is_opened(tree):
    seen = []
    frames.read_folder(tree, lambda paths: (seen.append(p) or p for p in paths))
    assert len(seen) == 4  # two frames, the flash and the broken one


def test_bytes_of_a_page_are_read_alike(image):
    assert frames.read_bytes(image(USUAL), "a.jpg") == Frame("a.jpg", EXPOSURE)
    assert frames.read_bytes(b"", "a.jpg") == Dropped("a.jpg", frames.EMPTY)
    assert frames.read_bytes(b"", "a\n.jpg").name == "a?.jpg"
    assert frames.read_bytes(b"x", "a.exe") == Dropped("a.exe", frames.NOT_IMAGE)


def test_account_counts_each_reason_with_a_name():
    dropped = [Dropped("a", "x"), Dropped("b", "y"), Dropped("c", "x")]
    assert frames.account(dropped) == (("x", 2, "a"), ("y", 1, "b"))


# --- when ---------------------------------------------------------------------


def instant(clock, **changes):
    timed = frames.timed([Frame("a", EXPOSURE._replace(**changes))], clock)
    return str(timed.utc[0]) if len(timed.utc) else timed.dropped[0].reason


@pytest.mark.parametrize(
    ("changes", "zone", "utc"),
    [
        # By hand from 17:34:05: Lusaka is UTC+2, Kathmandu UTC+5:45.
        ({}, "Africa/Lusaka", "2025-08-12T15:34:05"),
        ({}, "Asia/Kathmandu", "2025-08-12T11:49:05"),
        ({"offset_min": -180}, "Africa/Lusaka", "2025-08-12T20:34:05"),
        ({"offset_min": 120}, None, "2025-08-12T15:34:05"),
        ({"gps_utc": np.datetime64("2025-08-12T15:30:00"), "offset_min": 0},
         None, "2025-08-12T15:30:00"),
        ({}, None, frames.NO_ZONE),
    ],
)  # fmt: skip
def test_gps_goes_before_the_offset_and_that_before_the_stated_zone(changes, zone, utc):
    assert instant(Clock(NOW, zone), **changes) == utc


def test_stated_zone_follows_its_clock_changes(iana):
    # 29 March 2026, Madrid, by zoneinfo: summer time begins at 01:00 UTC.
    for day in (28, 29):
        wall = dt.datetime(2026, 3, day, 17, 0)  # noqa: DTZ001
        clock = Clock(dt.datetime(2027, 1, 1, tzinfo=dt.UTC), "Europe/Madrid")
        wanted = wall.replace(tzinfo=iana("Europe/Madrid")).astimezone(dt.UTC)
        got = instant(clock, wall=np.datetime64(wall, "s"))
        assert got == wanted.replace(tzinfo=None).isoformat()


def test_correction_is_added_to_the_cameras_clock_and_not_to_gps():
    clock = Clock(NOW, "Africa/Lusaka", -185)
    assert instant(clock) == "2025-08-12T15:31:00"
    assert instant(clock, offset_min=0) == "2025-08-12T17:31:00"
    gps = np.datetime64("2025-08-12T15:34:05")
    assert instant(clock, gps_utc=gps) == "2025-08-12T15:34:05"


def test_a_frame_from_the_future_is_dropped():
    before = dt.datetime(2025, 8, 1, tzinfo=dt.UTC)
    assert instant(Clock(before, "Africa/Lusaka")) == frames.FUTURE


def test_frames_come_in_order_of_time():
    late, early = (Frame(n, EXPOSURE._replace(offset_min=m)) for n, m in
                   (("a", 0), ("b", 60)))  # fmt: skip
    timed = frames.timed([late, early], Clock(NOW))
    assert [f.name for f in timed.frames] == ["b", "a"]
    assert (np.diff(timed.utc) > np.timedelta64(0, "s")).all()


def test_an_unknown_zone_is_one_sentence():
    with pytest.raises(ValueError, match="did you mean Africa/Lusaka"):
        frames.timed([], Clock(NOW, "Africa/Lusak"))


def test_a_directory_without_end_is_given_up_after_so_many_steps():
    # 5,800 entries, all a request of 32 such files has room for: 46,000 steps.
    entry = struct.pack("<HHII", TIME, 2, 1, 8)
    data = struct.pack("<2sHIH", b"II", 42, 8, 5800) + entry * 5800 + bytes(4)
    steps = []

    class Counted(io.BytesIO):
        def read(self, size=-1):
            steps.append(size)
            return super().read(size)

        def seek(self, offset, whence=0):
            steps.append(offset)
            return super().seek(offset, whence)

    with pytest.raises(Unusable, match=headers.NO_HEADER):
        headers.read(Counted(data))
    assert len(steps) < 15_010


def test_a_zone_is_not_asked_for_every_frame(monkeypatch):
    monkeypatch.setattr(localtime, "wall_to_utc", lambda *a: pytest.fail("asked"))
    walls = np.datetime64("2025-08-12T06:00:00") + np.arange(500)
    every = [
        Frame(f"{n}.jpg", Exposure(wall, None, None, 6.3, 0.001, 800))
        for n, wall in enumerate(walls)
    ]
    # Central European Summer Time is UTC+2 (Directive 2000/84/EC).
    found = frames.timed(every, Clock(NOW, "Europe/Berlin"))
    assert (found.utc == walls - np.timedelta64(2, "h")).all()
