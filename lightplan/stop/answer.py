"""The answer on the page Where to stop: the verdict, the place, the ISO."""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lightplan import naming
from lightplan.camera import exposure
from lightplan.light import backlight
from lightplan.naming import Part, Parts, decimal
from lightplan.stop import rim, words
from lightplan.stop.rim import RimDrive
from lightplan.stop.stop import RigStop, Stop
from lightplan.trip.minutes import Span
from lightplan.trip.plan import TripPlan
from lightplan.trip.request import LETTERS, RigChoice

_WANTS_LOW = f"a rim needs {rim.BELOW_DEG:g}° or less"
_WANTS_EDGE = f"a rim needs {rim.LEAST_STOPS:g} stop"


def answer(plan: TripPlan, of: RimDrive, at: Stop, mark_true: bool = False) -> Parts:
    """Answer for one minute: the verdict, where to stop, the ISO of each rig.

    ``mark_true`` writes "true" after bearings, where compass bearings are shown too.
    """
    true = " true" if mark_true else ""
    worth = worth_stopping(of)[at.minute]
    return (
        *_verdict(plan, of, at),
        *(window_parts(plan, of) if of.windows else []),
        *_sun(plan, of, at),
        *(_where(at, true) if worth else []),
        *_aim(of, at, true),
        *_iso(plan, at, bool(of.works[2, at.minute])),
    )


def worth_stopping(of: RimDrive) -> NDArray[np.bool_]:
    """Return at which minutes a rim is possible, along any aim; shape (n,)."""
    return np.asarray(of.works[2] | (of.sun_shows & of.low & ~of.behind))


# ------------------------------------------------------------- the verdict


def _verdict(plan: TripPlan, of: RimDrive, at: Stop) -> list[Part]:
    name, time = of.drive.name, plan.clock(at.utc)
    if not of.windows:
        perhaps = of.works[2].any()
        head = "Perhaps no rim light" if perhaps else "No rim light"
        return [
            Part(f"{head} on this drive", "strong"),
            Part(f", {name}: {_never(of)}. "),
        ]
    if of.works[0, at.minute]:
        return [Part(f"Rim light at {time}", "strong"), Part(f", {name}. ")]
    head = "Perhaps rim light" if of.works[2, at.minute] else "No rim light"
    why = _why_not(plan, of, at)
    return [Part(f"{head} at {time}", "strong"), Part(f", {name}: {why}. ")]


def _never(of: RimDrive) -> str:
    """Say why the rim works at no minute of the drive."""
    shows = of.sun_shows
    if not shows.any():
        if not np.isfinite(of.drive.apparent_deg).any():
            return "the sun’s position is not known"
        above = (of.drive.apparent_deg > 0).any()
        return "the skyline hides the sun" if above else "the sun is below the horizon"
    if not of.drive.kind.has_beam:
        return "this sky lets no direct sun through"
    low = shows & of.low
    if not low.any():
        heights = of.drive.apparent_deg[shows]
        hidden = "" if shows.all() else "while it shows, "
        return f"{hidden}the sun is {heights_text(heights)} high, {_WANTS_LOW}"
    if not (low & of.behind).any():
        return "along this aim the sun is never far enough behind the animal"
    return f"{_edge(float(np.max(of.stops[low & of.behind])), ' at best')}"


def heights_text(heights_deg: NDArray[np.float64]) -> str:
    """Return ``20–34°``; with tenths close to the limit for a rim."""
    low, high = float(np.min(heights_deg)), float(np.max(heights_deg))
    near = abs(low - rim.BELOW_DEG) < 1 or abs(high - rim.BELOW_DEG) < 1
    # Rounded up, so that a sun above the limit does not look as if at it.
    lowest = math.ceil(low * 10) / 10 if near else round(low)
    ends = (decimal(lowest), decimal(high)) if near else (f"{lowest}", f"{high:.0f}")
    return "–".join(dict.fromkeys(ends)) + "°"


def _why_not(plan: TripPlan, of: RimDrive, at: Stop) -> str:
    """Say why the rim does not work at a minute."""
    if at.trouble not in ("", "pole"):
        sentence = words.trouble(plan, at)
        return f"{sentence[0].lower()}{sentence[1:-1]}"
    if not of.low[at.minute]:
        return f"the sun is {words.degrees(at.apparent_deg)} high, {_WANTS_LOW}"
    if not of.behind[at.minute]:
        return "along this aim the sun is not far enough behind the animal"
    return _edge(at.stops)


def _edge(stops: float, best: str = "") -> str:
    # Rounded down, so that an edge just too weak does not look strong enough.
    short = math.floor(max(stops, 0.0) * 10) / 10
    return (
        f"the edge is{best} {short:.1f} stops brighter than the shadow side, "
        f"{_WANTS_EDGE}"
    )


def window_parts(plan: TripPlan, of: RimDrive) -> list[Part]:
    """Say when the rim works on the drive."""
    parts = [Part("The rim works ")]
    for i, window in enumerate(of.windows):
        parts += [Part(" and ")] * (i > 0)
        parts += [
            *_end(plan, "from", window.first),
            Part(" "),
            *_end(plan, "to", window.last),
        ]
    return [*parts, Part(". ")]


def _end(plan: TripPlan, word: str, span: Span) -> list[Part]:
    spread = _spread(plan, span)
    about = "about " if spread else ""
    return [
        Part(f"{word} {about}"),
        Part(plan.clock(span.utc), "strong"),
        *spread,
    ]


def _spread(plan: TripPlan, span: Span) -> list[Part]:
    early, late = span.earliest_utc, span.latest_utc
    if early == late:
        return []
    if early is None or late is None:
        best = early if late is None else late
        known = "" if best is None else f"{plan.clock(best)} at best, "
        return [Part(f" ({known}perhaps not at all)", "spread")]
    first, last = plan.clock(early), plan.clock(late)
    return [Part(f" (earliest {first}, latest {last})", "spread")]


# ------------------------------------------------------------- the place


def _sun(plan: TripPlan, of: RimDrive, at: Stop) -> list[Part]:
    """Say where the sun stands, unless the verdict says so."""
    if of.windows and at.trouble not in ("", "pole"):
        return []
    if of.windows:
        return [Part(f"The sun stands at {words.sun_place(at)}. ")]
    head = [Part("At "), Part(plan.clock(at.utc), "strong"), Part(" ")]
    if at.trouble in ("", "high", "pole"):
        return [*head, Part(f"the sun stands at {words.sun_place(at)}. ")]
    if at.trouble == "overcast":
        place = words.sun_place(at)
        return [*head, Part(f"the sun stands behind the cloud at {place}. ")]
    sentence = words.trouble(plan, at)
    return [*head, Part(f"{sentence[0].lower()}{sentence[1:]} ")]


def _where(at: Stop, true: str) -> list[Part]:
    if not at.looks:
        return []
    off = f", {at.distance_m:g} m off,"
    return [
        Part("For "),
        *_look(at, "rim", off, true),
        Part("; for "),
        *_look(at, "back", "", true),
        Part(". "),
    ]


def _look(at: Stop, key: str, off: str, true: str) -> list[Part]:
    looks = [look for look in at.looks if look.sector.key == key]
    parts = [Part(f"{looks[0].sector.label} ")]
    for i, look in enumerate(looks):
        stand = backlight.side_name(backlight.stand_deg(look.middle_deg))
        towards = backlight.side_name(look.middle_deg)
        place = f"stop {stand} of the animal{off}" if i == 0 else f" or {stand} of it"
        parts += [
            Part(f"{place} and look {towards} ("),
            Part(words.range_text(look), "strong"),
            Part(f"{true})"),
        ]
    return parts


def _aim(of: RimDrive, at: Stop, true: str) -> list[Part]:
    if of.aim_deg is None or not at.looks or at.trouble in ("down", "skyline"):
        return []
    return [
        Part(
            f"Looking along your aim, {naming.bearing(at.look_deg)}{true}, gives "
            f"{at.sector.label}, with the sun {words.sun_side(at)}. "
        )
    ]


# ------------------------------------------------------------- the ISO


class _Need(NamedTuple):
    """What an ISO is for."""

    of: str
    iso: float


def _iso(plan: TripPlan, at: Stop, rim_too: bool) -> list[Part]:
    parts: list[Part] = []
    for i, (choice, rig) in enumerate(zip(plan.request.rigs, at.rigs, strict=True)):
        needs = [_need(need, choice) for need in _needs(rig, rim_too)]
        text = ("; " if "," in needs[0] else ", ").join(needs)
        parts += [Part(" ")] * (i > 0)
        parts += [
            Part(f"{LETTERS[i]} {choice.label}", LETTERS[i]),
            Part(f" needs {text}."),
        ]
    return parts


def _needs(rig: RigStop, rim_too: bool) -> list[_Need]:
    face, edge = _Need("for the face", rig.face_iso), _Need("for the rim", rig.rim_iso)
    return [face, edge] if rim_too else [face]


def _need(need: _Need, choice: RigChoice) -> str:
    return f"{words.iso_text(need.iso)} {need.of}{over_text(need.iso, choice)}"


def is_over(iso: float, choice: RigChoice) -> bool:
    """Return whether an ISO is above its rig's ceiling."""
    return bool(exposure.stops_over(iso, choice.iso_ceiling) > 0)


def over_text(iso: float, choice: RigChoice) -> str:
    """Return ``, 0.6 stop over its limit of ISO 6400``; empty where it is not."""
    if not is_over(iso, choice):
        return ""
    highest = exposure.ISO_SPEEDS[-1]
    # Counted from the setting shown, so that the two numbers agree.
    named = exposure.nominal_iso(iso) if iso <= highest else iso
    stops = math.log2(named / choice.iso_ceiling)
    many = "stop" if stops < 1.05 else "stops"
    much = f"{stops:.1f} {many} over" if stops >= 0.05 else "just over"
    return f", {much} its limit of {choice.ceiling_text}"
