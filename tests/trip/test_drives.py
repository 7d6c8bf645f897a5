"""Gate hours on the calendar become drives in UTC, as the zones' clocks have it."""

import datetime as dt

import numpy as np
import pytest

from lightplan.catalog.places import Place
from lightplan.trip import drives
from lightplan.trip.drives import Closed, Drive

HOURS = {"morning": ("06:00", "10:00"), "evening": ("15:30", "18:30")}


def place(timezone: str, gates: list[dict], latitude_deg=-13.1, longitude_deg=31.8):
    return Place.model_validate(
        {
            "name": "Test Pan",
            "latitude_deg": latitude_deg,
            "longitude_deg": longitude_deg,
            "timezone": timezone,
            "gates": gates,
        }
    )


def sessions(at: Place, date: str) -> tuple[Drive | Closed, ...]:
    return drives.day(at, dt.date.fromisoformat(date)).sessions


def utc_of(zone, date: str, clock: str) -> np.datetime64:
    """What the standard library's reading of the IANA files makes of a clock."""
    local = dt.datetime.fromisoformat(f"{date}T{clock}").replace(tzinfo=zone)
    return np.datetime64(local.astimezone(dt.UTC).replace(tzinfo=None), "m")


# Whole, half and quarter hours, both ends of the map, both sides of the year.
@pytest.mark.parametrize(
    ("timezone", "date"),
    [
        ("Africa/Lusaka", "2027-08-12"),
        ("Asia/Kolkata", "2027-01-12"),
        ("Asia/Kathmandu", "2027-03-12"),
        ("Australia/Darwin", "2027-07-01"),
        ("Pacific/Kiritimati", "2027-12-31"),
        ("Pacific/Chatham", "2027-06-21"),
        ("Pacific/Midway", "2027-01-01"),
        ("America/St_Johns", "2027-07-15"),
        ("America/Punta_Arenas", "2027-07-15"),
        ("Europe/Madrid", "2027-01-15"),
        ("Europe/Madrid", "2027-07-15"),
        ("Europe/Madrid", "1974-07-15"),
    ],
)
def test_fixed_gates_are_the_zones_clock_times(iana, timezone, date):
    morning, evening = sessions(place(timezone, [HOURS]), date)
    zone = iana(timezone)
    assert (morning.opens_utc, morning.closes_utc, evening.opens_utc) == (
        utc_of(zone, date, "06:00"),
        utc_of(zone, date, "10:00"),
        utc_of(zone, date, "15:30"),
    )
    assert morning.notes == evening.notes == ()


def test_evening_past_midnight_closes_on_the_next_date_and_keeps_its_own(iana):
    at = place("Arctic/Longyearbyen", [{"evening": ("20:00", "25:30")}], 78.2, 15.6)
    (evening,) = sessions(at, "2027-06-30")
    zone = iana("Arctic/Longyearbyen")
    assert evening.opens_utc == utc_of(zone, "2027-06-30", "20:00")
    assert evening.closes_utc == utc_of(zone, "2027-07-01", "01:30")
    assert evening.date == dt.date(2027, 6, 30)


# Clocks in the EU change at 01:00 UTC on the last Sunday of March and of October
# (Directive 2000/84/EC): in 2027 on the 28th and the 31st. 02:30 is skipped in
# Madrid in March: 03:00 is the first clock time after it. In October 02:30 comes
# twice, first at 00:30 UTC. Lord Howe Island moves by half an hour at 02:00 on
# the first Sunday of October (IANA tz database, australasia): 02:15 is skipped.
@pytest.mark.parametrize(
    ("timezone", "date", "gate", "utc", "words"),
    [
        (
            "Europe/Madrid", "2027-03-28", "02:30", "2027-03-28T01:00",
            ["02:30", "skipped", "03:00", "UTC+2"],
        ),
        (
            "Europe/Madrid", "2027-10-31", "02:30", "2027-10-31T00:30",
            ["02:30", "repeated", "02:30", "UTC+2"],
        ),
        (
            "Australia/Lord_Howe", "2027-10-03", "02:15", "2027-10-02T15:30",
            ["02:15", "skipped", "02:30", "UTC+11"],
        ),
    ],
)  # fmt: skip
def test_gate_on_a_clock_change_is_settled_and_said(timezone, date, gate, utc, words):
    (drive,) = sessions(place(timezone, [{"morning": (gate, "10:00")}]), date)
    assert drive.opens_utc == np.datetime64(utc, "m")
    (note,) = drive.notes
    assert [word for word in words if word not in note] == []


def test_gate_past_midnight_is_settled_by_the_clock_of_the_next_date():
    at = place("Europe/Madrid", [{"evening": ("20:00", "26:30")}], 37.0, -6.4)
    (drive,) = sessions(at, "2027-03-27")
    assert drive.closes_utc == np.datetime64("2027-03-28T01:00", "m")
    assert "skipped" in drive.notes[0]


@pytest.mark.parametrize(("date", "hours"), [("2027-03-28", 9), ("2027-10-31", 11)])
def test_drive_across_a_clock_change_is_an_hour_shorter_or_longer(date, hours):
    (drive,) = sessions(
        place("Europe/Madrid", [{"morning": ("00:00", "10:00")}], 37.0, -6.4), date
    )
    assert drive.closes_utc - drive.opens_utc == np.timedelta64(hours, "h")
    assert drive.notes == ()


def test_gates_both_within_a_skipped_hour_leave_no_drive():
    at = place("Europe/Madrid", [{"morning": ("02:10", "02:50")}], 37.0, -6.4)
    (session,) = sessions(at, "2027-03-28")
    assert isinstance(session, Closed)
    assert "02:50" in session.reason


# Samoa skipped 30 December 2011 when it crossed the date line (IANA tz database,
# australasia: Pacific/Apia from UTC−10 to UTC+14 at the end of the 29th).
def test_date_that_the_calendar_skips_is_closed_in_words():
    at = place("Pacific/Apia", [HOURS], -13.8, -171.8)
    for session in sessions(at, "2011-12-30"):
        assert isinstance(session, Closed)
        assert "calendar skips" in session.reason


@pytest.mark.parametrize(
    ("date", "opens_utc"),
    [("2011-12-29", "2011-12-29T16:00"), ("2011-12-31", "2011-12-30T16:00")],
)
def test_dates_round_a_skipped_one_keep_their_drives(date, opens_utc):
    morning = sessions(place("Pacific/Apia", [HOURS], -13.8, -171.8), date)[0]
    assert morning.opens_utc == np.datetime64(opens_utc, "m")


def test_season_without_an_evening_offers_the_morning_only():
    (morning,) = sessions(
        place("Africa/Lusaka", [{"morning": HOURS["morning"]}]), "2027-08-12"
    )
    assert morning.session == "morning"


def test_date_between_seasons_is_closed_in_words():
    at = place("Africa/Lusaka", [{"from": "05-01", "to": "10-31"} | HOURS])
    for session in sessions(at, "2027-12-01"):
        assert isinstance(session, Closed)
        assert session.reason == "no gate times in this season"


def test_gate_that_would_shut_before_it_opens_is_closed_in_words():
    # On 21 June 51° S has about 8 h of sun and local noon at 72.9° W on UTC−3 is
    # 13:54: the sun sets before 18:00.
    at = place(
        "America/Punta_Arenas", [{"evening": ("18:30", "sunset+00:10")}], -51.0, -72.9
    )
    (session,) = sessions(at, "2027-06-21")
    assert isinstance(session, Closed)
    assert "sunset+00:10" in session.reason


def test_keys_of_a_trip_differ_and_sort_by_date():
    at = place("Africa/Lusaka", [HOURS])
    keys = [
        session.key
        for date in drives.dates(dt.date(2027, 9, 29), dt.date(2027, 10, 2))
        for session in drives.day(at, date).sessions
    ]
    assert len(set(keys)) == 8
    dates = [key[:10] for key in sorted(keys)]
    assert dates == [key[:10] for key in keys]


def test_dates_run_from_first_to_last_over_a_leap_day():
    days = drives.dates(dt.date(2028, 2, 27), dt.date(2028, 3, 1))
    assert [d.isoformat() for d in days] == [
        "2028-02-27", "2028-02-28", "2028-02-29", "2028-03-01",
    ]  # fmt: skip


def test_sixty_two_days_are_the_most():
    first = dt.date(2027, 7, 1)
    assert len(drives.dates(first, dt.date(2027, 8, 31))) == 62
    with pytest.raises(ValueError, match="at most 62 days, got 63"):
        drives.dates(first, dt.date(2027, 9, 1))


def test_reversed_dates_are_refused_with_both():
    with pytest.raises(ValueError, match=r"2027-08-12.*got 2027-08-11"):
        drives.dates(dt.date(2027, 8, 12), dt.date(2027, 8, 11))


@pytest.mark.parametrize("date", [dt.date(1950, 1, 1), dt.date(2037, 12, 31)])
def test_first_and_last_date_of_the_range_have_drives(date):
    assert drives.dates(date, date) == [date]
    assert all(
        isinstance(session, Drive)
        for session in drives.day(place("Europe/Madrid", [HOURS]), date).sessions
    )


@pytest.mark.parametrize("date", [dt.date(1949, 12, 31), dt.date(2038, 1, 1)])
def test_date_out_of_range_is_refused_with_the_range(date):
    with pytest.raises(ValueError, match=f"1950–2037.*got {date}"):
        drives.dates(date, date)
    with pytest.raises(ValueError, match=f"1950–2037.*got {date}"):
        drives.day(place("Europe/Madrid", [HOURS]), date)


@pytest.mark.parametrize(
    ("first", "last", "wrong"),
    [
        (dt.date(1949, 12, 31), dt.date(1950, 1, 1), "1949-12-31"),
        (dt.date(2037, 12, 31), dt.date(2038, 1, 1), "2038-01-01"),
    ],
)
def test_trip_that_leaves_the_range_is_refused_with_the_date_outside(
    first, last, wrong
):
    with pytest.raises(ValueError, match=f"got {wrong}"):
        drives.dates(first, last)
