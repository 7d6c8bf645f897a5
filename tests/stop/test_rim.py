"""The rim by the minute of a drive, and the place to stop at one minute of it."""

import datetime as dt
import math
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from lightplan.catalog import places
from lightplan.catalog.gates import Gates
from lightplan.catalog.kit import Body, Lens, Rig
from lightplan.catalog.places import Place
from lightplan.light import daylight
from lightplan.sky import sun
from lightplan.stop import answer, rim, stop
from lightplan.stop import words as stop_words
from lightplan.trip import plan
from lightplan.trip.request import Request, choose

planned = cache(plan.make)  # many tests look at the same trip, none changes it
CATALOG = places.load(Path(__file__).parents[2] / "locations.example.toml")
EVENING = "2027-08-12-evening"
# Our sun is within 0.016° of JPL's and moves a quarter of a degree a minute.
ONE_MINUTE = np.timedelta64(1, "m")
STOPS = 1e-9  # the same formula, summed in another order
# ANSI PH2.7-1986, second hand: a backlit subject wants two stops more than one lit
# from the front. The model, tried at 30–60°, gives 1.6 to 2.6.
ANSI_STOPS, ANSI_SLACK = 2.0, 0.7


def trip(place="Mopane Loop", date="2027-08-12", sky="clear", cover="open", rigs=3):
    at = CATALOG.place(place) if isinstance(place, str) else place
    day = dt.date.fromisoformat(date)
    chosen = tuple(choose(CATALOG.rig(r.name)) for r in CATALOG.rigs[:rigs])
    return planned(Request(at, day, day, chosen, sky=sky, cover=cover))


def made(aim=None, horizon=(), key=EVENING, **asked):
    of = trip(**asked)
    return of, rim.make(of, of.drive(key), aim, horizon)


def under(drive, altitude_deg):
    """The same drive under a sun at other altitudes, with the light of these."""
    lux = daylight.subject_lux(altitude_deg, np.array([[0], [90], [180]]), drive.kind)
    return replace(drive, altitude_deg=altitude_deg, apparent_deg=altitude_deg, lux=lux)


def stopped(found, minute, distance=30.0):
    of, by_minute = found
    return stop.stop_at(of, by_minute, minute, distance)


# ------------------------------------------------------------- the edge in stops


def by_hand(altitude, facing, sky, cover):
    """The edge over the shadow side, from the parts of the sky alone.

    Semi-cylindrical illuminance of EN 13201-3 for what has a direction; the rest of
    the sky on an upright surface; half of what the ground (0.18) sends back.
    """
    parts = daylight.sky_parts(altitude, sky)
    over = daylight.COVERS[cover]
    h, phi = math.radians(altitude), math.radians(facing)
    beam = over.beam_share * float(parts.beam_lux)
    face = beam * math.cos(h) * (1 + math.cos(phi)) / math.pi
    # A low sun's glow is the sky's, a high one's is hidden with the sun.
    x = min(max(altitude / 10, 0), 1)
    glow = over.sky_share + (over.beam_share - over.sky_share) * x * x * (3 - 2 * x)
    front, back = float(parts.front_lux), float(parts.back_lux)
    face += over.sky_share * back + glow * (front - back) * (1 + math.cos(phi)) / 2
    ground = beam * math.sin(h) + over.sky_share * float(parts.diffuse_lux)
    face += 0.18 / 2 * ground
    return math.log2((beam + face) / face)


@pytest.mark.parametrize("sky", ["clear", "haze", "broken"])
@pytest.mark.parametrize("cover", ["open", "woodland"])
@pytest.mark.parametrize("minute", [0, 60, 90, 110])
def test_the_edge_stands_out_as_worked_by_hand(sky, cover, minute):
    _, found = made(sky=sky, cover=cover)
    altitude = float(found.drive.apparent_deg[minute])
    expected = by_hand(altitude, 140.0, sky, cover)
    assert found.stops[minute] == pytest.approx(expected, abs=STOPS)


def test_into_a_high_sun_the_face_is_ansis_two_stops_below_front_light():
    # Mid-morning at the equator, where the sun climbs through 30–60°.
    of = trip("Two Rivers Plain")
    drive = of.drive("2027-08-12-morning")
    high = (drive.apparent_deg >= 30) & (drive.apparent_deg <= 60)
    assert high.sum() > 60
    azimuths = drive.azimuth_deg[high]
    for i, azimuth in zip(np.flatnonzero(high)[::30], azimuths[::30], strict=True):
        found = rim.make(of, drive, float(azimuth))
        below = math.log2(drive.lux[0, i] / found.face_lux[i])
        assert below == pytest.approx(ANSI_STOPS, abs=ANSI_SLACK)


@pytest.mark.parametrize("cover", ["open", "woodland"])
@pytest.mark.parametrize("sky", ["overcast", "storm"])
def test_without_a_beam_there_is_no_edge_and_no_window(sky, cover):
    _, found = made(sky=sky, cover=cover)
    assert np.allclose(found.stops, 0.0)
    assert found.windows == ()
    assert not found.works.any()  # not even at the bright end of the spread


def test_haze_and_cloud_weaken_the_edge_in_that_order():
    low = slice(80, 110)  # the sun between 15° and 5°
    clear, haze, broken = (
        made(sky=sky)[1].stops[low] for sky in ("clear", "haze", "broken")
    )
    assert (clear > haze).all()
    assert (haze > broken).all()


def test_what_a_clear_sky_would_give_is_what_it_gives():
    of, hazy = made(sky="haze")
    _, clear = made(sky="clear")
    assert np.allclose(rim.clear_stops(of, hazy), clear.stops)


def test_in_the_dark_the_moon_lights_the_side_the_camera_sees():
    # 14 August 2027 is three days before full moon: it is up all evening.
    of = trip("Two Rivers Plain", date="2027-08-14")
    drive = of.drive("2027-08-14-night")
    assert drive.moon is not None
    found = rim.make(of, drive)
    # From 140° off the sun: between side and back, by the cosine.
    side, back = drive.lux[1:]
    expected = side + (back - side) * -math.cos(math.radians(140.0))
    assert np.allclose(found.face_lux, expected, rtol=1e-6)
    sunless = daylight.subject_lux(drive.apparent_deg, 140.0)
    assert (found.face_lux[:100] > 2 * sunless[:100]).all()


# ------------------------------------------------------------- the window


def published_altitude(spa, drive, place):
    """The sun's altitude by NREL's SPA, with the refraction that the sight gives."""
    sky = spa(drive.utc, place.latitude_deg, place.longitude_deg)
    return sun.apparent_altitude_deg(sky.altitude_deg)


def test_the_window_opens_when_spas_sun_comes_down_to_fifteen_degrees(spa):
    of, found = made()
    altitude = published_altitude(spa, found.drive, of.request.place)
    first = found.drive.utc[int(np.argmax(altitude <= 15.0))]
    assert abs(found.windows[0].first.utc - first) <= ONE_MINUTE


@pytest.mark.parametrize("height", [4.0, 8.0, 12.0])
def test_a_skyline_ends_the_window_when_spas_sun_is_behind_it(spa, height):
    of, found = made(horizon=[(0, height)])
    altitude = published_altitude(spa, found.drive, of.request.place)
    last = found.drive.utc[np.flatnonzero(altitude > height)[-1]]
    assert abs(found.windows[-1].last.utc - last) <= ONE_MINUTE


def test_a_hill_in_the_suns_way_parts_the_window_in_two(spa):
    # Midsummer night at 77.5° N: the sun goes round in the north, under 15° high.
    hill = [(0, 0), (329.99, 0), (330, 40), (345, 40), (345.01, 0)]
    of, found = made(
        horizon=hill,
        key="2027-06-12-evening",
        place="Ptarmigan Fjord",
        date="2027-06-12",
    )
    place = of.request.place
    azimuth = spa(found.drive.utc, place.latitude_deg, place.longitude_deg).azimuth_deg
    before, after = found.windows
    hidden = found.drive.utc[(azimuth > 330) & (azimuth < 345)]
    assert abs(before.last.utc - hidden[0]) <= ONE_MINUTE
    assert abs(after.first.utc - hidden[-1]) <= ONE_MINUTE
    assert after.first.earliest_utc > before.last.utc


def test_behind_the_skyline_there_is_no_edge_and_less_light():
    _, level = made()
    _, walled = made(horizon=[(0, 25)])
    assert np.allclose(walled.stops[40:], 0.0)  # from 16:10: the sun 24° high, SPA
    assert (walled.face_lux[40:100] < level.face_lux[40:100]).all()


def test_the_spread_moves_the_end_to_where_the_stops_allow_it():
    _, found = made()
    spread = found.drive.spread_stops
    last = found.windows[-1].last
    at = found.drive.minute
    for instant, stops in (
        (last.utc, found.stops),
        (last.earliest_utc, found.stops - spread),
        (last.latest_utc, found.stops + spread),
    ):
        assert stops[at(instant)] >= rim.LEAST_STOPS
        assert stops[at(instant) + 1] < rim.LEAST_STOPS
    assert last.earliest_utc < last.utc < last.latest_utc


def test_the_spread_moves_the_start_to_where_the_stops_allow_it():
    # In haze, when the sun rises after the gate opens.
    _, found = made(key="2027-08-12-morning", sky="haze")
    spread = found.drive.spread_stops
    first = found.windows[0].first
    at = found.drive.minute
    for instant, stops in (
        (first.utc, found.stops),
        (first.earliest_utc, found.stops + spread),
        (first.latest_utc, found.stops - spread),
    ):
        assert stops[at(instant)] >= rim.LEAST_STOPS
        assert stops[at(instant) - 1] < rim.LEAST_STOPS
    assert first.earliest_utc < first.utc < first.latest_utc


def test_a_window_never_starts_before_the_one_before_it_has_ended():
    # A sun that dips to 3.25°, where only the bright end of the spread has an edge.
    of = trip()
    drive = of.drive(EVENING)
    minutes = np.arange(len(drive.utc))
    dips = np.where((minutes > 60) & (minutes < 90), 3.25, 6.0)
    found = rim.make(of, under(drive, dips))
    assert found.works[2].all()
    before, after = found.windows
    assert before.last.utc == drive.utc[60]
    assert after.first.earliest_utc == drive.utc[61]


def test_an_end_that_the_dim_case_does_not_have_is_none():
    # Under broken cloud the edge is a stop at best: a stop less is none at all.
    _, found = made(sky="broken")
    assert found.works[2].any()
    assert not found.works[1].any()
    for window in found.windows:
        assert window.first.latest_utc is None
        assert window.last.earliest_utc is None


def test_minutes_of_a_window_are_those_that_work():
    _, found = made()
    assert [w.minutes for w in found.windows] == [int(found.works[0].sum())]


def test_the_gate_itself_counts_for_no_minute():
    _, found = made(
        key="2027-06-12-evening", place="Ptarmigan Fjord", date="2027-06-12"
    )
    (window,) = found.windows
    drive = found.drive
    assert window.last.utc == drive.utc[-1]
    assert window.minutes == len(drive.utc) - 1 - drive.minute(window.first.utc)


def test_the_usual_aim_has_the_sun_forty_degrees_to_the_right():
    # The middle of the rim's 120–160° is 140°: 40° beside the sun.
    _, found = made()
    assert np.allclose((found.drive.azimuth_deg - found.look_deg) % 360, 40.0)
    assert np.allclose(found.facing_deg, 140.0)


def test_an_aim_away_from_the_sun_has_no_window():
    _, found = made(aim=105.0)  # the sun sets about 285°
    assert found.windows == ()
    assert not found.behind.any()


@pytest.mark.parametrize("aim", [-1.0, 361.0, math.nan])
def test_an_aim_beyond_the_compass_is_refused_in_a_sentence(aim):
    with pytest.raises(ValueError, match="aim must be 0 to 360°, got"):
        made(aim=aim)


# ------------------------------------------------------------- one minute


def test_exposures_follow_iso_2720_and_the_lens_transmission():
    lens = Lens(name="glass", widest=((400.0, 4.0),), transmission=0.81)
    body = Body(name="box", format="full frame", megapixels=24.0, iso_ceiling=6400)
    choice = choose(Rig(name="r", body=body, lens=lens), shutter_s=1 / 1000)
    of = plan.make(
        Request(
            CATALOG.place("Mopane Loop"),
            dt.date(2027, 8, 12),
            dt.date(2027, 8, 12),
            (choice,),
        )
    )
    found = rim.make(of, of.drive(EVENING))
    (rig,) = stop.stop_at(of, found, 100, 30.0).rigs
    # S = C·N²/(E·t), C = 250, with N/√transmission for N.
    face = 250 * (4.0**2 / 0.81) / found.face_lux[100] * 1000
    assert rig.face_iso == pytest.approx(face)
    assert rig.rim_iso == pytest.approx(face / 2 ** found.stops[100])
    assert rig.silhouette_iso == pytest.approx(face / 8)  # Zone II: three stops


def test_the_frame_at_the_animal_is_the_sensors_at_its_scale():
    # 36 × 24 mm at 600 mm, 30 m off: 30 ÷ 0.6 = 50 times as large.
    (rig, *_) = stopped(made(), 100).rigs
    assert rig.frame_m == pytest.approx((1.8, 1.2))
    assert rig.view_deg == pytest.approx((3.43672, 2.29153), abs=1e-5)


def test_the_sun_shines_on_the_lens_only_while_it_shows():
    found = made(horizon=[(0, 5)])
    assert stopped(found, 100).rigs[0].on_front
    hidden = int(np.flatnonzero(found[1].drive.apparent_deg < 5)[0])
    assert not stopped(found, hidden).rigs[0].on_front


def test_an_aim_beside_the_sun_tells_the_light_and_how_far_the_sun_is():
    found = made(aim=250.0)
    at = stopped(found, 111)
    off = at.azimuth_deg - 250.0
    assert at.sector.key == "rim"
    assert at.facing_deg == pytest.approx(180 - off)
    assert at.rigs[0].outside_deg == pytest.approx(
        math.degrees(
            math.acos(
                math.cos(math.radians(at.apparent_deg)) * math.cos(math.radians(off))
            )
        )
        - 1.718,
        abs=0.05,  # the frame's reach towards a sun 8° above its middle line
    )


@pytest.mark.parametrize("minute", [-1, 10_000])
def test_a_minute_outside_the_drive_is_refused_in_a_sentence(minute):
    with pytest.raises(ValueError, match="minute must be 0 to 180 of this drive"):
        stopped(made(), minute)


@pytest.mark.parametrize("distance", [0.0, -5.0, math.nan, math.inf])
def test_a_distance_that_is_none_is_refused_in_a_sentence(distance):
    with pytest.raises(ValueError, match="distance must be more than 0 m, got"):
        stopped(made(), 100, distance)


# ------------------------------------------------------------- where there is no answer


def stood(altitude_deg, azimuth_deg, place="Mopane Loop", sky="clear", horizon=()):
    """A drive whose sun stands still."""
    of = trip(place, sky=sky)
    drive = of.drives[-1]
    still = replace(
        under(drive, np.full_like(drive.altitude_deg, altitude_deg)),
        azimuth_deg=np.full_like(drive.azimuth_deg, azimuth_deg),
    )
    return of, rim.make(of, still, None, horizon)


POLE = Place(
    name="Pole",
    latitude_deg=90.0,
    longitude_deg=20.0,
    timezone="UTC",
    gates=(Gates.model_validate({"evening": ("15:00", "18:00")}),),
)
CASES = {
    "zenith": (stood(89.6, 10.0), "overhead"),
    "down": (stood(-3.0, 285.0), "below the horizon"),
    "skyline": (stood(4.0, 285.0, horizon=((285, 9.0),)), "hides the sun"),
    "overcast": (stood(8.0, 285.0, sky="overcast"), "no direct sun"),
    "high": (stood(40.0, 285.0), "40.0° high; a rim needs 15° or less"),
    "pole": (stood(10.0, 285.0, place=POLE), "every direction is south"),
    "unknown": (stood(np.nan, np.nan), "not known"),
}


@pytest.mark.parametrize("key", CASES)
def test_what_stands_in_the_way_is_told_in_one_sentence(key):
    (of, found), words = CASES[key]
    at = stop.stop_at(of, found, 10, 30.0)
    assert at.trouble == key
    sentence = stop_words.trouble(of, at)
    assert words in sentence
    assert sentence.endswith(".")
    assert ". " not in sentence


@pytest.mark.parametrize("key", ["zenith", "unknown"])
def test_a_sun_without_a_bearing_leaves_no_way_to_look(key):
    (of, found), _ = CASES[key]
    assert stop.stop_at(of, found, 10, 30.0).looks == ()


@pytest.mark.parametrize("key", ["zenith", "down", "skyline", "overcast", "high"])
def test_where_the_sun_gives_no_rim_there_is_no_window(key):
    assert CASES[key][0][1].windows == ()


@pytest.mark.parametrize("key", CASES)
def test_every_case_is_answered_without_nan(key):
    (of, found), _ = CASES[key]
    at = stop.stop_at(of, found, 10, 30.0)
    said = "".join(part.text for part in answer.answer(of, found, at))
    assert "nan" not in said
    assert said.endswith(".")


def said(found, minute):
    of, by_minute = found
    parts = answer.answer(of, by_minute, stopped(found, minute))
    return "".join(part.text for part in parts)


@pytest.mark.parametrize("key", ["zenith", "down", "skyline", "overcast", "high"])
def test_a_drive_without_a_rim_says_so_first(key):
    text = said(CASES[key][0], 10)
    assert text.startswith("No rim light on this drive, Thu 12 Aug, evening: ")
    assert "stop north" not in text
    assert "look" not in text


def test_a_sun_too_high_all_the_drive_is_told_with_its_heights():
    of, found = made()
    heights = np.linspace(34.2, 20.4, len(found.drive.utc))
    high = rim.make(of, under(found.drive, heights))
    assert "the sun is 20–34° high, a rim needs 15° or less" in said((of, high), 10)


@pytest.mark.parametrize(
    ("heights", "text"),
    [((15.02, 33.96), "15.1–34.0°"), ((20.4, 20.4), "20°"), ((40.0, 61.6), "40–62°")],
)
def test_a_sun_over_the_limit_is_never_written_as_at_it(heights, text):
    assert answer.heights_text(np.array(heights)) == text


def test_a_minute_without_a_rim_says_so_first_and_then_when_there_is_one():
    text = said(made(), 70)  # 16:40: the sun 17.1° high, by SPA
    assert text.startswith("No rim light at 16:40, Thu 12 Aug, evening: the sun, at")
    assert "17.1° high; a rim needs 15° or less. The rim works from 16:50" in text
    assert "stop north" not in text


def test_an_edge_just_short_of_a_stop_is_not_written_as_one():
    of, found = made(sky="haze")
    minute = int(np.flatnonzero(found.works[0])[-1]) + 1
    text = said((of, found), minute)
    assert text.startswith("Perhaps rim light at")
    assert "the edge is 0.9 stops brighter than the shadow side" in text
    assert 0.9 < found.stops[minute] < 1.0


def test_an_aim_away_from_the_sun_still_says_where_to_stop_for_a_rim():
    text = said(made(aim=105.0), 100)
    assert text.startswith("No rim light on this drive")
    assert "along this aim the sun is never far enough behind the animal" in text
    assert (
        "For rim light stop east-north-east of the animal, 30 m off, and look" in text
    )


# ------------------------------------------------------------- ISO over the limit


@pytest.mark.parametrize(
    ("iso", "ceiling", "text"),
    [
        # log2(10000 / 6400) = 0.64; ISO speeds a third of a stop apart, ISO 12232.
        (9900, 6400, ", 0.6 stop over its limit of ISO 6400"),
        (6400, 6400, ""),
        (12_800, 3200, ", 2.0 stops over its limit of ISO 3200"),
        (7990, 7900, ", just over its limit of ISO 7900"),
        # Beyond the scale by what is needed: 2^3 times the limit.
        (819_200, 102_400, ", 3.0 stops over its limit of ISO 102400"),
    ],
)
def test_an_iso_over_its_rigs_limit_says_by_how_much(iso, ceiling, text):
    choice = replace(trip().request.rigs[0], iso_ceiling=ceiling)
    assert answer.over_text(iso, choice) == text


def test_the_sentence_names_the_limit_at_the_iso_that_is_over_it():
    text = said(made(), 130)  # 17:40, where A and C want more than their limits
    ceilings = [f"{c.iso_ceiling:g}" for c in trip().request.rigs]
    a, b, c = (text.split(f" {letter} ")[1] for letter in "ABC")
    assert re.search(rf"stops? over its limit of ISO {ceilings[0]}; ISO ", a)
    assert "limit" not in b.split(" C ")[0]
    both = said(made(), 132).split(" C ")[1]  # two minutes later its rim wants more too
    assert c.count(f"over its limit of ISO {ceilings[2]}") == 1
    assert both.count(f"over its limit of ISO {ceilings[2]}") == 2


# ------------------------------------------------------------- the sun's path in words


@pytest.mark.parametrize(
    ("bearings", "text"),
    [
        ((111.0, 106.0, 109.0), "stays between 106° ESE and 111° ESE"),
        ((75.0, 60.0, 50.0), "goes from 75° ENE to 50° NE"),
        ((350.0, 2.0, 10.0), "goes from 350° N to 10° N"),
        ((5.0, 352.0, 4.0), "stays between 352° N and 5° N"),
        ((90.1, 90.2, 90.0), "stays at 90° E"),
        ((10.0, 130.0, 250.0, 11.0), "goes all the way round"),
    ],
)
def test_the_suns_path_is_told_by_its_bounds(bearings, text):
    found = made()[1]
    grid = np.linspace(0, 1, len(found.drive.utc))
    path = np.unwrap(np.array(bearings), period=360.0)
    turned = np.interp(grid, np.linspace(0, 1, len(path)), path) % 360.0
    of = replace(found, drive=replace(found.drive, azimuth_deg=turned))
    assert stop_words.path_text(of) == f"Over the drive the sun {text}."


def test_at_the_pole_noon_is_along_the_places_own_meridian():
    # At 90° N the sun over the meridian of 20° E stands above that meridian: the
    # direction that the sentence names.
    noon = sun.transit_utc(np.datetime64("2027-06-21T11:00"), 20.0)
    azimuth = float(sun.position(noon, 90.0, 20.0).azimuth_deg)
    assert azimuth == pytest.approx(180.0, abs=0.05)  # the transit is good to 4 s
    of, found = CASES["pole"][0]
    sentence = stop_words.trouble(of, stop.stop_at(of, found, 10, 30.0))
    assert "180° follows the meridian of 20°" in sentence
