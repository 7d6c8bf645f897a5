"""Warm light and the sun on the animal: minutes of the plan, and their sentences."""

import datetime as dt
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lightplan import naming
from lightplan.catalog import places
from lightplan.catalog.gates import Gates
from lightplan.light import daylight
from lightplan.light.colour import temperature_k
from lightplan.trip import light_words, plan
from lightplan.trip.request import FACINGS, Request, choose

CATALOG = places.load(Path(__file__).parents[2] / "locations.example.toml")
DAY = dt.date(2027, 8, 12)
MINUTE = np.timedelta64(1, "m")


def trip(place="Mopane Loop", date=DAY, gates=None, **asked):
    rig = choose(CATALOG.rig("600 prime"))
    at = CATALOG.place(place)
    if gates:
        at = at.model_copy(update={"gates": (gates,), "closures": ()})
    return plan.make(Request(at, date, date, (rig,), **asked))


@pytest.fixture(scope="module")
def usual():
    return trip()


def said(of, drive):
    return naming.plain(light_words.best(of, drive))


# ------------------------------------------------------------- minutes


@pytest.mark.parametrize("facing", ["front", "side", "back"])
@pytest.mark.parametrize("aod", [0.05, 0.2, 0.4])
def test_warm_minutes_are_those_whose_light_is_below_the_limit(facing, aod):
    of = trip(facing=facing, aod500=aod, warm_k=4800)
    angle = {f.key: f.angle_deg for f in FACINGS}[facing]
    for drive in of.drives:
        kelvin = temperature_k(drive.apparent_deg, angle, aod500=aod)
        warm = np.zeros(len(kelvin), bool)
        for run in drive.warm:
            warm[drive.minute(run.first_utc) : drive.minute(run.last_utc) + 1] = True
        near = np.abs(kelvin - 4800) < 5  # between two altitudes of a table
        np.testing.assert_array_equal(warm[~near], (kelvin <= 4800)[~near])


def test_the_sun_is_on_the_animal_while_its_beam_is_worth_half_a_stop(usual):
    for drive in usual.drives:
        h = drive.apparent_deg
        with_beam = daylight.subject_lux(h, 0.0, drive.kind)
        parts = daylight.sky_parts(h, drive.kind)
        beam = parts.beam_lux * 2 / np.pi
        rest = with_beam - beam * np.cos(np.radians(np.maximum(h, 0)))
        stops = np.log2((rest + beam) / rest)
        (run,) = drive.sun_on
        lit = np.zeros(len(h), bool)
        lit[drive.minute(run.first_utc) : drive.minute(run.last_utc) + 1] = True
        near = np.abs(stops - 0.5) < 0.01
        np.testing.assert_array_equal(lit[~near], (stops >= 0.5)[~near])


def test_colours_are_those_of_the_model_and_none_in_the_dark(usual):
    evening = usual.drives[1]
    for kelvin, facing in zip(evening.kelvin, FACINGS, strict=True):
        expected = temperature_k(
            evening.apparent_deg, facing.angle_deg, aod500=evening.kind.aod500
        )
        # Interpolated between steps of 0.05°; in mired, where equal steps look equal.
        np.testing.assert_allclose(1e6 / kelvin, 1e6 / expected, atol=1.0)


def test_a_night_has_no_colour():
    night = trip("Two Rivers Plain").drives[2]
    assert (night.apparent_deg < -12).all()
    assert np.isnan(night.kelvin).all()
    assert not night.warm


def test_warm_minutes_leave_out_the_one_in_which_the_drive_ends(usual):
    evening = usual.drives[1]
    (warm,) = evening.warm
    assert evening.warm_min == evening.minute(warm.last_utc) + 1 - evening.minute(
        warm.first_utc
    )
    to_the_end = warm._replace(last_utc=evening.closes_utc)
    drive = replace(evening, warm=(to_the_end,))
    assert drive.warm_min == evening.minute(evening.closes_utc) - evening.minute(
        warm.first_utc
    )


def test_the_places_own_air_of_the_month_counts_unless_another_is_chosen():
    # The example's October is dusty (0.4), its June clean (0.1).
    october, june = (trip(date=dt.date(2027, month, 14)).drives[1] for month in (10, 6))
    assert (october.kind.aod500, june.kind.aod500) == (0.4, 0.1)
    assert not october.warm
    assert june.warm
    chosen = trip(date=dt.date(2027, 10, 14), aod500=0.1).drives[1]
    assert chosen.warm


def test_a_drive_with_dust_forecast_has_dusty_air_and_the_others_the_trips():
    of = trip(skies=(("2027-08-12-evening", "haze"),))
    morning, evening = of.drives
    assert (morning.kind.aod500, evening.kind.aod500) == (0.2, 0.4)


# ------------------------------------------------------------- sentences


def test_an_evening_says_warm_light_first_and_when_the_sun_leaves(usual):
    evening = usual.drives[1]
    (warm,), (sun,) = evening.warm, evening.sun_on
    clock = usual.clock
    assert said(usual, evening) == (
        f"warm light {clock(warm.first_utc)}–{clock(warm.last_utc)}, "
        f"sun on the animal until {clock(sun.last_utc)}"
    )
    # Both end before sunset: the air takes the beam before the horizon does.
    assert warm.last_utc < sun.last_utc < evening.sun.sunset_utc


def test_a_morning_says_the_sun_first_and_then_until_when_it_is_warm(usual):
    morning = usual.drives[0]
    (warm,), (sun,) = morning.warm, morning.sun_on
    assert said(usual, morning) == (
        f"sun on the animal from {usual.clock(sun.first_utc)}, "
        f"warm light {usual.clock(warm.first_utc)}–{usual.clock(warm.last_utc)}"
    )


def test_a_day_long_drive_has_two_stretches_and_the_suns_span():
    of = trip(gates=Gates(morning=("05:30", "19:00")))
    (day,) = of.drives
    morning, evening = day.warm
    (sun,) = day.sun_on
    assert said(of, day) == (
        f"sun on the animal {light_words.times(of, sun)}, warm light "
        f"{light_words.times(of, morning)} and {light_words.times(of, evening)}"
    )


def test_in_twilight_what_is_left_is_the_blue_of_the_sky():
    of = trip(gates=Gates(evening=("18:05", "18:20")))
    text = light_words.why(of, of.drives[0])
    assert text.startswith("The sun is down: what is left is the blue of the sky.")
    assert "White balance" in text


@pytest.mark.parametrize("sky", ["clear", "overcast"])
def test_in_the_dark_nothing_is_said_of_colours(sky):
    of = trip(gates=Gates(evening=("19:30", "20:00")), sky=sky)
    assert " K" not in light_words.why(of, of.drives[0])


def test_golden_by_altitude_is_said_where_it_was_chosen(usual):
    of = trip(gold="golden")
    assert said(of, of.drives[1]).startswith("golden light 17:29–18:11")
    assert light_words.why(of, of.drives[1]) == ""


def test_two_stretches_of_warm_light_are_both_said(usual):
    evening = usual.drives[1]
    (warm,) = evening.warm
    late = warm._replace(
        first_utc=warm.last_utc + 9 * MINUTE, last_utc=evening.closes_utc
    )
    text = said(usual, replace(evening, warm=(warm, late)))
    assert (
        f"{light_words.times(usual, warm)} and {light_words.times(usual, late)}" in text
    )


@pytest.mark.parametrize("sky", ["overcast", "storm"])
def test_under_a_sky_without_a_beam_there_is_neither(sky):
    of = trip(sky=sky)
    for drive in of.drives:
        assert (
            said(of, drive) == "no warm light and no sun on the animal under this sky"
        )
        assert (drive.warm, drive.sun_on) == ((), ())
        assert "nothing of the beam comes through" in light_words.why(of, drive)


def test_in_dusty_air_the_gold_ends_before_sunset_and_it_is_said():
    of = trip(aod500=0.4)
    evening = of.drives[1]
    text = light_words.why(of, evening)
    assert "no warm light inside the gates, sun on the animal until 17:" in said(
        of, evening
    )
    assert "through dusty air, its beam adds less than half a stop" in text
    assert "Before it turns warm, the beam is lost in dusty air." in text


def test_a_midnight_sun_that_stays_high_keeps_its_blue():
    of = trip("Ptarmigan Fjord", dt.date(2027, 6, 17))
    evening = of.drives[1]
    assert "sun on the animal throughout" in said(of, evening)
    assert "high at its lowest, keeps too much of its blue" in light_words.why(
        of, evening
    )


def test_cover_and_cloud_are_named_where_they_take_the_beam():
    woods = trip(cover="woodland")
    assert "usual air and woodland" in light_words.why(woods, woods.drives[1])
    broken = trip(sky="broken")
    text = light_words.why(broken, broken.drives[1])
    assert "lost in broken cloud." in text
    assert "Between the clouds it is as under a clear sky." in text


def test_white_balance_is_said_at_both_ends_and_at_the_warmest(usual):
    evening = usual.drives[1]
    kelvin = evening.kelvin[1]
    warmest = int(np.nanargmin(kelvin))
    text = light_words.why(usual, evening)
    for i in (0, warmest, len(kelvin) - 1):
        at = f"{naming.kelvin(kelvin[i])} at {usual.clock(evening.utc[i])}"
        assert at in text
    assert naming.kelvin(4274.0) == "4,250 K"
    assert naming.kelvin(31_000.0) == "over 20,000 K"


@pytest.mark.parametrize("warm_k", [1999.0, 7001.0, float("nan")])
def test_an_impossible_limit_of_warm_light_is_refused_in_a_sentence(warm_k):
    with pytest.raises(ValueError, match="limit of warm light must be 2000 to 7000 K"):
        trip(warm_k=warm_k)


def test_an_unknown_best_light_is_refused_with_the_choices():
    with pytest.raises(ValueError, match="best light must be one of warm, golden"):
        trip(gold="amber")
