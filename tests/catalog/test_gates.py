"""Gate times as people write them, seasons and closures by the calendar."""

import datetime as dt

import pytest
from pydantic import ValidationError

from lightplan.catalog.gates import Closure, Gates, GateTime, gate_time
from lightplan.catalog.places import Place
from lightplan.trip import drives

PLACE = {
    "name": "Test Pan",
    "latitude_deg": -13.1,
    "longitude_deg": 31.8,
    "timezone": "Africa/Lusaka",
}


def place(gates: list[dict], closures: tuple[dict, ...] = ()) -> Place:
    return Place.model_validate(PLACE | {"gates": gates, "closures": closures})


def opening(at: Place, date: str) -> str:
    """Local opening time of the morning drive; Lusaka is UTC+2 all year (IANA)."""
    drive = drives.day(at, dt.date.fromisoformat(date)).sessions[0]
    return str(drive.opens_utc.item() + dt.timedelta(hours=2))[11:16]


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("00:00", 0),
        ("6:00", 360),
        ("06:05", 365),
        ("23:59", 1439),
        ("24:00", 1440),
        ("25:30", 1530),
        ("29:59", 1799),
    ],
)
def test_clock_time_is_read_as_minutes_after_midnight(text, minutes):
    assert gate_time(text) == GateTime("clock", minutes)


@pytest.mark.parametrize(
    ("text", "event", "minutes"),
    [
        ("sunrise", "sunrise", 0),
        ("sunset", "sunset", 0),
        ("sunrise-00:30", "sunrise", -30),
        ("sunset+00:15", "sunset", 15),
        ("sunset+1:05", "sunset", 65),
        ("Sunrise-00:30", "sunrise", -30),
    ],
)
def test_relative_time_is_read_as_minutes_from_the_suns_event(text, event, minutes):
    assert gate_time(text) == GateTime(event, minutes)


@pytest.mark.parametrize(
    "text",
    [
        "", "6", "06", "30:00", "06:60", "6h", "06.00", "-01:00", "06:00 am", "noon",
        "dawn-00:30", "sunrise-", "sunrise-30", "sunrise 00:30", "sunset+00:60",
    ],
)  # fmt: skip
def test_text_that_is_no_gate_time_is_refused_with_the_right_forms(text):
    with pytest.raises(ValueError, match=r"06:00.*sunrise-00:30") as caught:
        gate_time(text)
    assert repr(text) in str(caught.value)


@pytest.mark.parametrize(
    ("opens", "closes"),
    [
        ("10:00", "06:00"),
        ("06:00", "06:00"),
        ("20:00", "01:30"),
        ("sunset+00:20", "sunset-00:20"),
        ("sunrise", "sunrise"),
    ],
)
def test_gate_that_closes_before_it_opens_is_refused(opens, closes):
    with pytest.raises(ValidationError, match="must close after it opens"):
        Gates(morning=(opens, closes))


def test_evening_past_midnight_is_written_with_hours_that_run_on():
    assert Gates(evening=("20:00", "25:30")).evening == ("20:00", "25:30")


# The order of days in a Gregorian year; 2028 is a leap year, 2027 is not.
@pytest.mark.parametrize(
    ("date", "covered"),
    [
        ("2027-10-31", False),
        ("2027-11-01", True),
        ("2027-12-31", True),
        ("2028-01-01", True),
        ("2028-02-28", True),
        ("2028-02-29", True),
        ("2028-03-01", True),
        ("2028-04-30", True),
        ("2028-05-01", False),
        ("2027-07-15", False),
    ],
)
def test_season_over_new_year_holds_both_ends_and_29_february(date, covered):
    season = Gates.model_validate({"from": "11-01", "to": "04-30"})
    assert season.cover_date(dt.date.fromisoformat(date)) is covered


@pytest.mark.parametrize(
    ("date", "covered"),
    [("2027-04-30", False), ("2027-05-01", True), ("2027-10-31", True)],
)
def test_season_within_a_year_holds_both_its_ends(date, covered):
    season = Gates.model_validate({"from": "05-01", "to": "10-31"})
    assert season.cover_date(dt.date.fromisoformat(date)) is covered


@pytest.mark.parametrize("date", ["2027-01-01", "2028-02-29", "2027-12-31"])
def test_gates_without_dates_hold_all_year(date):
    assert Gates().cover_date(dt.date.fromisoformat(date))


def test_season_may_begin_on_29_february():
    season = Gates.model_validate({"from": "02-29", "to": "03-10"})
    assert [
        season.cover_date(dt.date.fromisoformat(d))
        for d in ("2027-02-28", "2027-03-01", "2028-02-29")
    ] == [False, True, True]


# ISO 8601 week and compact dates are dates too, but not what the file asks for;
# as text they do not sort by time.
@pytest.mark.parametrize(
    "text", ["02-30", "13-01", "5-1", "0501", "May 1", "", "W05-3"]
)
def test_month_day_in_another_form_is_refused(text):
    with pytest.raises(ValidationError, match="month-day like 05-01"):
        Gates.model_validate({"from": text})


def test_first_fitting_season_wins():
    at = place(
        [
            {"from": "06-01", "to": "06-30", "morning": ("07:00", "10:00")},
            {"from": "05-01", "to": "10-31", "morning": ("06:00", "10:00")},
            {"morning": ("05:00", "09:00")},
        ]
    )
    days = ("2027-06-15", "2027-07-15", "2027-12-15")
    assert [opening(at, d) for d in days] == ["07:00", "06:00", "05:00"]


def test_date_range_shuts_both_its_ends_in_that_year_only():
    closure = Closure.model_validate({"from": "2027-02-01", "to": "2027-02-03"})
    days = [
        "2027-01-31", "2027-02-01", "2027-02-03", "2027-02-04", "2028-02-02",
    ]  # fmt: skip
    shut = [closure.shuts(dt.date.fromisoformat(d), "morning") for d in days]
    assert shut == [False, True, True, False, False]


def test_closure_may_be_written_with_dates_without_quotes():
    # TOML has dates of its own (TOML 1.0.0, "Local Date").
    bare = Closure.model_validate(
        {"from": dt.date(2027, 2, 1), "to": dt.date(2027, 2, 5)}
    )
    assert bare.shuts(dt.date(2027, 2, 5), "morning")
    assert not bare.shuts(dt.date(2027, 2, 6), "morning")


def test_month_day_range_over_new_year_shuts_every_year():
    closure = Closure.model_validate({"from": "12-20", "to": "01-05"})
    days = [
        "2027-12-19", "2027-12-20", "2028-01-05", "2028-01-06", "2031-12-31",
    ]  # fmt: skip
    shut = [closure.shuts(dt.date.fromisoformat(d), "evening") for d in days]
    assert shut == [False, True, True, False, True]


# 9 August 2027 is a Monday and 13 August a Friday (Gregorian calendar, `cal 8 2027`).
@pytest.mark.parametrize(
    ("day", "weekday"),
    [
        (9, "Monday"),
        (10, "Tuesday"),
        (11, "Wednesday"),
        (12, "Thursday"),
        (13, "Friday"),
        (14, "Saturday"),
        (15, "Sunday"),
    ],
)
def test_weekday_shuts_both_sessions_of_that_day_alone(day, weekday):
    closure = Closure(weekday=weekday)
    for session in ("morning", "evening"):
        shut = [n for n in range(9, 16) if closure.shuts(dt.date(2027, 8, n), session)]
        assert shut == [day]


def test_weekday_with_a_session_shuts_that_half_only():
    closure = Closure(weekday="Friday", session="evening")
    friday = dt.date(2027, 8, 13)
    assert closure.shuts(friday, "evening")
    assert not closure.shuts(friday, "morning")


def test_weekday_within_dates_shuts_only_where_both_fit():
    closure = Closure.model_validate(
        {"from": "08-01", "to": "08-31", "weekday": "Friday"}
    )
    assert closure.shuts(dt.date(2027, 8, 13), "morning")
    assert not closure.shuts(dt.date(2027, 8, 12), "morning")
    assert not closure.shuts(dt.date(2027, 9, 3), "morning")  # a Friday too


@pytest.mark.parametrize(
    "closure",
    [
        {"reason": "rain"},
        {"from": "2027-02-01"},
        {"to": "2027-02-01"},
        {"from": "2027-02-01", "to": "02-05"},
        {"from": "2027-02-05", "to": "2027-02-01"},
        {"from": "2027-02-30", "to": "2027-03-01"},
        {"from": "2027-W05-1", "to": "2027-W06-1"},
        {"weekday": "friday"},
        {"weekday": "Friday", "session": "noon"},
    ],
)
def test_closure_that_says_no_clear_time_is_refused(closure):
    with pytest.raises(ValidationError):
        Closure.model_validate(closure)


def test_closure_gives_its_reason_in_place_of_the_drive():
    at = place(
        [{"morning": ("06:00", "10:00"), "evening": ("15:00", "18:00")}],
        ({"weekday": "Friday", "session": "evening", "reason": "market day"},),
    )
    morning, evening = drives.day(at, dt.date(2027, 8, 13)).sessions
    assert isinstance(morning, drives.Drive)
    assert isinstance(evening, drives.Closed)
    assert evening.reason == "market day"
