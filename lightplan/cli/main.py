"""The command line: ``python -m lightplan plan …``, ``… places``, ``… learn``."""

import argparse
import datetime as dt
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn

from pydantic import ValidationError

from lightplan import __version__, errors
from lightplan.catalog import kit, places, positions
from lightplan.cli import learn as learn_command
from lightplan.cli import options, output
from lightplan.export import files, table
from lightplan.light import daylight
from lightplan.sky import localtime
from lightplan.trip import plan as planning
from lightplan.trip.request import (
    FACING_INDEX,
    USUAL_DAYS,
    USUAL_RIGS,
    USUAL_TRAVEL_MIN,
    Request,
    RigChoice,
    choose,
)

FOLDER = Path(__file__).resolve().parents[2]
RIG_SETTINGS = ("focal", "f", "shutter", "iso")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line.

    Parameters
    ----------
    arguments : sequence of str, optional
        Those of the process if left out.

    Returns
    -------
    int
        0, or 2 after one sentence on standard error about what was wrong.
    """
    chosen = _parser().parse_args(arguments)
    try:
        made = chosen.run(chosen)
    except ValueError as error:
        print(f"lightplan: {output.printable(str(error))}", file=sys.stderr)
        return 2
    try:
        output.put(made)
    except BrokenPipeError:
        # The reader has seen enough. Python flushes once more on its way out.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except OSError as error:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        print(f"lightplan: cannot write it all: {error.strerror}", file=sys.stderr)
        return 2
    return 0


class _Parser(argparse.ArgumentParser):
    """Says one sentence instead of the usage and a sentence."""

    def error(self, message: str) -> NoReturn:
        self.exit(
            2, f"lightplan: {output.printable(message)} (--help lists the options)\n"
        )


def _parser() -> _Parser:
    parser = _Parser(
        prog="lightplan",
        description="When each lens runs out of light on a game drive.",
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=__version__)
    commands = parser.add_subparsers(required=True, metavar="plan|places|learn")
    plan = commands.add_parser(
        "plan", help="print the drives of a trip", allow_abbrev=False
    )
    listing = commands.add_parser(
        "places",
        help="list the places, rigs and own covers of the file",
        allow_abbrev=False,
    )
    learn = commands.add_parser(
        "learn", help="learn covers from frames of your own", allow_abbrev=False
    )
    plan.set_defaults(run=_plan_output)
    learn.set_defaults(run=_learn_output)
    listing.set_defaults(run=_places_output)
    for command in (plan, listing, learn):
        command.add_argument(
            "--file",
            metavar="PATH",
            help="TOML file with places and kit (else the one LIGHTPLAN_FILE names, "
            f"else {places.OWN_FILE} or {places.EXAMPLE_FILE} beside the app)",
        )
    _add_where_and_when(plan)
    _add_how(plan)
    learn_command.add_arguments(learn)
    output.add_options(plan)
    return parser


def _add_where_and_when(plan: argparse.ArgumentParser) -> None:
    plan.add_argument("--place", metavar="NAME", help="a place of the file")
    plan.add_argument(
        "--latitude",
        type=options.number,
        metavar="DEG",
        help="own place, north positive",
    )
    plan.add_argument(
        "--longitude",
        type=options.number,
        metavar="DEG",
        help="own place, east positive",
    )
    plan.add_argument("--zone", help="own place, IANA name like Africa/Lusaka")
    plan.add_argument(
        "--from", dest="first", type=options.date, metavar="DATE",
        help="first date, YYYY-MM-DD (default: tomorrow there)",
    )  # fmt: skip
    plan.add_argument(
        "--to", dest="last", type=options.date, metavar="DATE",
        help="last date, YYYY-MM-DD (default: six days after the first)",
    )  # fmt: skip


def _add_how(plan: argparse.ArgumentParser) -> None:
    plan.add_argument(
        "--rig", dest="rigs", action="append", metavar="NAME[:SETTINGS]",
        help="a rig of the file; repeat to compare (default: its first three). "
        "Settings as in '600 prime:focal=600,f=8,shutter=1/2000,iso=12800', "
        "focal length in mm, shutter in seconds, iso the highest accepted",
    )  # fmt: skip
    plan.add_argument("--pace", default="walking", help=", ".join(kit.PACES))
    plan.add_argument("--facing", default="side", help=", ".join(FACING_INDEX))
    plan.add_argument(
        "--sky", help=f"{', '.join(daylight.SKIES)} (default: the place's)"
    )
    plan.add_argument(
        "--drive-sky", dest="drive_skies", action="append", type=options.drive_sky,
        metavar="DRIVE=SKY", help="another sky for a single drive, repeat for more: "
        "2027-08-12-evening=overcast",
    )  # fmt: skip
    plan.add_argument(
        "--cover",
        help=f"{', '.join(daylight.COVERS)}, or one of the file (default: the place's)",
    )
    plan.add_argument(
        "--travel", type=options.whole, default=USUAL_TRAVEL_MIN, metavar="MIN",
        help="minutes from the animals back to the gate (default: 25)",
    )  # fmt: skip
    plan.add_argument(
        "--distance", type=options.distance_m, default=kit.DISTANCE_M, metavar="M",
        help="to the animal, for the proposed shutter (default: "
        f"{kit.DISTANCE_M:g})",
    )  # fmt: skip
    plan.add_argument(
        "--blur", type=options.blur_px, default=kit.BLUR_PX, metavar="PX",
        help=f"blur allowed, for the proposed shutter (default: {kit.BLUR_PX:g})",
    )  # fmt: skip


def _places_output(chosen: argparse.Namespace) -> str:
    loaded = _loaded(chosen.file)
    return output.printable(f"{loaded.path}\n\n{table.catalog_text(loaded.catalog)}\n")


def _plan_output(chosen: argparse.Namespace) -> str | bytes:
    ask = output.asked(chosen)
    request = _request(chosen, _loaded(chosen.file).catalog)
    trip = planning.make(files.told(request, ask.with_position))
    options.check_drives(trip.request.skies, [d.drive.key for d in trip.drives])
    return output.made(trip, ask, _now())


def _learn_output(chosen: argparse.Namespace) -> str:
    catalog = _loaded(chosen.file).catalog
    rig = _rig_choice(chosen.rig or catalog.rigs[0].name, catalog, "walking")
    return output.printable(learn_command.output(chosen, catalog, rig, _now()))


def _loaded(named: str | None) -> places.Loaded:
    named = named or os.environ.get("LIGHTPLAN_FILE")
    if named:
        return places.Loaded(places.load(Path(named)), Path(named))
    loaded = places.find(FOLDER)
    if loaded.problem:
        raise places.PlacesError(loaded.problem)
    return loaded


def _request(chosen: argparse.Namespace, catalog: places.Catalog) -> Request:
    place = _place(chosen, catalog)
    tomorrow = localtime.date_at(place.timezone, _now()) + dt.timedelta(days=1)
    first = localtime.checked_date(chosen.first or tomorrow)
    end_of_dates = dt.date(localtime.LAST_YEAR, 12, 31)
    rigs = chosen.rigs or [rig.name for rig in catalog.rigs[:USUAL_RIGS]]
    return Request(
        place=place,
        first=first,
        last=chosen.last or min(first + dt.timedelta(USUAL_DAYS - 1), end_of_dates),
        rigs=tuple(
            _rig_choice(text, catalog, chosen.pace, chosen.distance, chosen.blur)
            for text in rigs
        ),
        pace=chosen.pace,
        facing=chosen.facing,
        sky=chosen.sky or place.sky,
        cover=catalog.cover(chosen.cover or place.cover),
        travel_min=chosen.travel,
        limits=catalog.light.limits,
        skies=tuple(chosen.drive_skies or ()),
    )


def _place(chosen: argparse.Namespace, catalog: places.Catalog) -> places.Place:
    own = (chosen.latitude, chosen.longitude, chosen.zone)
    if chosen.place is not None:
        if any(value is not None for value in own):
            raise ValueError("give --place or coordinates of your own, not both")
        return catalog.place(chosen.place)
    if any(value is None for value in own):
        raise ValueError(
            "say where: --place, or all three of --latitude, --longitude and --zone"
        )
    data = {
        "name": positions.name(chosen.latitude, chosen.longitude),
        "latitude_deg": chosen.latitude,
        "longitude_deg": chosen.longitude,
        "timezone": chosen.zone,
    }
    try:
        return places.Place.model_validate(data)
    except ValidationError as error:
        raise ValueError(errors.sentence(error, data, places.KEYS)) from None


def _now() -> dt.datetime:
    return dt.datetime.now(dt.UTC)


def _rig_choice(
    text: str,
    catalog: places.Catalog,
    pace: str,
    distance_m: float = kit.DISTANCE_M,
    blur_px: float = kit.BLUR_PX,
) -> RigChoice:
    name, _, settings = text.rpartition(":")
    # A colon may belong to the name.
    if "=" not in settings or text in [rig.name for rig in catalog.rigs]:
        name, settings = text, ""
    given: dict[str, float] = {}
    for setting in filter(None, settings.split(",")):
        key, _, value = setting.partition("=")
        if key not in RIG_SETTINGS:
            hint = errors.did_you_mean(key, RIG_SETTINGS)
            raise ValueError(f"setting {key!r} of rig {name!r} is unknown{hint}")
        given[key] = options.ratio(value, f"{key} of rig {name!r}")
    return choose(
        catalog.rig(name),
        pace,
        focal_mm=given.get("focal"),
        f_number=given.get("f"),
        shutter_s=given.get("shutter"),
        iso_ceiling=given.get("iso"),
        distance_m=distance_m,
        blur_px=blur_px,
    )
