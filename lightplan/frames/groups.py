"""Settings of groups of frames, as people write them: one or more lines each.

``Riverine forest:base=woodland,side=back``; the same for the command line and
for a page.
"""

import datetime as dt
import re
from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from lightplan import errors
from lightplan.catalog.places import Place
from lightplan.errors import shown
from lightplan.frames.calibrate import Group
from lightplan.frames.learning import Stretch
from lightplan.light import daylight
from lightplan.trip.request import FACING_INDEX, FACINGS

SETTINGS = ("base", "sky", "side", "spot", "from", "to")
_LIT_FROM = ("side", "spot")  # two ways to say one thing


class Settings(NamedTuple):
    """Settings by group name, and the stretches of time that define some groups."""

    group_of: dict[str, Group]
    stretches: tuple[Stretch, ...]


def read(lines: Iterable[str], usual: Group, place: Place) -> Settings:
    """Read lines; settings that they leave out are those of ``usual``.

    Lines about one group add up: a later one changes only what it names, and
    every stretch of time counts.

    Parameters
    ----------
    lines : iterable of str
        Each a name, a colon, and settings ``key=value`` separated by commas.
    usual : Group
        Its name does not matter.
    place : Place
        Its spots and its clock are used.

    Raises
    ------
    ValueError
        With one sentence on the first setting that is wrong.
    """
    merged: dict[str, dict[str, str]] = {}
    stretches = []
    for line in lines:
        name, given = _parted(line)
        stretch = _stretch(name, given)
        if stretch is not None:
            stretches.append(stretch)
        before = merged.setdefault(name, {})
        if not given.keys().isdisjoint(_LIT_FROM):  # a side replaces a spot
            for key in _LIT_FROM:
                before.pop(key, None)
        before |= given
    groups = {n: _group(n, given, usual, place) for n, given in merged.items()}
    return Settings(groups, tuple(stretches))


def _parted(line: str) -> tuple[str, dict[str, str]]:
    """Return a line's name and settings."""
    name, *rest = re.split(r":(?=\s*[a-z]+\s*=)", line, maxsplit=1)
    name = name.strip()
    given: dict[str, str] = {}
    for setting in filter(None, map(str.strip, ",".join(rest).split(","))):
        key, _, value = map(str.strip, setting.partition("="))
        if key not in SETTINGS:
            of = f"setting {shown(key)} of group {shown(name)}"
            raise ValueError(f"{of} is unknown{errors.did_you_mean(key, SETTINGS)}")
        given[key] = value
    if given.keys() >= set(_LIT_FROM):
        raise ValueError(
            f"group {shown(name)} must have a side or a spot, not both: got side "
            f"{shown(given['side'])} and spot {shown(given['spot'])}"
        )
    return name, given


def _group(name: str, given: dict[str, str], usual: Group, place: Place) -> Group:
    side = given.get("side")
    if side is not None and side not in FACING_INDEX:
        raise ValueError(
            errors.one_of(f"side of group {shown(name)}", side, FACING_INDEX)
        )
    return Group(
        name=name,
        sky=daylight.sky_named(given.get("sky", usual.sky)).key,
        facing_deg=FACINGS[FACING_INDEX[side]].angle_deg if side else usual.facing_deg,
        bearing_deg=_bearing(given, side, usual, place),
        base=daylight.cover_named(given["base"]).key if "base" in given else usual.base,
    )


def bearing(spot: str, place: Place) -> float:
    """Return where a spot of the place looks [°]; ValueError if it is unknown."""
    known = {s.name: s.bearing_deg for s in place.spots}
    if spot not in known:
        hint = errors.did_you_mean(spot, known)
        raise ValueError(f"spot {shown(spot)} of {place.name} is unknown{hint}")
    return known[spot]


def _bearing(
    given: dict[str, str], side: str | None, usual: Group, place: Place
) -> float | None:
    if "spot" in given:
        return bearing(given["spot"], place)
    return None if side else usual.bearing_deg


def _stretch(name: str, given: dict[str, str]) -> Stretch | None:
    if "from" not in given and "to" not in given:
        return None
    ends = []
    for key in ("from", "to"):
        text = given.get(key, "")
        try:
            moment = dt.datetime.fromisoformat(text)
        except ValueError:
            moment = None
        if moment is None or moment.tzinfo is not None:
            raise ValueError(
                f"{key} of group {shown(name)} must be a time of the place's clock like "
                f"2027-08-12T06:00, got {shown(text)}"
            )
        ends.append(np.datetime64(moment, "s"))
    first, last = ends
    if last < first:
        raise ValueError(
            f"to of group {shown(name)} must not be before its from, {shown(str(first))}, "
            f"got {shown(str(last))}"
        )
    return Stretch(name, first, last)
