"""Exposures from a CSV table, one frame per row, columns in any order.

Headings are compared without case, spaces and signs; `COLUMNS` lists the names.
Fields may be separated by commas, semicolons or tabs; a decimal comma, as in 6,3, is
read as 6.3.
"""

import csv
import datetime as dt
import io
import re
from pathlib import Path

import numpy as np

from lightplan.errors import one_line
from lightplan.frames import headers
from lightplan.frames.headers import Exposure, Unusable
from lightplan.frames.read import Dropped, Frame, Reading

LARGEST_CSV_BYTES = 50_000_000
_LONGEST_FIELD = 300  # characters; patterns are slow on endless fields
_MOST_COLUMNS = 1000  # Exif has a few hundred tags

# What a column holds, and the headings it may have.
COLUMNS = {
    "time": ("time", "datetime", "datetimeoriginal", "timestamp", "taken"),
    "date": ("date",),  # if the time has a separate column
    "f-number": ("fnumber", "f", "aperture", "fstop"),
    "shutter": ("shutter", "shutters", "shutterspeed", "exposuretime"),
    "ISO": ("iso", "isospeed", "sensitivity", "isospeedratings"),
    "compensation": ("compensation", "exposurecompensation", "exposurebiasvalue"),
    "UTC offset": ("utcoffset", "offset", "offsettimeoriginal"),
    "flash": ("flash", "flashfired"),
    "group": ("group",),
}
NEEDED = ("time", "f-number", "shutter", "ISO")

NO_NUMBER = "a value that is not a number"
_NOT_FIRED = ("", "0", "no", "off", "false", "did not fire")


def read_file(path: Path) -> Reading:
    """Read a CSV file.

    Raises
    ------
    ValueError
        If it cannot be read, or as for `read_bytes`.
    """
    try:
        if path.stat().st_size > LARGEST_CSV_BYTES:
            raise ValueError(_too_long(path.name))
        data = path.read_bytes()
    except OSError as error:
        reason = error.strerror or "it cannot be opened"
        raise ValueError(f"{path} cannot be read: {reason}") from None
    return read_bytes(data, path.name)


def read_bytes(data: bytes, name: str) -> Reading:
    """Read a CSV table given as bytes.

    Parameters
    ----------
    data : bytes
        UTF-8 text.
    name : str
        What to call it; frames are called ``name, row 2`` and so on.

    Returns
    -------
    Reading
        Every row that is not blank is in it once.

    Raises
    ------
    ValueError
        If it is too long, empty or not text, or a column is missing.
    """
    name = one_line(name)
    if len(data) > LARGEST_CSV_BYTES:
        raise ValueError(_too_long(name))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ValueError(f"{name} is not UTF-8 text") from None
    if not text.strip():
        raise ValueError(f"{name} is empty")
    first = text.partition("\n")[0]
    delimiter = max(";\t,", key=first.count)
    frames: list[Frame] = []
    dropped: list[Dropped] = []
    try:
        rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
        columns = _columns(next(rows, []), name)
        for row in rows:
            if not any(field.strip() for field in row):
                continue
            label = f"{name}, row {rows.line_num}"
            values = {
                key: row[i].strip()[:_LONGEST_FIELD]
                for key, i in columns.items()
                if i < len(row)
            }
            group = one_line(values.get("group", ""))
            try:
                frames.append(Frame(label, _exposure(values), group))
            except Unusable as reason:
                dropped.append(Dropped(label, str(reason)))
    except csv.Error as error:
        raise ValueError(f"{name}, row {rows.line_num}: {error}") from None
    return Reading(tuple(frames), tuple(dropped))


def _too_long(name: str) -> str:
    return f"{name} must be at most {LARGEST_CSV_BYTES // 1_000_000} MB"


def _columns(heading: list[str], name: str) -> dict[str, int]:
    if len(heading) > _MOST_COLUMNS:
        raise ValueError(
            f"{name} may have at most {_MOST_COLUMNS:,} columns, got {len(heading):,}: "
            "keep those with the exposures"
        )
    plain = [re.sub(r"[^a-z0-9]", "", title.lower()) for title in heading]
    columns = {
        key: next(plain.index(title) for title in titles if title in plain)
        for key, titles in COLUMNS.items()
        if any(title in plain for title in titles)
    }
    missing = [key for key in NEEDED if key not in columns]
    if missing:
        raise ValueError(
            f"{name} needs columns {', '.join(NEEDED)}; missing: {', '.join(missing)}"
        )
    return columns


def _exposure(values: dict[str, str]) -> Exposure:
    if _fired(values.get("flash", "")):
        raise Unusable(headers.FLASH)
    moment = _moment(f"{values.get('date', '')} {values.get('time', '')}".strip())
    needed = [values.get(key, "") for key in ("f-number", "shutter", "ISO")]
    if not all(needed):
        raise Unusable(headers.NO_EXPOSURE)
    aperture, shutter, iso = needed
    offset = moment.utcoffset()
    if offset is not None:
        offset_min: int | None = round(offset.total_seconds() / 60)
    else:
        offset_min = headers.offset_min(values.get("UTC offset", ""))
    return headers.checked(
        Exposure(
            wall=np.datetime64(moment.replace(tzinfo=None), "s"),
            offset_min=offset_min,
            gps_utc=None,
            f_number=_number(re.sub(r"^[fF]\s*/?\s*", "", aperture)),
            shutter_s=_number(shutter.removesuffix("sec").removesuffix("s")),
            iso=_number(_ungrouped(re.sub(r"^iso\s*", "", iso, flags=re.IGNORECASE))),
            compensation_stops=_number(values.get("compensation", "") or "0"),
        )
    )


def _fired(text: str) -> bool:
    if text.isdecimal():  # as Exif has it: bit 0
        return bool(int(text[-4:]) & 1)
    return text.lower() not in _NOT_FIRED and "not fire" not in text.lower()


def _moment(text: str) -> dt.datetime:
    """Read ISO 8601, Exif's ``2027:08:12 17:34:05``, or ``12.08.2027 17:34``."""
    text = re.sub(r"^(\d{4}):(\d\d):(\d\d)", r"\1-\2-\3", text)
    text = re.sub(r"^(\d\d)\.(\d\d)\.(\d{4})", r"\3-\2-\1", text)
    try:
        moment = dt.datetime.fromisoformat(text)
    except ValueError:
        raise Unusable(headers.NO_TIME) from None
    if ":" not in text:  # a date without a time
        raise Unusable(headers.NO_TIME)
    return moment


_GROUPED = re.compile(r"\d{1,3}([.,]\d{3})+")


def _ungrouped(text: str) -> str:
    """Drop the thousands separator of ``12,800``: no ISO or 1/s has three decimals."""
    return re.sub(r"[.,]", "", text) if _GROUPED.fullmatch(text) else text


def _number(text: str) -> float:
    """Read ``6.3``, ``6,3`` or ``1/1250``."""
    number, slash, divisor = text.replace("−", "-").partition("/")
    number, divisor = (t.replace(",", ".") for t in (number, _ungrouped(divisor)))
    try:
        return float(number) / float(divisor) if slash else float(number)
    except (ValueError, ZeroDivisionError):
        raise Unusable(NO_NUMBER) from None
