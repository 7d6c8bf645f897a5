"""A year at a spot, minute by minute, against pvlib's sun and zoneinfo's clock."""

import datetime as dt
from functools import cache
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import pytest
import wild
from pvlib import spa as nrel

from lightplan.catalog.places import Place, Spot
from lightplan.spots import chances, spots, words
from lightplan.spots.chances import Chance, Wish
from lightplan.spots.spots import LIGHTS, NO_SUN, TOP
from lightplan.trip.drives import Drive

YEAR = 2027
MINUTE = np.timedelta64(1, "m")
# NOAA's sun is within 0.016° of an ephemeris, and its refraction within 0.02° of
# SPA's at the horizon; bearings of a sun up to 60° high are off by up to twice that.
NEAR_DEG = 0.05
# The minute before a passage, and what `NEAR_DEG` takes a sun that climbs 0.025° a
# minute, as at 69.65° N where a skyline runs along with it.
NEAR = np.timedelta64(3, "m")
# SPA is slow: of each drive it sees every fifth minute, beginning with another one
# from drive to drive, so that no minute of the hour is passed over.
EVERY = 1 if wild.THOROUGH else 5
# "front", "side", "rim", "back" end at these angles from the sun behind the camera;
# the limits are this project's own choice, not a fact to be checked.
LIMITS_DEG = (45.0, 120.0, 160.0)
HIGHEST_DEG = 30.0

HOURS = {"morning": ("05:45", "10:00"), "evening": ("15:30", "19:00")}
LONG = {"morning": ("04:00", "11:00"), "evening": ("14:00", "23:00")}
RIDGE = [[60, 2], [120, 9], [150, 3], [240, 6], [270, 8], [300, 1]]


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


def spot(bearing_deg, horizon=()) -> Spot:
    return Spot.model_validate(
        {"name": "Hide", "bearing_deg": bearing_deg, "horizon": horizon}
    )


MONDAYS = {"weekday": "Monday", "reason": "closed"}
RAINS = {"from": "04-10", "to": "05-20", "reason": "long rains"}
NIGHTS = HOURS | {"night": ("22:00", "26:00")}
PLACES = {
    "equator": place("Africa/Nairobi", 0.2, 36.9, HOURS),
    "37° N, clock change": place("Europe/Madrid", 37.0, -6.4, HOURS, [MONDAYS]),
    "51° S": place("America/Punta_Arenas", -51.0, -72.9, LONG),
    "70° N": place("Europe/Oslo", 69.65, 18.95, LONG),
    "nights": place("Africa/Nairobi", 0.2, 36.9, NIGHTS, [RAINS]),
}
SPOTS = {
    "east, ridge": spot(95, RIDGE),
    "west, level": spot(280),
    # Not below 0°: SPA has no refraction for a sun below the level horizon.
    "north, hill": spot(5, [[0, 1], [90, 12], [180, 2], [270, 0]]),
}
CASES = [
    ("equator", "east, ridge"),
    ("37° N, clock change", "west, level"),
    ("51° S", "north, hill"),
    ("70° N", "east, ridge"),
]
each = pytest.mark.parametrize(("where", "look"), CASES)


@cache
def year_at(where: str, look: str, year: int = YEAR) -> spots.SpotYear:
    return spots.make(PLACES[where], SPOTS[look], year)


# -------------------------------------------------- an independent year of minutes


class Oracle(NamedTuple):
    """By the minute: the sun's margin above the skyline, altitude, angle. [°]"""

    above_deg: np.ndarray
    apparent_deg: np.ndarray
    facing_deg: np.ndarray


def skyline_deg(horizon, bearing: np.ndarray) -> np.ndarray:
    """Walk round the points, once and once again, to the two beside each bearing."""
    if not horizon:
        return np.zeros_like(bearing)
    found = np.full_like(bearing, np.nan)
    points = sorted((b % 360, a) for b, a in horizon)
    rounds = [(b + turn, a) for turn in (-360, 0, 360) for b, a in points]
    for (b0, a0), (b1, a1) in pairwise(rounds):
        between = (b0 <= bearing) & (bearing <= b1)
        found[between] = a0 + (a1 - a0) * (bearing[between] - b0) / (b1 - b0)
    assert not np.isnan(found).any()
    return found


def oracle(at: Place, look: Spot, utc: np.ndarray) -> Oracle:
    """NREL's SPA as pvlib computes it, with its own refraction."""
    seconds = utc.astype("datetime64[s]").astype(np.int64).astype(np.float64)
    _, _, apparent, _, azimuth, _ = nrel.solar_position_numpy(
        seconds,
        at.latitude_deg,
        at.longitude_deg,
        elev=0.0,
        pressure=1013.25,
        temp=12.0,
        delta_t=72.0,  # seconds in 2027; a few more or less move nothing here
        atmos_refract=0.5667,
        numthreads=1,
    )
    skyline = skyline_deg(look.horizon, azimuth)
    # The animal sees the camera at the look's opposite; angle by a scalar product.
    to_camera, to_sun = np.radians(look.bearing_deg + 180.0), np.radians(azimuth)
    product = np.cos(to_camera) * np.cos(to_sun) + np.sin(to_camera) * np.sin(to_sun)
    facing = np.degrees(np.arccos(np.clip(product, -1, 1)))
    return Oracle(apparent - skyline, apparent, facing)


@pytest.fixture(scope="module")
def in_gates(iana):
    """Every minute of every gate of a year, by zoneinfo: date, session, instants."""

    def utc(zone, date: dt.date, text: str) -> np.datetime64:
        hours, minutes = map(int, text.split(":"))
        midnight = dt.datetime.combine(date, dt.time())
        wall = midnight + dt.timedelta(hours=hours, minutes=minutes)
        moment = wall.replace(tzinfo=zone).astimezone(dt.UTC)
        return np.datetime64(moment.replace(tzinfo=None), "m")

    def gates(at: Place, hours: dict, year: int = YEAR):
        zone = iana(at.timezone)
        date = dt.date(year, 1, 1)
        shut = {c.weekday for c in at.closures}
        while date.year == year:
            if f"{date:%A}" not in shut:
                for session, (opens, closes) in hours.items():
                    a, b = utc(zone, date, opens), utc(zone, date, closes)
                    yield date, session, np.arange(a, b)
            date += dt.timedelta(days=1)

    return gates


HOURS_OF = {
    "equator": HOURS,
    "37° N, clock change": HOURS,
    "51° S": LONG,
    "70° N": LONG,
}


@pytest.fixture(scope="module")
def by_loop(in_gates):
    """The drives of a year, and the oracle over their minutes."""
    done = {}

    def year(where: str, look: str):
        if (where, look) not in done:
            drives = list(in_gates(PLACES[where], HOURS_OF[where]))
            utc = np.concatenate(
                [minutes[i % EVERY :: EVERY] for i, (*_, minutes) in enumerate(drives)]
            )
            found = oracle(PLACES[where], SPOTS[look], utc)
            done[where, look] = drives, utc, found
        return done[where, look]

    return year


def margin_deg(sun: Oracle, *limits: float) -> np.ndarray:
    """How far each minute is from any limit at which its light changes."""
    edges = [np.abs(sun.above_deg), np.abs(sun.apparent_deg - spots.TOP_DEG)]
    edges += [np.abs(sun.facing_deg - limit) for limit in limits]
    return np.min(edges, axis=0)


@each
def test_light_of_every_minute_is_that_of_spas_sun(where, look, by_loop):
    of = year_at(where, look)
    _, utc, sun = by_loop(where, look)
    expected = []
    for above, apparent, facing in zip(*(a.tolist() for a in sun), strict=True):
        if above <= 0:
            expected.append(NO_SUN)
        elif apparent >= spots.TOP_DEG:
            expected.append(TOP)
        else:
            expected.append(sum(facing >= limit for limit in LIMITS_DEG))
    found = of.light[((utc - of.utc[0]) / MINUTE).astype(int)]
    differs = found != np.array(expected)
    # SPA's bearing swings fast where the sun is high: a tenth of a degree there.
    near = NEAR_DEG / np.cos(np.radians(np.minimum(sun.apparent_deg, 60.0)))
    assert (margin_deg(sun, *LIMITS_DEG)[differs] < near[differs]).all()
    assert len({*expected}) >= 3  # a test with one light would prove little


@each
@pytest.mark.parametrize("within_deg", [10.0, 25.0])
def test_chances_are_the_minutes_of_a_loop_over_the_year(
    where, look, within_deg, by_loop
):
    of = year_at(where, look)
    drives, utc, sun = by_loop(where, look)
    wanted = set()
    for instant, above, apparent, facing in zip(
        utc.tolist(), *(a.tolist() for a in sun), strict=True
    ):
        if above > 0 and apparent <= HIGHEST_DEG and facing >= 180.0 - within_deg:
            wanted.add(np.datetime64(instant, "m"))
    found = chances.chances(of, Wish("back", within_deg, HIGHEST_DEG))
    minutes = {m for c in found for m in np.arange(c.start_utc, c.end_utc)}
    index = {m: i for i, m in enumerate(utc)}
    seen = {m for m in minutes if m in index}
    edges = [
        np.abs(sun.above_deg),
        np.abs(sun.apparent_deg - HIGHEST_DEG),
        np.abs(sun.facing_deg - (180.0 - within_deg)),
    ]
    margin = np.min(edges, axis=0)
    unlike = [float(margin[index[m]]) for m in wanted ^ seen]
    assert max(unlike, default=0.0) < NEAR_DEG
    assert len(wanted) > 200 / EVERY  # there is something to compare
    assert minutes <= {m for *_, inside in drives for m in inside}
    sessions = {(date, session) for date, session, _ in drives}
    assert {(c.drive.date, c.drive.session) for c in found} <= sessions


@each
def test_altitudes_and_angle_of_a_chance_are_those_of_its_minutes(where, look):
    of = year_at(where, look)
    found = chances.chances(of, Wish())
    for chance in found[::17]:
        minutes = np.arange(chance.start_utc, chance.end_utc)
        sun = oracle(of.place, of.spot, minutes)
        assert chance.lowest_deg == pytest.approx(sun.apparent_deg.min(), abs=NEAR_DEG)
        assert chance.highest_deg == pytest.approx(sun.apparent_deg.max(), abs=NEAR_DEG)
        off = 180.0 - sun.facing_deg
        assert chance.least_off_deg == pytest.approx(off.min(), abs=NEAR_DEG)
        assert chance.most_off_deg == pytest.approx(off.max(), abs=NEAR_DEG)
        assert chance.minutes == len(minutes)


# ------------------------------------------------------------------ the skyline


@each
def test_sun_clears_and_leaves_the_skyline_when_spas_does(where, look, local_day):
    of = year_at(where, look)
    for i in range(3, len(of.days), 23):
        date = of.days[i].date
        begins, ends = local_day(of.place.timezone, date)
        sun = oracle(of.place, of.spot, np.arange(begins, ends + MINUTE, MINUTE))
        up = sun.above_deg > 0
        turns = np.flatnonzero(up[1:] != up[:-1])
        found = of.passages[i]
        assert [p.clears for p in found] == up[turns + 1].tolist()
        then = np.array([p.utc for p in found], dtype="datetime64[s]")
        assert (np.abs(then - begins - turns * MINUTE) < NEAR).all()
        assert (np.abs(oracle(of.place, of.spot, then).above_deg) < NEAR_DEG).all()


def test_sun_is_up_with_its_centre_not_its_limb():
    # USNO's sunrise is the upper limb's, 0.833° below; the centre, lifted by 34′ of
    # refraction, follows when it has climbed the 16′ of its radius more.
    of = year_at("37° N, clock change", "west, level")
    for i in range(0, 365, 30):
        first = of.passages[i][0]
        assert first.clears
        after = (first.utc - of.days[i].sun.sunrise_utc) / np.timedelta64(1, "s")
        # 0.27° at the 0.19–0.20° a minute of 37° latitude: 80 to 105 s.
        assert 70 < after < 115


def test_no_skyline_is_a_level_one():
    at = PLACES["equator"]
    bare, level = (spots.make(at, spot(95, h), YEAR) for h in ([], [[0, 0]]))
    assert (bare.light == level.light).all()


def test_skyline_above_every_sun_hides_it_all_year():
    # 50° N: the sun culminates at 63.4° at most, below 80°.
    at = place("Europe/Prague", 50.0, 14.0, HOURS)
    of = spots.make(at, spot(95, [[0, 80]]), YEAR)
    assert (of.light == NO_SUN).all()
    assert not any(of.passages)
    assert chances.chances(of, Wish()) == ()
    assert chances.nearest(of, Wish()) is None


def test_gap_in_a_ragged_skyline_gives_two_chances_on_one_drive():
    # At 37° N the equinox sun sets due west, 270°; where it stands at 263° to 267° it
    # is 4° to 9° high (spherical trigonometry), far below the 25° of the tooth there.
    at = place("Europe/Madrid", 37.0, -6.4, {"evening": ("15:00", "21:00")})
    teeth = [[255, 0], [262, 0], [263, 25], [266, 25], [267, 0], [280, 0]]
    of = spots.make(at, spot(262, teeth), YEAR)
    on = dt.date(YEAR, 3, 21)
    found = chances.chances(of, Wish("back", 20))
    assert len([c for c in found if c.drive.date == on]) == 2
    clears = [p.clears for p in of.passages[on.timetuple().tm_yday - 1]]
    assert clears == [True, False, True, False]


# --------------------------------------------------------------- edges of the earth


def test_sun_at_the_zenith_gives_top_light_and_no_chance():
    # 13.1° S: the declination is −13.1° about 13 February and 29 October (Nautical
    # Almanac, from memory, not confirmed), so the noon sun stands overhead.
    at = place("Africa/Lusaka", -13.1, 31.8, {"morning": ("06:00", "18:00")})
    of = spots.make(at, spot(95), YEAR)
    assert of.apparent_deg.max() > 89.7
    assert (of.light[of.apparent_deg >= 60] == TOP).all()
    assert (of.light[of.apparent_deg < 60] != TOP).all()
    assert np.isfinite(of.facing_deg).all()
    for light in chances.WISHES:
        for chance in chances.chances(of, Wish(light.key, 10, 60)):
            assert chance.highest_deg <= 60


@pytest.mark.parametrize("latitude_deg", [90, -90])
def test_sun_rises_and_sets_once_a_year_at_a_pole(latitude_deg):
    hours = {"morning": ("00:00", "12:00"), "evening": ("12:00", "24:00")}
    of = spots.make(place("UTC", latitude_deg, 0, hours), spot(90), YEAR)
    turns = [p.clears for found in of.passages for p in found]
    assert turns == ([True, False] if latitude_deg > 0 else [False, True])
    found = chances.chances(of, Wish())
    # 20° of bearing pass behind in 80 minutes, once in every day with sun.
    assert {c.minutes for c in found} <= {79, 80, 81, *range(1, 80)}
    assert sum(c.minutes in (79, 80, 81) for c in found) > 180


def test_midnight_sun_is_behind_at_midnight():
    at = place("Arctic/Longyearbyen", 78.0, 15.6, {"night": ("22:00", "27:00")})
    of = spots.make(at, spot(0), YEAR)
    found = {c.drive.date: c for c in chances.chances(of, Wish())}
    chance = found[dt.date(YEAR, 6, 21)]
    # Local solar midnight: 15.6° E is 62.4 min before UTC, the equation of time of
    # 21 June −1.8 min (NOAA); lower transit at 22:59:24 UTC, found within 2 min of
    # the middle of the chance.
    middle = chance.start_utc + (chance.end_utc - chance.start_utc) / 2
    assert abs(middle - np.datetime64(f"{YEAR}-06-21T22:59")) <= 2 * MINUTE
    # Altitude at lower transit: 78 + 23.44 − 90 = 11.4°, and 0.08° of refraction.
    assert chance.lowest_deg == pytest.approx(11.5, abs=0.1)


def test_polar_night_has_no_light_and_is_no_error():
    at = place("Arctic/Longyearbyen", 78.0, 15.6, {"morning": ("09:00", "14:00")})
    of = spots.make(at, spot(180), YEAR)
    december = [c for c in chances.chances(of, Wish()) if c.drive.date.month == 12]
    assert december == []
    assert of.passages[-1] == ()


# ------------------------------------------------------------------------- the year


@pytest.mark.parametrize(("year", "days"), [(1950, 365), (2028, 366), (2037, 365)])
def test_any_year_of_the_range_has_all_of_its_days(year, days):
    of = year_at("37° N, clock change", "west, level", year)
    assert len(of.days) == len(of.passages) == days
    assert len(of.utc) == days * 24 * 60


@pytest.mark.parametrize("year", [1949, 2038])
def test_year_out_of_range_is_refused(year):
    with pytest.raises(ValueError, match=str(year)):
        spots.make(PLACES["equator"], SPOTS["west, level"], year)


def test_closed_days_have_no_chance():
    found = chances.chances(
        year_at("37° N, clock change", "west, level"), Wish("back", 30)
    )
    weekdays = {c.drive.date.weekday() for c in found}
    assert weekdays == {1, 2, 3, 4, 5, 6}


def test_night_of_31_december_runs_over_new_year():
    of = year_at("nights", "west, level")
    last = of.drives[-1]
    assert (last.date, last.session) == (dt.date(YEAR, 12, 31), "night")
    minutes = of.utc[of.inside(last)]
    assert len(minutes) == 4 * 60
    assert minutes[-1] == last.closes_utc - MINUTE


def test_sun_that_rises_in_a_drives_hours_after_new_year_is_the_next_years():
    # 51° S: on 1 January the sun is up by 05:30 (USNO, from memory, not confirmed).
    late = {"night": ("23:00", "29:59")}
    at = place("America/Punta_Arenas", -51.0, -72.9, late)
    of = spots.make(at, spot(120), YEAR)
    assert (of.light[of.inside(of.drives[-1])] != NO_SUN).any()
    assert [p.clears for p in of.passages[-1]] == [True, False]


def test_place_without_gates_follows_civil_twilight():
    of = spots.make(place("Africa/Lusaka", -13.1, 31.8), spot(285), YEAR)
    found = chances.chances(of, Wish())
    assert found
    assert {c.drive.session for c in found} == {"evening"}
    assert not any(c.drive.gated for c in found)


# ---------------------------------------------------------------- the next chances


def chances_from(first: dt.date, count: int = 10, look: str = "west, level"):
    where = "37° N, clock change"
    years = (year_at(where, look, y) for y in (YEAR, YEAR + 1))
    return chances.upcoming(years, Wish(), first, count)


def test_next_chances_begin_on_the_date_and_come_in_order():
    first = dt.date(YEAR, 3, 20)
    found = chances_from(first)
    assert len(found) == 10
    assert found[0].drive.date >= first
    starts = [c.start_utc for c in found]
    assert starts == sorted(starts)
    every = chances.chances(year_at("37° N, clock change", "west, level"), Wish())
    after = [c for c in every if c.drive.date >= first and c.minutes >= 5]
    assert list(found) == after[:10]


def test_next_chances_go_on_into_the_following_year():
    found = chances_from(dt.date(YEAR, 12, 30))
    assert len(found) == 10
    assert {c.drive.date.year for c in found} == {YEAR + 1}


def test_a_chance_of_a_few_minutes_is_left_out_of_the_next_ones():
    every = chances.chances(year_at("37° N, clock change", "west, level"), Wish())
    short = [c for c in every if c.minutes < chances.WORTH_MIN]
    assert short
    date = short[0].drive.date
    assert short[0] not in chances_from(date, 400)


@pytest.mark.parametrize(
    ("altitudes", "offs", "height", "off_behind"),
    [
        ((4.2, 10.6), (5.4, 8.0), "4° to 11°", "5–8°"),
        ((3.6, 4.4), (0.0, 0.3), "4°", "0°"),
        ((-0.8, 0.9), (3.0, 4.0), "−1° to 1°", "3–4°"),
    ],
)
def test_angles_that_round_to_one_are_written_once(altitudes, offs, height, off_behind):
    chance = Chance(None, None, None, *altitudes, *offs)
    assert words.height(chance) == height
    assert words.off_behind(chance) == off_behind


# -------------------------------------------------------------------- runs of dates


def test_runs_hold_every_chance_once():
    of = year_at("37° N, clock change", "west, level")
    found = chances.chances(of, Wish())
    joined = [c for run in chances.runs(of, found) for c in run]
    assert sorted(joined, key=lambda c: c.start_utc) == list(found)


def test_run_goes_on_over_a_weekday_that_is_closed():
    of = year_at("37° N, clock change", "west, level")
    runs = chances.runs(of, chances.chances(of, Wish()))
    gaps = [
        (b.drive.date - a.drive.date).days for run in runs for a, b in pairwise(run)
    ]
    assert set(gaps) == {1, 2}


def test_run_ends_where_the_clock_changes():
    # Madrid's clock goes back on 31 October 2027 (IANA).
    of = year_at("37° N, clock change", "west, level")
    runs = chances.runs(of, chances.chances(of, Wish("back", 60)))
    change = dt.date(YEAR, 10, 31)
    assert any(c.drive.date < change for run in runs for c in run)
    for run in runs:
        assert len({c.drive.date < change for c in run}) == 1


def test_run_ends_at_a_closure_of_weeks():
    of = year_at("nights", "east, ridge")
    runs = chances.runs(of, chances.chances(of, Wish("back", 30)))
    before, after = dt.date(YEAR, 4, 10), dt.date(YEAR, 5, 20)
    for run in runs:
        assert len({c.drive.date < before for c in run}) == 1
    assert any(run[0].drive.date > after for run in runs)


def test_runs_keep_mornings_and_evenings_apart():
    of = spots.make(PLACES["equator"], spot(0), YEAR)
    found = chances.chances(of, Wish("side"))
    runs = chances.runs(of, found)
    assert all(len({c.drive.session for c in run}) == 1 for run in runs)
    assert {run[0].drive.session for run in runs} == {"morning", "evening"}


def new_year(closures=()):
    """13° S, looking 115°: the sun rises there (cos A = sin δ / cos φ) about New Year
    and from −24° of declination to −20°, in December and January alone.
    """
    at = place("Africa/Lusaka", -13.1, 31.8, HOURS, closures)
    of = spots.make(at, spot(115), YEAR)
    found = chances.chances(of, Wish())
    return of, found, chances.spells(of, found)


def test_spell_over_new_year_is_one():
    of, found, spells = new_year()
    assert len(chances.runs(of, found)) == 2
    ((*spell,),) = spells
    dates = [c.drive.date for c in spell]
    assert (dates[0].month, dates[-1].month) == (11, 2)
    assert {dt.date(YEAR, 12, 31), dt.date(YEAR, 1, 1)} <= set(dates)
    assert sorted(spell, key=lambda c: c.start_utc) == list(found)


def test_spell_goes_on_over_a_closed_weekday_at_new_year():
    # 1 January and 31 December 2027 are Fridays.
    *_, spells = new_year([{"weekday": "Friday", "reason": "closed"}])
    assert len(spells) == 1


@pytest.mark.parametrize(("first", "last"), [("12-20", "01-10"), ("12-20", "12-31")])
def test_spell_ends_at_a_closure_of_weeks_at_new_year(first, last):
    rains = {"from": first, "to": last, "reason": "rains"}
    *_, spells = new_year([rains])
    assert len(spells) == 2


def test_spells_at_new_year_of_other_sessions_stay_apart():
    # Looking north the sun is at one's side on both ends of the day, all year.
    of = spots.make(PLACES["equator"], spot(0), YEAR)
    spells = chances.spells(of, chances.chances(of, Wish("side")))
    assert all(len({c.drive.session for c in spell}) == 1 for spell in spells)


@pytest.mark.parametrize("without", [(1, 1), (12, 31)])
def test_spell_ends_at_open_gates_without_a_chance(without):
    of, found, _ = new_year()
    met = [c for c in found if (c.drive.date.month, c.drive.date.day) != without]
    assert chances.spells(of, met) == chances.runs(of, met)


# ------------------------------------------------------------------------- weeks


@each
def test_weeks_hold_every_sunlit_minute_inside_the_gates(where, look, in_gates):
    # That a minute has sun where SPA's has is tested above.
    of = year_at(where, look)
    utc = np.concatenate([m for *_, m in in_gates(PLACES[where], HOURS_OF[where])])
    sunlit = of.light[((utc - of.utc[0]) / MINUTE).astype(int)] != NO_SUN
    weeks = chances.weeks(of, chances.chances(of, Wish()))
    assert sum(sum(w.light_min) for w in weeks) == sunlit.sum()


def test_weeks_run_from_monday_to_sunday_and_hold_their_chances():
    of = year_at("equator", "east, ridge")
    found = chances.chances(of, Wish())
    weeks = chances.weeks(of, found)
    assert [c for w in weeks for c in w.chances] == list(found)
    for week in weeks:
        assert all(week.first <= c.drive.date <= week.last for c in week.chances)
        assert week.first <= of.days[week.middle].date <= week.last
    for a, b in pairwise(weeks):
        assert (a.last.isoweekday(), b.first.isoweekday()) == (7, 1)


# ----------------------------------------------------------------------- the picture


def test_cells_are_the_light_of_their_date_and_clock(iana):
    of = year_at("37° N, clock change", "west, level")
    shown = spots.picture(of)
    zone = iana(of.place.timezone)
    for i in range(0, len(of.utc), 5 * 101):
        utc = of.utc[i].astype("datetime64[s]").item().replace(tzinfo=dt.UTC)
        local = utc.astimezone(zone)
        if local.date() in (dt.date(YEAR, 3, 28), dt.date(YEAR, 10, 31)):
            continue
        row = (local.hour * 60 + local.minute) // spots.STEP_MIN
        column = local.timetuple().tm_yday - 1
        assert shown.light[row, column] == of.light[i]
        assert shown.known[row, column]


def test_cells_inside_the_gates_are_those_of_the_gates_clock():
    of = year_at("37° N, clock change", "west, level")
    inside = spots.picture(of).inside
    for column in range(0, 365, 11):
        rows = np.flatnonzero(inside[:, column]) * spots.STEP_MIN
        open_min = [*range(345, 600, 5), *range(930, 1140, 5)]  # 05:45–10:00, 15:30–19
        monday = of.days[column].date.weekday() == 0
        assert rows.tolist() == ([] if monday else open_min)


def test_hour_that_a_clock_change_skips_has_no_cells():
    # Madrid, 28 March 2027: 02:00 to 03:00 (IANA).
    known = spots.picture(year_at("37° N, clock change", "west, level")).known
    missing = np.argwhere(~known)
    assert {int(c) for _, c in missing} == {
        (dt.date(YEAR, 3, 28).timetuple().tm_yday) - 1
    }
    assert [int(r) * spots.STEP_MIN for r, _ in missing] == list(range(120, 180, 5))


def test_date_that_a_zone_skipped_has_no_cells():
    # Samoa went from 29 to 31 December 2011 (IANA).
    of = spots.make(place("Pacific/Apia", -13.8, -171.8, HOURS), spot(280), 2011)
    known = spots.picture(of).known
    skipped = dt.date(2011, 12, 30).timetuple().tm_yday - 1
    assert not known[:, skipped].any()
    assert known[:, skipped + 1].all()
    assert of.passages[skipped] == ()


# ------------------------------------------------------------------- the nearest sun


def test_nearest_is_the_least_angle_of_a_loop(by_loop):
    of = year_at("51° S", "north, hill")
    drives, _, sun = by_loop("51° S", "north, hill")
    low = (sun.above_deg > 0) & (sun.apparent_deg <= HIGHEST_DEG)
    least = 180.0 - sun.facing_deg[low].max()
    found = chances.nearest(of, Wish())
    assert found is not None
    when, off_deg = found
    assert off_deg < least + NEAR_DEG
    (there,) = 180.0 - oracle(of.place, of.spot, np.array([when])).facing_deg
    assert off_deg == pytest.approx(there, abs=NEAR_DEG)
    assert any(when in inside for *_, inside in drives)


def test_lights_have_letters_of_their_own():
    letters = [light.letter for light in LIGHTS]
    assert len(set(letters)) == len(letters)


def test_drives_are_the_days_sessions():
    of = year_at("nights", "west, level")
    assert all(isinstance(drive, Drive) for drive in of.drives)
    assert len(of.drives) == 3 * (365 - 41)  # 10 April to 20 May is closed
