"""The command line: ``lightplan serve``, ``plan``, ``places``, ``learn``, ``air``."""

import argparse
import datetime as dt
import os
import sys
from collections.abc import Sequence
from dataclasses import replace
from typing import NoReturn

from lightplan import __version__, errors
from lightplan.catalog import places
from lightplan.choices import rigs, state, table, trip
from lightplan.choices.raw import OWN, OWN_FIELDS, Raw
from lightplan.cli import air as air_command
from lightplan.cli import learn as learn_command
from lightplan.cli import options, output
from lightplan.export import files
from lightplan.export.table import catalog_text
from lightplan.trip import plan
from lightplan.trip.request import (
    USUAL_RIGS,
    Request,
    RigChoice,
    choose,
)

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
        print(
            f"lightplan: cannot write all of the output: {error.strerror}",
            file=sys.stderr,
        )
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
    commands = parser.add_subparsers(
        required=True, metavar="serve|plan|places|learn|air"
    )
    serve = commands.add_parser(
        "serve", help="open the pages to browsers", allow_abbrev=False
    )
    plan = commands.add_parser(
        "plan", help="print the drives of a trip", allow_abbrev=False
    )
    listing = commands.add_parser(
        "places",
        help="list the places, rigs and covers in the file",
        allow_abbrev=False,
    )
    learn = commands.add_parser(
        "learn", help="learn covers from your own frames", allow_abbrev=False
    )
    air = commands.add_parser(
        "air", help="look up how hazy a place's air is by month", allow_abbrev=False
    )
    air.set_defaults(run=_air_output)
    serve.set_defaults(run=_serve)
    plan.set_defaults(run=_plan_output)
    learn.set_defaults(run=_learn_output)
    listing.set_defaults(run=_places_output)
    for command in (serve, plan, listing, learn, air):
        command.add_argument(
            "--file",
            metavar="PATH",
            help=f"TOML file with places and kit (else the one {places.NAMING} names, "
            f"else {places.OWN_FILE}, beside app.py in a checkout and installed in the "
            "folder you are in, else the built-in example)",
        )
    _add_address(serve)
    _add_choices(plan)
    learn_command.add_arguments(learn)
    air_command.add_arguments(air)
    output.add_options(plan)
    return parser


def _add_address(serve: argparse.ArgumentParser) -> None:
    serve.add_argument(
        "--host",
        metavar="ADDRESS",
        help="address to listen on (else LIGHTPLAN_HOST, else 127.0.0.1, which only "
        "this machine reaches; 0.0.0.0 is all of its addresses)",
    )
    serve.add_argument(
        "--port", help="port to listen on (else LIGHTPLAN_PORT, else 8050)"
    )


def _add_choices(plan: argparse.ArgumentParser) -> None:
    for choice in table.CHOICES:
        if option := choice.option:
            plan.add_argument(
                option.flag, dest=choice.name, metavar=option.metavar, help=option.help
            )
    plan.add_argument(
        "--rig", dest="rigs", action="append", metavar="NAME[:SETTINGS]",
        help="a rig in the file; repeat to compare (default: the first three). "
        "Settings as in '600 prime:focal=600,f=8,shutter=1/2000,iso=12800', focal "
        "length in mm, shutter in seconds, iso the highest you accept",
    )  # fmt: skip
    plan.add_argument(
        "--drive-sky", dest="drive_skies", action="append", type=options.drive_sky,
        metavar="DRIVE=SKY", help="another sky for a single drive, repeat for more: "
        "2027-08-12-evening=overcast",
    )  # fmt: skip


def _serve(chosen: argparse.Namespace) -> str:
    # Here, so that the other commands start without a web server.
    from lightplan.web import serve

    _loaded(chosen.file)  # report a wrong file now, not on the pages
    serve.serve(chosen.host, chosen.port, chosen.file)
    return ""


def _places_output(chosen: argparse.Namespace) -> str:
    loaded = _loaded(chosen.file)
    return output.printable(f"{loaded.path}\n\n{catalog_text(loaded.catalog)}\n")


def _plan_output(chosen: argparse.Namespace) -> str | bytes:
    ask = output.asked(chosen)
    request = _request(chosen, _loaded(chosen.file).catalog)
    made = plan.make(files.withheld(request, ask.with_position))
    options.check_drives(made.request.skies, [d.key for d in made.drives])
    return output.made(made, ask, _now())


def _learn_output(chosen: argparse.Namespace) -> str:
    catalog = _loaded(chosen.file).catalog
    rig = _rig_choice(chosen.rig or catalog.rigs[0].name, catalog)
    return output.printable(learn_command.output(chosen, catalog, rig, _now()))


def _air_output(chosen: argparse.Namespace) -> str:
    return output.printable(air_command.output(chosen, _loaded(chosen.file)))


def _loaded(named: str | None) -> places.Loaded:
    path = places.wanted(named)
    return places.Loaded(places.load(path), path)


def _request(chosen: argparse.Namespace, catalog: places.Catalog) -> Request:
    raw = _raw(chosen, catalog)
    assumed = rigs.assumed(raw, catalog)
    named = [_rig_choice(text, catalog, assumed) for text in chosen.rigs or ()]
    request = state.read(raw, catalog, exact=True)
    return replace(request, rigs=tuple(named) or request.rigs)


def _raw(chosen: argparse.Namespace, catalog: places.Catalog) -> Raw:
    """Return the options as the texts of a form, filled up with the usual ones."""
    known = vars(chosen)
    texts = {
        choice.name: known[choice.name]
        for choice in table.CHOICES
        if choice.option and known[choice.name] is not None
    }
    own = [name in texts for name in OWN_FIELDS]
    if table.PLACE.name in texts and any(own):
        raise ValueError("give --place or coordinates, not both")
    if table.PLACE.name not in texts and not all(own):
        raise ValueError(
            "say where: --place, or all three of --latitude, --longitude and --zone"
        )
    texts.setdefault(table.PLACE.name, OWN)
    skies = ",".join(f"{key}:{sky}" for key, sky in chosen.drive_skies or ())
    place = table.PLACE.of(Raw(tuple(texts.items()), ()), catalog)
    first = texts.get(table.FIRST.name)
    usual = state.usual(
        place, _now(), trip.date(first, "first date") if first else None
    )
    filled = {**table.usual(usual), table.SKIES.name: skies, **texts}
    named = tuple((rig.name, "", "", "", "") for rig in catalog.rigs[:USUAL_RIGS])
    return Raw(tuple(filled.items()), named)


def _now() -> dt.datetime:
    return dt.datetime.now(dt.UTC)


def _rig_choice(
    text: str,
    catalog: places.Catalog,
    assumed: rigs.Assumed = rigs.USUAL,
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
        focal_mm=given.get("focal"),
        f_number=given.get("f"),
        shutter_s=given.get("shutter"),
        iso_ceiling=given.get("iso"),
        **assumed,
    )
