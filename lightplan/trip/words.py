"""A `TripPlan` in sentences; the same on pages, in files and on the terminal."""

from itertools import pairwise

import numpy as np

from lightplan.arrays import nearest_minute
from lightplan.camera import exposure
from lightplan.camera.animals import ANIMALS
from lightplan.camera.pace import PACES, nearest_pace
from lightplan.camera.shake import hold_named
from lightplan.light import daylight
from lightplan.naming import (
    Part,
    Parts,
    bearing,
    day_name,
    minus,
    percent,
    sentence,
    with_article,
)
from lightplan.sky import localtime
from lightplan.sky.windows import SUNRISE_DEG
from lightplan.trip import ladder_words, light_words
from lightplan.trip.minutes import Outcome
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import FACING_INDEX, FACINGS, LETTERS, Request

CAUTIONS = (
    "Never look at the sun through a lens or an optical finder, and never aim a "
    "long lens at it.",
    "Stay in the vehicle. The guide, the reserve’s rules and the gate times come "
    "first; do not call, bait, crowd or block an animal.",
    "All times are estimates: terrain, weather and trees move them.",
)

NO_DRIVE = "No drive on these dates: every session is closed or without light."


def zone_name(plan: TripPlan) -> str:
    """Return ``Africa/Lusaka, UTC+2``; both offsets where the clock changes."""
    zone = plan.request.place.timezone
    noons = [day.sun.noon_utc for day in plan.days]
    offsets = dict.fromkeys(localtime.offset_text(zone, noon) for noon in noons)
    return f"{zone}, {' then '.join(offsets)}"


def answer(plan: TripPlan, drive: DrivePlan) -> Parts:
    """Answer for one drive: its light, each rig's minute, and the way back."""
    return (*_light(plan, drive), *_rigs(plan, drive), *_way_back(plan, drive))


def _light(plan: TripPlan, drive: DrivePlan) -> Parts:
    session = drive.session
    head = Part(f"{session.capitalize()} drive, {day_name(drive.date)}: ")
    opens = (
        Part(f"{drive.said.opens} at "),
        Part(plan.clock(drive.opens_utc), "strong"),
    )
    closes = (
        Part(f"{drive.said.shuts} at "),
        Part(plan.clock(drive.closes_utc), "strong"),
    )
    comma, stop = Part(", "), Part(". ")
    if session == "night":
        moonlight = Part(moon_phrase(plan, drive))
        return (head, *opens, comma, *closes, comma, moonlight, stop)
    best, event = light_words.best(plan, drive), _sun_event(plan, drive)
    if session == "morning" and plan.request.gold == "warm":
        return (head, *opens, *event, comma, *best, stop)
    if session == "morning":
        return (head, *opens, comma, *best, *event, stop)
    return (head, *best, *event, comma, *closes, stop)


def _sun_event(plan: TripPlan, drive: DrivePlan) -> list[Part]:
    morning = drive.session == "morning"
    event = drive.sun.sunrise_utc if morning else drive.sun.sunset_utc
    if event is not None:
        word = "sun up" if morning else "sun down"
        return [Part(f", {word} at "), Part(_to_minute(plan, event), "strong")]
    if drive.sun.noon_altitude_deg > 0:
        return [] if morning else [Part(", the sun does not set")]
    return [Part(", the sun does not rise")]


def moon_phrase(plan: TripPlan, drive: DrivePlan) -> str:
    """Return ``moon 78 % lit, up until 21:40``, of a drive's dark minutes."""
    if drive.moon is None:
        return "no dark minute"
    up = drive.moon.altitude_deg > 0
    dark = ~np.isnan(drive.moon.altitude_deg)
    lit = f"moon {percent(drive.moon.fraction)} lit"
    if not up.any():
        return "no moon"
    first, last = np.flatnonzero(up)[[0, -1]]
    first_dark, last_dark = np.flatnonzero(dark)[[0, -1]]
    if first == first_dark and last == last_dark:
        return f"{lit}, up throughout"
    if first == first_dark:
        return f"{lit}, up until {plan.clock(drive.utc[last])}"
    if last == last_dark:
        return f"{lit}, up from {plan.clock(drive.utc[first])}"
    return f"{lit}, up {plan.clock(drive.utc[first])}–{plan.clock(drive.utc[last])}"


def own_sky(request: Request, key: str) -> str:
    """Return a sentence on a drive's own sky, empty where it is the trip's."""
    sky = request.sky_of(key)
    if sky == request.sky:
        return ""
    label = daylight.sky_named(sky).label
    return f"{sentence(label)} on this drive, as set on the trip’s page."


def _rigs(plan: TripPlan, drive: DrivePlan) -> Parts:
    request = plan.request
    facing = FACING_INDEX[request.facing]
    lit, held = FACINGS[facing].label, hold_named(request.hold).phrase
    parts = [Part(f"For {subject(request)}, {lit}, lens {held}: ")]
    for i, (rigs, said) in enumerate(_outcomes(plan, drive, facing)):
        parts += [Part("; ")] * (i > 0)
        for j, rig in enumerate(rigs):
            joint = "" if j == 0 else (" and " if j == len(rigs) - 1 else ", ")
            parts += [Part(joint), Part(rig_name(plan, rig), LETTERS[rig])]
            outcome, choice = drive.outcomes[rig][facing], request.rigs[rig]
            if sharp := ladder_words.own_share(outcome, choice):
                parts.append(Part(f" ({sharp})", "spread"))
        parts += [Part(" "), *said]
    return (*parts, Part(". "))


def subject(request: Request) -> str:
    """Return ``a lion walking``, at the pace that this animal has."""
    label = ANIMALS[request.animal].label
    pace = PACES[nearest_pace(request.animal, request.pace)].label
    return f"{with_article(label)} {pace}"


def holding(request: Request) -> str:
    """Return ``lens by hand, no stabiliser, 30 m away``: what proposed shutters assume."""
    stops = {choice.rig.stabiliser_stops for choice in request.rigs}
    upto = "" if len(stops) == 1 else "up to "
    stabiliser = (
        f"stabiliser {upto}{max(stops):g} stops" if any(stops) else "no stabiliser"
    )
    hold = hold_named(request.hold).phrase
    return f"lens {hold}, {stabiliser}, {request.distance_m:g} m away"


def rig_name(plan: TripPlan, rig: int) -> str:
    """Return ``A 600 mm f/6.3 at 1/1250 s``."""
    choice = plan.request.rigs[rig]
    shutter = exposure.shutter_text(choice.shutter_s)
    return f"{LETTERS[rig]} {choice.label} at {shutter}"


def _outcomes(
    plan: TripPlan, drive: DrivePlan, facing: int
) -> list[tuple[list[int], list[Part]]]:
    """Return the text for each group of rigs: those with the same result share one."""
    groups: dict[str, list[int]] = {}
    single: list[tuple[list[int], list[Part]]] = []
    for rig, outcomes in enumerate(drive.outcomes):
        kind = _kind(drive, outcomes[facing])
        if kind == "times" or _slower(plan, drive, rig, facing):
            single.append(([rig], outcome_parts(plan, drive, rig, facing)))
        else:
            groups.setdefault(kind, []).append(rig)
    alike = [
        (rigs, [Part(_WHOLE[kind][len(rigs) > 1].format(drive.the_end))])
        for kind, rigs in groups.items()
    ]
    return sorted([*single, *alike], key=lambda said: said[0][0])


_WHOLE = {
    "never": (
        "is over its ISO ceiling for the whole drive",
        "are over their ISO ceilings for the whole drive",
    ),
    "hopeful": (
        "is over its ISO ceiling, unless there is more light than expected",
        "are over their ISO ceilings, unless there is more light than expected",
    ),
    "start": ("works from the first minute", "work from the first minute"),
    "end": ("lasts to {}", "last to {}"),
}


def _kind(drive: DrivePlan, outcome: Outcome) -> str:
    if outcome.first is None or outcome.last is None:
        return "hopeful" if outcome.possible else "never"
    from_gate = outcome.first.utc == drive.opens_utc
    if from_gate and outcome.last.utc == drive.until_utc:
        return "start" if drive.session == "morning" else "end"
    return "times"


def outcome_parts(
    plan: TripPlan, drive: DrivePlan, rig: int, facing: int
) -> list[Part]:
    """Say until, or from, when a rig's shutter time holds, and a slower one."""
    outcome = drive.outcomes[rig][facing]
    kind = _kind(drive, outcome)
    slower = _slower(plan, drive, rig, facing)
    if kind != "times" or outcome.first is None or outcome.last is None:
        return [Part(_WHOLE[kind][0].format(drive.the_end)), *slower]
    first, last = plan.clock(outcome.first.utc), plan.clock(outcome.last.utc)
    start = [Part(first, "strong"), *_spread(first_spread(plan, drive, outcome))]
    end = [Part(last, "strong"), *_spread(last_spread(plan, drive, outcome))]
    if outcome.first.utc == drive.opens_utc:
        return [Part("to "), *end, *slower]
    if outcome.last.utc == drive.until_utc:
        return [Part("from "), *start, *slower]
    return [Part("from "), *start, Part(" to "), *end, *slower]


def _slower(plan: TripPlan, drive: DrivePlan, rig: int, facing: int) -> list[Part]:
    """Return the slower shutter time for the sentence: one, so that it stays short."""
    choice = plan.request.rigs[rig]
    rung = ladder_words.next_best(drive, drive.outcomes[rig][facing], choice)
    return [Part(f", {ladder_words.rung(plan, drive, rung)}")] if rung else []


def first_spread(plan: TripPlan, drive: DrivePlan, outcome: Outcome) -> str:
    """Return the earliest and latest start, `` (06:13–06:22)``, or nothing."""
    span = outcome.first
    if span is None or span.earliest_utc == span.latest_utc:
        return ""
    early = span.earliest_utc
    opens = drive.opens_utc
    earliest = (
        drive.said.start if early is None or early == opens else plan.clock(early)
    )
    if span.latest_utc is None:
        return f" ({earliest} at best, perhaps not at all)"
    return f" ({earliest}–{plan.clock(span.latest_utc)})"


def last_spread(plan: TripPlan, drive: DrivePlan, outcome: Outcome) -> str:
    """Return the earliest and latest end, `` (17:32–17:36)``, or nothing."""
    span = outcome.last
    if span is None or span.earliest_utc == span.latest_utc:
        return ""
    late = span.latest_utc
    ends = late is None or late == drive.until_utc
    latest = drive.end if ends or late is None else plan.clock(late)
    if span.earliest_utc is None:
        return f" ({latest} at best, perhaps not at all)"
    return f" ({plan.clock(span.earliest_utc)}–{latest})"


def _spread(text: str) -> list[Part]:
    return [Part(text, "spread")] if text else []


def _way_back(plan: TripPlan, drive: DrivePlan) -> Parts:
    if not drive.gated:
        return ()
    travel = plan.request.travel_min
    if not drive.can_turn_back:
        return (
            Part(f"The way back takes {travel} min, longer than the gates are open."),
        )
    by = plan.clock(drive.turn_back_utc)
    shut = plan.clock(drive.closes_utc)
    end = f" for the gate at {shut}." if drive.session == "morning" else "."
    return (Part("Turn back by "), Part(by, "strong"), Part(end))


def _to_minute(plan: TripPlan, utc: np.datetime64) -> str:
    return plan.clock(nearest_minute(utc))


def picture(plan: TripPlan, drive: DrivePlan) -> str:
    """Describe the drive's picture for people who cannot see it."""
    facing = FACING_INDEX[plan.request.facing]
    windows = ", ".join(
        f"{s.window.label} {plan.clock(s.start_utc)}–{plan.clock(s.end_utc)}"
        for s in drive.windows
    )
    rigs = "; ".join(
        f"{rig_name(plan, rig)} needs {plan.request.rigs[rig].set_text(iso[0])} at the "
        f"start, {plan.request.rigs[rig].set_text(iso[-1])} at the end"
        for rig, iso in enumerate(drive.iso[:, facing])
    )
    ladders = "; ".join(
        f"{LETTERS[rig]} {ladder_words.rungs(plan, drive, shown)}"
        for rig, choice in enumerate(plan.request.rigs)
        if (shown := ladder_words.shown(drive, drive.outcomes[rig][facing], choice))
    )
    if ladders:
        ladders = f" Shutter times at the ceilings, slower ones ringed: {ladders}."
    low, high = drive.altitude_deg.min(), drive.altitude_deg.max()
    sun = minus(f"sun between {low:.0f}° and {high:.0f}°")
    return (
        f"{sentence(windows)}. {rigs}.{ladders} The band round each line "
        f"is ±{drive.spread_stops:.1f} stops of light; {sun}, from {bearing(drive.azimuth_deg[0])} to "
        f"{bearing(drive.azimuth_deg[-1])}."
    )


_DOING = {
    "walking": "walk far",
    "trotting": "trot",
    "running": "run",
    "flying": "fly",
}


def _other_pace(request: Request) -> list[str]:
    """Say which pace stands in for one that the animal does not have."""
    taken = nearest_pace(request.animal, request.pace)
    if taken == request.pace:
        return []
    animal = with_article(ANIMALS[request.animal].label)
    return [
        f"{sentence(animal)} does not {_DOING[request.pace]}: shutter "
        f"speeds are for one {PACES[taken].label}."
    ]


def _zone_doubt(plan: TripPlan) -> list[str]:
    """Ask whether the zone is right where its noon is far from the sun's."""
    noon = plan.clock(plan.days[0].sun.noon_utc)
    if 9 <= int(noon[:2]) < 16:  # the widest real zone has its noon before 15:30
        return []
    zone = plan.request.place.timezone
    return [
        f"By the clock of {zone} the sun is highest at {noon}: is that the right zone?"
    ]


def _clock_changes(plan: TripPlan) -> list[str]:
    """Name all changes of the clock in one sentence."""
    zone = plan.request.place.timezone
    changes = []
    for day, following in pairwise(plan.days):
        a, b = (localtime.offset_text(zone, d.sun.noon_utc) for d in (day, following))
        if a != b:
            changes.append(f"before {day_name(following.date)}: {a} to {b}")
    last = plan.days[-1]
    for row in plan.drives[-1:]:  # no day of the trip follows its night
        ends = (last.sun.noon_utc, row.closes_utc)
        a, b = (localtime.offset_text(zone, instant) for instant in ends)
        if a != b and row.date == last.date:
            changes.append(f"during {row.name}: {a} to {b}")
    return [f"Clocks change {', and '.join(changes)}."] if changes else []


def notes(plan: TripPlan) -> tuple[str, ...]:
    """Return what a reader must know of this plan beyond its numbers."""
    place = plan.request.place
    said: list[str] = []
    if not place.gates:
        said.append(
            f"{place.name} has no gate times: drives run for up to four hours after "
            "civil dawn and for the four before civil dusk."
        )
    suns = [day.sun for day in plan.days]
    up = [s.sunrise_utc is None and s.noon_altitude_deg > 0 for s in suns]
    down = [s.noon_altitude_deg < SUNRISE_DEG for s in suns]
    for days, event in (
        (up, "the sun does not set"),
        (down, "the sun does not rise"),
    ):
        if any(days):
            which = "On these dates" if all(days) else "On some of these dates"
            said.append(f"{which} {event}.")
    said += _other_pace(plan.request)
    said += _zone_doubt(plan)
    if not daylight.sky_named(plan.request.sky).has_beam:
        said.append(
            "Under this sky the light is never golden or hard; those names then only "
            "show how high the sun is."
        )
    for row in plan.drives:
        said += [f"{row.name}: {note}." for note in row.notes]
    return (*said, *_clock_changes(plan))
