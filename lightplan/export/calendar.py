"""A trip as an iCalendar file (RFC 5545): an event for every drive.

Times are UTC, which every calendar program reads the same and which needs no VTIMEZONE;
the place's own clock and its zone stand in the text. Alarms are counted from the
start of their event, the form of trigger that RFC 5545 takes for granted and that
is read most widely.

An event keeps its UID as long as the place keeps name and zone, so a second
import updates it: SEQUENCE, DTSTAMP and LAST-MODIFIED come from the time stamp
that the caller gives. The same plan, alarms and stamp make the same bytes.
"""

import datetime as dt
import re
import unicodedata
import uuid
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

import icalendar
import numpy as np

from lightplan import __version__, errors, naming
from lightplan.export import table
from lightplan.light import daylight
from lightplan.sky import localtime
from lightplan.trip import ladder_words, light_words, words
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import FACING_INDEX, LETTERS

LEAVE_MIN = 30  # the default
MAX_LEAVE_MIN = 600

# Any fixed UUID will do; with another one, all events would arrive twice.
_NAMESPACE = uuid.UUID("5b0a3c1e-6f0d-5f0e-9d6a-2c7b8e41f9d3")
_LINE_END = re.compile("\r\n|[\n\r\v\f\x85\u2028\u2029]")


# --- alarms -------------------------------------------------------------------


class Moment(NamedTuple):
    """An instant to be reminded at, and what of."""

    utc: np.datetime64
    text: str


class Kind(NamedTuple):
    """A kind of alarm: what a person chooses, and when it rings on a drive."""

    key: str
    label: str
    moments: Callable[[TripPlan, DrivePlan, int], Iterable[Moment]]


def _leave(plan: TripPlan, drive: DrivePlan, leave_min: int) -> Iterator[Moment]:
    opens = drive.opens_utc
    text = f"Leave camp: {drive.said.opens} at {plan.clock(opens)}."
    yield Moment(opens - np.timedelta64(leave_min, "m"), text)


def _gate(plan: TripPlan, drive: DrivePlan, _: int) -> Iterator[Moment]:
    opens = drive.opens_utc
    yield Moment(opens, f"{drive.said.opens.capitalize()} at {plan.clock(opens)}.")


def _light(plan: TripPlan, drive: DrivePlan, _: int) -> Iterator[Moment]:
    if not drive.kind.has_beam:
        return  # no light turns warm or golden under such a sky
    if plan.request.gold == "warm":
        for run in drive.warm:
            yield Moment(run.first_utc, f"Warm light {light_words.times(plan, run)}.")
        return
    for span in drive.windows:
        if span.window.key == "golden":
            start, end = span.start_utc, span.end_utc
            times = f"{plan.clock(start)}–{plan.clock(end)}"
            yield Moment(start, f"Golden light {times}.")


def _lens(plan: TripPlan, drive: DrivePlan, _: int) -> Iterator[Moment]:
    facing = FACING_INDEX[plan.request.facing]
    for rig, of_rig in enumerate(drive.outcomes):
        last = of_rig[facing].last
        if last is not None and last.utc < drive.until_utc:
            at = plan.clock(last.utc)
            spread = words.last_spread(plan, drive, of_rig[facing])
            choice = plan.request.rigs[rig]
            slower = ladder_words.slower(drive, of_rig[facing], choice)
            then = ladder_words.rungs(plan, drive, slower)
            then = f" · {then}" if then else ""
            yield Moment(
                last.utc, f"{words.rig_name(plan, rig)} to {at}{spread}{then}."
            )


def _back(plan: TripPlan, drive: DrivePlan, _: int) -> Iterator[Moment]:
    if drive.can_turn_back:
        text = f"Turn back: {drive.said.shuts} at {plan.clock(drive.closes_utc)}."
        yield Moment(drive.turn_back_utc, text)


KINDS = {
    kind.key: kind
    for kind in (
        Kind("leave", "leave camp", _leave),
        Kind("gate", "gates open", _gate),
        Kind("light", "warm or golden light starts", _light),
        Kind("lens", "a lens needs a slower shutter", _lens),
        Kind("back", "turn back", _back),
    )
}


@dataclass(frozen=True, slots=True)
class Alarms:
    """The alarms a person wants: keys of `KINDS`, minutes for "leave".

    Raises
    ------
    ValueError
        If a key is unknown or the minutes are not 0 to 600.
    """

    kinds: tuple[str, ...] = ()
    leave_min: int = LEAVE_MIN

    def __post_init__(self) -> None:
        for kind in self.kinds:
            if kind not in KINDS:
                raise ValueError(errors.one_of("alarm", kind, KINDS))
        if not 0 <= self.leave_min <= MAX_LEAVE_MIN:
            raise ValueError(
                f"minutes to leave camp before the gates open must be 0 to "
                f"{MAX_LEAVE_MIN}, got {self.leave_min}"
            )


def moments(plan: TripPlan, drive: DrivePlan, alarms: Alarms) -> list[Moment]:
    """Return when alarms ring on a drive, in order; those of one minute are one."""
    found = [
        moment
        for kind in KINDS.values()
        if kind.key in alarms.kinds
        for moment in kind.moments(plan, drive, alarms.leave_min)
    ]
    together: dict[np.datetime64, list[str]] = {}
    for moment in sorted(found, key=lambda m: m.utc):  # of one minute: as in KINDS
        together.setdefault(moment.utc, []).append(moment.text)
    return [Moment(utc, " ".join(texts)) for utc, texts in together.items()]


# --- the file -----------------------------------------------------------------


def calendar(
    plan: TripPlan,
    stamp: dt.datetime,
    alarms: Alarms = Alarms(),
    with_position: bool = False,
) -> bytes:
    """Return the drives of a trip as an iCalendar file.

    Parameters
    ----------
    plan : TripPlan
        From `plan.make`. Closed sessions make no event.
    stamp : datetime.datetime
        When the file is made, aware. A later one updates what was imported.
    alarms : Alarms
        Which to set.
    with_position : bool
        Whether events have the place's coordinates (GEO).

    Returns
    -------
    bytes
        UTF-8, lines folded at 75 octets and ended by CRLF.

    Raises
    ------
    ValueError
        If the trip has no drive, since an iCalendar file must not be empty, or
        the stamp has no zone.
    """
    if not plan.drives:
        raise ValueError("no drive on these dates, so there is nothing for a calendar")
    if stamp.utcoffset() is None:
        raise ValueError(f"stamp must have a zone, got {stamp.isoformat()}")
    file = icalendar.Calendar()
    file.add("version", "2.0")
    file.add("prodid", f"-//lightplan//lightplan {__version__}//EN")
    for drive in plan.drives:
        event = _event(plan, drive, stamp, alarms)
        if with_position:
            place = plan.request.place
            event.add("geo", (place.latitude_deg, place.longitude_deg))
        file.add_component(event)
    written: bytes = file.to_ical()
    return written


def _event(
    plan: TripPlan, drive: DrivePlan, stamp: dt.datetime, alarms: Alarms
) -> icalendar.Event:
    place, opens = plan.request.place, drive.opens_utc
    event = icalendar.Event()
    event.add("uid", uid(plan, drive))
    event.add("dtstamp", stamp)
    event.add("last-modified", stamp)
    # Minutes, since seconds outgrow 32 bits in 2038.
    event.add("sequence", int(stamp.timestamp() // 60))
    event.add("dtstart", _aware(opens))
    event.add("dtend", _aware(drive.closes_utc))
    event.add("summary", _clean(f"{drive.session.capitalize()} drive, {place.name}"))
    event.add("location", _clean(place.name))
    event.add("description", _clean(description(plan, drive)))
    for moment in moments(plan, drive, alarms):
        alarm = icalendar.Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("trigger", (moment.utc - opens).astype("timedelta64[s]").item())
        alarm.add("description", _clean(moment.text))
        event.add_component(alarm)
    return event


def uid(plan: TripPlan, drive: DrivePlan) -> str:
    """Return the event's UID: of the place's name and zone, and the drive's key.

    A UUID (RFC 9562, version 5), so that no sign of a name can break it.
    """
    place = plan.request.place
    name = unicodedata.normalize("NFC", place.name)
    return str(uuid.uuid5(_NAMESPACE, "\n".join((name, place.timezone, drive.key))))


def description(plan: TripPlan, drive: DrivePlan) -> str:
    """Return the text of a drive's event: its answer, its light, rigs, cautions."""
    cover = daylight.cover_named(plan.request.cover).label
    sky = drive.kind.text
    light = "\n".join(
        f"{plan.clock(s.start_utc)}–{plan.clock(s.end_utc)} "
        f"{s.window.label} ({s.minutes} min)"
        for s in drive.windows
    )
    blocks = (
        naming.plain(words.answer(plan, drive)).strip(),
        f"Times are local: {_zone(plan, drive)}; those in brackets allow for "
        f"±{drive.spread_stops:.1f} stops of light.",
        f"Light ({sky}; {cover}):\n{light}",
        f"Lenses:\n{table.rigs(plan)}",
        _ladders(plan, drive),
        "\n".join(f"{naming.sentence(note)}." for note in drive.notes),
        "\n".join(words.CAUTIONS),
    )
    return "\n\n".join(block for block in blocks if block)


def _ladders(plan: TripPlan, drive: DrivePlan) -> str:
    """Return each lens's shutter times with the minutes until which they hold."""
    facing = FACING_INDEX[plan.request.facing]
    lines = []
    for rig, choice in enumerate(plan.request.rigs):
        rungs = ladder_words.shown(drive, drive.outcomes[rig][facing], choice)
        if rungs:
            row = ladder_words.rungs(plan, drive, rungs)
            lines.append(f"{LETTERS[rig]} {choice.label}: {row}")
    return "\n".join(["Shutter times at the highest ISO:", *lines]) if lines else ""


def _zone(plan: TripPlan, drive: DrivePlan) -> str:
    """Return ``Africa/Lusaka, UTC+2``; both offsets where the clock changes."""
    zone = plan.request.place.timezone
    ends = (drive.opens_utc, drive.closes_utc)
    offsets = dict.fromkeys(localtime.offset_text(zone, utc) for utc in ends)
    return f"{zone}, {' then '.join(offsets)}"


def _aware(utc: np.datetime64) -> dt.datetime:
    moment: dt.datetime = utc.astype("datetime64[s]").item()
    return moment.replace(tzinfo=dt.UTC)


def _clean(text: str) -> str:
    """Write every end of line as one, and drop what RFC 5545 has no room for.

    Left as they are, a carriage return would end the line for some readers and
    start a new property; other control characters are not text there.
    """
    lines = _LINE_END.sub("\n", text)
    return "".join(c for c in lines if c in "\n\t" or unicodedata.category(c) != "Cc")
