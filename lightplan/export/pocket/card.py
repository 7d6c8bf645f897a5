"""What stands on the printed cards: every drive of a `TripPlan` as plain HTML.

The pocket page's script adds each rig's first and last minutes and the needed
ISO every ten minutes, on a long drive up to every hour, which it has anyway; its
style sheet puts a drive on an A5 page, or the drives of a day side by side on an
A4 page. Where a phone shows files without running scripts, these cards are what
a person reads.
"""

from html import escape

import numpy as np

from lightplan import naming
from lightplan.arrays import nearest_minute
from lightplan.light import daylight
from lightplan.sky import localtime
from lightplan.trip import light_words, words
from lightplan.trip.drives import Closed, Day
from lightplan.trip.plan import DrivePlan, TripPlan

FIRST = "Times are estimates; the guide and gate come first."
EYES = "Watch the animal while it is there; look at the pictures later."


def cards(plan: TripPlan) -> str:
    """Return a section for each day, in it a card for each drive, as HTML.

    A session without a drive is a line on the cards of its day; a day without
    any drive has a card that says why.
    """
    days = []
    for day in plan.days:
        rows = [row for row in plan.rows if _date(row) == day.date]
        held = [row for row in rows if isinstance(row, DrivePlan)]
        closed = [row for row in rows if isinstance(row, Closed)]
        made = [_card(plan, drive, closed) for drive in held]
        if not held:
            made = [_closed_card(plan, day, closed)]
        days.append(f'<section class="day">{"".join(made)}</section>')
    return "\n".join(days)


def _date(row: DrivePlan | Closed) -> object:
    return row.date


def _card(plan: TripPlan, drive: DrivePlan, closed: list[Closed]) -> str:
    answer = "".join(
        _strong(part.text) if part.kind == "strong" else escape(part.text)
        for part in words.answer(plan, drive)
    )
    return (
        f'<article class="card" data-drive="{plan.drives.index(drive)}">\n'
        f"{_head(plan, drive.name, drive.opens_utc)}"
        f'<p class="facts">{_facts(plan, drive)}</p>\n'
        f'<p class="facts">{_light(plan, drive)}</p>\n'
        f'<p class="answer">{answer}</p>\n{_foot(closed)}</article>\n'
    )


def _closed_card(plan: TripPlan, day: Day, closed: list[Closed]) -> str:
    head = _head(plan, naming.day_name(day.date), day.sun.noon_utc)
    return (
        f'<article class="card">\n{head}'
        f'<p class="facts">No drive on this day.</p>\n{_foot(closed)}</article>\n'
    )


def _head(plan: TripPlan, name: str, utc: np.datetime64) -> str:
    place = plan.request.place
    zone = f"{place.timezone}, {localtime.offset_text(place.timezone, utc)}"
    return (
        f"<h2>{escape(name)}</h2>\n"
        f'<p class="where"><bdi>{escape(place.name)}</bdi>, {escape(zone)}</p>\n'
    )


def _foot(closed: list[Closed]) -> str:
    said = "".join(
        f'<p class="closed">{row.session.capitalize()}: {escape(row.reason)}.</p>\n'
        for row in closed
    )
    cautions = " ".join((FIRST, *words.CAUTIONS[:2], EYES))
    return f'{said}<p class="notes">Notes</p>\n<p class="cautions">{escape(cautions)}</p>\n'


def _strong(text: str) -> str:
    return f"<b>{escape(text)}</b>"


def _from_to(plan: TripPlan, start: np.datetime64, end: np.datetime64) -> str:
    return f"{plan.clock(start)}–{plan.clock(end)}"


def _facts(plan: TripPlan, drive: DrivePlan) -> str:
    """Gates, the way back, and the sun: where it stands as they open and shut."""
    opens, closes = drive.opens_utc, drive.closes_utc
    times = _strong(_from_to(plan, opens, closes))
    said = [f"Gates {times}" if drive.gated else f"No gates; drive {times}"]
    if drive.can_turn_back:
        said.append(f"turn back by {_strong(plan.clock(drive.turn_back_utc))}")
    elif drive.gated:
        said.append(
            f"the way back takes {plan.request.travel_min} min, longer than the gates "
            "are open"
        )
    sun = drive.sun
    for utc, name in ((sun.sunrise_utc, "sun up"), (sun.sunset_utc, "sun down")):
        if utc is not None and opens <= nearest_minute(utc) <= closes:
            i = drive.minute(nearest_minute(utc))
            at = plan.clock(drive.utc[i])
            where = naming.bearing(float(drive.azimuth_deg[i]))
            said.append(f"{name} {_strong(at)} at {where}")
    if sun.sunset_utc is None and sun.sunrise_utc is None:
        up = sun.noon_altitude_deg > 0
        said.append("the sun does not set" if up else "the sun does not rise")
    said += [escape(note) for note in drive.notes]
    zone = plan.request.place.timezone
    before, after = (localtime.offset_text(zone, utc) for utc in (opens, closes))
    if before != after:
        said.append(f"clocks change on this drive, {before} to {after}")
    return "; ".join(said) + "."


def _light(plan: TripPlan, drive: DrivePlan) -> str:
    """Name the windows of light with their times, the sky, and how sure it is."""
    windows = ", ".join(
        f"{s.window.label} {_strong(_from_to(plan, s.start_utc, s.end_utc))}"
        for s in drive.windows
    )
    request = plan.request
    setting = (
        f"{drive.kind.text}, {daylight.cover_named(request.cover).label}, "
        f"{words.subject(request)} ({words.holding(request)}); "
        f"light ±{drive.spread_stops:.1f} stops"
    )
    moon = f"; {words.moon_phrase(plan, drive)}" if drive.moon else ""
    best = naming.plain(tuple(light_words.best(plan, drive)))
    lead = "" if drive.session == "night" else f"{naming.sentence(escape(best))}. "
    return f"{lead}{naming.sentence(windows)}. {naming.sentence(setting)}{moon}."
