"""Local days and clock times against zoneinfo, and the written rule for changes."""

import datetime as dt
from collections.abc import Iterator
from itertools import pairwise
from zoneinfo import ZoneInfo, available_timezones

import numpy as np
import pytest
import pytz
import wild

from lightplan.sky import localtime

# pytz keeps offsets to whole minutes, and so do we. In 1950-2037 three zones had
# seconds in theirs: Monrovia until 1972, Niue and Rarotonga until 1952.
ROUNDED_S = 30
WITH_SECONDS = {"Africa/Monrovia", "Pacific/Niue", "Pacific/Rarotonga"}

SEED = 20270812
EPOCH = dt.datetime(1970, 1, 1)  # noqa: DTZ001 - a wall time has no zone
FIRST = int(np.datetime64("1950-01-01T00:00:00").astype(int))
LAST = int(np.datetime64("2037-12-31T23:59:59").astype(int))

ZONES = pytz.common_timezones


def offset_s(zone, utc_s):
    """Local time minus UTC, by zoneinfo."""
    moment = dt.datetime.fromtimestamp(int(utc_s), dt.UTC)
    return int(moment.astimezone(zone).utcoffset().total_seconds())


def seconds_to_utc(utc_s):
    return np.asarray(utc_s, dtype="datetime64[s]")


def wall_to_utc(name, wall_s):
    """Our answer for a wall time counted in seconds as if it were UTC."""
    date, clock = divmod(int(wall_s), 86_400)
    date = EPOCH.date() + dt.timedelta(days=date)
    return localtime.wall_to_utc(name, date, dt.timedelta(seconds=clock))


class Change:
    """An offset change: the first instant of the new offset."""

    def __init__(self, name, utc_s, before_s, after_s):
        self.name, self.utc_s = name, utc_s
        self.before_s, self.after_s = before_s, after_s

    def __repr__(self):
        return f"{self.name} {seconds_to_utc(self.utc_s)}"


@pytest.fixture(scope="module")
def changes(iana) -> list[Change]:
    """Every change of offset in every common zone, 1950-2037.

    Read from the IANA files by their layout, RFC 8536 section 3.1: a 44-octet
    header with the count at 32, then that many 32-bit transition times. (The
    three changes from or to an offset with seconds are left out.)
    """

    def read(name) -> Iterator[Change]:
        zone = iana(name)
        with pytz.open_resource(name) as file:
            content = file.read()
        count = int.from_bytes(content[32:36], "big")
        for utc_s in np.frombuffer(content, ">i4", count, offset=44).tolist():
            if FIRST + 86_400 < utc_s < LAST - 86_400:
                before, after = offset_s(zone, utc_s - 1), offset_s(zone, utc_s)
                if before != after:  # else only the name or the DST flag changes
                    yield Change(name, utc_s, before, after)

    found = [change for name in ZONES for change in read(name)]
    whole = [c for c in found if c.before_s % 60 == c.after_s % 60 == 0]
    assert {c.name for c in found} - {c.name for c in whole} <= WITH_SECONDS
    assert len(found) - len(whole) == len(WITH_SECONDS)
    return whole


# --- UTC to local time. Offsets in what follows are those of past years: no
# government can move them.


def test_offsets_are_zoneinfos_at_any_instant_in_any_zone(iana):
    random = np.random.default_rng(SEED)
    for name in ZONES:
        zone, instants = iana(name), random.integers(FIRST, LAST, 100)
        ours = 60 * localtime.offset_minutes(name, seconds_to_utc(instants))
        theirs = np.array([offset_s(zone, utc_s) for utc_s in instants])
        allowed = np.where(theirs % 60, ROUNDED_S, 0)
        assert (np.abs(ours - theirs) <= allowed).all(), name
        assert name in WITH_SECONDS or not allowed.any(), name


def test_offsets_are_those_of_this_machines_own_database():
    # Another copy of the IANA database, perhaps another release. What it says of
    # 1995-2024 is settled; earlier decades are still corrected now and then.
    random = np.random.default_rng(SEED)
    first, last = (int(np.datetime64(t, "s").astype(int)) for t in ("1995", "2025"))
    both = sorted(available_timezones().intersection(ZONES))
    assert len(both) > 400, "does this machine have a time zone database?"
    for name in both:
        zone, instants = ZoneInfo(name), random.integers(first, last, 50)
        ours = 60 * localtime.offset_minutes(name, seconds_to_utc(instants))
        assert ours.tolist() == [offset_s(zone, utc_s) for utc_s in instants], name


def test_offsets_change_at_the_second_zoneinfo_says(changes):
    by_zone = {}
    for change in changes:
        by_zone.setdefault(change.name, []).append(change)
    assert len(changes) > 20_000
    for name, known in by_zone.items():
        at = seconds_to_utc([c.utc_s for c in known])
        second = np.timedelta64(1, "s")
        before = 60 * localtime.offset_minutes(name, at - second)
        assert before.tolist() == [c.before_s for c in known], name
        after = 60 * localtime.offset_minutes(name, at)
        assert after.tolist() == [c.after_s for c in known], name


@pytest.mark.parametrize(
    ("name", "text"),
    [
        # IANA; none of these zones changed its clocks in 2024.
        ("Asia/Kathmandu", "UTC+5:45"),
        ("Asia/Kolkata", "UTC+5:30"),
        ("Australia/Darwin", "UTC+9:30"),
        ("Australia/Eucla", "UTC+8:45"),
        ("Pacific/Marquesas", "UTC−9:30"),
        ("Africa/Lusaka", "UTC+2"),
        ("America/La_Paz", "UTC−4"),
        ("Pacific/Kiritimati", "UTC+14"),
        ("Pacific/Pago_Pago", "UTC−11"),
        ("Africa/Abidjan", "UTC+0"),
    ],
)
def test_offsets_of_whole_half_and_quarter_hours_are_written_out(name, text):
    assert localtime.offset_text(name, np.datetime64("2024-01-15T12:00")) == text


def test_an_offset_is_written_as_it_is_at_the_instant():
    # New Zealand's daylight time ends on the first Sunday of April (IANA).
    chatham = "Pacific/Chatham"
    before, after = np.datetime64("2024-04-06T13:59:59"), np.datetime64("2024-04-06T14")
    assert localtime.offset_text(chatham, before) == "UTC+13:45"
    assert localtime.offset_text(chatham, after) == "UTC+12:45"


def test_walls_add_the_offset():
    utc = np.datetime64("2024-08-12T20:30:59")
    expected = np.datetime64("2024-08-13T02:15:59")
    assert localtime.to_wall("Asia/Kathmandu", utc) == expected


def test_walls_run_on_over_a_night_that_repeats_an_hour():
    # Madrid, 2024-10-27: 03:00 summer time is 02:00 standard time at 01:00 UTC.
    utc = np.arange("2024-10-27T00:30", "2024-10-27T02:00", 30, dtype="datetime64[m]")
    walls = localtime.to_wall("Europe/Madrid", utc)
    expected = ["2024-10-27T02:30", "2024-10-27T02:00", "2024-10-27T02:30"]
    np.testing.assert_array_equal(walls, np.array(expected, "datetime64[s]"))


@pytest.mark.parametrize("shape", [(0,), (0, 2), (5,), (2, 3)])
def test_shapes_of_instants_are_kept(shape):
    # The last shapes span a clock change.
    utc = np.datetime64("2024-10-26T12:00", "s") + np.arange(np.prod(shape)).reshape(
        shape
    ) * np.timedelta64(6, "h")
    offsets = localtime.offset_minutes("Europe/Madrid", utc)
    walls = localtime.to_wall("Europe/Madrid", utc)
    assert offsets.shape == walls.shape == shape
    each = [localtime.offset_minutes("Europe/Madrid", one) for one in utc.flat]
    assert offsets.ravel().tolist() == each


@pytest.mark.parametrize("utc", ["2024-08-12T12:00", "2024-10-27T00:59:59"])
def test_a_scalar_instant_gives_a_scalar(utc):
    instant = np.datetime64(utc)
    assert localtime.offset_minutes("Europe/Madrid", instant) == 120
    assert np.shape(localtime.offset_minutes("Europe/Madrid", instant)) == ()
    assert np.shape(localtime.to_wall("Europe/Madrid", instant)) == ()


@pytest.mark.parametrize("name", ["Asia/Kathmandu", "Europe/Madrid", "Pacific/Apia"])
def test_clock_date_and_aware_time_are_zoneinfos(iana, name):
    random = np.random.default_rng(SEED)
    for utc_s in random.integers(FIRST, LAST, 100):
        moment = dt.datetime.fromtimestamp(int(utc_s), dt.UTC)
        theirs, instant = moment.astimezone(iana(name)), seconds_to_utc(utc_s)
        ours = localtime.aware(name, instant[()])
        assert ours == moment
        assert ours.replace(tzinfo=None) == theirs.replace(tzinfo=None)
        assert ours.utcoffset() == theirs.utcoffset()
        assert localtime.clock(name, instant[()]) == theirs.strftime("%H:%M")
        assert localtime.date_at(name, moment) == theirs.date()


# --- Local time to UTC: a skipped wall time is the first instant after the change,
# a repeated one the first of the two.


def test_a_skipped_wall_time_is_the_first_instant_after_the_change(changes):
    random = np.random.default_rng(SEED)
    skipping = [c for c in changes if c.after_s > c.before_s]
    wrong = []
    for change in wild.some(skipping):
        skipped = random.integers(change.before_s, change.after_s)
        found = wall_to_utc(change.name, change.utc_s + skipped)
        if found != (seconds_to_utc(change.utc_s), "skipped"):
            wrong.append((change, found))
    assert len(skipping) > 10_000
    assert not wrong, f"{len(wrong)} of {len(skipping)}, first {wrong[0]}"


def test_a_repeated_wall_time_is_the_first_of_the_two(changes):
    random = np.random.default_rng(SEED)
    repeating = [c for c in changes if c.after_s < c.before_s]
    for change in wild.some(repeating):
        wall_s = change.utc_s + random.integers(change.after_s, change.before_s)
        found = wall_to_utc(change.name, wall_s)
        assert found == (seconds_to_utc(wall_s - change.before_s), "repeated"), change
    assert len(repeating) > 10_000


def test_every_minute_of_a_skipped_hour_is_the_same_instant():
    # Directive 2000/84/EC: summer time begins on the last Sunday of March at
    # 01:00 UTC; in Madrid 02:00 becomes 03:00.
    two = np.datetime64("2024-03-31T02:00:00").astype(int)
    found = {wall_to_utc("Europe/Madrid", two + 60 * minute) for minute in range(60)}
    assert found == {(np.datetime64("2024-03-31T01:00:00"), "skipped")}


def test_every_minute_of_a_repeated_hour_is_in_the_first_of_the_two():
    # The same directive: summer time ends on the last Sunday of October at 01:00
    # UTC; in Madrid 03:00 becomes 02:00.
    two, midnight = np.datetime64("2024-10-27T02:00:00"), np.datetime64("2024-10-27")
    for minute in range(60):
        found = wall_to_utc("Europe/Madrid", two.astype(int) + 60 * minute)
        assert found == (midnight + np.timedelta64(minute, "m"), "repeated")


def test_the_edges_of_a_change_are_ordinary_times(changes):
    # The last second before it, the first after it, an hour or more around.
    for change in changes[::20]:
        low, high = sorted((change.before_s, change.after_s))
        for wall_s, offset in (
            (change.utc_s + low - 1, change.before_s),
            (change.utc_s + high, change.after_s),
        ):
            found = wall_to_utc(change.name, wall_s)
            assert found == (seconds_to_utc(wall_s - offset), ""), change


def test_any_other_wall_time_is_zoneinfos(iana):
    random = np.random.default_rng(SEED)
    for name in ZONES:
        zone = iana(name)
        for wall_s in random.integers(FIRST, LAST, 20):
            wall = EPOCH + dt.timedelta(seconds=int(wall_s))
            first, second = (
                int(wall.replace(tzinfo=zone, fold=fold).timestamp()) for fold in (0, 1)
            )
            if first != second:
                continue  # a change, settled in the tests above
            found = wall_to_utc(name, wall_s)
            apart = abs(int(found.utc.astype(int)) - first)
            assert apart <= (ROUNDED_S if name in WITH_SECONDS else 0), (name, wall)
            assert found.change == ""


def test_24_hours_and_more_belong_to_the_next_date():
    date = dt.date(2024, 8, 12)
    late = localtime.wall_to_utc("Africa/Lusaka", date, dt.timedelta(hours=25.5))
    assert late == (np.datetime64("2024-08-12T23:30:00"), "")


# --- Local days.


def test_days_are_zoneinfos_in_any_zone(iana):
    random = np.random.default_rng(SEED)
    span = (dt.date(2037, 12, 31) - dt.date(1950, 1, 1)).days + 1
    for name in ZONES:
        zone = iana(name)
        for days in random.integers(0, span, 10).tolist():
            date = dt.date(1950, 1, 1) + dt.timedelta(days=days)
            for ours, day in zip(
                localtime.day_utc(name, date),
                (date, date + dt.timedelta(days=1)),
                strict=True,
            ):
                # zoneinfo's default, fold=0, is our rule at midnight: the first of
                # two, and for one with which a gap begins the change itself.
                theirs = dt.datetime.combine(day, dt.time(), zone).timestamp()
                apart = abs(int(ours.astype(int)) - theirs)
                assert apart <= (ROUNDED_S if name in WITH_SECONDS else 0), (name, day)


@pytest.mark.parametrize(
    ("name", "date", "hours"),
    [
        ("Africa/Lusaka", dt.date(2024, 8, 12), 24),
        ("Europe/Madrid", dt.date(2024, 3, 31), 23),
        ("Europe/Madrid", dt.date(2024, 10, 27), 25),
        ("Australia/Lord_Howe", dt.date(2023, 10, 1), 23.5),
        ("Australia/Lord_Howe", dt.date(2024, 4, 7), 24.5),
        # Midnight itself was skipped: the day began at 01:00.
        ("America/Sao_Paulo", dt.date(2017, 10, 15), 23),
        # The hour before midnight was lived twice.
        ("America/Sao_Paulo", dt.date(2018, 2, 17), 25),
        # Samoa went from 2011-12-29 to 2011-12-31.
        ("Pacific/Apia", dt.date(2011, 12, 30), 0),
    ],
)
def test_a_day_is_as_long_as_its_clocks_make_it(name, date, hours):
    start, end = localtime.day_utc(name, date)
    assert (end - start) / np.timedelta64(1, "h") == hours


@pytest.mark.parametrize(
    "name", ["Europe/Madrid", "America/Sao_Paulo", "Africa/Cairo", "Pacific/Apia"]
)
def test_each_day_begins_where_the_one_before_it_ends(name):
    dates = [dt.date(2010, 12, 1) + dt.timedelta(days=n) for n in range(800)]
    days = [localtime.day_utc(name, date) for date in dates]
    assert all(one[1] == following[0] for one, following in pairwise(days))


# --- What is refused.


@pytest.mark.parametrize("date", [dt.date(1949, 12, 31), dt.date(2038, 1, 1)])
@pytest.mark.parametrize(
    "ask",
    [localtime.checked_date, lambda date: localtime.day_utc("Europe/Madrid", date)],
    ids=["checked_date", "day_utc"],
)
def test_a_date_outside_the_known_years_is_named_with_their_range(ask, date):
    with pytest.raises(ValueError, match=r"date must be in 1950.2037 ") as e:
        ask(date)
    assert date.isoformat() in str(e.value)


@pytest.mark.parametrize("date", [dt.date(1950, 1, 1), dt.date(2037, 12, 31)])
def test_the_first_and_the_last_date_are_among_them(date):
    assert localtime.checked_date(date) == date
    start, end = localtime.day_utc("America/Santiago", date)  # in summer time in 2037
    assert end - start == np.timedelta64(24, "h")


def test_dates_end_in_2037_because_pytz_knows_no_change_after_it(iana):
    # zoneinfo goes on by the rule at the end of the same file; pytz does not.
    noon, name = np.datetime64("2038-07-01T12:00:00"), "Europe/Madrid"
    assert offset_s(iana(name), noon.astype(int)) == 2 * 3600
    assert localtime.aware(name, noon).utcoffset() == dt.timedelta(hours=1)
    a_year_before = np.datetime64("2037-07-01T12:00:00")
    assert localtime.aware(name, a_year_before).utcoffset() == dt.timedelta(hours=2)


@pytest.mark.parametrize(
    ("unknown", "near"),
    [
        ("Africa/Lusakka", "Africa/Lusaka"),
        ("Africa/Nairoby", "Africa/Nairobi"),
        ("Asia/Calcuta", "Asia/Calcutta"),
        ("africa/lusaka", "Africa/Lusaka"),
        ("Europe/Madird", "Europe/Madrid"),
    ],
)
def test_an_unknown_zone_is_named_and_a_near_one_proposed(unknown, near):
    with pytest.raises(ValueError, match=f"did you mean {near}") as e:
        localtime.zone(unknown)
    assert repr(unknown) in str(e.value)


@pytest.mark.parametrize("unknown", ["", "?", "qqqqqqqqqqqq"])
def test_an_unknown_zone_like_no_other_is_named_with_an_example(unknown):
    with pytest.raises(ValueError, match="is not an IANA zone name") as e:
        localtime.zone(unknown)
    assert repr(unknown) in str(e.value)
    assert "for example Africa/Lusaka" in str(e.value)


@pytest.mark.parametrize(
    "ask",
    [
        lambda name: localtime.day_utc(name, dt.date(2024, 8, 12)),
        lambda name: localtime.wall_to_utc(name, dt.date(2024, 8, 12), dt.timedelta()),
        lambda name: localtime.offset_minutes(name, np.datetime64("2024-08-12")),
        lambda name: localtime.to_wall(name, np.datetime64("2024-08-12")),
        lambda name: localtime.clock(name, np.datetime64("2024-08-12")),
    ],
    ids=["day_utc", "wall_to_utc", "offset_minutes", "to_wall", "clock"],
)
def test_no_function_takes_an_unknown_zone(ask):
    with pytest.raises(ValueError, match="'Africa/Lusakka' is not an IANA zone name"):
        ask("Africa/Lusakka")


def test_the_names_on_offer_are_sorted_and_zoneinfo_knows_them_all(iana):
    names = localtime.zone_names()
    assert list(names) == sorted(names)
    assert {"Africa/Lusaka", "Asia/Kolkata", "America/Sao_Paulo"} <= set(names)
    for name in names:
        assert iana(name).key == name


@pytest.mark.parametrize(
    ("zone", "first"),
    [
        ("Europe/Berlin", "2025-03-28"),
        ("Europe/Berlin", "2025-10-24"),
        ("America/St_Johns", "2010-11-05"),  # at a minute past midnight
        ("Australia/Lord_Howe", "2025-04-03"),  # by half an hour
        ("Pacific/Apia", "2011-12-28"),  # a day that was left out
        ("America/Noronha", "2000-10-06"),  # there and back within a week
        ("America/Noronha", "2000-10-13"),
    ],
)
def test_many_wall_times_are_settled_as_each_alone(zone, first):
    walls = np.datetime64(first, "s") + np.arange(5 * 24 * 4) * np.timedelta64(15, "m")
    each = [
        localtime.wall_to_utc(
            zone, wall.date(), wall - dt.datetime.combine(wall, dt.time())
        ).utc
        for wall in walls.tolist()
    ]
    assert localtime.to_utc(zone, walls).tolist() == np.array(each).tolist()
