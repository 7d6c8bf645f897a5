"""A trip as iCalendar: what other readers make of it is what the plan says.

"RFC" is RFC 5545, by section. Three libraries that did not write the file read it
back: vobject, ics, recurring-ical-events.
"""

import datetime as dt
import re
import unicodedata
import uuid
from functools import cache
from pathlib import Path
from typing import NamedTuple

import icalendar
import ics
import numpy as np
import pytest
import recurring_ical_events
import vobject

from lightplan.catalog import places
from lightplan.catalog.gates import Gates
from lightplan.export import calendar
from lightplan.export.calendar import Alarms
from lightplan.trip import plan, words
from lightplan.trip.drives import Closed
from lightplan.trip.request import FACING_INDEX, Request, choose

planned = cache(plan.make)  # many tests look at the same trip, none changes it

EXAMPLE = Path(__file__).parents[2] / places.EXAMPLE_FILE
STAMP = dt.datetime(2027, 8, 1, 12, 30, 15, tzinfo=dt.UTC)
MAX_OCTETS = 75  # of a line without its break, RFC 3.1
ALL = Alarms(tuple(calendar.KINDS))
# What free text may hold: signs of RFC 3.3.11, of HTML, letters of two and four
# octets, a joined emoji, writing from right to left, ends of lines.
NAMES = (
    'the "loop"', "a, b; c: d\\e\\", "<script>alert(1)</script> &amp;", "Łąka Grøn",
    "🦁 👩‍👩‍👧 hide", "مرعى 12 \u2067abc\u2069", "two\nlines", "ø" * 80, "🦒" * 80,
)  # fmt: skip


@pytest.fixture(scope="module")
def catalog():
    return places.load(EXAMPLE)


@pytest.fixture(scope="module")
def trip(catalog):
    """Plan from Thursday to Saturday, with a closed Friday evening between."""
    return make(catalog, "Mopane Loop", "2027-08-12", "2027-08-14")


def make(
    catalog, place, first, last=None, rigs=("150–600 zoom", "400 prime"), **kwargs
):
    return planned(
        Request(
            catalog.place(place) if isinstance(place, str) else place,
            dt.date.fromisoformat(first),
            dt.date.fromisoformat(last or first),
            tuple(choose(catalog.rig(name)) for name in rigs),
            **kwargs,
        )
    )


def named(catalog, name):
    place = catalog.place("Mopane Loop").model_copy(update={"name": name})
    return make(catalog, place, "2027-08-12")


def text_of(trip, alarms=ALL, stamp=STAMP):
    return calendar.calendar(trip, stamp, alarms).decode("utf-8")


def aware(utc):
    return utc.astype("datetime64[s]").item().replace(tzinfo=dt.UTC)


class Event(NamedTuple):
    """What a reader found in an event; alarms as (trigger, text)."""

    uid: str
    start: dt.datetime
    end: dt.datetime
    title: str
    text: str
    alarms: list[tuple[dt.timedelta, str]]


def by_vobject(text):
    return [
        Event(
            event.uid.value,
            event.dtstart.value,
            event.dtend.value,
            event.summary.value,
            event.description.value,
            [
                (alarm.trigger.value, alarm.description.value)
                for alarm in event.contents.get("valarm", [])
            ],
        )
        for event in vobject.readOne(text).vevent_list
    ]


def by_ics(text):
    return [
        Event(
            event.uid,
            event.begin.datetime,
            event.end.datetime,
            event.name,
            event.description,
            [(alarm.trigger, alarm.display_text) for alarm in event.alarms],
        )
        for event in sorted(ics.Calendar(text).events, key=lambda e: e.begin)
    ]


@pytest.fixture(params=[by_vobject, by_ics], ids=["vobject", "ics"])
def read(request):
    """Read a calendar's events in order of time, with either library."""
    return request.param


def content_lines(text):
    """Split and unfold as RFC 3.1 says, with no library."""
    return text.removesuffix("\r\n").replace("\r\n ", "").split("\r\n")


def rung(trip, *kinds, **kwargs):
    """Return for each drive the instants and texts of its alarms, by vobject."""
    text = text_of(trip, Alarms(kinds, **kwargs))
    return [
        [(event.start + trigger, said) for trigger, said in event.alarms]
        for event in by_vobject(text)
    ]


# --- events -------------------------------------------------------------------


def test_every_drive_is_an_event_from_gate_to_gate(trip, read):
    expected = [(aware(d.opens_utc), aware(d.closes_utc)) for d in trip.drives]
    assert [(e.start, e.end) for e in read(text_of(trip))] == expected


def test_a_closed_session_makes_no_event(trip):
    assert any(isinstance(row, Closed) for row in trip.rows)
    assert text_of(trip).count("BEGIN:VEVENT") == len(trip.rows) - 1


def test_events_fall_on_the_places_own_days(catalog, iana):
    # Kiritimati keeps UTC+14: its morning is the day before in UTC.
    place = catalog.place("Mopane Loop").model_copy(
        update={"timezone": "Pacific/Kiritimati", "longitude_deg": -157.4}
    )
    trip = make(catalog, place, "2027-08-11", "2027-08-12")
    zone = iana("Pacific/Kiritimati")
    midnight = dt.datetime(2027, 8, 12, tzinfo=zone)
    file = icalendar.Calendar.from_ical(text_of(trip))
    found = recurring_ical_events.of(file).between(
        midnight, midnight + dt.timedelta(days=1)
    )
    titles = sorted(str(event["SUMMARY"]).split()[0] for event in found)
    assert titles == ["Evening", "Morning"]


def test_gates_past_midnight_end_on_the_next_day(catalog, iana, read):
    # The example file: Ptarmigan Fjord shuts at 25:30, under the midnight sun.
    evening = read(text_of(make(catalog, "Ptarmigan Fjord", "2027-06-21")))[-1]
    zone = iana("America/Thule")
    assert evening.end.astimezone(zone) == dt.datetime(2027, 6, 22, 1, 30, tzinfo=zone)


def test_a_clock_change_moves_the_gates_in_utc_not_on_the_clock(catalog, iana, read):
    # Clocks in France go forward on 28 March 2027; the gates shut at 11:00.
    events = read(text_of(make(catalog, "Heron Marsh", "2027-03-27", "2027-03-28")))
    mornings = [event for event in events if event.title.startswith("Morning")]
    zone = iana("Europe/Paris")
    assert [e.end.astimezone(zone).hour for e in mornings] == [11, 11]
    assert [e.end.astimezone(dt.UTC).hour for e in mornings] == [10, 9]


def test_the_place_stands_in_location_and_where_asked_for_in_geo(trip):
    event = vobject.readOne(text_of(trip)).vevent_list[0]
    assert event.location.value == "Mopane Loop"
    assert "geo" not in event.contents
    located = calendar.calendar(trip, STAMP, with_position=True).decode()
    (geo,) = vobject.readOne(located).vevent_list[0].contents["geo"]
    assert geo.value == "-14.0;29.0"  # latitude;longitude, RFC 3.8.1.6


# --- what the text says -------------------------------------------------------


def test_text_gives_the_gates_by_the_places_clock_and_names_its_zone(
    catalog, iana, read
):
    trip = make(catalog, "Heron Marsh", "2027-03-27", "2027-03-28")
    zone = iana("Europe/Paris")
    for event in read(text_of(trip)):
        gate = event.start if event.title.startswith("Morning") else event.end
        assert f"at {gate.astimezone(zone):%H:%M}" in event.text
        hours = gate.astimezone(zone).utcoffset() // dt.timedelta(hours=1)
        assert f"Europe/Paris, UTC+{hours};" in event.text


def test_text_gives_every_light_window_with_its_times(trip, read):
    for drive, event in zip(trip.drives, read(text_of(trip)), strict=True):
        for s in drive.windows:
            start, end = trip.clock(s.start_utc), trip.clock(s.end_utc)
            said = f"{start}–{end} {s.window.label} ({s.minutes} min)"
            assert said in event.text.splitlines()


def test_text_gives_each_rigs_last_minute_with_its_spread(trip, read):
    side = FACING_INDEX["side"]
    spreads = 0
    for drive, event in zip(trip.drives, read(text_of(trip)), strict=True):
        for of_rig in drive.outcomes:
            if (last := of_rig[side].last).utc < drive.turn_back_utc:
                spread = words.last_spread(trip, drive, of_rig[side])
                assert f"to {trip.clock(last.utc)}{spread}" in event.text
                spreads += bool(spread)
    assert spreads


def test_text_gives_the_time_to_turn_back(trip, read):
    for drive, event in zip(trip.drives, read(text_of(trip)), strict=True):
        assert f"Turn back by {trip.clock(drive.turn_back_utc)}" in event.text


def test_text_names_every_rig(trip, read):
    for event in read(text_of(trip)):
        assert "150–600 zoom" in event.text
        assert "400 prime" in event.text


def test_text_ends_with_the_cautions(trip, read):
    for event in read(text_of(trip)):
        assert event.text.endswith("\n".join(words.CAUTIONS))


def test_text_tells_what_a_clock_change_did_to_a_gate(catalog):
    gates = Gates(morning=("02:30", "08:00"))
    place = catalog.place("Heron Marsh").model_copy(update={"gates": (gates,)})
    trip = make(catalog, place, "2027-03-28")
    note = trip.drives[0].drive.notes[0]
    assert note[1:] in by_vobject(text_of(trip))[0].text


def test_text_of_a_drive_tells_its_own_sky(catalog):
    skies = (("2027-08-12-evening", "storm"),)
    trip = make(catalog, "Mopane Loop", "2027-08-12", skies=skies)
    morning, evening = by_vobject(text_of(trip))
    assert "storm" not in morning.text.lower()
    assert "storm" in evening.text.lower()


def test_a_rig_that_is_never_usable_is_said_in_words(catalog):
    rig = choose(catalog.rig("400 prime"), shutter_s=1 / 32000, iso_ceiling=50)
    date = dt.date(2027, 8, 12)
    trip = plan.make(Request(catalog.place("Mopane Loop"), date, date, (rig,)))
    for event in by_vobject(text_of(trip)):
        assert "is over its ISO ceiling" in event.text


# --- alarms -------------------------------------------------------------------


def test_no_alarm_rings_unless_chosen(trip):
    assert "VALARM" not in text_of(trip, Alarms())


@pytest.mark.parametrize("leave_min", [0, 30, 95])
def test_leaving_camp_rings_minutes_before_the_gates_open(trip, leave_min):
    before = dt.timedelta(minutes=leave_min)
    expected = [aware(d.opens_utc) - before for d in trip.drives]
    found = rung(trip, "leave", leave_min=leave_min)
    assert [[instant for instant, _ in alarms] for alarms in found] == [
        [instant] for instant in expected
    ]


def test_the_gate_rings_when_it_opens(trip):
    found = rung(trip, "gate")
    assert [[instant for instant, _ in alarms] for alarms in found] == [
        [aware(d.opens_utc)] for d in trip.drives
    ]


def test_golden_light_rings_when_each_stretch_of_it_starts(catalog):
    # Gates through a short night: golden light before it and after it.
    gates = Gates(evening=("18:00", "29:30"))
    place = places.Place(
        name="x",
        latitude_deg=70,
        longitude_deg=25,
        timezone="Etc/GMT-2",
        gates=(gates,),
    )
    trip = make(catalog, place, "2027-04-03", gold="golden")
    spans = [s for s in trip.drives[0].windows if s.window.key == "golden"]
    assert len(spans) == 2
    assert [instant for instant, _ in rung(trip, "light")[0]] == [
        aware(span.start_utc) for span in spans
    ]


def test_warm_light_rings_when_it_starts(trip):
    for drive, alarms in zip(trip.drives, rung(trip, "light"), strict=True):
        runs = drive.warm if drive.kind.has_beam else ()
        assert [instant for instant, _ in alarms] == [
            aware(run.first_utc) for run in runs
        ]


@pytest.mark.parametrize("sky", ["overcast", "storm"])
def test_golden_light_does_not_ring_under_a_sky_without(catalog, sky):
    trip = make(catalog, "Mopane Loop", "2027-08-12", sky=sky)
    assert rung(trip, "light") == [[], []]


def test_each_lens_rings_at_its_last_minute(trip):
    side = FACING_INDEX["side"]
    for drive, alarms in zip(trip.drives, rung(trip, "lens"), strict=True):
        ends = [of_rig[side].last.utc for of_rig in drive.outcomes]
        expected = sorted(aware(e) for e in ends if e < drive.turn_back_utc)
        assert [instant for instant, _ in alarms] == expected
        for instant, said in alarms:
            clock = trip.clock(np.datetime64(instant.replace(tzinfo=None)))
            assert re.search(rf"at 1/\d+ s to {clock}", said)


def test_some_lens_is_finished_before_the_gate(trip):
    # Else the test above would check empty lists alone.
    assert sum(map(bool, rung(trip, "lens"))) == 2


def test_turning_back_rings_so_that_the_way_fits(trip):
    found = rung(trip, "back")
    way = dt.timedelta(minutes=trip.request.travel_min)
    assert [[instant for instant, _ in alarms] for alarms in found] == [
        [aware(d.closes_utc) - way] for d in trip.drives
    ]


def test_turning_back_does_not_ring_where_there_is_no_gate(catalog):
    place = catalog.place("Mopane Loop").model_copy(update={"gates": ()})
    assert rung(make(catalog, place, "2027-08-12"), "back") == [[], []]


def test_turning_back_does_not_ring_where_the_way_is_too_long(catalog):
    trip = make(catalog, "Mopane Loop", "2027-08-12", travel_min=300)
    assert rung(trip, "back") == [[], []]


def test_alarms_of_one_minute_ring_once(catalog):
    # On this morning warm light has begun before the gates open.
    gates = Gates(morning=("06:50", "10:00"))
    place = catalog.place("Mopane Loop").model_copy(update={"gates": (gates,)})
    trip = make(catalog, place, "2027-08-12")
    (_, said), *others = rung(trip, "gate", "light")[0]
    assert others == []
    assert "Gates open at 06:50" in said
    assert "Warm light 06:50" in said


def test_alarms_are_read_alike_by_both_libraries(trip):
    text = text_of(trip)
    found = [e.alarms for e in by_vobject(text)]
    assert [sorted(e.alarms) for e in by_ics(text)] == [sorted(a) for a in found]
    assert all(found)


def test_an_unknown_alarm_is_refused_with_the_choices():
    with pytest.raises(ValueError, match=r"leave, gate, light, lens, back, got 'wake'"):
        Alarms(("wake",))


@pytest.mark.parametrize("leave_min", [-1, 601])
def test_minutes_out_of_range_are_refused(leave_min):
    with pytest.raises(ValueError, match=f"0 to 600, got {leave_min}"):
        Alarms(("leave",), leave_min)


# --- a second import ----------------------------------------------------------


def test_same_plan_and_stamp_make_the_same_bytes(catalog, trip):
    again = make(catalog, "Mopane Loop", "2027-08-12", "2027-08-14")
    assert calendar.calendar(again, STAMP, ALL) == calendar.calendar(trip, STAMP, ALL)


def test_uids_stay_when_everything_but_the_place_changes(catalog, trip, read):
    other = make(
        catalog, "Mopane Loop", "2027-08-12", "2027-08-14", rigs=("600 prime",),
        sky="overcast", facing="back", travel_min=60,
    )  # fmt: skip
    assert [e.uid for e in read(text_of(other))] == [e.uid for e in read(text_of(trip))]


def test_uids_stay_when_the_gates_change(catalog):
    place = catalog.place("Mopane Loop")
    later = place.model_copy(update={"gates": (Gates(morning=("07:00", "11:00")),)})
    before = by_vobject(text_of(make(catalog, place, "2027-08-12")))
    after = by_vobject(text_of(make(catalog, later, "2027-08-12")))
    assert before[0].start != after[0].start
    assert before[0].uid == after[0].uid


def test_uids_differ_between_drives_places_and_zones(catalog, trip):
    found = [e.uid for e in by_vobject(text_of(trip))]
    place = catalog.place("Mopane Loop")
    for change in ({"name": "Mopane Loop II"}, {"timezone": "Africa/Harare"}):
        other = make(catalog, place.model_copy(update=change), "2027-08-12")
        found += [e.uid for e in by_vobject(text_of(other))]
    assert len(set(found)) == len(found)


def test_uids_are_the_same_for_a_name_written_in_two_ways(catalog):
    uids = [
        [e.uid for e in by_vobject(text_of(named(catalog, form)))]
        for form in (unicodedata.normalize(f, "Łąka é") for f in ("NFC", "NFD"))
    ]
    assert uids[0] == uids[1]


def test_uids_are_uuids_whatever_the_name(catalog):
    for name in NAMES:
        for event in by_vobject(text_of(named(catalog, name))):
            assert uuid.UUID(event.uid).version == 5


def test_a_later_stamp_makes_a_later_revision(trip):
    # RFC 3.8.7.4: the sequence grows; 3.8.7.2 and 3.8.7.3: so do the stamps.
    later = STAMP + dt.timedelta(minutes=1)
    old, new = (vobject.readOne(text_of(trip, stamp=s)) for s in (STAMP, later))
    for a, b in zip(old.vevent_list, new.vevent_list, strict=True):
        assert int(b.sequence.value) > int(a.sequence.value)
        assert (a.dtstamp.value, b.dtstamp.value) == (STAMP, later)
        assert (a.last_modified.value, b.last_modified.value) == (STAMP, later)


def test_sequence_fits_an_integer_of_rfc_5545_for_as_long_as_there_are_dates(trip):
    # RFC 3.3.8: from -2147483648 to 2147483647. Plans end with 2037.
    last = dt.datetime(2038, 12, 31, tzinfo=dt.UTC)
    event = vobject.readOne(text_of(trip, stamp=last)).vevent
    assert 0 <= int(event.sequence.value) <= 2147483647


def test_a_stamp_of_another_zone_is_written_in_utc(trip):
    there = STAMP.astimezone(dt.timezone(dt.timedelta(hours=5)))
    assert text_of(trip, stamp=there) == text_of(trip)


def test_a_stamp_without_zone_is_refused(trip):
    with pytest.raises(ValueError, match="zone"):
        calendar.calendar(trip, STAMP.replace(tzinfo=None))


# --- the file by the letter of RFC 5545 ---------------------------------------


def test_lines_end_in_crlf_and_no_other_way(trip):
    text = text_of(trip)
    assert text.endswith("END:VCALENDAR\r\n")
    assert text.count("\r\n") == text.count("\r") == text.count("\n")


@pytest.mark.parametrize("name", NAMES)
def test_lines_have_75_octets_at_most_and_break_between_letters(catalog, name):
    data = calendar.calendar(named(catalog, name), STAMP, ALL)
    for line in data.split(b"\r\n"):
        assert len(line) <= MAX_OCTETS
        line.decode("utf-8")  # raises where a letter was cut in two


def test_file_and_events_have_what_they_must(trip):
    lines = content_lines(text_of(trip))
    # RFC 3.6: VERSION and PRODID once; 3.6.1: UID, DTSTAMP, DTSTART once, and one
    # end; 3.6.6: what an alarm on a display needs.
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines.count("VERSION:2.0") == 1
    assert sum(line.startswith("PRODID:") for line in lines) == 1
    events = "\n".join(lines).split("BEGIN:VEVENT\n")[1:]
    assert len(events) == len(trip.drives)
    for event in events:
        body, *alarms = event.split("BEGIN:VALARM\n")
        for key in ("UID", "DTSTAMP", "DTSTART", "DTEND", "SEQUENCE", "DESCRIPTION"):
            assert len(re.findall(rf"^{key}:", body, re.MULTILINE)) == 1
        assert alarms
        for alarm in alarms:
            assert "ACTION:DISPLAY\n" in alarm
            for key in ("TRIGGER", "DESCRIPTION"):
                assert len(re.findall(rf"^{key}:", alarm, re.MULTILINE)) == 1


def test_all_times_are_utc(trip):
    # RFC 3.3.5, form 2; so no VTIMEZONE is needed (3.2.19).
    lines = content_lines(text_of(trip))
    times = [line for line in lines if line.startswith(("DT", "LAST-MODIFIED"))]
    assert len(times) == 4 * len(trip.drives)
    for line in times:
        assert re.fullmatch(r"[A-Z-]+:\d{8}T\d{6}Z", line)
    assert not any("TZID" in line or "VTIMEZONE" in line for line in lines)


def test_text_is_escaped(catalog):
    # RFC 3.3.11: backslash, semicolon, comma and line end; a colon is not.
    lines = content_lines(text_of(named(catalog, "a\\b;c,d:e\nf")))
    assert "LOCATION:a\\\\b\\;c\\,d:e\\nf" in lines


@pytest.mark.parametrize("name", NAMES)
def test_names_arrive_as_they_were_written(catalog, read, name):
    for event in read(text_of(named(catalog, name))):
        assert event.title.endswith(f"drive, {name}")


def test_a_backslash_before_an_n_is_no_end_of_line(catalog):
    # Not by ics, whose 0.7.3 takes a backslash that RFC 3.3.11 escapes for one that
    # escapes.
    name = "a\\nb"
    text = text_of(named(catalog, name))
    assert by_vobject(text)[0].title.endswith(f"drive, {name}")
    event = icalendar.Calendar.from_ical(text).walk("VEVENT")[0]
    assert event["LOCATION"] == name


def test_names_of_rigs_arrive_as_they_were_written(catalog, read):
    for name in NAMES:
        rig = catalog.rig("400 prime").model_copy(update={"name": name})
        date = dt.date(2027, 8, 12)
        place = catalog.place("Mopane Loop")
        trip = plan.make(Request(place, date, date, (choose(rig),)))
        for event in read(text_of(trip)):
            assert f"up to ISO 6400: {name}\n" in event.text


@pytest.mark.parametrize(
    "end", ["\r\n", "\r", "\n", "\v", "\f", "\x85", "\u2028", "\u2029"]
)
def test_no_end_of_line_in_a_name_starts_a_line_of_its_own(catalog, read, end):
    # By str.splitlines, the widest notion of a line's end that a reader may have.
    text = text_of(named(catalog, f"a{end}UID:b"))
    assert not any(line.startswith("UID:b") for line in text.splitlines())
    assert read(text)[0].title == "Morning drive, a\nUID:b"


def test_no_control_character_is_written(catalog):
    # RFC 3.1: text holds no CONTROL but the tab.
    name = "".join(map(chr, [*range(0x20), 0x7F, *range(0x80, 0xA0)]))
    found = {
        c for c in text_of(named(catalog, name)) if unicodedata.category(c) == "Cc"
    }
    assert found == {"\t", "\r", "\n"}


def test_a_trip_without_drives_is_refused_in_words(catalog):
    # RFC 3.6: a calendar holds at least one component. Heron Marsh shuts on Tuesdays.
    trip = make(catalog, "Heron Marsh", "2027-08-17")
    with pytest.raises(ValueError, match="no drive on these dates"):
        calendar.calendar(trip, STAMP)
