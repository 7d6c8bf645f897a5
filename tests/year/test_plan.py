"""A year at a place: its minutes are those of its days, its light that of astropy."""

import datetime as dt
import warnings
from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from lightplan.catalog.gates import SESSIONS
from lightplan.catalog.kit import Body, Lens, Rig
from lightplan.catalog.places import Place
from lightplan.light import daylight
from lightplan.sky import sun, sun_days
from lightplan.trip import plan
from lightplan.trip.drives import MAX_DAYS
from lightplan.trip.request import FACING_INDEX, FACINGS, Request, RigChoice
from lightplan.year import plan as year_plan

MINUTE, DAY = np.timedelta64(1, "m"), dt.timedelta(days=1)
# A session: NOAA's sun is within 10 s of astropy's, so each end of golden light falls
# into the same minute or, one time in six, into the next.
EDGE_MIN = 1
# The edge is an instant, the search finds the first whole minute after it; 0.01° of
# altitude and the two ephemerides add seconds.
EDGE = np.timedelta64(60 + 15, "s")
# Rise and set are printed to the minute, so their difference is off by up to one;
# the equations add some seconds.
PRINTED_S = 60 + 10
# The workbook takes declination and equation of time of one instant for the day's
# two ends: 0.4° of declination a day at most, half a day away, at the equinoxes; at
# the solstices next to nothing.
WORKBOOK_S = 15
SAME = 1e-9

BODY = Body(name="body", format="full frame", megapixels=45, iso_ceiling=6400)


def choice(f_number: float, shutter_s: float, iso_ceiling: float) -> RigChoice:
    lens = Lens(name="lens", widest=((400, f_number),))
    rig = Rig(name=f"f/{f_number}", body=BODY, lens=lens)
    return RigChoice(rig, 400, f_number, shutter_s, iso_ceiling)


RIGS = (choice(6.3, 1 / 1000, 6400), choice(2.8, 1 / 2500, 3200))
FRIDAYS = {"weekday": "Friday", "session": "evening", "reason": "closed"}
RAINS = {"from": "04-10", "to": "05-20", "reason": "long rains"}


def place(timezone, latitude_deg, longitude_deg, hours=None, closures=()) -> Place:
    return Place.model_validate(
        {
            "name": "Test Pan",
            "latitude_deg": latitude_deg,
            "longitude_deg": longitude_deg,
            "timezone": timezone,
            "gates": [hours] if hours else [],
            "closures": closures,
        }
    )


HOURS = {"morning": ("06:00", "10:00"), "evening": ("15:30", "18:30")}
NIGHTS = HOURS | {"night": ("19:30", "22:00")}
PLACES = {
    "13° S": place("Africa/Lusaka", -13.1, 31.8, HOURS, [FRIDAYS]),
    "nights": place("Africa/Nairobi", 0.2, 36.9, NIGHTS, [RAINS]),
    "37° N": place(
        "Europe/Madrid", 37.0, -6.4,
        {"morning": ("sunrise-00:30", "11:00"), "evening": ("17:00", "sunset+00:20")},
    ),
    "clock gates, 37° N": place(
        "Europe/Madrid", 37.0, -6.4,
        {"morning": ("07:15", "11:00"), "evening": ("17:00", "21:15")},
    ),
    "51° S": place(
        "America/Punta_Arenas", -51.0, -72.9,
        {"morning": ("05:30", "10:00"), "evening": ("17:30", "22:00")},
    ),
    "78° N": place("Arctic/Longyearbyen", 78.0, 15.6),
    "78° S": place("UTC", -78.0, 15.6),
    "no gates": place("Africa/Lusaka", -13.1, 31.8),
    "short": place("Africa/Lusaka", -13.1, 31.8, {"morning": ("06:00", "06:30")}),
    # The clock jumps in full daylight here: noon is near 01:00 UTC.
    "jump by day": place(
        "Europe/Madrid", 37.0, 165.0, {"morning": ("00:00", "06:00")}
    ),
    "jump back by day": place(
        "America/New_York", 37.0, 90.0, {"morning": ("00:00", "06:00")}
    ),
}  # fmt: skip


def request(name: str, facing: str = "side") -> Request:
    any_day = dt.date(2027, 8, 12)
    # By altitude, which other libraries know too; warm light is held to its colours.
    return Request(PLACES[name], any_day, any_day, RIGS, facing=facing, gold="golden")


@cache
def year_at(
    name: str, year: int = 2027, rig: int = 0, facing: str = "side"
) -> year_plan.YearPlan:
    return year_plan.make(request(name, facing), year, rig)


@cache
def drives_by_pieces(name: str, year: int = 2027) -> tuple[plan.DrivePlan, ...]:
    """The same year as trips of the longest length that a trip may have."""
    found: list[plan.DrivePlan] = []
    first, end = dt.date(year, 1, 1), dt.date(year, 12, 31)
    while first <= end:
        last = min(first + (MAX_DAYS - 1) * DAY, end)
        found += plan.make(replace(request(name), first=first, last=last)).drives
        first = last + DAY
    return tuple(found)


# ------------------------------------------------------- a year is its days

both = pytest.mark.parametrize("name", ["nights", "37° N"])


@both
def test_year_has_the_drives_of_its_days_own_plans(name):
    ours = [d.drive for d in year_at(name).plan.drives]
    assert ours == [d.drive for d in drives_by_pieces(name)]


@both
def test_every_outcome_of_the_year_is_that_of_the_days_own_plan(name):
    pairs = zip(year_at(name).plan.drives, drives_by_pieces(name), strict=True)
    # A year has no ladders.
    found = [
        ours.key
        for ours, own in pairs
        if ours.outcomes
        != tuple(tuple(replace(o, ladder=()) for o in rig) for rig in own.outcomes)
    ]
    assert found == []


@pytest.mark.parametrize(
    ("name", "facing"),
    [("nights", "side"), ("37° N", "front"), ("37° N", "side"), ("37° N", "back")],
)
def test_years_weeks_sum_up_to_the_days_own_plans(name, facing):
    of = year_at(name, facing=facing)
    side = FACING_INDEX[facing]
    own = drives_by_pieces(name)
    for s, session in enumerate(SESSIONS):
        held = [d for d in own if d.session == session]
        golden = sum(d.window_min("golden") for d in held)
        assert sum(week.best_min[s] for week in of.weeks) == golden
        for rig in range(len(RIGS)):
            outcomes = [d.outcomes[rig][side] for d in held]
            usable = sum(o.usable_min for o in outcomes)
            in_golden = sum(o.usable_best_min for o in outcomes)
            assert sum(w.usable_min[rig][s] for w in of.weeks) == usable
            assert sum(w.usable_best_min[rig][s] for w in of.weeks) == in_golden


@both
def test_each_week_sums_up_its_own_days(name):
    own = drives_by_pieces(name)
    for week in year_at(name).weeks[::5]:
        held = [d for d in own if week.first <= d.date <= week.last]
        assert week.drives == len(held)
        assert sum(week.best_min) == sum(d.window_min("golden") for d in held)
        for rig in range(len(RIGS)):
            expected = sum(d.outcomes[rig][1].usable_min for d in held)
            assert sum(week.usable_min[rig]) == expected


def test_night_sessions_have_minutes_of_their_own():
    weeks = year_at("nights").weeks
    # Two and a half hours a night from which the sun is 18° down: no golden light,
    # and none that f/6.3 could use.
    assert {week.best_min[2] for week in weeks} == {0}
    assert any("19:30–22:00" in week.gates for week in weeks)
    assert any(week.drives == 21 for week in weeks)


def test_weeks_count_their_closed_sessions():
    # 2027 has 53 Fridays; each has one evening closed, of 14 sessions a week.
    weeks = year_at("13° S").weeks
    assert sum(week.closed for week in weeks) == 53
    whole = [w for w in weeks if (w.last - w.first).days == 6]
    assert {(w.closed, w.drives) for w in whole} == {(1, 13)}


def test_closed_season_has_weeks_without_drives():
    week = next(w for w in year_at("nights").weeks if w.first == dt.date(2027, 4, 19))
    assert (week.drives, week.closed, week.gates) == (0, 21, ())
    assert sum(week.best_min) == 0


# ----------------------------------------------------------- golden light by week


@pytest.fixture(scope="module")
def astropy_altitude_deg():
    """The sun's geometric altitude by astropy's builtin ephemeris."""
    from astropy import units
    from astropy.coordinates import AltAz, EarthLocation, get_sun
    from astropy.time import Time
    from astropy.utils import iers
    from astropy.utils.exceptions import AstropyWarning

    def altitude(utc, at: Place):
        with (
            iers.conf.set_temp("auto_download", False),
            iers.conf.set_temp("auto_max_age", None),
            warnings.catch_warnings(),
        ):
            warnings.filterwarnings("ignore", ".*polar motions.*", AstropyWarning)
            time = Time(utc.astype("datetime64[ms]"))
            here = EarthLocation.from_geodetic(
                at.longitude_deg * units.deg, at.latitude_deg * units.deg
            )
            frame = AltAz(obstime=time, location=here, pressure=0 * units.hPa)
            return get_sun(time).transform_to(frame).alt.deg

    return altitude


def wall(zone, date: dt.date, text: str) -> np.datetime64:
    """A gate's clock time in UTC, by zoneinfo."""
    moment = dt.datetime.combine(date, dt.time.fromisoformat(text), zone)
    return np.datetime64(moment.astimezone(dt.UTC).replace(tzinfo=None), "m")


# Mondays: a solstice, an equinox, the week of Madrid's clock change on 28 March,
# and one of the dry season.
@pytest.mark.parametrize("monday", ["2027-03-22", "2027-06-21", "2027-08-09"])
@pytest.mark.parametrize("name", ["13° S", "clock gates, 37° N", "51° S"])
def test_golden_minutes_of_a_week_are_those_of_astropys_sun(
    iana, astropy_altitude_deg, name, monday
):
    first = dt.date.fromisoformat(monday)
    at = PLACES[name]
    zone = iana(at.timezone)
    week = next(w for w in year_at(name).weeks if w.first == first)
    for s, session in enumerate(SESSIONS[:2]):
        opens, closes = getattr(at.gates[0], session)
        grids = [
            np.arange(wall(zone, date, opens), wall(zone, date, closes))
            for date in (first + n * DAY for n in range(7))
            if not (at.closures and session == "evening" and date.weekday() == 4)
        ]
        altitude = astropy_altitude_deg(np.concatenate(grids), at)
        golden = int(((altitude >= -4.0) & (altitude < 6.0)).sum())
        assert golden > 0 or name == "51° S"
        assert abs(week.best_min[s] - golden) <= EDGE_MIN * len(grids)


def test_golden_light_lasts_longer_far_from_the_equator():
    # The sun's path is steep near the equator: 10° take some 42 minutes there, and
    # over 80 at 51° in summer. The gates hold all of it in these weeks.
    near = next(w for w in year_at("no gates").weeks if w.first == dt.date(2027, 3, 22))
    far = next(w for w in year_at("51° S").weeks if w.first == dt.date(2027, 10, 18))
    assert far.best_min[0] > near.best_min[0] > 7 * 38


# ---------------------------------------------------------------- weeks and years


@pytest.mark.parametrize(
    ("year", "days"), [(1950, 365), (2000, 366), (2027, 365), (2028, 366), (2037, 365)]
)
def test_weeks_run_from_monday_to_sunday_over_the_whole_year(year, days):
    weeks = year_at("short", year).weeks
    assert weeks[0].first == dt.date(year, 1, 1)
    assert weeks[-1].last == dt.date(year, 12, 31)
    for before, after in pairwise(weeks):
        assert after.first - before.last == DAY
        assert before.last.weekday() == 6  # a Sunday
        assert after.first.weekday() == 0  # a Monday
    assert sum((w.last - w.first).days + 1 for w in weeks) == days
    assert sum(w.drives for w in weeks) == days  # one drive a day


@pytest.mark.parametrize(("year", "days"), [(1950, 365), (2028, 366), (2037, 365)])
def test_picture_has_a_column_for_every_date(year, days):
    picture = year_at("short", year).picture
    assert picture.iso.shape == (144, days)
    assert picture.dates[0] == dt.date(year, 1, 1)
    assert picture.dates[-1] == dt.date(year, 12, 31)
    assert list(picture.minutes) == list(range(0, 1440, 10))
    assert np.isfinite(picture.iso).all()


@pytest.mark.parametrize("year", [1949, 2038, 0, -1])
def test_year_out_of_range_is_refused_in_one_sentence(year):
    with pytest.raises(ValueError, match=rf"^year must be 1950 to 2037, got {year}$"):
        year_plan.make(request("short"), year)


@pytest.mark.parametrize("year", [1950, 2037])
def test_moon_of_a_week_is_that_of_the_middle_of_it(year):
    # By the mean month the age runs on by a week a week, within the moon's uneven
    # pace of some 14 h; 29.53 days bring it back.
    ages = np.array([w.moon_age_days for w in year_at("short", year).weeks[1:-1]])
    step = np.diff(ages) % 29.530589
    assert np.abs(step - 7.0).max() < 1.2
    fractions = np.array([w.moon_fraction for w in year_at("short", year).weeks[1:-1]])
    # Meeus ch. 48: fraction (1 − cos D)/2 for an elongation D, nearly the age.
    expected = (1 - np.cos(2 * np.pi * ages / 29.530589)) / 2
    assert np.abs(fractions - expected).max() < 0.01


def test_moon_of_a_known_week_is_usnos():
    # USNO: first quarter 2018-09-16 23:15 UT, full 2018-09-25 02:52; the middle of
    # the week of 24 September is Thursday noon, 2.38 d past full.
    week = next(
        w for w in year_at("short", 2018).weeks if w.first == dt.date(2018, 9, 24)
    )
    assert week.moon_age_days == pytest.approx(29.53 / 2 + 2.38, abs=0.4)


# ----------------------------------------------------------------- far north and south


@pytest.mark.parametrize(
    ("name", "summer", "winter"),
    [("78° N", "2027-06-21", "2027-12-20"), ("78° S", "2027-12-20", "2027-06-21")],
)
def test_78_degrees_have_midnight_sun_and_polar_night(name, summer, winter):
    weeks = {w.first.isoformat(): w for w in year_at(name).weeks}
    bright, dark = weeks[summer], weeks[winter]
    # At its lowest the June sun stands 90 − 78 − 23.4 = −11.4°: 11.4° up.
    assert (bright.drives, bright.best_min) == (14, (0, 0, 0))
    assert bright.usable_min[0][0] == 7 * 240  # every minute of four hours
    # At noon the winter sun is 11.4° below the horizon.
    assert (dark.drives, dark.closed, dark.usable_min[0]) == (0, 14, (0, 0, 0))


@pytest.mark.parametrize("name", ["78° N", "78° S"])
def test_days_that_are_light_or_dark_throughout_have_no_edges(name):
    of = year_at(name)
    for date in (dt.date(2027, 6, 21), dt.date(2027, 12, 21)):
        i = of.picture.dates.index(date)
        assert np.isnat(of.edges.first_utc[i])
        assert np.isnat(of.edges.last_utc[i])


def test_place_without_gates_has_two_drives_every_day():
    weeks = year_at("no gates").weeks
    assert sum(w.drives for w in weeks) == 2 * 365
    assert sum(w.closed for w in weeks) == 0
    # Civil twilight to four hours later holds all golden light.
    assert all(week.best_min[0] > 30 for week in weeks)


# ----------------------------------------------------------------------- day lengths


def lengths_s(at: Place, dates: list[str]) -> list[float]:
    days = sun_days.sun_days(
        at.latitude_deg,
        at.longitude_deg,
        at.timezone,
        [dt.date.fromisoformat(date) for date in dates],
    )
    return [
        float((day.sunset_utc - day.sunrise_utc) / np.timedelta64(1, "s"))
        for day in days
    ]


def test_day_lengths_at_the_solstices_are_usnos(rows):
    # US Naval Observatory, Brasilia 2020 (usno_sun_tables.csv), near the solstices;
    # there the UT date of the table is the local one.
    table = [
        r
        for r in rows("usno_sun_tables.csv")
        if r["place"] == "Brasilia BR"
        and r["event_kind"] == "sunrise_sunset"
        and r["table_date_ut"][5:] in ("06-15", "06-25", "12-15", "12-25")
    ]
    assert len(table) == 4
    at = place("America/Sao_Paulo", -15.8, -47.85)
    found = lengths_s(at, [row["table_date_ut"] for row in table])
    for row, length in zip(table, found, strict=True):
        rises, sets = (
            dt.datetime.strptime(row[key], "%H:%M")  # noqa: DTZ007 - both UT
            for key in ("rise_or_begin_ut_hhmm", "set_or_end_ut_hhmm")
        )
        assert abs(length - (sets - rises).total_seconds()) <= PRINTED_S


def test_day_lengths_are_those_of_noaas_workbook(rows):
    # NOAA_Solar_Calculations_year (N5): 40° N, 105° W, UTC−7, 2010.
    table = rows("noaa_spreadsheet_year_2010_lat40_lon-105_tz-7.csv")
    near = [r for r in table if r["date"][5:7] in ("06", "12")]
    assert len(near) == 4
    at = place("Etc/GMT+7", 40.0, -105.0)
    found = lengths_s(at, [row["date"] for row in near])
    expected = [60 * float(row["sunlight_duration_min"]) for row in near]
    assert found == pytest.approx(expected, abs=WORKBOOK_S)


def test_longest_and_shortest_day_are_those_of_the_solstices():
    # June solstice 2027 on 21 June 14:11, December on 22 December 02:42 UT (from
    # memory, not confirmed); the length is level to a second for days around.
    of = year_at("37° N")
    dates = of.picture.dates
    lengths = [d.sun.sunset_utc - d.sun.sunrise_utc for d in of.plan.days]
    longest, shortest = (dates[pick(lengths)] for pick in (np.argmax, np.argmin))
    assert abs(longest - dt.date(2027, 6, 21)) <= DAY
    assert abs(shortest - dt.date(2027, 12, 22)) <= DAY


# ----------------------------------------------------------- from which sun on


def needed(rig: RigChoice, altitude_deg: float, facing: str, sky: str, cover: str):
    """ISO 2720: S = 250 · N² / (E · t)."""
    apparent = sun.apparent_altitude_deg(altitude_deg)
    angle_deg = FACINGS[FACING_INDEX[facing]].angle_deg
    lux = float(daylight.subject_lux(apparent, angle_deg, sky, cover))
    return 250 * rig.f_number**2 / (lux * rig.shutter_s)


@pytest.mark.parametrize(
    ("sky", "cover"),
    [("clear", "open"), ("haze", "woodland"), ("overcast", "open"), ("storm", "shade")],
)
@pytest.mark.parametrize("facing", FACING_INDEX)
@pytest.mark.parametrize("rig", [0, 1])
def test_rig_is_usable_from_the_altitude_given_and_not_below(rig, facing, sky, cover):
    use = RIGS[rig]
    level = year_plan.usable_altitude_deg(use, facing, sky, cover)
    assert needed(use, level, facing, sky, cover) <= use.iso_ceiling * (1 + SAME)
    assert needed(use, level - 0.02, facing, sky, cover) > use.iso_ceiling


def test_rig_that_no_sun_is_enough_for_has_no_altitude():
    slow = choice(11.0, 1 / 4000, 100)
    assert year_plan.usable_altitude_deg(slow, "back", "storm", "canopy") is None
    at = year_plan.make(replace(request("short"), rigs=(slow,), sky="storm"), 2027)
    assert np.isnat(at.edges.first_utc).all()
    assert np.isnat(at.edges.last_utc).all()


def by_search(spa, day, at: Place, rig: RigChoice, morning: bool):
    """The first minute of a morning, or last of an evening, within the ceiling."""
    noon = day.sun.noon_utc.astype("datetime64[m]")
    half = 720 * MINUTE
    grid = np.arange(noon - half, noon) if morning else np.arange(noon, noon + half)
    altitude = spa(grid, at.latitude_deg, at.longitude_deg).altitude_deg
    lux = daylight.subject_lux(sun.apparent_altitude_deg(altitude), 90.0)
    usable = np.flatnonzero(
        250 * rig.f_number**2 / (lux * rig.shutter_s) <= rig.iso_ceiling
    )
    return grid[usable[0] if morning else usable[-1]]


@pytest.mark.parametrize(
    ("name", "rig"), [("37° N", 0), ("37° N", 1), ("51° S", 0), ("nights", 0)]
)
def test_edges_are_the_first_and_last_usable_minutes_of_a_search(spa, name, rig):
    of = year_at(name, rig=rig)
    at = PLACES[name]
    for i in range(5, 365, 40):
        day = of.plan.days[i]
        first = by_search(spa, day, at, RIGS[rig], True)
        last = by_search(spa, day, at, RIGS[rig], False)
        assert abs(of.edges.first_utc[i] - first) <= EDGE, day.date
        assert abs(of.edges.last_utc[i] - last) <= EDGE, day.date


# ---------------------------------------------------------------------- the picture


def shared_minutes(of: year_plan.YearPlan, zone):
    """Yield what picture and plan say of the same instant, moonless minutes only.

    The picture leaves the moon out, so minutes darker than −6° are not compared.
    A wall time that a clock change repeats is left to a test of its own.
    """
    column = {date: i for i, date in enumerate(of.picture.dates)}
    for drive in of.plan.drives:
        instants = [
            t.replace(tzinfo=dt.UTC).astimezone(zone) for t in drive.utc.tolist()
        ]
        for n, local in enumerate(instants):
            twice = (
                local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()
            )
            if local.minute % 10 or twice or drive.altitude_deg[n] < -6.0:
                continue
            row = (local.hour * 60 + local.minute) // 10
            if local.date() in column:
                ours = of.picture.iso[row, column[local.date()]]
                yield ours, drive.iso[of.rig, FACING_INDEX[of.plan.request.facing], n]


@pytest.mark.parametrize(("rig", "facing"), [(0, "side"), (1, "side"), (0, "back")])
def test_picture_is_the_plans_iso_at_shared_minutes(iana, rig, facing):
    of = year_at("37° N", rig=rig, facing=facing)
    picture, planned = np.transpose([*shared_minutes(of, iana("Europe/Madrid"))])
    assert len(picture) > 365 * 40
    assert np.abs(picture / planned - 1).max() <= SAME


@pytest.mark.parametrize(
    ("name", "dates"),
    [
        # EU directive 2000/84: the last Sundays of March and October, 01:00 UTC.
        ("jump by day", (dt.date(2027, 3, 28), dt.date(2027, 10, 31))),
        # US Energy Policy Act 2005: second Sunday of March, first of November, 02:00.
        ("jump back by day", (dt.date(2027, 3, 14), dt.date(2027, 11, 7))),
    ],
)
def test_picture_is_the_plans_iso_on_the_very_days_of_a_clock_change(iana, name, dates):
    of = year_at(name)
    zone = iana(PLACES[name].timezone)
    for date in dates:
        (drive,) = (d for d in of.plan.drives if d.date == date)
        hours = 5 if date.month < 6 else 7
        assert len(drive.utc) == 60 * hours + 1
        assert drive.altitude_deg.min() > -6
    picture, planned = np.transpose([*shared_minutes(of, zone)])
    assert np.abs(picture / planned - 1).max() <= SAME


@pytest.mark.parametrize(
    ("name", "date"),
    [
        ("jump by day", dt.date(2027, 10, 31)),
        ("jump back by day", dt.date(2027, 11, 7)),
    ],
)
def test_repeated_hour_shows_one_of_its_two_instants(iana, name, date):
    of = year_at(name)
    zone = iana(PLACES[name].timezone)
    (drive,) = (d for d in of.plan.drives if d.date == date)
    column = of.picture.dates.index(date)
    iso = {}
    for n, t in enumerate(drive.utc.tolist()):
        local = t.replace(tzinfo=dt.UTC).astimezone(zone)
        iso.setdefault(local.strftime("%H:%M"), []).append(drive.iso[0, 1, n])
    repeated = {clock: both for clock, both in iso.items() if len(both) == 2}
    assert len(repeated) == 60
    for clock, both in repeated.items():
        if clock.endswith("0"):
            row = (int(clock[:2]) * 60 + int(clock[3:])) // 10
            ours = of.picture.iso[row, column]
            assert min(abs(ours / one - 1) for one in both) <= SAME


def test_picture_of_another_rig_differs_by_its_aperture_and_shutter():
    # N²/t: (6.3² · 1000) / (2.8² · 2500)
    ratio = year_at("37° N", rig=0).picture.iso / year_at("37° N", rig=1).picture.iso
    assert ratio == pytest.approx(6.3**2 * 1000 / (2.8**2 * 2500), rel=SAME)


# ------------------------------------------------------------- warm light


def test_warm_weeks_are_counted_in_each_months_own_air():
    # Clean from April to September, dusty in the other half: no warm light there.
    months = (0.4,) * 3 + (0.1,) * 6 + (0.4,) * 3
    place = PLACES["13° S"].model_copy(update={"air": months})
    asked = replace(request("13° S"), place=place, gold="warm")
    of = year_plan.make(asked, 2027)
    for week in of.weeks:
        held = [d for d in of.plan.drives if week.first <= d.date <= week.last]
        warm = sum(int((d.kelvin[1][:-1] <= 4500).sum()) for d in held)
        assert sum(week.best_min) == warm
        assert sum(week.usable_best_min[0]) <= warm
        if {d.date.month for d in held} <= {4, 5, 6, 7, 8, 9}:
            assert warm > 100
        elif not {d.date.month for d in held} & {4, 5, 6, 7, 8, 9}:
            assert warm == 0


def test_the_picture_and_its_edges_are_in_each_months_own_air():
    months = (0.8,) * 6 + (0.05,) * 6
    place = PLACES["13° S"].model_copy(update={"air": months})
    asked = replace(request("13° S"), place=place)
    of = year_plan.make(asked, 2027)
    alike = {
        aod: year_plan.make(replace(asked, aod500=aod), 2027) for aod in (0.8, 0.05)
    }
    for first, aod in ((0, 0.8), (200, 0.05)):
        days = slice(first, first + 150)
        np.testing.assert_array_equal(
            of.picture.iso[:, days], alike[aod].picture.iso[:, days]
        )
        for edge in range(2):
            np.testing.assert_array_equal(
                of.edges[edge][days], alike[aod].edges[edge][days]
            )
