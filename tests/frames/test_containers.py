"""Exif found in box files; the files are built here, box by box."""

import io
import struct
from fractions import Fraction

import pytest

from lightplan.frames import containers, headers
from lightplan.frames.headers import Unusable

TAGS = {
    0x9003: "2025:08:12 17:34:05",
    0x829D: Fraction(8),
    0x829A: Fraction(1, 2),
    0x8827: 3200,
}


def box(kind, *content):
    """A box of ISO/IEC 14496-12: its length, its kind, what is in it."""
    body = b"".join(content)
    return struct.pack(">I4s", 8 + len(body), kind) + body


def long_box(kind, *content):
    """The same with the length in 64 bits."""
    body = b"".join(content)
    return struct.pack(">I4sQ", 1, kind, 16 + len(body)) + body


def exif_directory():
    """A TIFF whose first directory is Exif's: time, f/8, 1/2 s, ISO 3200."""
    entries = [
        (0x829A, 5, 1, 62), (0x829D, 5, 1, 70), (0x8827, 3, 1, 3200),
        (0x9003, 2, 20, 78),
    ]  # fmt: skip
    body = struct.pack("<H", len(entries))
    for tag, kind, count, value in entries:
        body += struct.pack("<HHII", tag, kind, count, value)
    body += bytes(4)
    values = struct.pack("<IIII", 1, 2, 8, 1) + b"2025:08:12 17:34:05\0"
    return b"II*\0\x08\0\0\0" + body + values


RAW_ID = bytes.fromhex("85c0b687820f11e08111f4ce462b6a48")
BRAND = box(b"ftyp", b"crx ", bytes(4), b"crx isom")


def read(data):
    found = headers.read(io.BytesIO(data))
    return str(found.wall), found.f_number, found.shutter_s, found.iso


READ = ("2025-08-12T17:34:05", 8.0, 0.5, 3200.0)


@pytest.mark.parametrize("outer", [box, long_box])
def test_exif_in_a_makers_box_is_found(outer):
    makers = box(
        b"uuid", RAW_ID, box(b"CNCV", bytes(30)), box(b"CMT1", b"II*\0" + bytes(20)),
        box(b"CMT2", exif_directory()),
    )  # fmt: skip
    other = box(b"uuid", bytes(16), box(b"CMT2", bytes(40)))
    movie = outer(b"moov", box(b"mvhd", bytes(100)), other, makers)
    assert read(BRAND + box(b"free", bytes(9)) + movie + box(b"mdat")) == READ


@pytest.mark.parametrize(
    "rest",
    [
        b"",
        box(b"moov"),
        box(b"moov", box(b"uuid", RAW_ID)),
        box(b"moov", box(b"uuid", RAW_ID, box(b"CMT2", b"II*\0"))),
        struct.pack(">I4s", 0, b"moov") * 300,
        struct.pack(">I4s", 0xFFFFFFFF, b"moov"),
        struct.pack(">I4sQ", 1, b"moov", 0),
        struct.pack(">I4sQ", 1, b"moov", 2**64 - 1),
        box(b"free") * 5000,
    ],
)
def test_boxes_without_exif_or_sense_are_refused(rest):
    with pytest.raises(Unusable, match=headers.NO_HEADER):
        headers.read(io.BytesIO(BRAND + rest))


@pytest.mark.parametrize(
    ("rest", "most"),
    [
        (box(b"free") * 5000, 200),
        (struct.pack(">I4s", 0, b"free") * 5000, 4),  # it would stand still
    ],
)
def test_only_so_many_boxes_are_looked_at(rest, most):
    class Counting(io.BytesIO):
        reads = 0

        def read(self, size=-1):
            self.reads += 1
            return super().read(size)

    file = Counting(BRAND + rest + box(b"moov"))
    assert containers.start(file) == (0, b"")
    assert file.reads <= most


def preview(data, at):
    head = b"FUJIFILMCCD-RAW 0201".ljust(84, b"\0") + struct.pack(">I", at)
    return head.ljust(148, b"\0") + data


def test_exif_in_a_preview_is_found(image):
    assert read(preview(image(TAGS), 148)) == READ


@pytest.mark.parametrize("at", [0, 84, 140, 0xFFFFFFFF])
def test_a_preview_that_is_elsewhere_is_refused(image, at):
    with pytest.raises(Unusable):
        headers.read(io.BytesIO(preview(image({0x8827: 100}), at)))


def heif(brand):
    """A HEIF file (ISO/IEC 23008-12) whose one item is Exif."""

    def built(exif_at):
        item = box(b"infe", b"\x02\0\0\0", struct.pack(">HH", 1, 0), b"Exif", b"\0")
        items = box(b"iinf", bytes(4), struct.pack(">H", 1), item)
        # Version 0, offsets and lengths of 4 bytes, one item of one piece.
        extent = struct.pack(">HHHII", 1, 0, 1, exif_at, len(exif))
        places = box(b"iloc", bytes(4), b"\x44\x00", struct.pack(">H", 1), extent)
        meta = box(b"meta", bytes(4), items, places)
        return box(b"ftyp", brand, bytes(4), b"mif1heic") + meta

    exif = struct.pack(">I", 6) + b"Exif\0\0" + wrapped()
    head = built(0)
    return built(len(head)) + exif


def wrapped():
    """The directory above behind a first one that points to it, as Exif wants it."""
    inner = exif_directory()[8:]
    first = struct.pack("<HHHIII", 1, 0x8769, 4, 1, 26, 0)
    # The inner offsets move by 18 bytes, the length of the first directory.
    moved = bytearray(inner)
    for entry in (0, 1, 3):
        at = 2 + 12 * entry + 8
        struct.pack_into("<I", moved, at, struct.unpack_from("<I", moved, at)[0] + 18)
    return b"II*\0\x08\0\0\0" + first + bytes(moved)


@pytest.mark.parametrize("brand", [b"heic", b"mif1", b"heix", b"hevc"])
def test_exif_in_heif_is_found_whatever_the_brand(brand):
    assert read(heif(brand)) == READ


def test_an_unknown_brand_is_refused():
    with pytest.raises(Unusable, match=headers.NO_HEADER):
        headers.read(io.BytesIO(heif(b"mp42")))
