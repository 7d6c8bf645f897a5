"""A `Loop` in sentences."""

import numpy as np
from numpy.typing import NDArray

from lightplan.arrays import nearest_minute
from lightplan.catalog.places import Place
from lightplan.light.backlight import SECTORS
from lightplan.loop.loop import (
    DIRECTED,
    DOWN,
    EVEN,
    FLAT,
    HIGH,
    LOW,
    NO_RIM,
    SHORTEST_SPELL_MIN,
    Loop,
    Spell,
    turn_round_min,
)
from lightplan.loop.seats import EITHER, LEFT, RIGHT, SIDES
from lightplan.naming import Part, Parts, bearing, day_name, duration, minus
from lightplan.sky import localtime, sun
from lightplan.sky.sphere import distance_km
from lightplan.stop import rim

MOST_SEATS = 4  # more would not be a sentence; the table has them all
TURNED_DEG = 10.0  # less than this apart, two arrows look like one; judgement
FAR_KM = 50.0  # farther off, the route is probably in another reserve
_REASONS = {
    DOWN: "the sun is down",
    LOW: "the sun is too low to light one side",
    HIGH: "the sun is too high to light one side",
    FLAT: "the light comes evenly from the sky",
}


def clock(loop: Loop, zone: str, minute: float) -> str:
    """Return the place's clock, to the nearest minute."""
    return localtime.clock(zone, nearest_minute(loop.at(minute)))


def answer(loop: Loop, zone: str) -> Parts:
    """Return where to sit and when the loop ends, in a few sentences."""
    drive = loop.drive
    head = f"{drive.session.capitalize()} drive, {day_name(drive.date)}: "
    outside = _outside(loop, zone)
    return (
        *outside,
        Part(head),
        *_seats(loop, zone),
        *_gained(loop),
        *_end(loop, zone),
    )


def _seats(loop: Loop, zone: str) -> Parts:
    light = SECTORS[loop.wanted].label
    spells = loop.spells(loop.seat)
    if (loop.seat == EITHER).all():
        return (*_no_matter(loop, zone), Part(". "))
    parts = [Part(f"for {light} sit on ")]
    for i, spell in enumerate(spells[:MOST_SEATS]):
        parts += [Part(", then on ")] * (i > 0)
        parts += [Part("the ")] * (spell.value != EITHER)
        dark = spell.value == EITHER
        side = "either side" if dark else SIDES[spell.value]
        parts.append(Part(side, "strong"))
        if i + 1 < len(spells):
            parts += [Part(" until "), Part(clock(loop, zone, spell.to_min), "strong")]
        parts += [Part(" (the sun is down)")] * dark
    if len(spells) == 1:
        parts.append(Part(" all the way"))
    if len(spells) > MOST_SEATS:
        parts.append(Part(f" and so on, {len(spells) - 1} changes in all"))
    return (*parts, Part(". "))


def _no_matter(loop: Loop, zone: str) -> Parts:
    """Return why any seat will do."""
    light = SECTORS[loop.wanted].label
    if (loop.even != DIRECTED).all():
        why = _why_even(loop, zone)
    elif spells_of(loop, LEFT, loop.wanted):
        why = "both sides get the same light"
    else:
        none = f"neither side has {light}{_too_little(loop)}"
        return (Part(none + _no_rim(loop), "strong"),)
    any_seat = Part(f"it does not matter where you sit, {why}", "strong")
    return Part(f"for {light} "), any_seat


def _no_rim(loop: Loop) -> str:
    """Return why a side that looks towards the sun still has no rim."""
    dull = [(loop.kinds(side) == -NO_RIM) & loop.inside for side in (LEFT, RIGHT)]
    if SECTORS[loop.wanted].key != "rim" or not np.any(dull):
        return ""
    return (
        f"; a rim needs the sun at {rim.BELOW_DEG:g}° or less, and direct sun that "
        "outshines the sky"
    )


def _why_even(loop: Loop, zone: str) -> str:
    """Return the reasons why no side has more light, one after the other."""
    even = loop.even
    if (even == FLAT).any():  # this sky and cover make even light at a low sun too
        even = np.where(even == LOW, FLAT, even)
    spells: list[Spell] = []
    for spell in loop.spells(even):
        if spell.minutes < SHORTEST_SPELL_MIN:
            continue
        if spells and spells[-1].value == spell.value:  # only a short gap between
            spells[-1] = spells[-1]._replace(to_min=spell.to_min)
        else:
            spells.append(spell)
    if len(spells) > MOST_SEATS or not spells:
        most = int(np.argmax(np.bincount(even)))
        return _REASONS[most] + " for most of the time" * bool(spells)
    *others, last = spells
    until = (
        f"{_REASONS[s.value]} until {clock(loop, zone, s.to_min)}, then "
        for s in others
    )
    return "".join(until) + _REASONS[last.value]


def _too_little(loop: Loop) -> str:
    """Return how long and where neither side has the light wanted."""
    got = loop.got(LEFT, loop.wanted) | loop.got(RIGHT, loop.wanted)
    lasting = " for as long as a minute" if (got & loop.inside).any() else ""
    if loop.inside.all():
        return f"{lasting} on this loop"
    return f"{lasting} {loop.drive.said.inside}"


def _gained(loop: Loop) -> Parts:
    """Return how long the chosen side has the light wanted."""
    if (loop.seat == EITHER).all():
        return ()
    got = _clock_min(loop, _lasting(loop, loop.seen() == loop.wanted))
    total = _clock_min(loop, [Spell(1, 0.0, float(loop.track.minutes[-1]))])
    alone = max(_clock_min(loop, spells_of(loop, s, loop.wanted)) for s in (0, 1))
    light = SECTORS[loop.wanted].label
    text = f"That gives {light} for {got} of {total} minutes"
    if {LEFT, RIGHT} <= set(loop.seat.tolist()):
        text += f"; staying on one side gives at most {alone}"
    if not loop.inside.all():
        counted = ", counted" if loop.drive.gated else ","
        text += f"{counted} {loop.drive.said.inside}"
    return (Part(text + ". "),)


def _clock_min(loop: Loop, spells: list[Spell]) -> int:
    """Total length of the spells, between their rounded clock times. [min]"""

    def rounded(minute: float) -> int:
        return int(nearest_minute(loop.at(minute)).astype(int))

    return sum(rounded(s.to_min) - rounded(s.from_min) for s in spells)


def _end(loop: Loop, zone: str) -> Parts:
    km, total = float(loop.track.km[-1]), float(loop.track.minutes[-1])
    parts = [
        Part(f"The {km:.1f} km run from "),
        Part(clock(loop, zone, 0), "strong"),
        Part(" to "),
        Part(clock(loop, zone, total), "strong"),
    ]
    shut = loop.drive.said.shutting
    left = (loop.drive.closes_utc - loop.end_utc) / np.timedelta64(1, "s") / 60
    at = localtime.clock(zone, loop.drive.closes_utc)
    if left >= 0:
        return (*parts, Part(f", {duration(round(left))} before {shut} at {at}."))
    late = f", {duration(max(1, round(-left)))} after {shut} at {at}"
    return (*parts, Part(late, "strong"), Part("."), *_turn(loop, zone))


def _turn(loop: Loop, zone: str) -> Parts:
    minute = turn_round_min(loop)
    if minute <= 0:
        return ()
    km = float(np.interp(minute, loop.track.minutes, loop.track.km))
    when = clock(loop, zone, minute)
    return (
        Part(" To be back by the same way, turn round at "),
        Part(when, "strong"),
        Part(f", after {km:.1f} km."),
    )


def notes(loop: Loop, place: Place, example: bool, speed_kmh: float) -> list[str]:
    """Return what else a reader must know, one sentence each."""
    sentences = []
    if example:
        sentences.append(
            "This is an invented example: type the legs of your own loop, or read a "
            "GPX file."
        )
    if loop.route.skipped:
        sentences.append(f"Legs without length, left out: {loop.route.skipped}.")
    moving = [leg for leg in loop.route.legs if leg.bearing_deg is not None]
    timed = sum(leg.minutes is not None for leg in moving)
    if timed == len(moving):
        sentences.append("Every leg has its own minutes: the speed is not used.")
    elif timed:
        sentences.append(
            f"Legs with their own minutes: {timed} of {len(moving)}; the others run at "
            f"{speed_kmh:g} km/h."
        )
    return sentences + _ends(loop, place)


def _outside(loop: Loop, zone: str) -> Parts:
    """Return a warning if the start is outside the gates."""
    early = (loop.drive.opens_utc - loop.start_utc) / np.timedelta64(1, "s") / 60
    late = (loop.start_utc - loop.drive.closes_utc) / np.timedelta64(1, "s") / 60
    start = clock(loop, zone, 0)
    if early > 0:
        opens = loop.drive.said.opening
        at = localtime.clock(zone, loop.drive.opens_utc)
        when = f"{duration(max(1, round(early)))} before {opens} at {at}"
    elif late >= 0:
        shut = loop.drive.said.shutting
        at = localtime.clock(zone, loop.drive.closes_utc)
        when = f"{duration(round(late))} after {shut} at {at}"
    else:
        return ()
    return (Part(f"The start at {start} is {when}. ", "strong"),)


def _ends(loop: Loop, place: Place) -> list[str]:
    sentences = []
    laid = loop.track
    start = float(laid.latitude_deg[0]), float(laid.longitude_deg[0])
    end = float(laid.latitude_deg[-1]), float(laid.longitude_deg[-1])
    back = float(distance_km(*start, *end))
    if back > max(0.2, 0.05 * float(laid.km[-1])):
        sentences.append(f"It ends {back:.1f} km from where it starts.")
    away = float(distance_km(*start, place.latitude_deg, place.longitude_deg))
    if away > FAR_KM:
        sentences.append(
            f"It starts {away:,.0f} km from {place.name}: the light is for the route, "
            "gates and clock are for the place."
        )
    if np.abs(laid.latitude_deg).max() > 89.9:
        sentences.append(
            "Near a pole, bearings are measured from the meridian of the start and "
            "change with every step."
        )
    return sentences


def spells_of(loop: Loop, side: int, sector: int) -> list[Spell]:
    """Return when a side has a kind of light inside the gates, for a minute or more."""
    return _lasting(loop, loop.got(side, sector))


def _lasting(loop: Loop, got: NDArray[np.bool_]) -> list[Spell]:
    return [s for s in loop.spells(loop.lasting(got).astype(np.int64)) if s.value]


def sun_shown(loop: Loop) -> list[int]:
    """Return the steps at which the drawing shows where the sun stands.

    The first with the sun up, and the last if it has moved much; none in the dark.
    """
    up = np.flatnonzero(loop.even != DOWN)
    if not len(up):
        return []
    first, last = int(up[0]), int(up[-1])
    turned = abs((loop.azimuth_deg[last] - loop.azimuth_deg[first] + 180) % 360 - 180)
    return [first, last] if turned >= TURNED_DEG else [first]


def picture(loop: Loop) -> str:
    """Return a description of the drawing."""
    arrow = (
        "",
        " The arrow in the corner points to the sun.",
        " The arrows in the corner point to the sun, the faint one at the end.",
    )[len(sun_shown(loop))]
    first, last = (bearing(float(loop.azimuth_deg[i])) for i in (0, -1))
    way = f"stays at {first}" if first == last else f"goes from {first} to {last}"
    low, high = np.rint(sun.apparent_altitude_deg(loop.altitude_deg[[0, -1]])) + 0.0
    height = f"at {low:.0f}°" if low == high else f"from {low:.0f}° to {high:.0f}°"
    height = minus(height)
    return (
        f"North is up. The sun {way}, its altitude {height}. Arrowheads show the way "
        "of travel; “left” or “right” with a time is where to change seats."
        f"{arrow}"
    )


def kind_name(kind: int) -> str:
    """Return the name of one of `Loop.kinds`: ``rim light`` or ``sun too high``."""
    return SECTORS[kind].label if kind >= 0 else EVEN[-kind]


def seen_on(loop: Loop, side: int, leg: int) -> str:
    """Return what a side sees on a leg: ``side light, then rim light``."""
    kinds = loop.kinds(side)[loop.leg == leg]
    if not len(kinds):
        return "–"
    runs = loop.spells(kinds)
    # Where legs meet, single steps make spells too short to list, unless one is all
    # there is of a short leg.
    longest = max(run.minutes for run in runs)
    shown = [r for r in runs if r.minutes >= min(SHORTEST_SPELL_MIN, longest)]
    return ", then ".join(dict.fromkeys(kind_name(run.value) for run in shown))


def seat_on(loop: Loop, leg: int) -> str:
    """Return the seat on a leg: ``left``, ``left, then right`` or ``either``."""
    seats = dict.fromkeys(loop.seat[loop.leg == leg].tolist())
    if not seats:
        return "–"
    return ", then ".join("either" if s == EITHER else SIDES[s] for s in seats)
