"""What a plan says, sentence by sentence, for drives whose minutes are written down."""

import dataclasses
import re
from dataclasses import replace

import numpy as np
import pytest

from lightplan import naming
from lightplan.sky.windows import Stretch, light_windows
from lightplan.trip import words
from lightplan.trip.request import LETTERS

WINDOWS = {w.key: w for w in light_windows()}
MINUTE = np.timedelta64(1, "m")


@pytest.fixture(scope="module")
def told(trip, with_minutes):
    """Return what is said of a drive of Thu 12 Aug 2027 in Lusaka, UTC+2.

    The morning's gates are 06:00 and 10:00, the evening's 15:30 and 18:30. Sun
    and light are put in by hand, as minutes from the opening.
    """

    def say(
        *rigs,
        session="evening",
        golden=((109, 151),),
        sun=137,
        gated=True,
        hopeful=False,
        noon_deg=60.0,
        of=None,
    ):
        of = of or trip(rigs=len(rigs))
        of = replace(of, request=replace(of.request, gold="golden"))
        drive = of.drives[("morning", "evening").index(session)]
        opens = drive.opens_utc
        event = None if sun is None else opens + sun * MINUTE
        drive = replace(
            with_minutes(drive, *rigs, hopeful=hopeful),
            drive=replace(drive.drive, gated=gated),
            sun=drive.sun._replace(
                sunrise_utc=event, sunset_utc=event, noon_altitude_deg=noon_deg
            ),
            windows=tuple(
                Stretch(WINDOWS["golden"], opens + a * MINUTE, opens + b * MINUTE)
                for a, b in golden
            ),
        )
        return naming.plain(words.answer(of, drive))

    return say


A = "A 600 mm f/6.3 at 1/1600 s"
B = "B 400 mm f/2.8 at 1/1000 s"
C = "C 400 mm f/5.6 at 1/1250 s"


def test_an_evening_tells_light_sunset_gate_last_minute_and_the_way_back(told):
    # 15:30 and 109, 151, 137, 124, 122, 126 and 155 (25 before the gate) minutes.
    assert told((0, 124, 0, 0, 122, 126)) == (
        "Evening drive, Thu 12 Aug: golden light 17:19–18:01, sun down at 17:47, "
        f"gates shut at 18:30. For a lion walking, lit from the side, lens by hand: {A} to "
        "17:34 (17:32–17:36). Turn back by 18:05."
    )


def test_a_morning_tells_gate_light_sunrise_first_minute_and_the_way_back(told):
    # 06:00 and 0, 38, 9, 22, 19 and 24 minutes; back 25 before 10:00.
    said = told(
        (22, 215, 19, 24, 215, 215), session="morning", golden=((0, 38),), sun=9
    )
    assert said == (
        "Morning drive, Thu 12 Aug: gates open at 06:00, golden light from the gate to 06:38, "
        "sun up at 06:09. For a lion walking, lit from the side, lens by hand: "
        f"{A} from 06:22 (06:19–06:24). "
        "Turn back by 09:35 for the gate at 10:00."
    )


# The evening's 180 minutes end at turn-back after 155, the morning's 240 after 215.
def test_a_rig_that_lasts_to_turn_back_is_said_to(told):
    assert f"{A} lasts to turn-back." in told((0, 155))


def test_a_rig_good_all_morning_works_from_the_first_minute(told):
    assert f"{A} works from the first minute." in told((0, 215), session="morning")


def test_a_rig_never_usable_is_too_slow(told):
    assert f"{A} is over its ISO ceiling for the whole drive." in told(None)


def test_a_rig_usable_only_at_the_bright_end_of_the_spread_is_told_apart(told):
    said = told(None, hopeful=True)
    assert (
        f"{A} is over its ISO ceiling, unless there is more light than expected."
        in said
    )


def test_a_rig_usable_between_tells_both_ends(told):
    # 15:30 and 30, 60; 20, 45; 50, 75 minutes.
    assert f"{A} from 16:00 (15:50–16:15) to 16:30 (16:20–16:45)." in told(
        (30, 60, 20, 45, 50, 75)
    )


def test_rigs_alike_share_their_words_in_the_order_of_their_letters(told):
    assert f"{A} and {C} last to turn-back; {B} to 17:10." in told(
        (0, 155), (0, 100), (0, 155)
    )


def test_several_rigs_too_slow_share_their_words(told):
    assert f"{A}, {B} and {C} are over their ISO ceilings for the whole drive." in told(
        None, None, None
    )


# ------------------------------------------------------------- spread


def test_a_spread_that_reaches_gate_or_turn_back_names_it(told):
    assert "from 06:02 (gate–06:07)." in told(
        (2, 215, 0, 7, 215, 215), session="morning"
    )
    assert "to 18:00 (17:55–turn-back)." in told((0, 150, 0, 0, 145, 155))


def test_without_gates_a_spread_reaches_the_drives_start_or_end(told):
    said = told((2, 240, 0, 7, 240, 240), session="morning", gated=False)
    assert "from 06:02 (start–06:07)." in said
    said = told((0, 175, 0, 0, 170, 180), gated=False)
    assert "to 18:25 (18:20–end)." in said


def test_a_spread_whose_dark_end_has_no_usable_minute_says_perhaps_never(told):
    said = told((100, 215, 60, None, None, 215), session="morning")
    assert "from 07:40 (07:00 at best, perhaps not at all)." in said
    said = told((0, 40, 0, None, None, 70))
    assert "to 16:10 (16:40 at best, perhaps not at all)." in said


def test_without_a_spread_there_are_no_brackets(told):
    assert f"{A} to 17:34." in told((0, 124))


# ------------------------------------------------------------- light


def test_two_golden_stretches_are_both_told(told):
    # The sun leaves golden light and comes back to it: 16:00–16:20, 17:30–18:00.
    said = told((0, 180), golden=((30, 50), (120, 150)))
    assert "golden light 16:00–16:20 and 17:30–18:00, " in said


def test_without_golden_light_that_is_said(told):
    assert ": no golden light inside the gates, sun down at " in told(
        (0, 180), golden=()
    )


def test_without_golden_light_nor_gates_the_drive_is_named(told):
    said = told((0, 180), golden=(), gated=False)
    assert ": no golden light during the drive, sun down at " in said


def test_under_midnight_sun_an_evening_has_no_sunset(told):
    said = told((0, 180), sun=None, golden=())
    assert "inside the gates, the sun does not set, gates shut at 18:30. " in said


def test_under_midnight_sun_a_morning_has_no_sunrise(told):
    said = told((0, 240), session="morning", sun=None, golden=())
    assert "no golden light inside the gates. For a lion" in said
    assert "sun up" not in said


@pytest.mark.parametrize("session", ["morning", "evening"])
def test_in_polar_night_the_sun_does_not_rise(session, told):
    said = told((0, 30), session=session, sun=None, noon_deg=-3.0)
    assert ", the sun does not rise" in said


def test_sunrise_and_sunset_are_told_to_the_nearest_minute(trip, with_minutes):
    of = trip(rigs=1)
    drive = with_minutes(of.drives[1], (0, 180))
    for second, said in ((29, "17:47"), (31, "17:48")):
        sunset = np.datetime64(f"2027-08-12T15:47:{second}.000")
        told = replace(drive, sun=drive.sun._replace(sunset_utc=sunset))
        assert f"sun down at {said}," in naming.plain(words.answer(of, told))


# ------------------------------------------------------------- the way back


def test_without_a_gate_there_is_no_way_back_and_the_drive_just_ends(told):
    said = told((0, 180), gated=False)
    assert ", the drive ends at 18:30. " in said
    assert f"{A} lasts to the end." in said
    assert "gate" not in said.lower()
    assert "urn back" not in said


def test_a_way_back_longer_than_the_gates_are_open_is_said(trip, told):
    said = told((0, 180), of=trip(rigs=1, travel_min=200))  # gates open for 180
    assert said.endswith(" The way back takes 200 min, longer than the gates are open.")


# ------------------------------------------------------------- who and where


@pytest.mark.parametrize(
    ("pace", "said"),
    [
        ("resting", "For a lion resting, "),
        ("running", "For a lion running, "),
    ],
)
def test_the_animal_is_named_with_its_pace(pace, said, trip):
    of = trip(pace=pace)
    assert said in naming.plain(words.answer(of, of.drives[0]))


def test_an_animal_without_the_pace_has_the_nearest_and_a_note_says_so(trip):
    of = trip(pace="flying")
    assert "For a lion running, " in naming.plain(words.answer(of, of.drives[0]))
    said = "A lion does not fly: shutter speeds are for one running."
    assert said in words.notes(of)


@pytest.mark.parametrize(
    ("facing", "said"),
    [("front", "lit from the front"), ("side", "the side"), ("back", "from behind")],
)
def test_the_side_of_the_sun_is_named(facing, said, trip):
    of = trip(facing=facing)
    assert f"{said}, lens by hand: " in naming.plain(words.answer(of, of.drives[0]))


# Six sharp frames in ten are enough of an animal at rest, eight of one that walks.
def test_a_share_below_eight_in_ten_is_said_of_the_proposed_shutter_too(trip):
    resting, walking = (trip(rigs=1, pace=pace) for pace in ("resting", "walking"))
    of = naming.plain(words.answer(resting, resting.drives[0]))
    assert re.search(r"at 1/\d+ s \([67] in 10 sharp\) from", of)
    of = naming.plain(words.answer(walking, walking.drives[0]))
    assert re.search(r"at 1/\d+ s from", of)


def test_what_proposed_shutters_assume_is_said(trip):
    request = trip(rigs=2).request
    assert words.holding(request) == "lens by hand, no stabiliser, 30 m away"
    lens = request.rigs[1].rig.lens.model_copy(update={"stabiliser_stops": 4.0})
    steady = request.rigs[1].rig.model_copy(update={"lens": lens})
    rigs = (request.rigs[0], dataclasses.replace(request.rigs[1], rig=steady))
    held = dataclasses.replace(request, rigs=rigs, hold="gimbal", distance_m=12.5)
    assert (
        words.holding(held) == "lens on a gimbal, stabiliser up to 4 stops, 12.5 m away"
    )


def test_rig_names_and_minutes_are_marked_as_such(trip):
    of = trip()
    parts = words.answer(of, of.drives[1])
    named = {p.kind: p.text for p in parts if p.kind in LETTERS and p.kind}
    assert named == {"A": A, "B": B, "C": C}
    assert all(
        re.fullmatch(r"\d\d:\d\d(–\d\d:\d\d)?", p.text)
        for p in parts
        if p.kind == "strong"
    )
    assert all(
        re.fullmatch(r" \(.+\)", part.text) for part in parts if part.kind == "spread"
    )
