"""The light on either side of a vehicle, and where to sit for the light wanted."""

import datetime as dt
import re
from dataclasses import replace
from pathlib import Path

import astral
import astral.sun
import numpy as np
import pytest

from lightplan import naming
from lightplan.catalog import places
from lightplan.catalog.places import Place
from lightplan.light.backlight import SECTORS
from lightplan.loop import loop, route
from lightplan.loop import words as loop_words
from lightplan.loop.loop import DIRECTED, DOWN, FLAT, HIGH, LOW
from lightplan.loop.seats import EITHER, LEFT, RIGHT
from lightplan.stop import rim
from lightplan.trip import plan
from lightplan.trip.drives import Drive
from lightplan.trip.request import Request, choose

FRONT, SIDE, RIM, BACK = range(4)
# At the equinox the sun rises due east and sets due west everywhere, and on the
# equator it keeps to that bearing (Explanatory Supplement, ch. 7; common knowledge).
EQUATOR = Place(name="Line", latitude_deg=0, longitude_deg=0, timezone="UTC")
EQUINOX = dt.date(2027, 3, 20)
NEAR_EDGE_DEG = 0.1  # our sun and SPA's differ by at most 0.02° in bearing


def clock(hour: int, minute: int = 0, date: dt.date = EQUINOX) -> np.datetime64:
    return np.datetime64(f"{date.isoformat()}T{hour:02d}:{minute:02d}", "s")


def a_drive(opens=(15, 0), closes=(18, 30)) -> Drive:
    return Drive(EQUINOX, "evening", clock(*opens), clock(*closes), True)


def drive(
    legs: str,
    wanted="front",
    start=(16, 0),
    place=EQUATOR,
    speed_kmh=20.0,
    of=None,
    **conditions: str,
) -> loop.Loop:
    return loop.make(
        route.read_legs(legs),
        place,
        of or a_drive(),
        clock(*start),
        speed_kmh,
        wanted,
        **conditions,
    )


def seats(found: loop.Loop) -> list[tuple[int, int, int]]:
    """Where to sit, from and to which whole minute."""
    return [
        (s.value, round(s.from_min), round(s.to_min)) for s in found.spells(found.seat)
    ]


def said(found: loop.Loop) -> str:
    return naming.plain(loop_words.answer(found, "UTC"))


# ------------------------------------------------------------- sides


@pytest.mark.parametrize(
    ("heading", "left", "right"),
    [
        # The sun stands due west, 270°. Northwards the left looks at it and sees
        # the animal's dark side; the right has it behind.
        ("N", BACK, FRONT),
        ("S", FRONT, BACK),
        # Towards it and away from it both sides are lit across.
        ("W", SIDE, SIDE),
        ("E", SIDE, SIDE),
        # 30° west of north the left looks along 240°, 30° off the sun: 150°; the
        # right along 60°: 30°.
        ("330", RIM, FRONT),
        ("210", FRONT, RIM),
    ],
)
def test_each_side_sees_what_the_suns_bearing_makes_of_it(heading, left, right):
    found = drive(f"{heading} 20 min")
    assert set(found.sector[LEFT]) == {left}
    assert set(found.sector[RIGHT]) == {right}


@pytest.mark.parametrize(
    ("latitude", "longitude"),
    [(-13.1, 31.8), (57.0, -4.0), (0.5, 179.99), (78.2, 15.6)],
)
def test_sides_agree_with_the_sun_of_another_library(latitude, longitude, spa):
    # NREL's SPA as pvlib computes it; the angle from the two directions' product.
    place = Place(
        name="There", latitude_deg=latitude, longitude_deg=longitude, timezone="UTC"
    )
    legs = "\n".join(f"{bearing} 6 min" for bearing in range(0, 360, 7))
    found = drive(legs, start=(4, 0), place=place)
    utc = clock(4) + (found.minute * 60).round().astype("timedelta64[s]")
    sun = spa(utc, found.latitude_deg, found.longitude_deg)
    azimuth = np.radians(sun.azimuth_deg)
    compared = 0
    for side, turn in ((LEFT, -90), (RIGHT, 90)):
        look = np.radians(found.track.heading_deg[found.leg] + turn)
        to_camera = -np.array([np.sin(look), np.cos(look)])
        to_sun = np.array([np.sin(azimuth), np.cos(azimuth)])
        angle = np.degrees(np.arccos(np.clip((to_camera * to_sun).sum(axis=0), -1, 1)))
        for i, sector in enumerate(SECTORS):
            within = (angle > sector.from_deg + NEAR_EDGE_DEG) & (
                angle < sector.to_deg - NEAR_EDGE_DEG
            )
            assert (found.sector[side][within] == i).all()
            compared += within.sum()
    assert compared > 1.9 * len(utc)  # all but what is near an edge, on both sides


def test_a_loop_across_the_180th_meridian_has_the_same_light(spa):
    found = drive("E 30 km", place=EQUATOR.model_copy(update={"longitude_deg": 179.9}))
    assert found.longitude_deg.min() < -179.8
    utc = clock(16) + (found.minute * 60).round().astype("timedelta64[s]")
    sun = spa(utc, found.latitude_deg, found.longitude_deg)
    assert found.altitude_deg == pytest.approx(sun.altitude_deg, abs=0.05)


def test_at_a_pole_the_light_is_that_of_a_step_away():
    def at(latitude: float) -> loop.Loop:
        place = EQUATOR.model_copy(update={"latitude_deg": latitude})
        return drive("W 30 min", place=place, speed_kmh=1)

    # The sun is at the pole's horizon at the equinox; half a degree is its own width.
    pole, beside = at(90.0), at(89.999)
    assert pole.altitude_deg == pytest.approx(beside.altitude_deg, abs=0.02)
    assert np.isfinite(pole.azimuth_deg).all()


# ------------------------------------------------------------- the seat


def test_one_changes_sides_where_the_light_does():
    found = drive("N 30 min\nS 30 min")
    assert seats(found) == [(RIGHT, 0, 30), (LEFT, 30, 60)]
    assert "sit on the right until 16:30, then on the left. " in said(found)


@pytest.mark.parametrize(
    ("wanted", "seat"), [("front", RIGHT), ("back", LEFT), ("side", EITHER)]
)
def test_the_light_wanted_decides(wanted, seat):
    assert set(drive("N 30 min", wanted).seat) == {seat}


def test_rim_light_is_on_the_other_side_of_front_light():
    # From 17:15 to 17:45 the sun of the equator sinks from 14° to 6°: 15° an hour.
    assert set(drive("330 30 min", "rim", (17, 15)).seat) == {LEFT}
    assert set(drive("330 30 min", "front", (17, 15)).seat) == {RIGHT}


def test_a_rim_wants_a_low_sun_and_a_beam():
    high = drive("330 30 min", "rim")  # at 16:00, two hours before sunset, 30°
    assert set(high.seat) == {EITHER}
    text = "neither side has rim light on this loop; a rim needs the sun at 15° or less"
    assert text in said(high)
    assert loop_words.seen_on(high, LEFT, 0) == "backlit, no rim"
    # Under broken cloud the edge is a stop at best, as the page of stops says.
    dull = drive("330 30 min", "rim", (17, 15), sky="broken")
    assert not dull.got(LEFT, dull.wanted).any()


def test_rim_light_ends_on_the_loop_where_it_ends_at_a_stop():
    # What `rim.make` finds for a place and a whole drive, by the minute.
    catalog = places.load(Path(__file__).parents[2] / places.EXAMPLE_FILE)
    day, place = dt.date(2027, 8, 12), catalog.place("Mopane Loop")
    rigs = (choose(catalog.rig("400 prime")),)
    of = plan.make(Request(place=place, first=day, last=day, rigs=rigs))
    morning = of.drives[0]
    window = rim.make(of, morning).windows[0]
    # On the right one looks along 105°, some 40° beside the sun north of east.
    around = loop.make(
        route.read_legs("15 0.01 km 179 min"),
        place,
        morning.drive,
        morning.opens_utc,
        15.0,
        "rim",
    )
    minutes = around.minute[around.got(RIGHT, RIM)]
    last = around.at(float(minutes[-1]))
    assert abs(last - window.last.utc) <= np.timedelta64(60, "s")


def test_a_change_for_a_minute_is_left_out():
    found = drive("N 20 min\nS 1 min\nN 20 min")
    assert seats(found) == [(RIGHT, 0, 41)]
    assert "on the right all the way" in said(found)


def test_there_and_back_for_five_minutes_is_told():
    found = drive("N 20 min\nS 5 min\nN 20 min")
    assert seats(found) == [(RIGHT, 0, 20), (LEFT, 20, 25), (RIGHT, 25, 45)]


def test_where_one_side_has_nearly_as_much_one_stays_on_it():
    # Two changes for three minutes of light more, of 43: less than two for each.
    found = drive("N 20 min\nS 3 min\nN 20 min")
    assert seats(found) == [(RIGHT, 0, 43)]
    text = said(found)
    assert "sit on the right all the way. That gives front light for 40 of 43" in text
    assert "staying on one side" not in text


def test_light_too_short_for_the_tables_is_worth_no_change():
    # Four times 45 s on the left, which no table tells, would gain three minutes.
    found = drive("S 0.75 min\nW 5 min\n" * 4 + "N 15 min")
    assert seats(found) == [(RIGHT, 0, 38)]


def test_light_outside_the_gates_is_worth_no_change():
    shut = a_drive(opens=(16, 0), closes=(16, 30))
    found = drive("N 30 min\nS 30 min", of=shut)
    assert seats(found) == [(RIGHT, 0, 60)]


def test_flickering_for_a_quarter_of_an_hour_makes_one_change():
    legs = "\n".join(["N 1 min", "S 1 min"] * 8)
    found = drive(f"N 10 min\n{legs}\nS 10 min")
    assert [value for value, *_ in seats(found)] == [RIGHT, LEFT]


def test_where_neither_side_has_it_one_stays_seated():
    found = drive("N 20 min\nW 20 min\nN 20 min")
    assert seats(found) == [(RIGHT, 0, 60)]
    assert "That gives front light for 40 of 60 minutes." in said(found)


def test_one_changes_seats_no_sooner_than_it_pays():
    assert seats(drive("N 20 min\nW 20 min\nS 20 min")) == [
        (RIGHT, 0, 40),
        (LEFT, 40, 60),
    ]


def test_one_sits_on_the_side_of_the_first_light_before_it_comes():
    assert seats(drive("W 20 min\nS 20 min")) == [(LEFT, 0, 40)]


def test_many_changes_are_counted_not_listed():
    legs = "\n".join(["N 5 min", "S 5 min"] * 4)
    text = said(drive(legs))
    assert "and so on, 7 changes in all" in text
    assert text.count("then on the") == loop_words.MOST_SEATS - 1


def test_the_minutes_gained_are_the_sum_of_those_the_tables_clocks_tell():
    # Three spells of 2 min 45 s from 16:00, 16:07 and 16:14 are told as 16:00–16:03
    # and so on: 9 min together, though 8.25 pass. Three of 2 min 15 s: 6 for 6.75.
    nine = said(drive("N 2.75 min\nW 4.25 min\n" * 2 + "N 2.75 min"))
    assert "front light for 9 of 17 minutes. " in nine
    six = said(drive("N 2.25 min\nW 4.75 min\n" * 2 + "N 2.25 min"))
    assert "front light for 6 of 16 minutes. " in six


def test_light_outside_the_gates_is_not_counted():
    text = said(drive("N 60 min", of=a_drive(opens=(15, 0), closes=(16, 40))))
    assert "front light for 40 of 60 minutes, counted inside the gates. " in text


# ------------------------------------------------------------- no matter


def test_under_an_even_sky_it_does_not_matter_where_one_sits():
    found = drive("N 30 min", sky="overcast")
    assert set(found.even) == {FLAT}
    assert set(found.seat) == {EITHER}
    assert "it does not matter where you sit, the light comes evenly" in said(found)


def test_with_the_sun_down_it_does_not_matter():
    found = drive("N 30 min", start=(19, 0))
    assert set(found.even) == {DOWN}
    assert "it does not matter where you sit, the sun is down" in said(found)


def test_where_two_reasons_follow_each_other_both_are_told_with_the_time():
    # Sunrise at 06:04 UTC, as in the next test; under a closed cloud no side is lit.
    found = drive(
        "N 60 min", start=(5, 40), of=a_drive((5, 30), (9, 0)), sky="overcast"
    )
    assert re.search(
        "where you sit, the sun is down until 06:0[345], then the light comes evenly "
        "from the sky",
        said(found),
    )


def test_a_reason_of_less_than_a_minute_is_left_out():
    found = drive("N 30 min", sky="overcast")
    blink = found.even.copy()
    blink[40:42] = DOWN  # half a minute
    text = said(replace(found, even=blink))
    assert "where you sit, the light comes evenly from the sky. " in text


def test_reasons_too_many_for_a_sentence_leave_the_longest():
    found = drive("N 30 min", sky="overcast")
    turns = np.repeat([DOWN, FLAT, DOWN, FLAT, HIGH], [12, 40, 12, 40, 16])
    text = said(replace(found, even=turns))
    assert "the light comes evenly from the sky for most of the time. " in text


def test_before_sunrise_any_seat_will_do_and_the_advice_begins_with_the_sun():
    # Sunrise at the equator on the equinox is at 06:04 UTC on the Greenwich meridian
    # (12 h 07 of day about noon at 12:07:30); then in the east, left northwards.
    found = drive("N 60 min", start=(5, 40), of=a_drive((5, 30), (9, 0)))
    (dark, _, sunrise), left = seats(found)
    assert (dark, left) == (EITHER, (LEFT, sunrise, 60))
    assert sunrise == pytest.approx(24, abs=1)
    text = said(found)
    assert "sit on either side until 06:0" in text
    assert "(the sun is down), then on the left. " in text


def test_after_sunset_any_seat_will_do_again():
    found = drive("N 60 min", start=(17, 30))
    assert [value for value, *_ in seats(found)] == [RIGHT, EITHER]
    assert "then on either side (the sun is down). " in said(found)


# Far north in January the sun rises so flat that its centre, lifted by refraction,
# follows its upper limb ten minutes later.
@pytest.mark.parametrize(
    ("latitude", "longitude", "date"),
    [
        (69.65, 18.95, dt.date(2027, 1, 20)),
        (57.0, -4.0, dt.date(2027, 6, 21)),
        (-13.1, 31.8, dt.date(2027, 8, 12)),
    ],
)
@pytest.mark.parametrize("event", ["sunrise", "sunset"])
def test_the_sun_is_down_until_sunrise_and_from_sunset_on(
    latitude, longitude, date, event
):
    # astral's sunrise and sunset: of the upper limb, the centre at −0.833°; so far
    # north it is a minute and a half beside SPA, which has 09:37:56 of the first.
    utc = getattr(astral.sun, event)(astral.Observer(latitude, longitude), date)
    instant = np.datetime64(utc.replace(tzinfo=None), "s") - np.timedelta64(20, "m")
    place = Place(
        name="There", latitude_deg=latitude, longitude_deg=longitude, timezone="UTC"
    )
    found = loop.make(
        route.read_legs("N 40 min"),
        place,
        Drive(date, "day", instant, instant + np.timedelta64(40, "m"), True),
        instant,
        1.0,
        "front",
    )
    # As time goes in the morning, backwards in the evening.
    even = found.even if event == "sunrise" else found.even[::-1]
    (dark,) = np.flatnonzero(np.diff(even == DOWN)) + 1
    assert even[dark - 1] == DOWN
    assert dark * found.step_min == pytest.approx(20, abs=2)
    assert even[dark] == LOW


def test_with_the_sun_at_the_zenith_it_does_not_matter():
    # On the equator, at noon of the equinox.
    found = drive("N 30 min", start=(12, 0))
    assert found.altitude_deg.max() > 88
    assert set(found.even) == {HIGH}
    assert "the sun is too high to light one side" in said(found)


def test_just_risen_the_sun_lights_no_side_yet():
    # Seen through more than 30 air masses (Kasten & Young 1989: 38 at the horizon)
    # the beam is spent; refraction (Bennett 1982: 34′) has it above the horizon.
    assert loop.even(np.array([-0.2]), "clear", "open").tolist() == [LOW]


@pytest.mark.parametrize("altitude", [5.0, 20.0, 45.0, 59.0])
def test_under_a_clear_sky_the_side_matters(altitude):
    # ANSI PH2.7: backlight two stops below front light.
    assert loop.even(np.array([altitude]), "clear", "open").tolist() == [DIRECTED]


def test_where_both_sides_are_lit_across_either_will_do():
    text = said(drive("W 30 min", "side"))
    assert "it does not matter where you sit, both sides get the same" in text


def test_where_neither_side_has_it_that_is_said():
    text = said(drive("W 30 min", "rim"))
    assert "neither side has rim light on this loop. " in text


def test_where_neither_side_has_it_for_a_minute_that_is_said():
    text = said(drive("330 0.75 min\nW 30 min", "rim", (17, 15)))
    assert "neither side has rim light for as long as a minute on this loop. " in text


@pytest.mark.parametrize(
    ("gated", "where"), [(True, "inside the gates"), (False, "during the drive")]
)
def test_where_neither_side_has_it_while_the_drive_lasts_that_is_said(gated, where):
    short = Drive(EQUINOX, "evening", clock(15), clock(16, 10), gated)
    text = said(drive("W 20 min\n330 20 min", "rim", of=short))
    assert f"neither side has rim light {where}. " in text


def test_what_changing_seats_gains_is_told():
    text = said(drive("N 40 min\nS 20 min"))
    assert "front light for 60 of 60 minutes; staying on one side" in text
    assert "gives at most 40. " in text


# ------------------------------------------------------------- the gates


def test_the_answer_says_how_long_before_the_gates_it_ends():
    text = said(drive("N 90 min"))
    assert (
        "The 30.0 km run from 16:00 to 17:30, 1 h 00 before the gates shut at 18:30."
        in text
    )


def test_a_loop_that_comes_back_too_late_says_by_how_much_and_where_to_turn():
    text = said(drive("N 3 km 180 min"))
    assert "from 16:00 to 19:00, 30 min after the gates shut at 18:30." in text
    # Of 150 min to the gates half is for the way back: 75 min, and 1.25 km of 3.
    assert "turn round at 17:15, after 1.2 km." in text


def test_a_loop_that_starts_when_the_gates_shut_is_not_told_where_to_turn():
    text = said(drive("N 5 min", start=(18, 30)))
    assert "5 min after the gates shut at 18:30." in text
    assert "turn round" not in text


@pytest.mark.parametrize(
    ("start", "sentence"),
    [
        ((14, 30), "The start at 14:30 is 30 min before the gates open at 15:00."),
        ((18, 45), "The start at 18:45 is 15 min after the gates shut at 18:30."),
    ],
)
def test_a_start_outside_the_gates_is_told_before_all_else(start, sentence):
    assert said(drive("N 5 min", start=start)).startswith(sentence)


def test_a_start_inside_the_gates_is_not():
    assert "The start" not in said(drive("N 5 min\nS 5 min"))


def test_kinds_of_light_are_told_inside_the_gates_alone():
    (whole,) = loop_words.spells_of(drive("N 60 min"), RIGHT, FRONT)
    assert (whole.from_min, whole.to_min) == pytest.approx((0, 60))
    shut = drive("N 60 min", of=a_drive(opens=(16, 10), closes=(16, 40)))
    (spell,) = loop_words.spells_of(shut, RIGHT, FRONT)
    assert (spell.from_min, spell.to_min) == pytest.approx((10, 40))


def test_a_night_drive_begins_on_the_date_that_is_inside_it():
    night = Drive(EQUINOX, "night", clock(22), clock(22) + np.timedelta64(5, "h"), True)
    one = clock(1)
    next_day = one + np.timedelta64(1, "D")
    assert loop.start_of(night, (one, next_day)) == next_day
    next_afternoon = clock(16) + np.timedelta64(1, "D")
    assert loop.start_of(a_drive(), (clock(16), next_afternoon)) == clock(16)


def test_the_suns_way_is_told_with_what_is_seen_of_its_height():
    # On the equator at the equinox the sun keeps to due west until it sets, 15° an
    # hour; at the horizon refraction (Bennett 1982: 34′) lifts it by half a degree.
    found = drive("N 60 min", start=(17, 7))
    assert found.altitude_deg[-1] == pytest.approx(0, abs=0.2)
    assert loop_words.picture(found).startswith(
        "North is up. The sun stays at 270° W, its altitude from 15° to 1°. "
    )


# ------------------------------------------------------------- further notes


def test_legs_left_out_and_an_open_end_are_told():
    notes = loop_words.notes(drive("N 5 km\nE 0 km"), EQUATOR, False, 20)
    assert "Legs without length, left out: 1." in notes
    assert "It ends 5.0 km from where it starts." in notes


def test_a_route_far_from_the_place_is_told():
    notes = loop_words.notes(drive("from 10 0\nN 5 km\nS 5 km"), EQUATOR, False, 20)
    # Ten degrees of the mean sphere's meridian, 111.195 km each.
    assert any(n.startswith("It starts 1,112 km from Line") for n in notes)


def test_minutes_of_their_own_are_counted():
    notes = loop_words.notes(
        drive("N 5 km 9 min\nS 5 km\nstop 5 min"), EQUATOR, False, 20
    )
    assert "Legs with their own minutes: 1 of 2; the others run at 20 km/h." in notes


def test_an_unknown_light_is_refused():
    with pytest.raises(ValueError, match="light must be one of front, side, rim, back"):
        drive("N 5 km", "top")


def test_a_leg_says_what_each_side_sees_of_it():
    found = drive("N 30 min\nstop 5 min\n330 10 min", "rim", (17, 5))
    assert loop_words.seen_on(found, LEFT, 0) == "backlight"
    assert loop_words.seen_on(found, RIGHT, 1) == "front light"
    assert loop_words.seen_on(found, LEFT, 2) == "rim light"
    assert loop_words.seat_on(found, 2) == "left"


def test_a_leg_into_the_night_says_both():
    # Sunset at the equator on the equinox is at 18:10 UTC on the Greenwich meridian.
    found = drive("N 60 min", start=(17, 30))
    assert (
        loop_words.seen_on(found, RIGHT, 0)
        == "front light, then sun too low, then sun down"
    )
