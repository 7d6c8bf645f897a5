"""Sentences on learned covers, the same on the page and the command line."""

import datetime as dt

import numpy as np

from lightplan.catalog.places import Place
from lightplan.frames import learning, zonecheck
from lightplan.frames.calibrate import FEWEST_BURSTS, WIDEST_STOPS, Fit
from lightplan.frames.learning import End
from lightplan.frames.zonecheck import Misfit
from lightplan.light import daylight
from lightplan.light.daylight import Cover
from lightplan.naming import day_month, duration
from lightplan.sky import localtime
from lightplan.trip.request import RigChoice

CHECK_CLOCK = "check the clock first"  # a wrong clock would shift the results
LIMITS = (
    "A frame records what was metered and set, not the light itself: pale or dark "
    "animals, compensation and exposing for the highlights shift it. Enter your habit "
    "if you know it; the ± remains.",
    "A group assumes one sky and one side of the sun for all its frames; if these "
    "changed, the ± is wider and the stops are wrong.",
    "A camera clock half an hour out shifts the stops and may go unnoticed, above all "
    "if every frame is from dusk: check it.",
    "A plan that uses your cover adds the ± of its own sky.",
    "Frames in full sun say little about dusk, when there is no direct sun to lose: "
    "use frames from dawn and dusk, or count from the nearest preset.",
)


def learned(fit: Fit) -> str:
    """Say how many stops a group's cover takes, or why nothing is learned from it."""
    name = fit.group.name
    if fit.too_few:
        few = many(fit.bursts, "burst", "is", "are")
        return (
            f"{name}: {few} too few to learn from; at least {FEWEST_BURSTS} are needed."
        )
    if fit.too_wide:
        return (
            f"{name}: its bursts differ by ±{fit.spread_stops:.1f} stops, more than "
            f"the ±{WIDEST_STOPS:g} of the widest preset, so nothing is learned; were "
            "sky and side the same in all of them?"
        )
    if fit.implausible:
        return (
            f"{name}: {_stops(fit)}, which no cover does, so nothing is learned; "
            "check the clock, the sky and the side."
        )
    return f"{name} {costs(fit)}."


def costs(fit: Fit) -> str:
    """Return ``costs you 3.4 ± 0.5 stops (180 frames in 41 bursts, 3 set aside)``."""
    counted = f"{many(fit.frames, 'frame')} in {many(fit.bursts, 'burst')}"
    aside = f", {fit.outliers:,} set aside" if fit.outliers else ""
    return f"{_stops(fit)} ({counted}{aside})"


def _stops(fit: Fit) -> str:
    base = daylight.cover_named(fit.group.base)
    stops = round(fit.stops, 1)
    size = f"{abs(stops):.1f} ± {fit.sure_to_stops:.1f} stops"
    verb = "costs you" if stops >= 0 else "gives you"
    than = "" if base.key == "open" and stops >= 0 else f" more than {base.label}"
    return f"{verb} {size}{than}"


def evening(
    fit: Fit, place: Place, date: dt.date, rig: RigChoice, against: Cover
) -> str:
    """Say how many stops a group's cover takes, and what that means in the evening.

    Parameters
    ----------
    fit : Fit
        The group's.
    place : Place
        Where.
    date : datetime.date
        The evening's; nothing is added for a year outside the planned range.
    rig : RigChoice
        The example rig.
    against : Cover
        The preset to compare the learned cover with.
    """
    result = learned(fit)
    plannable = localtime.FIRST_YEAR <= date.year <= localtime.LAST_YEAR
    if not fit.usable or not plannable:
        return result
    group = fit.group
    side = learning.side_of(group)
    now, before = (
        learning.evening_end(place, date, rig, side, group.sky, cover)
        for cover in (learning.own_cover(fit).cover, against)
    )
    effect = consequence(rig.label, place, date, against, (now, before))
    if group.bearing_deg is None:
        return f"{result} {effect}"
    # The fit follows the sun's side, but an evening is worked out for one side.
    return f"{result} Lit from the {side}, {effect[:1].lower()}{effect[1:]}"


def consequence(
    rig: str, place: Place, date: dt.date, preset: Cover, ends: tuple[End, End]
) -> str:
    """Say what a learned cover changes in the evening.

    Parameters
    ----------
    rig : str
        Its label, ``600 mm f/6.3``.
    place : Place
        Where; its zone is that of the clock times.
    date : datetime.date
        The evening's.
    preset : Cover
        What the learned cover is compared with.
    ends : tuple of End
        When the rig runs out of light under the learned cover and the preset.
    """
    now, before = ends
    compared = f"with the {preset.label} preset"
    if now.utc is None and before.utc is None:
        return f"Your {rig} is too slow all evening there, as {compared}."
    if now.utc is None:
        assert before.utc is not None
        clock = _at(place, date, before.utc)
        return (
            f"Your {rig} is too slow all evening there; {compared} it lasts to {clock}."
        )
    clock = _at(place, date, now.utc)
    if before.utc is None:
        return f"Your {rig} lasts to {clock}; {compared} it is too slow all evening."
    if now.dusk and before.dusk:
        return f"Your {rig} lasts to the end of civil twilight, {clock}, as {compared}."
    minutes = int((now.utc - before.utc).astype("timedelta64[m]").astype(int))
    if minutes == 0:
        return f"Your {rig} runs out of light at {clock}, as {compared}."
    least = "at least " if now.dusk or before.dusk else ""
    when = "later" if minutes > 0 else "earlier"
    return (
        f"Your {rig} runs out of light at {clock}, {least}{duration(abs(minutes))} "
        f"{when} than {compared}."
    )


def _at(place: Place, date: dt.date, utc: np.datetime64) -> str:
    return f"{localtime.clock(place.timezone, utc)} on {day_month(date)}"


def clock_doubt(misfit: Misfit) -> str:
    """Say that another setting of the camera's clock fits much better."""
    hours = duration(abs(misfit.shift_min))
    when = "later" if misfit.shift_min > 0 else "earlier"
    return (
        f"The frames fit much better {hours} {when}: they would then lie "
        f"{misfit.shifted_miss_stops:.1f} stops from the middle of their group, "
        f"instead of {misfit.miss_stops:.1f} now (a frame at night counts as "
        f"{zonecheck.NO_LIGHT_STOPS:g}). Was the camera’s clock set to another zone?"
    )


def many(count: int, word: str, is_: str = "", are: str = "") -> str:
    """Return ``1 burst is`` or ``1,041 bursts are``."""
    text = f"{count:,} {word}" + ("" if count == 1 else "s")
    verb = is_ if count == 1 else are
    return f"{text} {verb}".strip()
