"""Headers of frames as the browser sends them: exposures go back, nothing is stored.

A request is a length, an index in JSON and bytes: for each file its name, its
size and the pieces of it that are sent. If a header continues elsewhere, the
answer names the next piece wanted, so that nothing but the header leaves the
browser. Nothing is written to disk.
"""

import json
from pathlib import PurePosixPath
from typing import Any, BinaryIO, NamedTuple, cast

import flask

from lightplan.errors import one_line
from lightplan.frames import headers
from lightplan.frames import read as frames
from lightplan.frames import table as frames_csv
from lightplan.frames.headers import Unusable
from lightplan.frames.read import Dropped, Frame
from lightplan.web.frames import kept

PATH = "/learn/heads"
LARGEST_BODY_BYTES = 4_500_000
PIECE_BYTES = 16_384  # mostly holds a header, mostly not its thumbnail
_MOST_FILES = 32  # in one request, as `learn.js` sends them
_MOST_PIECES = 20  # of one file; `learn.js` sends nine at most
_LONGEST_NAME = 300
_MOST_ROWS = 20_000  # of a table: as many frames as a tab keeps

TABLES = (".csv", ".tsv", ".txt")

Answer = dict[str, Any]


class Part(NamedTuple):
    """A file's name, its size, and the pieces of it that are known, by offset."""

    name: str
    size: int
    pieces: tuple[tuple[int, bytes], ...]


class Missing(OSError):
    """A piece is wanted that was not sent."""


class _Pieces:
    """A file with only some pieces known; ``missing`` is the first one wanted."""

    def __init__(self, part: Part) -> None:
        self._part = part
        self._at = 0
        self.missing: tuple[int, int] | None = None

    def read(self, size: int = -1) -> bytes:
        end = self._part.size if size < 0 else min(self._at + size, self._part.size)
        read = b""
        while self._at < end:
            data = self._from(self._at, end)
            if not data:
                self.missing = self.missing or (self._at, end)
                raise Missing
            read += data
            self._at += len(data)
        return read

    def seek(self, offset: int, whence: int = 0) -> int:
        base = (0, self._at, self._part.size)[whence]
        if base + offset < 0:
            raise ValueError("before the first byte")
        self._at = base + offset
        return self._at

    def tell(self) -> int:
        return self._at

    def _from(self, at: int, end: int) -> bytes:
        for start, data in self._part.pieces:
            if start <= at < start + len(data):
                return data[at - start : end - start]
        return b""


def register(server: flask.Flask) -> None:
    """Add the address that the browser sends headers to."""

    @server.post(PATH)
    def heads() -> flask.Response:
        if (flask.request.content_length or 0) > LARGEST_BODY_BYTES:
            flask.abort(413)
        try:
            parts = unpacked(flask.request.get_data(cache=False))
        except ValueError:
            flask.abort(400)
        response = flask.jsonify([answer(part) for part in parts])
        response.headers["Cache-Control"] = "no-store"
        return response


def unpacked(body: bytes) -> list[Part]:
    """Return the files of a request; ValueError if it is malformed."""
    at = 4 + int.from_bytes(body[:4], "big")
    if len(body) < at:
        raise ValueError("a truncated index")
    try:
        index = json.loads(body[4:at])
    except RecursionError as error:
        raise ValueError("an index nested too deeply") from error
    if not isinstance(index, list) or len(index) > _MOST_FILES:
        raise ValueError("no index, or one that is too long")
    parts = []
    try:
        for name, size, pieces in index:
            if len(pieces) > _MOST_PIECES:
                raise ValueError("a file in too many pieces")
            known = []
            for offset, length in pieces:
                # Going back and forth, a small request could be copied endlessly.
                if int(length) < 0:
                    raise ValueError("a piece of negative length")
                known.append((int(offset), body[at : at + int(length)]))
                at += int(length)
            parts.append(Part(str(name)[:_LONGEST_NAME], int(size), tuple(known)))
            if len(parts) > 1 and any(map(_is_table, parts)):
                raise ValueError("a table beside other files")
    except (TypeError, OverflowError) as error:
        raise ValueError("a malformed index") from error
    return parts


def answer(part: Part) -> Answer:
    """Return the exposures in a file, or why there are none.

    Returns
    -------
    dict
        ``frames`` and ``dropped``; or ``more``, the [offset, length] of the next
        piece wanted.
    """
    if _is_table(part):
        return _table(part)
    result = frame(part)
    if isinstance(result, Frame):
        return {"frames": [kept.packed(result)], "dropped": []}
    if isinstance(result, Dropped):
        return {"frames": [], "dropped": [list(result)]}
    return {"more": result}


def _is_table(part: Part) -> bool:
    return PurePosixPath(part.name).suffix.lower() in TABLES


def frame(part: Part) -> Frame | Dropped | list[int]:
    """Return the frame of a file, why there is none, or the next piece wanted."""
    name = one_line(part.name)
    if PurePosixPath(name).suffix.lower() not in frames.ENDINGS:
        return Dropped(name, frames.NOT_IMAGE)
    if part.size <= 0:
        return Dropped(name, frames.EMPTY)
    if part.size > frames.LONGEST_FILE_BYTES:
        return Dropped(name, frames.TOO_LONG)
    file = _Pieces(part)
    try:
        result: Frame | Dropped = Frame(name, headers.read(cast(BinaryIO, file)))
    except Unusable as reason:
        result = Dropped(name, str(reason))
    except Missing:
        result = Dropped(name, headers.NO_HEADER)
    if file.missing is None:
        return result
    # The parser may have gone on without the piece; its result is then incomplete.
    start, end = file.missing
    return [start, min(max(end - start, PIECE_BYTES), part.size - start)]


def _table(part: Part) -> Answer:
    data = b"".join(piece for _, piece in part.pieces)
    if len(data) < part.size:
        reason = "a table longer than 4 MB: split it"
        return {"frames": [], "dropped": [[one_line(part.name), reason]]}
    rows = max(data.count(b"\n"), data.count(b"\r"))
    if rows > _MOST_ROWS:
        reason = f"a table of {rows:,} rows, more than {_MOST_ROWS:,}: leave some out"
        return {"frames": [], "dropped": [[one_line(part.name), reason]]}
    try:
        reading = frames_csv.read_bytes(data, part.name)
    except ValueError as error:
        # The sentence names the file, so the page need not name it as an example.
        return {"frames": [], "dropped": [["", str(error)]]}
    return {
        "frames": [kept.packed(frame) for frame in reading.frames],
        "dropped": [list(dropped) for dropped in reading.dropped],
    }
