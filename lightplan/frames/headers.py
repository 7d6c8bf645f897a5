"""What the header of an image file says about its exposure.

Only headers are read, by ExifRead, through a reader that limits bytes and steps:
a file may come from anywhere and be broken, endless or hostile.
Names and units of the tags are those of Exif 2.32 (CIPA DC-008-2019).
"""

import datetime as dt
import logging
import re
from typing import Any, BinaryIO, NamedTuple

import exifread
import numpy as np

from lightplan.frames import containers
from lightplan.frames.containers import Start

# Headers written by cameras took at most 0.2 MB and 6,000 steps where tried; a file
# that needs several times as much is not worth reading.
LARGEST_HEADER_BYTES = 2_000_000
MOST_STEPS = 15_000
_LARGEST_PIECE = 256_000  # bytes in one read; a JPEG segment has at most 65,535

FIRST_YEAR, LAST_YEAR = 1990, 2100  # a clock that was never set says 1970 or 1980
_NEAR = np.timedelta64(26, "h")  # clocks in two zones differ by no more
_SLOW_CLOCK = np.timedelta64(2, "h")  # a larger difference means an old GPS fix

# ExifRead logs oddities; without this they appear on the terminal.
logging.getLogger("exifread").addHandler(logging.NullHandler())

NO_HEADER = "no exposure data in the header, or a broken one"
NO_TIME = "no time of exposure"
NO_EXPOSURE = "aperture, shutter or ISO missing"
IMPOSSIBLE = "an impossible value"
FLASH = "flash fired"


class Unusable(ValueError):
    """A frame that cannot be used; the message is the reason, for counting."""


class Exposure(NamedTuple):
    """How one frame was exposed.

    ``wall`` is what the camera's clock showed (naive datetime64[s]),
    ``offset_min`` its offset from UTC if the frame records it, ``gps_utc``
    GPS time. ``compensation_stops`` is positive where more light was given than
    the meter wanted.
    """

    wall: np.datetime64
    offset_min: int | None
    gps_utc: np.datetime64 | None
    f_number: float
    shutter_s: float
    iso: float
    compensation_stops: float = 0.0


def read(file: BinaryIO) -> Exposure:
    """Read how the frame in an image file was exposed.

    Parameters
    ----------
    file : binary file
        JPEG, TIFF, HEIC, or a raw format built on TIFF; it is read only as far
        as its headers go, and never written.

    Returns
    -------
    Exposure
        Values within what cameras can do.

    Raises
    ------
    Unusable
        With one of the reasons of this module.
    OSError
        If the file itself cannot be read.
    """
    try:
        tags = exifread.process_file(
            _Header(file, containers.start(file)),  # type: ignore[arg-type]
            details=False,
            extract_thumbnail=False,
        )
    except OSError:
        raise
    except Exception:  # the parser of a broken file may raise anything at all
        raise Unusable(NO_HEADER) from None
    if not tags:
        raise Unusable(NO_HEADER)
    return _exposure(_Tags(tags))


class _Header:
    """A file of which only a limited part can be read; `Unusable` past that.

    It begins at the offset and with the brand of ``start``.
    """

    def __init__(self, file: BinaryIO, start: Start) -> None:
        self._file = file
        self._start = start
        self._bytes = LARGEST_HEADER_BYTES
        self._steps = MOST_STEPS

    def read(self, size: int = -1) -> bytes:
        self._step()
        if size < 0:
            raise Unusable(NO_HEADER)  # it asks for everything
        at = self.tell()
        data = self._file.read(min(size, _LARGEST_PIECE))
        self._bytes -= len(data)
        if self._bytes < 0:
            raise Unusable(NO_HEADER)
        if self._start.brand and at <= 8 and at + len(data) >= 12:
            return data[: 8 - at] + self._start.brand + data[12 - at :]
        return data

    def seek(self, offset: int, whence: int = 0) -> int:
        self._step()
        base = self._start.offset if whence == 0 else 0
        try:
            self._file.seek(base + offset, whence)
        except (ValueError, OSError):  # before the first byte, or past 2⁶³
            raise Unusable(NO_HEADER) from None
        return self.tell()

    def tell(self) -> int:
        return self._file.tell() - self._start.offset

    def _step(self) -> None:
        self._steps -= 1
        if self._steps < 0:
            raise Unusable(NO_HEADER)


class _Tags:
    """Values of tags, from whichever directory of the file has them."""

    def __init__(self, tags: dict[str, Any]) -> None:
        self._tags = tags

    def values(self, name: str) -> Any:
        """Return a tag's raw values, () if it is not there."""
        # TIFF/EP keeps in the first directory what Exif keeps in a separate one.
        for directory in ("EXIF", "Image", "GPS"):
            tag = self._tags.get(f"{directory} {name}")
            if tag is not None:
                return getattr(tag, "values", ())
        return ()

    def text(self, name: str) -> str:
        values = self.values(name)
        return values.strip() if isinstance(values, str) else ""

    def numbers(self, name: str) -> list[float]:
        values = self.values(name)
        return [_number(v) for v in values] if isinstance(values, list) else []

    def number(self, name: str) -> float | None:
        """Return a tag's first number; None if there is none, or it is 0/0."""
        numbers = self.numbers(name)
        return numbers[0] if numbers and not np.isnan(numbers[0]) else None


def _number(value: Any) -> float:
    try:
        return float(value)
    except ZeroDivisionError:  # 0/0 says "unknown", 1/0 "infinite"
        return np.inf if value.num else np.nan
    except (TypeError, ValueError, OverflowError):
        return np.nan


def _exposure(tags: _Tags) -> Exposure:
    flash = tags.number("Flash")
    if flash is not None and np.isfinite(flash) and int(flash) & 1:  # bit 0: it fired
        raise Unusable(FLASH)
    taken = tags.text("DateTimeOriginal") or tags.text("DateTimeDigitized")
    wall = _wall(taken)
    if wall is None:
        raise Unusable(NO_TIME)
    f_number, shutter_s, iso = _f_number(tags), _shutter_s(tags), _iso(tags)
    if f_number is None or shutter_s is None or iso is None:
        raise Unusable(NO_EXPOSURE)
    offset = _offset_min(tags, taken)
    return checked(
        Exposure(
            wall=wall,
            offset_min=offset,
            gps_utc=_gps_utc(tags, wall, offset),
            f_number=f_number,
            shutter_s=shutter_s,
            iso=iso,
            compensation_stops=tags.number("ExposureBiasValue") or 0.0,
        )
    )


def checked(exposure: Exposure) -> Exposure:
    """Return the exposure; `Unusable` if no camera can have made it."""
    moment = exposure.wall.item()  # a number outside Python's calendar
    year = moment.year if isinstance(moment, dt.datetime) else 0
    if not (
        0.5 <= exposure.f_number <= 128
        and 1 / 100_000 <= exposure.shutter_s <= 3600
        and 6 <= exposure.iso <= 10_000_000
        and abs(exposure.compensation_stops) <= 10
        and FIRST_YEAR <= year <= LAST_YEAR
    ):  # refuses NaN and infinity too
        raise Unusable(IMPOSSIBLE)
    return exposure


def _f_number(tags: _Tags) -> float | None:
    plain, apex = tags.number("FNumber"), tags.number("ApertureValue")
    # With a lens without contacts, either is 0.
    return plain if plain is not None or apex is None else f_number_of(apex)


def _shutter_s(tags: _Tags) -> float | None:
    plain, apex = tags.number("ExposureTime"), tags.number("ShutterSpeedValue")
    return plain if plain is not None or apex is None else shutter_s_of(apex)


def _iso(tags: _Tags) -> float | None:
    iso = tags.number("ISOSpeedRatings")
    if iso is None or iso == 65_535:  # the most this tag can hold
        for name in ("RecommendedExposureIndex", "ISOSpeed"):
            longer = tags.number(name)
            if longer is not None:
                return longer
    return iso


def f_number_of(aperture_value: float) -> float:
    """Return N from Exif's ApertureValue Av = 2·log2 N."""
    return float(2.0 ** min(aperture_value / 2, 60))


def shutter_s_of(shutter_speed_value: float) -> float:
    """Return t [s] from Exif's ShutterSpeedValue Tv = −log2 t."""
    return float(2.0 ** -max(shutter_speed_value, -60))


def _wall(text: str) -> np.datetime64 | None:
    """Read ``2027:08:12 17:34:05``; None where the clock was never set."""
    match = re.fullmatch(r"(\d{4}):(\d\d):(\d\d)[ T](\d\d):(\d\d):(\d\d)", text)
    if not match:
        return None
    try:
        moment = dt.datetime(*(int(part) for part in match.groups()))  # type: ignore[arg-type]  # noqa: DTZ001
    except ValueError:  # 0000:00:00, or 31 June
        return None
    return np.datetime64(moment, "s")


def offset_min(text: str) -> int | None:
    """Read ``+02:00`` or ``Z`` as minutes; None if it is not an offset from UTC."""
    if text in ("Z", "z"):
        return 0
    match = re.fullmatch(r"([+\-−])(\d\d):?(\d\d)", text)
    if not match:
        return None
    minutes = int(match[2]) * 60 + int(match[3])
    return (minutes if match[1] == "+" else -minutes) if minutes <= 14 * 60 else None


_OFFSETS = (
    ("DateTimeOriginal", "OffsetTimeOriginal"),
    ("DateTimeDigitized", "OffsetTimeDigitized"),
    ("DateTime", "OffsetTime"),
)


def _offset_min(tags: _Tags, taken: str) -> int | None:
    """Return the offset recorded with the time taken, or with an equal time.

    Exif (CIPA DC-008) has an offset for each of three times. That of the last change
    is the computer's, unless the file is unchanged: then the times are equal.
    """
    for time, offset in _OFFSETS:
        if tags.text(time) == taken and tags.text(offset):
            return offset_min(tags.text(offset))
    return None


def _gps_utc(
    tags: _Tags, wall: np.datetime64, offset: int | None
) -> np.datetime64 | None:
    match = re.fullmatch(r"(\d{4})[:-](\d\d)[:-](\d\d)", tags.text("GPSDate"))
    clock = tags.numbers("GPSTimeStamp")
    if not match or len(clock) != 3 or not np.isfinite(clock).all():
        return None
    seconds = clock[0] * 3600 + clock[1] * 60 + clock[2]
    if not 0 <= seconds < 86_401:
        return None
    try:
        day = np.datetime64(f"{match[1]}-{match[2]}-{match[3]}", "s")
    except ValueError:
        return None
    utc = np.datetime64(day + np.timedelta64(int(seconds), "s"))
    # A receiver without a fix reports its last one, or a date 1,024 weeks off.
    if offset is not None:
        stated = wall - np.timedelta64(offset, "m")
        return utc if abs(utc - stated) <= _SLOW_CLOCK else None
    return utc if abs(utc - wall) <= _NEAR else None
