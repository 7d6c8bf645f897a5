"""Exposures of frames as the browser keeps them while its tab is open.

One row per frame, small enough for thousands: name, the camera's clock, its offset
from UTC in minutes, GPS time, f-number, shutter, ISO, compensation, group. Dropped
files are kept as counts.
"""

import datetime as dt
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

from lightplan.errors import one_line
from lightplan.frames import headers
from lightplan.frames import read as frames
from lightplan.frames.headers import Exposure, Unusable
from lightplan.frames.read import Dropped, Frame

MOST_FRAMES = 20_000  # about 2 MB; a tab’s storage takes 5
_MOST_REASONS = 100  # the page's script counts a dozen
_FARTHEST_MIN = 26 * 60  # clocks in two zones differ by no more
_FARTHEST = np.timedelta64(_FARTHEST_MIN, "m")

Row = list[Any]


def packed(frame: Frame) -> Row:
    """Return a frame as a row of plain values."""
    wall, offset, gps, f_number, shutter, iso, compensation = frame.exposure
    return [
        frame.name,
        str(wall),
        offset,
        None if gps is None else str(gps),
        round(f_number, 2),
        float(f"{shutter:.6g}"),
        iso,
        round(compensation, 2),
        frame.group,
    ]


def kept(data: object) -> tuple[Frame, ...]:
    """Return the frames that a browser keeps, without malformed rows.

    Files with the same name, time and exposure are one frame, whatever their folders.
    """
    rows = data.get("frames") if isinstance(data, Mapping) else None
    if not isinstance(rows, list):
        return ()
    read = (_frame(row) for row in rows[:MOST_FRAMES])
    return tuple(
        {
            (frame.name.rpartition("/")[2], frame.exposure): frame
            for frame in read
            if frame is not None
        }.values()
    )


def dropped(data: object) -> tuple[tuple[str, int, str], ...]:
    """Return (reason, how many, one name) of what was dropped on reading."""
    counts = data.get("dropped") if isinstance(data, Mapping) else None
    if not isinstance(counts, list):
        return ()
    try:
        return tuple(
            (one_line(str(reason)), int(count), one_line(str(name)))
            for reason, count, name in counts[:_MOST_REASONS]
        )
    except (TypeError, ValueError, OverflowError):
        return ()  # not written by the page's script


def account(
    before: Iterable[tuple[str, int, str]], after: Iterable[Dropped]
) -> tuple[tuple[str, int, str], ...]:
    """Return what was dropped on reading and since, most first."""
    entries = [*before, *frames.account(after)]
    return tuple(sorted(entries, key=lambda entry: -entry[1]))


def _frame(row: Row) -> Frame | None:
    try:
        name, wall, offset, gps, f_number, shutter, iso, compensation, group = row
        exposure = headers.checked(
            Exposure(
                _moment(wall),
                None if offset is None else int(offset),
                None if gps is None else _moment(gps),
                float(f_number),
                float(shutter),
                float(iso),
                float(compensation),
            )
        )
    except (TypeError, ValueError, OverflowError, Unusable):
        return None  # not written by `packed`
    if _is_far(exposure):
        return None
    return Frame(one_line(str(name)), exposure, one_line(str(group)))


def _moment(text: object) -> np.datetime64:
    """Return a time that `packed` wrote; numpy would accept other forms too, and warn."""
    moment = dt.datetime.fromisoformat(str(text))
    if moment.tzinfo is not None:
        raise ValueError("a time with a zone")
    return np.datetime64(moment, "s")


def _is_far(exposure: Exposure) -> bool:
    """Return whether a frame's clocks differ by more than zones can."""
    gps, offset = exposure.gps_utc, exposure.offset_min
    return abs(offset or 0) > _FARTHEST_MIN or (
        gps is not None and bool(abs(gps - exposure.wall) > _FARTHEST)
    )
