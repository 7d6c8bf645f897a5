"""Headers that real cameras wrote, against what Pillow reads in them.

The files are the beginnings of sample images of public packages; names of people,
makers and places are blanked in them. ``data/README.md`` tells where they are from.
"""

import gzip
import io
import warnings
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from lightplan.frames import headers
from lightplan.frames import read as frames
from lightplan.web.frames import heads as learn_heads
from lightplan.web.frames import kept as learn_frames
from lightplan.web.frames.heads import Part

DATA = Path(__file__).parents[1] / "data" / "frames"
# What Pillow 13 reads: time, UTC offset, f-number, shutter in s, ISO, compensation.
KNOWN = {
    "compact.jpg": ("2007:09:15 13:15:57", None, 10, 1 / 200, 100, -0.66),
    "phone.jpg": ("2024:05:07 09:33:04", "+08:00", 1.85, 1 / 25, 89, 0),
    "reflex.jpg": ("2018:10:27 13:27:23", None, 4, 1 / 100, 100, 0),
    "raw.cr2": ("2015:11:15 13:35:29", None, 4, 1 / 60, 200, 0),
    "still.hif": ("2020:09:14 11:09:34", "-05:00", 3.2, 1 / 200, 80, 0),
}
OFFSETS_MIN = {None: None, "+08:00": 480, "-05:00": -300}

# Tag numbers of Exif 2.32 (CIPA DC-008-2019).
EXIF, GPS = 0x8769, 0x8825
TIME, OFFSET, F_NUMBER, SHUTTER, ISO, BIAS = (
    0x9003, 0x9011, 0x829D, 0x829A, 0x8827, 0x9204,
)  # fmt: skip
GPS_TIME, GPS_DATE = 7, 29


def data(name):
    if (DATA / name).exists():
        return (DATA / name).read_bytes()
    return gzip.decompress((DATA / f"{name}.gz").read_bytes())  # mostly blanks


def by_pillow(name):
    """Pillow's own reading of the TIFF that every Exif is."""
    whole = data(name)
    starts = [whole.find(mark) for mark in (b"II*\0", b"MM\0*")]
    found = Image.Exif()
    with warnings.catch_warnings():
        # Of values, such as thumbnails, that lie behind the beginning kept here.
        warnings.simplefilter("ignore", UserWarning)
        found.load(b"Exif\0\0" + whole[min(at for at in starts if at >= 0) :])
        return found.get_ifd(EXIF), found.get_ifd(GPS)


@pytest.mark.parametrize("name", KNOWN)
def test_what_is_known_of_a_cameras_file_is_what_pillow_reads(name):
    exif, _ = by_pillow(name)
    got = [exif.get(tag) for tag in (TIME, OFFSET, F_NUMBER, SHUTTER, ISO, BIAS)]
    assert got[:2] == list(KNOWN[name][:2])
    assert [float(value) for value in got[2:]] == pytest.approx(KNOWN[name][2:])


def agree(exposure, name):
    time, offset, *numbers = KNOWN[name]
    assert str(exposure.wall) == time.replace(":", "-", 2).replace(" ", "T")
    assert exposure.offset_min == OFFSETS_MIN[offset]
    # A row of the page keeps two decimals of f-number and compensation.
    assert exposure[3:] == pytest.approx(numbers, rel=1e-5, abs=0.005)


@pytest.mark.parametrize("name", KNOWN)
def test_a_cameras_file_is_read(name):
    agree(headers.read(io.BytesIO(data(name))), name)


@pytest.mark.parametrize("name", KNOWN)
def test_a_cameras_file_is_read_from_pieces_as_the_page_sends_them(name):
    whole, first = data(name), 512
    pieces = [(0, whole[:first])]
    while "more" in (said := learn_heads.answer(Part(name, len(whole), tuple(pieces)))):
        offset, length = said["more"]
        pieces.append((offset, whole[offset : offset + length]))
    (frame,) = learn_frames.kept(said)
    agree(frame.exposure, name)


def test_satellites_time_of_a_phone_is_read():
    _, gps = by_pillow("phone.jpg")
    date = gps[GPS_DATE].replace(":", "-")
    clock = ":".join(f"{int(part):02}" for part in gps[GPS_TIME])
    found = headers.read(io.BytesIO(data("phone.jpg"))).gps_utc
    assert found == np.datetime64(f"{date}T{clock}")


def test_a_folder_of_cameras_files_is_read_whole(tmp_path):
    for name in KNOWN:
        (tmp_path / name).write_bytes(data(name))
    found = frames.read_folder(tmp_path)
    assert sorted(frame.name for frame in found.frames) == sorted(KNOWN)
    assert found.dropped == ()
