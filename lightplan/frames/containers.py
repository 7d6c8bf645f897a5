"""Where Exif begins in raw files that ExifRead does not open by itself.

Two kinds: a box file (ISO/IEC 14496-12) of brand ``crx `` keeps Exif's directory
as a separate TIFF in box CMT2; a file that begins with ``FUJIFILMCCD-RAW`` gives
the offset of the JPEG preview that carries its header. Both layouts are from memory
and were tried on files made by the tests, not by a camera.
"""

import struct
from collections.abc import Callable, Iterator
from typing import BinaryIO, NamedTuple

_MOST_BOXES = 100  # on one level; such a file has about ten
_PREVIEW = b"FUJIFILMCCD-RAW"
_PREVIEW_AT = 84  # where the preview's offset stands
_RAW_BRAND = b"crx "
_MAKERS_BOX = bytes.fromhex("85c0b687820f11e08111f4ce462b6a48")

# HEIF brands (ISO/IEC 23008-12) of 10-bit frames and bursts. ExifRead knows only
# ``heic``; in the others Exif is found the same way.
KNOWN_BRAND = b"heic"
LIKE_KNOWN = (b"heix", b"heim", b"heis", b"hevc", b"hevx", b"msf1")


class Start(NamedTuple):
    """The offset to begin at, and the brand to show there ("" for the file's own)."""

    offset: int
    brand: bytes = b""


class _Box(NamedTuple):
    kind: bytes
    start: int
    end: int


def start(file: BinaryIO) -> Start:
    """Return where to begin to look for Exif; (0, "") for all other files.

    OSError if the file cannot be read.
    """
    file.seek(0)
    head = file.read(_PREVIEW_AT + 4)
    if head.startswith(_PREVIEW) and len(head) == _PREVIEW_AT + 4:
        return Start(struct.unpack(">I", head[_PREVIEW_AT:])[0])
    if head[4:8] == b"ftyp":
        if head[8:12] in LIKE_KNOWN:
            return Start(0, KNOWN_BRAND)
        if head[8:12] == _RAW_BRAND:
            return Start(_directory(file))
    return Start(0)


def _directory(file: BinaryIO) -> int:
    """Return where box CMT2 of the maker's box in the movie box begins, else 0."""
    whole = _Box(b"", 0, 1 << 40)
    movie = _first(file, whole, lambda box: box.kind == b"moov")
    makers = movie and _first(file, movie, lambda box: _is_makers(file, box))
    if makers is None:
        return 0
    rest = makers._replace(start=makers.start + len(_MAKERS_BOX))
    directory = _first(file, rest, lambda box: box.kind == b"CMT2")
    return directory.start if directory else 0


def _first(file: BinaryIO, within: _Box, fits: Callable[[_Box], bool]) -> _Box | None:
    return next((b for b in _boxes(file, within.start, within.end) if fits(b)), None)


def _is_makers(file: BinaryIO, box: _Box) -> bool:
    if box.kind != b"uuid":
        return False
    file.seek(box.start)
    return file.read(len(_MAKERS_BOX)) == _MAKERS_BOX


def _boxes(file: BinaryIO, start: int, end: int) -> Iterator[_Box]:
    """Yield the boxes between two offsets, up to the first invalid one."""
    for _ in range(_MOST_BOXES):
        file.seek(start)
        head = file.read(16)
        if start + 8 > end or len(head) < 8:
            return
        size, kind = struct.unpack(">I4s", head[:8])
        length = 8
        if size == 1 and len(head) == 16:  # a longer size follows
            (size,), length = struct.unpack(">Q", head[8:]), 16
        if size < length or size > end - start:
            return
        yield _Box(kind, start + length, start + size)
        start += size
