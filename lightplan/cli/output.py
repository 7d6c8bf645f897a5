"""What the command line puts out: the table, or one of the files of a trip."""

import argparse
import datetime as dt
import io
import sys
import unicodedata
from pathlib import Path
from typing import NamedTuple

from lightplan import errors
from lightplan.export import calendar, files, sheet, table
from lightplan.trip.plan import TripPlan


class Asked(NamedTuple):
    """What was asked for: a file or the table, as ``--csv`` or not, and where to.

    A printed table includes the position: its reader typed it.
    """

    file: files.File | None
    csv: bool
    alarms: calendar.Alarms
    path: Path | None
    with_position: bool


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the options that `asked` reads."""
    parser.add_argument(
        "--as", dest="kind", type=_file, metavar="KIND",
        help=f"a file instead of the table: {', '.join(files.FILES)}",
    )  # fmt: skip
    parser.add_argument(
        "--alarm", dest="alarms", action="append", type=_alarm, metavar="WHEN",
        help="an alarm in the calendar, repeat for more: "
        f"{', '.join(f'{k.key} ({k.label})' for k in calendar.KINDS.values())}; "
        f"leave=45 rings 45 minutes before the gates open (else {calendar.LEAVE_MIN})",
    )  # fmt: skip
    parser.add_argument(
        "--csv", action="store_true",
        help="as drives, without the byte-order mark",
    )  # fmt: skip
    parser.add_argument(
        "--with-position", action="store_true",
        help="put the coordinates in the file; leave them out where rare animals are "
        "(default: no coordinates, the sun's angles for the position to 0.01°)",
    )  # fmt: skip
    parser.add_argument(
        "--output", dest="path", type=Path, metavar="PATH",
        help="write to this file, or to this folder under a suggested name",
    )  # fmt: skip


def asked(chosen: argparse.Namespace) -> Asked:
    """Return what the options ask for.

    Raises
    ------
    ValueError
        If they contradict each other or an alarm is unknown.
    """
    file: files.File | None = chosen.kind
    given: list[tuple[str, int | None]] = chosen.alarms or []
    if chosen.csv and file:
        raise ValueError("give --csv or --as, not both")
    if given and file is not files.FILES["calendar"]:
        raise ValueError("--alarm belongs to --as calendar")
    minutes = [minute for _, minute in given if minute is not None]
    leave_min = minutes[-1] if minutes else calendar.LEAVE_MIN
    alarms = calendar.Alarms(tuple(key for key, _ in given), leave_min)
    leaves = bool(file or chosen.csv or chosen.path)
    if chosen.with_position and not leaves:
        raise ValueError("--with-position belongs to --as, --csv or --output")
    exact = chosen.with_position or not leaves
    return Asked(file, chosen.csv, alarms, chosen.path, exact)


def made(plan: TripPlan, ask: Asked, now: dt.datetime) -> str | bytes:
    """Return what to put out; where there is a path, write it, and return that.

    Raises
    ------
    ValueError
        If the plan has nothing for such a file, or the path cannot be written.
    """
    if ask.file:
        stamp = now.replace(microsecond=0)
        options = files.Options(stamp, ask.alarms, ask.with_position)
        name, content = ask.file.name(plan), ask.file.write(plan, options)
    elif ask.csv:
        name = files.name(plan, "drives.csv")
        content = sheet.csv_text(plan, ask.with_position).encode()
    elif ask.path:
        name, content = files.name(plan, "table.txt"), table.text(plan).encode()
    else:
        return printable(table.text(plan))
    return printable(f"{_written(ask.path, name, content)}\n") if ask.path else content


def _written(path: Path, name: str, content: bytes) -> Path:
    path = path / name if path.is_dir() else path
    try:
        path.write_bytes(content)
    except OSError as error:
        reason = error.strerror or "it cannot be opened"
        raise ValueError(f"{path} cannot be written: {reason}") from None
    return path


def put(content: str | bytes) -> None:
    """Write to standard output: files unchanged, text as far as the terminal can show it."""
    if isinstance(content, bytes):
        sys.stdout.buffer.write(content)
    else:
        if isinstance(sys.stdout, io.TextIOWrapper):  # without "–", it shows "?"
            sys.stdout.reconfigure(errors="replace")
        sys.stdout.write(content)
    sys.stdout.flush()


def printable(text: str) -> str:
    """Return text without characters that control the terminal."""
    return "".join(
        "?" if c != "\n" and unicodedata.category(c)[0] == "C" else c for c in text
    )


def _file(text: str) -> files.File:
    if text not in files.FILES:
        raise argparse.ArgumentTypeError(errors.one_of("", text, files.FILES))
    return files.FILES[text]


def _alarm(text: str) -> tuple[str, int | None]:
    """Read ``back``, or ``leave=45``."""
    key, equals, minutes = text.partition("=")
    if not equals:
        return key, None
    if key != "leave":
        raise argparse.ArgumentTypeError(f"only leave takes minutes, got {text!r}")
    try:
        return key, int(minutes)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"leave takes whole minutes, as in leave=45, got {text!r}"
        ) from None
