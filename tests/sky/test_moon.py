"""The moon's place, phase and light against astropy, Meeus, USNO and the Supplement."""

import datetime as dt
import warnings
from typing import NamedTuple

import numpy as np
import pytest
from astral.moon import moon_position

from lightplan.catalog.kit import Body, Lens, Rig
from lightplan.catalog.places import Place
from lightplan.light import clear_sky, daylight
from lightplan.sky import moon
from lightplan.trip import plan
from lightplan.trip.request import FACINGS, Request, RigChoice

SEED = 20270812
SKIES = 400

# Found over these 400 skies: 0.014° of altitude, 0.014° on the sky across it, 0.019°
# of elongation; astral's series is good to some hundredths. A refracted or a
# geocentric altitude would be off by up to 0.6° and 1°.
ASTROPY_DEG = 0.05
# Found: 61 km of some 384,000.
ASTROPY_KM = 150.0
# 0.02° of elongation are 0.0002 at a quarter moon; USNO rounds to 0.01.
FRACTION, USNO_FRACTION = 0.0005, 0.006
# Found: 0.002° and 7 km; the minute of dynamical time alone would be 0.009°.
MEEUS_DEG, MEEUS_KM = 0.005, 50.0
# The Almanac gives TD − UTC = 59 s in 1992 (from memory, not confirmed); the moon
# moves 0.009° in that.
TD_AHEAD = np.timedelta64(59, "s")
# The age is a share of the circle of longitude, so it is a half and a quarter of
# the mean month at those phases, by definition; 0.02° of longitude are 0.0016 d and
# half a printed minute 0.0003 d. Counted from the last new moon in days the answer
# could differ by 0.7 d, since true lunations run from 29.27 to 29.83 d.
AGE_DAYS = 0.003
# The module says 1e-5 of the distance.
INTERPOLATED = 1e-5
# Parallax is 0.90 to 1.02°; 0.95 cos(altitude) leaves 0.07°, the flattened earth
# 0.003°.
PARALLAX_DEG = 0.1
# The copied table has four digits; where two polynomials of the source meet they
# differ by up to 0.005 and the program goes from one to the next. The source itself
# states 0.02 to 0.03.
LOG10_LUX = 0.005


def skies():
    """Instants of 1970–2037 and places, even over the globe."""
    random = np.random.default_rng(SEED)
    first, last = np.datetime64("1970-01-01", "s"), np.datetime64("2038-01-01", "s")
    seconds = random.integers(0, (last - first).astype(int), SKIES)
    latitude = np.degrees(np.arcsin(random.uniform(-1.0, 1.0, SKIES)))
    utc = first + seconds.astype("timedelta64[s]")
    return utc, latitude, random.uniform(-180.0, 180.0, SKIES)


@pytest.fixture(scope="module")
def anywhere():
    return skies()


class Astropys(NamedTuple):
    """The moon as astropy has it: from the place, and from the earth's centre."""

    altitude_deg: np.ndarray
    azimuth_deg: np.ndarray
    geocentric_altitude_deg: np.ndarray
    distance_km: np.ndarray
    elongation_deg: np.ndarray


def seen_by_astropy(utc, latitude, longitude) -> Astropys:
    """The builtin ephemeris (ERFA's moon98, after Meeus's tables), no refraction."""
    from astropy import units
    from astropy.coordinates import TETE, AltAz, EarthLocation, get_body
    from astropy.time import Time
    from astropy.utils import iers
    from astropy.utils.exceptions import AstropyWarning
    from erfa import ErfaWarning

    with (
        iers.conf.set_temp("auto_download", False),
        iers.conf.set_temp("auto_max_age", None),
        warnings.catch_warnings(),
    ):
        # Outside its tables of the earth's rotation, under an arcsecond.
        warnings.filterwarnings("ignore", ".*polar motions.*", AstropyWarning)
        warnings.filterwarnings("ignore", ".*dubious year.*", ErfaWarning)
        time = Time(utc)
        here = EarthLocation.from_geodetic(longitude, latitude, 0.0)
        frame = AltAz(obstime=time, location=here, pressure=0 * units.hPa)
        body = get_body("moon", time, here, ephemeris="builtin")
        seen = body.transform_to(frame)
        centre = get_body("moon", time, ephemeris="builtin").transform_to(
            TETE(obstime=time)
        )
        sun = get_body("sun", time, ephemeris="builtin").transform_to(
            TETE(obstime=time)
        )
        # Altitude of the direction from the earth's centre: the hour angle at the
        # place, without stepping up to its surface.
        hour = time.sidereal_time("apparent", longitude=longitude * units.deg)
        angle = hour.rad - centre.ra.rad
        phi, dec = np.radians(latitude), centre.dec.rad
        sine = np.sin(phi) * np.sin(dec) + np.cos(phi) * np.cos(dec) * np.cos(angle)
        return Astropys(
            seen.alt.deg,
            seen.az.deg,
            np.degrees(np.arcsin(sine)),
            centre.distance.km,
            centre.separation(sun).deg,
        )


@pytest.fixture(scope="module")
def astropys(anywhere) -> Astropys:
    return seen_by_astropy(*anywhere)


@pytest.fixture(scope="module")
def ours(anywhere) -> moon.Position:
    return moon.position(*anywhere)


# ------------------------------------------------------------------ where it is


def test_altitude_is_astropys(ours, astropys):
    assert np.abs(ours.altitude_deg - astropys.altitude_deg).max() <= ASTROPY_DEG


def test_azimuth_is_astropys_on_the_sky(ours, astropys):
    turn = (ours.azimuth_deg - astropys.azimuth_deg + 180.0) % 360.0 - 180.0
    across = turn * np.cos(np.radians(astropys.altitude_deg))
    assert np.abs(across).max() <= ASTROPY_DEG


def test_azimuth_is_in_0_to_360(ours):
    assert ((ours.azimuth_deg >= 0) & (ours.azimuth_deg < 360)).all()


def test_distance_is_astropys(ours, astropys):
    assert np.abs(ours.distance_km - astropys.distance_km).max() <= ASTROPY_KM


def test_elongation_is_astropys(ours, astropys):
    assert np.abs(ours.elongation_deg - astropys.elongation_deg).max() <= ASTROPY_DEG


def test_parallax_makes_a_low_moon_lower_than_from_the_earths_centre(ours, astropys):
    # The parallax 0.951° · cos(altitude): Explanatory Supplement 1992, mean distance.
    low = np.abs(astropys.altitude_deg) < 25.0
    lower = astropys.geocentric_altitude_deg - ours.altitude_deg
    expected = 0.951 * np.cos(np.radians(astropys.altitude_deg))
    assert low.sum() > SKIES / 4
    assert np.abs(lower - expected)[low].max() <= PARALLAX_DEG


def at_meeus(document) -> tuple[dict, np.datetime64]:
    utc = np.datetime64("1992-04-12T00:00:00") - TD_AHEAD
    return document("meeus_examples.json"), utc


def days_of(utc: np.datetime64) -> float:
    return float((utc - np.datetime64("2000-01-01T12:00:00")) / np.timedelta64(1, "D"))


def test_geocentric_place_is_that_of_meeus_47a(document):
    # Meeus, Astronomical Algorithms (1998), example 47.a, apparent, equator of date.
    examples, utc = at_meeus(document)
    example = examples["47.a_moon"]
    x, y, z = moon.geocentric_km(days_of(utc))
    right, declination = np.arctan2(y, x), np.arctan2(z, np.hypot(x, y))
    assert np.degrees(right) == pytest.approx(example["ra_deg"], abs=MEEUS_DEG)
    assert np.degrees(declination) == pytest.approx(example["dec_deg"], abs=MEEUS_DEG)


def test_distance_is_that_of_meeus_47a(document):
    examples, utc = at_meeus(document)
    distance = moon.position(utc, 0.0, 0.0).distance_km
    expected = examples["47.a_moon"]["distance_km"]
    assert distance == pytest.approx(expected, abs=MEEUS_KM)


def test_parallax_is_that_of_meeus_47a(document):
    example = at_meeus(document)[0]["47.a_moon"]
    parallax = moon.parallax_deg(example["distance_km"])
    assert parallax == pytest.approx(example["parallax_deg"], abs=1e-5)  # its digits


def test_between_its_nodes_the_moon_runs_on_the_series(anywhere):
    utc = anywhere[0]
    days = (utc - np.datetime64("2000-01-01T12:00:00")) / np.timedelta64(1, "D")
    direct = []
    for day in days + 60 / 86_400:  # dynamical time
        at = moon_position(day)
        radius, dec = at.distance * moon.EARTH_RADIUS_KM, at.declination
        direct.append(
            radius
            * np.array(
                [
                    np.cos(dec) * np.cos(at.right_ascension),
                    np.cos(dec) * np.sin(at.right_ascension),
                    np.sin(dec),
                ]
            )
        )
    apart = np.linalg.norm(moon.geocentric_km(days) - direct, axis=-1)
    assert (apart / np.linalg.norm(direct, axis=-1)).max() <= INTERPOLATED


def test_one_instant_gives_what_an_array_gives(anywhere, ours):
    utc, latitude, longitude = anywhere
    for i in range(0, SKIES, 40):
        one = moon.position(utc[i], latitude[i], longitude[i])
        for alone, among in zip(one, ours, strict=True):
            assert float(alone) == pytest.approx(float(among[i]), rel=1e-12, abs=1e-11)


def test_instants_and_places_broadcast(anywhere):
    utc, latitude, longitude = (part[:6] for part in anywhere)
    table = moon.position(utc[:, None], latitude, longitude)
    assert {part.shape for part in table} == {(6, 6)}
    column = moon.position(utc, latitude[2], longitude[2])
    assert table.altitude_deg[:, 2] == pytest.approx(column.altitude_deg, abs=1e-11)


# ------------------------------------------------------------------- how full


def test_lit_fraction_is_that_of_meeus_48a(document):
    examples, utc = at_meeus(document)
    example = examples["48.a_moon_illuminated_fraction"]
    fraction = moon.position(utc, 0.0, 0.0).fraction
    assert fraction == pytest.approx(example["k_from_i"], abs=FRACTION)


def test_lit_fractions_of_ten_days_are_usnos(document):
    # US Naval Observatory, 2018-09-09 to 18 at 05:00 UT, rounded to a hundredth.
    usno = document("nrel_spa_example.json")["moon_or_misc_usno_in_skyfield_tests"]
    expected = usno["moon_fraction_illuminated_2018-09-09_to_18_05h_UTC"]
    utc = np.datetime64("2018-09-09T05:00") + np.arange(10) * np.timedelta64(1, "D")
    fraction = moon.position(utc, 0.0, 0.0).fraction
    assert fraction == pytest.approx(expected, abs=USNO_FRACTION)


@pytest.mark.parametrize(
    ("phase", "share"), [("full_moon_utc", 0.5), ("first_quarter_utc", 0.25)]
)
def test_age_at_a_phase_is_its_share_of_the_month(document, phase, share):
    # Instants from the US Naval Observatory; mean month 29.530589 d, Meeus ch. 49.
    usno = document("nrel_spa_example.json")["moon_or_misc_usno_in_skyfield_tests"]
    age = moon.age_days(np.datetime64(usno[phase].replace(" ", "T")))
    assert age == pytest.approx(share * 29.530589, abs=AGE_DAYS)


def test_age_grows_by_a_day_a_day_and_starts_anew_at_new_moon():
    utc = np.arange("2018-01-01", "2019-01-01", dtype="datetime64[D]")
    age = moon.age_days(utc)
    assert ((age >= 0) & (age < moon.SYNODIC_MONTH_DAYS)).all()
    step = np.diff(age)
    anew = step < 0
    # 365 days hold 12.4 months; the moon's pace varies by a fifth at most.
    assert anew.sum() in (12, 13)
    assert ((step[~anew] > 0.8) & (step[~anew] < 1.25)).all()


def test_full_moon_is_lit_and_new_moon_is_not(document):
    usno = document("nrel_spa_example.json")["moon_or_misc_usno_in_skyfield_tests"]
    full = np.datetime64(usno["full_moon_utc"].replace(" ", "T"))
    new = full - np.timedelta64(int(29.53 / 2 * 24), "h")
    # At full moon it may pass 5° off the point opposite the sun: 0.002 unlit.
    assert moon.position(full, 0.0, 0.0).fraction > 0.997
    # The new moon is within 14 h of half a mean month: 9°, 0.006 lit.
    assert moon.position(new, 0.0, 0.0).fraction < 0.01


# ------------------------------------------------------------------- its light


def full_lux(altitude_deg):
    return clear_sky.moon_lux(altitude_deg, 180.0, 0.951)


def test_full_moon_gives_what_the_supplements_table_says(rows):
    # Explanatory Supplement to the Astronomical Almanac (1992), ch. 9.
    table = [
        (float(r["altitude_deg_apparent"]), float(r["full_moon_lux_A_mean_distance"]))
        for r in rows("natural_illuminance_vs_altitude.csv")
        if r["full_moon_lux_A_mean_distance"]
    ]
    altitude, expected = np.transpose(table)
    assert len(table) >= 20
    off = np.log10(full_lux(altitude) / expected)
    assert np.abs(off).max() <= LOG10_LUX


@pytest.mark.parametrize("altitude_deg", [20.0, 45.0, 90.0])
def test_high_full_moon_gives_a_twentieth_to_three_tenths_of_a_lux(altitude_deg):
    # natural_illuminance_levels.csv: a full moon 0.05–0.3 lx, by several sources.
    assert 0.05 <= full_lux(altitude_deg) <= 0.3


@pytest.mark.parametrize(
    ("elongation_deg", "log10_share"),
    # Explanatory Supplement 1992, ch. 9: log10 = −8.68e-3·f − 2.2e-9·f⁴ with f the
    # degrees from full. By hand, f = 45: −0.3906 − 0.0090; f = 90: −0.7812 − 0.1443;
    # f = 135: −1.1718 − 0.7308.
    [(135.0, -0.3996), (90.0, -0.9255), (45.0, -1.9026)],
)
def test_light_falls_with_the_phase_by_the_supplements_law(elongation_deg, log10_share):
    partly = clear_sky.moon_lux(45.0, elongation_deg, 0.951)
    found = np.log10(partly / full_lux(45.0))
    assert found == pytest.approx(log10_share, abs=1e-4)


def test_new_moon_gives_nearly_nothing():
    # The source's phase law leaves 1e-4 of the full moon's light.
    assert clear_sky.moon_lux(45.0, 0.0, 0.951) < 2e-4 * full_lux(45.0)


def test_half_moon_gives_about_a_tenth_of_a_full_one():
    # natural_illuminance_levels.csv, RCA's list: full 0.1 lx, quarter 0.01 lx, to
    # one digit.
    ratio = full_lux(45.0) / clear_sky.moon_lux(45.0, 90.0, 0.951)
    assert 7.0 < ratio < 13.0


def test_near_moon_is_brighter_by_the_square_of_its_parallax():
    far, near = (clear_sky.moon_lux(45.0, 180.0, p) for p in (0.9, 1.0))
    assert near / far == pytest.approx((1.0 / 0.9) ** 2, rel=1e-12)


def test_moon_that_has_set_gives_nothing():
    below = np.array([-0.801, -1.0, -10.0, -90.0])
    assert (full_lux(below) == 0.0).all()


def test_moonlight_rises_with_its_altitude_and_without_a_step():
    altitude = np.arange(-0.8, 90.0, 0.001)
    step = np.diff(np.log10(full_lux(altitude)))
    # The steepest polynomial rises 0.3 in log10 per degree, at the horizon.
    assert (step >= 0).all()
    assert step.max() < 0.0005


def test_moonlight_begins_below_a_hundredth_of_a_lux():
    # The Supplement's curve ends at −0.8°, where the upper limb sets.
    assert 0 < full_lux(-0.799) < 0.001


def test_cloud_and_cover_dim_the_moon():
    open_lux = daylight.moonlit_lux(0.2, 40.0, 0.0, "clear", "open")
    assert daylight.moonlit_lux(0.2, 40.0, 0.0, "overcast", "open") < open_lux
    assert daylight.moonlit_lux(0.2, 40.0, 0.0, "clear", "canopy") < open_lux


def test_the_moon_lights_a_side_as_the_sun_does():
    # common practice: a full moon's picture, long exposed, looks like a sunny day's.
    front, side, back = daylight.moonlit_lux(0.2, 30.0, np.array([0.0, 90.0, 180.0]))
    assert np.log2(front / side) == pytest.approx(1, abs=0.5)  # as ANSI PH2.7 has it
    assert np.log2(front / back) == pytest.approx(2, abs=0.75)


def test_the_guides_full_moon_is_that_of_a_flat_facing_it():
    # ANSI PH2.7-1973/1986, second hand: a subject under a full moon, EV₁₀₀ −3, whole
    # EV. That is 0.31 lx by the incident-light equation (C = 250), a little more than
    # the moon gives a flat that faces it. A round upright body gets less: about a
    # stop, by its shape and the moon's height.
    level = clear_sky.moon_lux(60.0, 180.0, 0.951)
    sunny = daylight.horizontal_lux(60.0)
    flat = level * daylight.beam_lux(60.0) / sunny
    assert np.log2(flat / 2.5) == pytest.approx(-3, abs=0.75)
    round_body = daylight.moonlit_lux(clear_sky.moon_lux(40.0, 180.0, 0.951), 40.0)
    assert -4.5 < np.log2(round_body / 2.5) < -3.5


# ---------------------------------------------------------------------- in a plan

FULL, NEW = dt.date(2018, 9, 24), dt.date(2018, 9, 9)  # USNO: full 25 Sep 02:52 UT
DARK_DEG = -7.0  # from −6° the moon's light comes in over a degree


@pytest.fixture(scope="module")
def planned() -> dict[dt.date, plan.TripPlan]:
    """Evening and night at the equator, with and without a moon."""
    body = Body(name="b", format="full frame", megapixels=45, iso_ceiling=6400)
    rig = Rig(name="r", body=body, lens=Lens(name="l", widest=((400, 2.8),)))
    place = Place.model_validate(
        {
            "name": "Test Pan",
            "latitude_deg": 0.2,
            "longitude_deg": 36.9,
            "timezone": "Africa/Nairobi",
            "gates": [{"evening": ("15:30", "19:00"), "night": ("19:30", "22:00")}],
        }
    )
    choice = RigChoice(rig, 400, 2.8, 1 / 100, 51200)
    return {d: plan.make(Request(place, d, d, (choice,))) for d in (FULL, NEW)}


def test_dark_minutes_get_more_light_under_a_full_moon(planned):
    full, new = (planned[date].drives[1] for date in (FULL, NEW))
    dark = (full.altitude_deg < DARK_DEG) & (new.altitude_deg < DARK_DEG)
    assert dark.all()
    gained = full.lux - new.lux
    # The moon stands 20 to 60° high by then: up to 0.2 lx on the side it is on, and
    # a fifth of that on the other.
    assert (gained > 0.005).all()
    assert (gained < 0.25).all()


def test_dark_minutes_get_what_the_supplement_gives_for_the_moons_height(planned):
    night = planned[FULL].drives[1]
    at = moon.position(night.utc, 0.2, 36.9)
    sunlit = daylight.subject_lux(night.apparent_deg, 0.0)
    level = clear_sky.moon_lux(
        night.moon.altitude_deg, at.elongation_deg, moon.parallax_deg(at.distance_km)
    )
    # Seen from the sun's side, the moon stands so far round the animal.
    round_it = at.azimuth_deg - night.azimuth_deg
    at_moon = night.moon.altitude_deg, round_it
    share = daylight.subject_lux(*at_moon) / daylight.horizontal_lux(at_moon[0])
    assert night.lux[0] - sunlit == pytest.approx(level * share, rel=1e-6)


def test_moon_over_a_drive_is_lit_as_usno_says(planned):
    # USNO at 05:00 UT on 9 September: 0.00.
    assert planned[NEW].drives[1].moon.fraction < 0.01
    assert planned[FULL].drives[1].moon.fraction > 0.99


@pytest.mark.parametrize("facing", range(3), ids=[f.key for f in FACINGS])
def test_moon_adds_nothing_by_day(planned, facing):
    evening = planned[FULL].drives[0]
    day = evening.altitude_deg >= -6.0
    angle_deg = FACINGS[facing].angle_deg
    without = daylight.subject_lux(evening.apparent_deg, angle_deg)
    assert day.sum() > 150
    assert (evening.lux[facing][day] == without[day]).all()


def test_moonlight_comes_in_without_a_step(planned):
    evening = planned[FULL].drives[0]
    assert evening.altitude_deg.min() < DARK_DEG  # it runs into the dark
    share = evening.lux[1] - daylight.subject_lux(evening.apparent_deg, 90.0)
    coming = (evening.altitude_deg < -5.5) & (evening.altitude_deg > -7.2)
    # The sun sinks 0.25° a minute there, a quarter of the degree it fades in over;
    # the moon itself brightens by a few hundredths a minute.
    assert coming.sum() >= 5
    assert np.diff(share[coming]).max() < 0.3 * share[coming][-1]


def test_moon_is_told_only_in_dark_minutes(planned):
    evening = planned[FULL].drives[0]
    told = ~np.isnan(evening.moon.altitude_deg)
    assert (told == (evening.altitude_deg < -6.0)).all()
