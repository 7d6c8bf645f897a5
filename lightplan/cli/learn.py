"""The command ``learn``: from a folder of frames, or a CSV table, to covers."""

import argparse
import datetime as dt
import re
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from textwrap import TextWrapper

import numpy as np
import tomlkit
from tabulate import tabulate
from tqdm import tqdm

from lightplan import errors, naming
from lightplan.catalog import toml
from lightplan.catalog.places import Catalog, Place
from lightplan.errors import as_sentence, one_line
from lightplan.frames import groups as group_text
from lightplan.frames import learning
from lightplan.frames import read as frames
from lightplan.frames import table as frames_csv
from lightplan.frames import words as calibrate_words
from lightplan.frames.calibrate import LOWEST_SUN_DEG, Group
from lightplan.frames.learning import GROUPINGS, Learned, Metering
from lightplan.frames.read import Clock, Reading, Timed
from lightplan.frames.words import many
from lightplan.light import daylight
from lightplan.trip.request import FACING_INDEX, FACINGS, RigChoice

_WRAP = TextWrapper(88, break_long_words=False, break_on_hyphens=False)
_SECONDS = {"s": 1, "min": 60, "h": 3600}


def add_arguments(learn: argparse.ArgumentParser) -> None:
    """Add the command's own options to its parser."""
    learn.add_argument("source", metavar="FOLDER", help="with frames, or a CSV file")
    learn.add_argument("--place", metavar="NAME", required=True, help="of the file")
    learn.add_argument(
        "--zone",
        help="IANA zone of the camera's clock, for frames that do not record it",
    )
    learn.add_argument(
        "--clock", type=_seconds, default=0.0, metavar="SHIFT",
        help="added to the camera's clock: 90s, -3min, +1h (write --clock=-3min)",
    )  # fmt: skip
    learn.add_argument(
        "--by", default="folder",
        help=f"what makes a group: {', '.join(GROUPINGS)} (default: folder); a table's "
        "column group stands for folder and subfolder",
    )  # fmt: skip
    learn.add_argument(
        "--group", dest="groups", action="append", default=[], metavar="NAME:SETTINGS",
        help="settings of one group, as in 'Riverine "
        "forest:base=woodland,sky=haze,side=back'; spot=NAME works out the side from "
        "the bearing of a spot, from=2027-08-12T06:00,to=2027-08-12T09:00 takes its "
        "frames by time",
    )  # fmt: skip
    learn.add_argument("--sky", help="of all other groups (default: the place's)")
    learn.add_argument(
        "--side", default="side", help=f"lit from: {', '.join(FACING_INDEX)}"
    )
    learn.add_argument(
        "--base", default="open",
        help=f"count stops from: {', '.join(daylight.COVERS)} (default: open)",
    )  # fmt: skip
    learn.add_argument(
        "--preset",
        help="compare results with (default: the group's base, else the place's "
        "cover, else woodland)",
    )
    learn.add_argument(
        "--reference", metavar="GROUP",
        help="a group on open ground to count the others from",
    )  # fmt: skip
    learn.add_argument(
        "--habit", type=_stops, default=0.0, metavar="STOPS",
        help=(
            "how you usually expose against the meter: -0.7 for darker (write "
            "--habit=-0.7)"
        ),
    )  # fmt: skip
    learn.add_argument(
        "--as-exposed", action="store_true",
        help="leave compensation in: it was set for pale or dark animals",
    )  # fmt: skip
    learn.add_argument(
        "--rig",
        metavar="NAME[:SETTINGS]",
        help="example rig in the results (default: first)",
    )


def output(
    chosen: argparse.Namespace, catalog: Catalog, rig: RigChoice, now: dt.datetime
) -> str:
    """Return what the command prints.

    Raises
    ------
    ValueError
        With one sentence on what is wrong with an option or the source.
    """
    place = catalog.place(chosen.place)
    if chosen.side not in FACING_INDEX:
        raise ValueError(errors.one_of("side", chosen.side, FACING_INDEX))
    usual = Group(
        name="",
        sky=daylight.sky_named(chosen.sky or place.sky).key,
        facing_deg=FACINGS[FACING_INDEX[chosen.side]].angle_deg,
        base=daylight.cover_named(chosen.base).key,
    )
    preset = daylight.cover_named(chosen.preset) if chosen.preset else None
    groups = group_text.read(chosen.groups, usual, place)
    clock = Clock(now, chosen.zone, chosen.clock)
    frames.check(clock)
    if chosen.by not in GROUPINGS:
        raise ValueError(errors.one_of("by", chosen.by, GROUPINGS))
    reading = _read(Path(chosen.source))
    timed = frames.timed(reading.frames, clock)
    names = learning.grouped(timed, place, chosen.by, groups.stretches)
    names = _named_by_folder(names, Path(chosen.source), chosen.by)
    found = learning.learn(
        timed,
        names,
        place,
        groups.group_of,
        usual,
        Metering(chosen.habit, chosen.as_exposed),
        chosen.reference,
    )
    blocks = [_account(reading, timed, found), *_zone_wanted(timed, place)]
    if found.misfit is not None:
        blocks.append(_WRAP.fill(calibrate_words.clock_doubt(found.misfit)))
    blocks.append(_table(found))
    for fit in found.fits:
        date = found.dates[fit.group.name]
        against = preset or learning.usual_preset(fit, place)
        said = calibrate_words.evening(fit, place, date, rig, against)
        blocks.append(_WRAP.fill(said))
    if found.fits:
        blocks.append("\n".join(map(_WRAP.fill, calibrate_words.LIMITS)))
        blocks.append(_to_add(found, catalog))
    return "\n\n".join(blocks) + "\n"


def _named_by_folder(names: tuple[str, ...], source: Path, by: str) -> tuple[str, ...]:
    """Return the names, with the folder's own for frames that lie in no other."""
    if by not in learning.BY_FOLDER or not source.is_dir():
        return names
    own = one_line(source.resolve().name) or learning.ALL
    return tuple(own if name == learning.ALL else name for name in names)


def _zone_wanted(timed: Timed, place: Place) -> list[str]:
    lost = sum(dropped.reason == frames.NO_ZONE for dropped in timed.dropped)
    if not lost:
        return []
    said = (
        f"{many(lost, 'frame', 'does', 'do')} not tell a time zone: state the one that "
        f"the camera’s clock was set to, as in --zone {place.timezone}."
    )
    return [_WRAP.fill(said)]


def _read(source: Path) -> Reading:
    if source.suffix.lower() in (".csv", ".tsv", ".txt") and not source.is_dir():
        return frames_csv.read_file(source)
    return frames.read_folder(source, _bar)


def _bar(paths: Sequence[Path]) -> Iterable[Path]:
    # None: no progress bar if the output is not a terminal.
    bar: Iterable[Path] = tqdm(paths, unit=" files", file=sys.stderr, disable=None)
    return bar


def _account(reading: Reading, timed: Timed, found: Learned) -> str:
    every = [*found.fits, *([found.reference] if found.reference else [])]
    used, bursts = sum(f.frames for f in every), sum(f.bursts for f in every)
    dropped = frames.account((*reading.dropped, *timed.dropped))
    dark = sum(f.dark for f in every)
    if dark:
        dropped += ((naming.minus(f"sun below {LOWEST_SUN_DEG:g}°"), dark, ""),)
    total = len(reading.frames) + len(reading.dropped)
    of = "1 file or row" if total == 1 else f"{total:,} files or rows"
    head = f"{of}: {many(used, 'frame')} used, in {many(bursts, 'burst')}"
    if not dropped:
        return f"{head}; none dropped."
    lines = [
        f"  {count:7,}  {reason}" + (f" (such as {name})" if name else "")
        for reason, count, name in dropped
    ]
    return "\n".join([f"{head}; {total - used:,} dropped:", *lines])


def _table(found: Learned) -> str:
    every = [*found.fits, *([found.reference] if found.reference else [])]
    if not every:
        return "No usable frame is left."
    rows = [
        (
            f.group.name + (" (reference)" if f is found.reference else ""),
            f.frames,
            f.bursts,
            f.outliers,
            naming.minus(f"{f.stops:+.2f}") if f.bursts else "",
            f"{f.spread_stops:.2f}" if f.bursts else "",
            f"{f.error_stops:.2f}" if f.bursts else "",
            daylight.cover_named(f.group.base).key,
            f.group.sky,
        )
        for f in every
    ]
    heads = (
        "group", "frames", "bursts", "set aside", "stops", "± two thirds", "± middle",
        "from", "sky",
    )  # fmt: skip
    return tabulate(rows, heads, disable_numparse=True)


def _to_add(found: Learned, catalog: Catalog) -> str:
    covers = [learning.own_cover(fit) for fit in found.fits if fit.usable]
    if not covers:
        return "No group is good enough for a cover."
    known = {cover.name for cover in catalog.covers}
    again = [cover.name for cover in covers if cover.name in known]
    head = "To plan with it, add this to the TOML file, and name it as a cover:"
    if found.misfit is not None:
        head = f"{as_sentence(calibrate_words.CHECK_CLOCK)} {head}"
    if again:
        head += f" (replacing its entry for {', '.join(again)})"
    tables = tomlkit.dumps({"covers": [toml.table(cover) for cover in covers]})
    return f"{head}\n\n{tables.rstrip()}"


def _seconds(text: str) -> float:
    found = re.fullmatch(r"([+\-−]?)(\d+(?:\.\d+)?) ?(s|min|h)", text)
    seconds = float(found[2]) * _SECONDS[found[3]] if found else np.inf
    if not found or seconds > 26 * 3600:
        raise argparse.ArgumentTypeError(
            f"must be a time up to 26 h like 90s, -3min or +1h, got {text!r}"
        )
    return seconds if found[1] in ("", "+") else -seconds


def _stops(text: str) -> float:
    try:
        stops = float(text.replace("−", "-"))
    except ValueError:
        stops = np.nan
    if not -5 <= stops <= 5:
        raise argparse.ArgumentTypeError(f"must be stops from -5 to 5, got {text!r}")
    return stops
