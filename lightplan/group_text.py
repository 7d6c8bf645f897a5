"""What is said of one group of frames, as people write it on one line.

``Riverine forest:base=woodland,side=back``; the same for the command line and
for a page.
"""

import datetime as dt
import re

import numpy as np

from lightplan import complaint, daylight
from lightplan.calibrate import Group
from lightplan.complaint import shown
from lightplan.learning import Stretch
from lightplan.places import Place
from lightplan.request import FACING_INDEX, FACINGS

SETTINGS = ("base", "sky", "side", "spot", "from", "to")


def read(text: str, usual: Group, place: Place) -> tuple[Group, Stretch | None]:
    """Read a line; what it does not say is as ``usual``.

    Parameters
    ----------
    text : str
        A name, a colon, and settings ``key=value`` between commas.
    usual : Group
        Its name does not matter.
    place : Place
        Whose spots and clock are meant.

    Returns
    -------
    tuple
        The group, and the stretch of time whose frames make it, if one is named.

    Raises
    ------
    ValueError
        With one sentence on the first setting that is wrong.
    """
    name, *rest = re.split(r":(?=\s*[a-z]+=)", text, maxsplit=1)
    name = name.strip()
    given: dict[str, str] = {}
    for setting in filter(None, ",".join(rest).split(",")):
        key, _, value = setting.strip().partition("=")
        if key not in SETTINGS:
            hint = complaint.did_you_mean(key, SETTINGS)
            raise ValueError(
                f"setting {shown(key)} of group {shown(name)} is unknown{hint}"
            )
        given[key] = value
    side = given.get("side")
    if side is not None and side not in FACING_INDEX:
        raise ValueError(
            f"side of group {shown(name)} must be one of {', '.join(FACING_INDEX)}, got "
            f"{shown(side)}"
        )
    group = Group(
        name=name,
        sky=daylight.sky_named(given.get("sky", usual.sky)).key,
        facing_deg=FACINGS[FACING_INDEX[side]].angle_deg if side else usual.facing_deg,
        bearing_deg=_bearing(given, side, usual, place),
        base=daylight.cover_named(given["base"]).key if "base" in given else usual.base,
    )
    return group, _stretch(name, given)


def bearing(spot: str, place: Place) -> float:
    """Return where a spot of the place looks [°]; ValueError if it is unknown."""
    known = {s.name: s.bearing_deg for s in place.spots}
    if spot not in known:
        hint = complaint.did_you_mean(spot, known)
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
    return Stretch(name, ends[0], ends[1])
