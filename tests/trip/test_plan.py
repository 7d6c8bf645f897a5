"""A trip as it is asked for, and what holds for every plan made of it."""

import datetime as dt
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from lightplan.catalog import places
from lightplan.catalog.kit import Body, Lens, Rig
from lightplan.catalog.places import Place
from lightplan.sky import windows
from lightplan.trip import plan
from lightplan.trip.drives import Closed
from lightplan.trip.minutes import Outcome
from lightplan.trip.request import FACING_INDEX, Request, RigChoice, choose

EXAMPLE = Path(__file__).parents[2] / places.EXAMPLE_FILE
# NOAA's equations stay within 0.016° of JPL DE421 (tried 1950–2037).
SUN_DEG = 0.02
ROUNDING = 1e-12
MINUTE = np.timedelta64(1, "m")

BODY = Body(name="body", format="full frame", megapixels=45, iso_ceiling=6400)
GATES = [{"morning": ("06:00", "10:00"), "evening": ("15:30", "18:30")}]
RESERVE = {
    "name": "Test Pan",
    "latitude_deg": -13.1,
    "longitude_deg": 31.8,
    "timezone": "Africa/Lusaka",
    "gates": GATES,
}
PLACE = Place.model_validate(RESERVE)
DATE = dt.date(2027, 8, 12)


def choice(
    f_number: float,
    shutter_s: float = 1 / 1000,
    iso_ceiling: float = 6400,
    transmission: float = 1.0,
) -> RigChoice:
    lens = Lens(name="lens", widest=((400, f_number),), transmission=transmission)
    rig = Rig(name=f"f/{f_number}", body=BODY, lens=lens)
    return RigChoice(rig, 400, f_number, shutter_s, iso_ceiling)


REQUEST = Request(PLACE, DATE, DATE, (choice(6.3),))


def place_at(latitude_deg, longitude_deg, timezone, gates=GATES) -> Place:
    return Place.model_validate(
        RESERVE
        | {
            "latitude_deg": latitude_deg,
            "longitude_deg": longitude_deg,
            "timezone": timezone,
            "gates": gates,
        }
    )


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"rigs": ()}, ["1 to 6", "got 0"]),
        ({"rigs": (choice(6.3),) * 7}, ["1 to 6", "got 7"]),
        ({"facing": "top"}, ["'top'", "front", "side", "back"]),
        ({"sky": "sunny"}, ["'sunny'", "clear", "overcast"]),
        ({"cover": "tent"}, ["'tent'", "open", "woodland"]),
        ({"pace": "galloping"}, ["'galloping'", "walking"]),
        ({"travel_min": -1}, ["0 to 600", "got -1"]),
        ({"travel_min": 601}, ["0 to 600", "got 601"]),
        ({"last": dt.date(2027, 8, 11)}, ["2027-08-11", "2027-08-12"]),
        ({"last": dt.date(2027, 10, 13)}, ["62", "63"]),
        ({"last": dt.date(2038, 1, 1)}, ["1950–2037", "2038-01-01"]),
        ({"limits": windows.Limits(7.0, 6.0, 30.0)}, ["order", "7, 6, 30"]),
        ({"limits": windows.Limits(-6.5, 6.0, 30.0)}, ["-6 <", "-6.5"]),
    ],
    ids=lambda value: next(iter(value)) if isinstance(value, dict) else "",
)
def test_request_out_of_range_is_refused_in_one_sentence(change, words):
    with pytest.raises(ValueError) as caught:  # noqa: PT011 - the text is checked
        plan.make(replace(REQUEST, **change))
    message = str(caught.value)
    assert [word for word in words if word not in message] == []
    assert "\n" not in message


def test_six_rigs_and_sixty_two_days_are_accepted():
    trip = plan.make(
        replace(REQUEST, rigs=(choice(6.3),) * 6, last=dt.date(2027, 10, 12))
    )
    assert len(trip.days) == 62
    assert len(trip.drives) == 124
    assert trip.drives[0].iso.shape == (6, 3, len(trip.drives[0].utc))


def test_equal_requests_are_equal_and_hash_alike():
    def request() -> Request:
        catalog = places.load(EXAMPLE)
        rig = choose(catalog.rig("600 prime ×1.4"))
        return Request(catalog.places[0], DATE, DATE, (rig,))

    one, other = request(), request()
    assert one is not other
    assert one == other
    assert hash(one) == hash(other)
    assert one != replace(other, travel_min=26)


def test_rows_hold_drives_and_closed_sessions_in_order_of_time():
    place = Place.model_validate(
        RESERVE | {"closures": [{"weekday": "Friday", "session": "evening"}]}
    )
    trip = plan.make(replace(REQUEST, place=place, last=dt.date(2027, 8, 14)))
    kinds = [(r.key, isinstance(r, Closed)) for r in trip.rows]
    assert kinds[2:4] == [("2027-08-13-morning", False), ("2027-08-13-evening", True)]
    starts = [drive.utc[0] for drive in trip.drives]
    assert len(starts) == 5
    assert all(a < b for a, b in pairwise(starts))


def test_every_drive_carries_the_sun_of_its_own_date():
    # Noon in Lusaka falls near 10:00 UTC, on the same date there and in UTC.
    for drive in plan.make(replace(REQUEST, last=dt.date(2027, 8, 14))).drives:
        noon = drive.sun.noon_utc.astype("datetime64[D]")
        assert noon == np.datetime64(drive.date)


def test_trip_that_is_closed_throughout_has_rows_and_no_drives():
    place = Place.model_validate(
        RESERVE | {"closures": [{"from": "08-01", "to": "08-31", "reason": "rain"}]}
    )
    trip = plan.make(replace(REQUEST, place=place))
    assert trip.drives == ()
    assert [row.reason for row in trip.rows] == ["rain", "rain"]
    assert trip.usable_min(0, 0) == 0


def test_drive_is_found_by_its_key_and_no_other():
    trip = plan.make(REQUEST)
    assert trip.drive("2027-08-12-evening") is trip.drives[1]
    assert trip.drive("2027-08-13-evening") is None


def test_trip_adds_up_the_usable_minutes_of_its_drives():
    trip = plan.make(replace(REQUEST, last=dt.date(2027, 8, 15)))
    for facing in range(3):
        singly = [d.outcomes[0][facing].usable_min for d in trip.drives]
        assert trip.usable_min(0, facing) == sum(singly) > 0


@pytest.mark.parametrize("travel_min", [0, 25, 600])
def test_turn_back_is_the_closing_time_less_the_way(travel_min):
    evening = plan.make(replace(REQUEST, travel_min=travel_min)).drives[1]
    # 18:30 in Lusaka, UTC+2, is 16:30 UTC.
    closes = np.datetime64("2027-08-12T16:30")
    assert evening.turn_back_utc == closes - np.timedelta64(travel_min, "m")


@pytest.mark.parametrize(
    "place",
    [
        PLACE,
        place_at(-51.0, -72.9, "America/Punta_Arenas"),
        place_at(78.2, 15.6, "Arctic/Longyearbyen", [{"evening": ("20:00", "25:30")}]),
        place_at(0.2, 36.9, "Africa/Nairobi", []),
    ],
    ids=["13° S", "51° S", "78° N", "no gates"],
)
@pytest.mark.parametrize("month", [1, 4, 7, 10])
def test_window_minutes_of_a_drive_add_up_to_its_length(place, month):
    date = dt.date(2027, month, 20)
    trip = plan.make(replace(REQUEST, place=place, first=date, last=date))
    for drive in trip.drives:
        length = (drive.closes_utc - drive.opens_utc) // MINUTE
        assert sum(drive.window_min(w.key) for w in trip.windows) == length
        assert len(drive.utc) == length + 1


# A drive from full sun into the dark, and what stops say about it: doubling the
# ceiling, opening by one stop (f-number ÷ √2) and doubling the time are the same.
@pytest.mark.parametrize("facing", FACING_INDEX.values())
@pytest.mark.parametrize("f_number", [2.8, 6.3, 11.0])
def test_one_stop_of_iso_aperture_or_shutter_gives_the_same_minutes(f_number, facing):
    ways = (
        choice(f_number, iso_ceiling=12800),
        choice(f_number / 2**0.5),
        choice(f_number, shutter_s=1 / 500),
    )
    evening = plan.make(replace(REQUEST, rigs=ways)).drives[1]
    # Only the rung of the rig's own shutter time may differ.
    by_iso, by_aperture, by_shutter = (
        replace(rig[facing], ladder=()) for rig in evening.outcomes
    )
    assert by_iso == by_aperture == by_shutter
    base = plan.make(replace(REQUEST, rigs=(choice(f_number),))).drives[1]
    assert by_iso.usable_min > base.outcomes[0][facing].usable_min


# T-number = f-number ÷ √transmission: half the light is one stop.
def test_transmission_of_a_half_costs_exactly_one_stop():
    rigs = (choice(4.0), choice(4.0, transmission=0.5))
    iso = plan.make(replace(REQUEST, rigs=rigs)).drives[1].iso
    assert np.log2(iso[1] / iso[0]) == pytest.approx(1.0, abs=ROUNDING)


# Common practice: the wider the lens, the longer the evening.
@pytest.mark.parametrize("facing", FACING_INDEX.values())
def test_wider_lens_has_more_usable_minutes_at_the_same_settings(facing):
    rigs = tuple(choice(f) for f in (11.0, 6.3, 2.8))
    for drive in plan.make(replace(REQUEST, rigs=rigs)).drives:
        slow, middle, fast = (rig[facing].usable_min for rig in drive.outcomes)
        assert slow < middle < fast


# Common practice: light from the front lasts longest, from behind least.
def test_front_light_outlasts_side_light_and_side_light_back_light():
    evening = plan.make(replace(REQUEST, rigs=(choice(11.0),))).drives[1]
    front, side, back = (outcome.last.utc for outcome in evening.outcomes[0])
    assert front > side > back


@pytest.mark.parametrize("sky", ["clear", "haze", "broken", "overcast", "storm"])
@pytest.mark.parametrize("cover", ["open", "shade", "woodland", "canopy"])
def test_expected_minute_lies_between_earliest_and_latest(sky, cover):
    rigs = tuple(choice(f) for f in (2.8, 6.3, 11.0))
    for drive in plan.make(replace(REQUEST, rigs=rigs, sky=sky, cover=cover)).drives:
        for outcome in (o for rig in drive.outcomes for o in rig if o.first):
            # The bright end is usable wherever the expected light is.
            assert outcome.first.earliest_utc <= outcome.first.utc
            assert outcome.last.latest_utc >= outcome.last.utc
            if outcome.first.latest_utc is not None:
                assert outcome.first.latest_utc >= outcome.first.utc
                assert outcome.last.earliest_utc <= outcome.last.utc


def test_rig_that_is_never_usable_has_no_minutes_and_no_span():
    storm = replace(REQUEST, rigs=(choice(32.0, 1 / 8000, 50),), sky="storm")
    for drive in plan.make(storm).drives:
        assert drive.outcomes[0][2] == Outcome(None, None, 0, 0, False)


# UTC+14 on the far side of the date line, and both polar reaches of the tool.
@pytest.mark.parametrize(
    ("latitude_deg", "longitude_deg", "timezone", "date"),
    [
        (1.9, -157.4, "Pacific/Kiritimati", "2027-12-31"),
        (78.0, 15.6, "Arctic/Longyearbyen", "2027-03-01"),
        (78.0, 15.6, "Arctic/Longyearbyen", "2027-06-21"),
        (-78.0, 166.7, "Antarctica/McMurdo", "2027-09-25"),
        (-78.0, 166.7, "Antarctica/McMurdo", "2027-12-21"),
        (37.0, -6.4, "Europe/Madrid", "1950-01-01"),
        (37.0, -6.4, "Europe/Madrid", "2037-12-31"),
    ],
)
def test_sun_of_a_plan_is_the_suns(spa, latitude_deg, longitude_deg, timezone, date):
    day = dt.date.fromisoformat(date)
    place = place_at(latitude_deg, longitude_deg, timezone)
    for drive in plan.make(replace(REQUEST, place=place, first=day, last=day)).drives:
        sky = spa(drive.utc, latitude_deg, longitude_deg)
        assert drive.altitude_deg == pytest.approx(sky.altitude_deg, abs=SUN_DEG)
        turn = (drive.azimuth_deg - sky.azimuth_deg + 180) % 360 - 180
        assert np.abs(turn * np.cos(np.radians(sky.altitude_deg))).max() < SUN_DEG


def test_evening_at_utc_plus_14_holds_the_sunset_of_its_own_date():
    gates = [{"evening": ("17:30", "19:30")}]
    place = place_at(1.9, -157.4, "Pacific/Kiritimati", gates)
    date = dt.date(2027, 12, 31)
    (evening,) = plan.make(replace(REQUEST, place=place, first=date, last=date)).drives
    assert evening.utc[0] == np.datetime64("2027-12-31T03:30")  # 17:30 less 14 h
    # Near the equator the sun sets about 18:05 mean time, and 157.4° W runs half
    # an hour behind UTC+14 (−629.6 min against −600): about 18:35.
    assert evening.altitude_deg[0] > 0 > evening.altitude_deg[-1]


def test_week_of_a_clock_change_keeps_the_gates_on_the_clock(iana):
    place = place_at(37.0, -6.4, "Europe/Madrid")
    first, last = dt.date(2027, 3, 25), dt.date(2027, 3, 31)
    trip = plan.make(replace(REQUEST, place=place, first=first, last=last))
    zone = iana("Europe/Madrid")
    for drive in trip.drives:
        instant = drive.utc[0].item().replace(tzinfo=dt.UTC).astimezone(zone)
        assert f"{instant:%H:%M}" in ("06:00", "15:30")
        assert instant.date() == drive.date
    hours = {drive.utc[0].item().hour for drive in trip.drives[::2]}
    assert hours == {5, 4}  # 06:00 at UTC+1, then at UTC+2


def test_drive_past_midnight_runs_on_without_a_break():
    place = place_at(
        78.2, 15.6, "Arctic/Longyearbyen", [{"evening": ("20:00", "25:30")}]
    )
    date = dt.date(2027, 6, 30)
    (drive,) = plan.make(replace(REQUEST, place=place, first=date, last=date)).drives
    assert drive.key == "2027-06-30-evening"
    assert (np.diff(drive.utc) == MINUTE).all()
    assert len(drive.utc) == 331
