"""A plan as JSON: every value of the plan, in the form the module describes."""

import datetime as dt
import json
import math
import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from lightplan.catalog import kit, places
from lightplan.export import document
from lightplan.sky import windows
from lightplan.trip import plan, words
from lightplan.trip.drives import Closed
from lightplan.trip.request import FACINGS, Request, RigChoice, choose

planned = cache(plan.make)  # many tests look at the same trip, none changes it

EXAMPLE = Path(__file__).parents[2] / places.EXAMPLE_FILE
# Half a unit of the last digit that the module says it writes.
ANGLE_TOLERANCE_DEG = 0.5e-4
SIX_DIGITS = 5e-6  # relative
EVENT_TOLERANCE = np.timedelta64(500, "ms")
# What may end the name of a number, and the few numbers that have no unit.
UNITS = (
    "_deg", "_m", "_mm", "_s", "_min", "_lux", "_stops", "_iso", "_px", "_share",
)  # fmt: skip
BARE = {
    "version", "f_number", "iso_ceiling", "megapixels", "lit", "transmission", "factor",
    "widest", "horizon", "base_iso", "pair_f_number", "air", "aod500", "warm_k", "temperature_k",
}  # fmt: skip


@pytest.fixture(scope="module")
def catalog():
    return places.load(EXAMPLE)


def make(catalog, place, first, last=None, rigs=("150–600 zoom", "400 prime ×2"), **kw):
    return planned(
        Request(
            catalog.place(place) if isinstance(place, str) else place,
            dt.date.fromisoformat(first),
            dt.date.fromisoformat(last or first),
            tuple(choose(catalog.rig(name)) for name in rigs),
            **kw,
        )
    )


# A closed evening; a night drive, with a moon; the midnight sun and gates past
# midnight; a change of clocks and a closed day; skies and settings of one's own.
TRIPS = {
    "closed": ("Mopane Loop", "2027-08-12", "2027-08-14", {}),
    "night": ("Two Rivers Plain", "2027-08-12", "2027-08-12", {}),
    "midnight sun": ("Ptarmigan Fjord", "2027-06-21", "2027-06-21", {}),
    "clocks": ("Heron Marsh", "2027-03-27", "2027-03-29", {}),
    "own": (
        "Teak Hollow", "2027-11-01", "2027-11-01",
        {"pace": "flying", "facing": "back", "sky": "haze", "cover": "woodland",
         "travel_min": 300, "limits": windows.Limits(-3.0, 8.0, 25.0),
         "skies": (("2027-11-01-evening", "storm"),)},
    ),
}  # fmt: skip


@pytest.fixture(scope="module", params=TRIPS)
def trip(request, catalog):
    place, first, last, chosen = TRIPS[request.param]
    return make(catalog, place, first, last, **chosen)


def refuse(constant):
    raise AssertionError(f"{constant} is not JSON")


def read(trip):
    """Read the file back as RFC 8259 allows: UTF-8, no NaN, no Infinity."""
    return json.loads(document.dumps(trip).decode("utf-8"), parse_constant=refuse)


def drives(trip):
    """Pair the sessions that are held with the plan's drives."""
    held = [session for session in read(trip)["sessions"] if session["held"]]
    return list(zip(held, trip.drives, strict=True))


def instant(text):
    return np.datetime64(text.removesuffix("Z"), "s")


def same(text, utc):
    return text is None if utc is None else instant(text) == utc


def leaves(value, key=""):
    """Walk through numbers, strings and nulls with the key each stands under."""
    if isinstance(value, dict):
        for inner, below in value.items():
            yield from leaves(below, inner)
    elif isinstance(value, list):
        for below in value:
            yield from leaves(below, key)
    else:
        yield key, value


def keys(value):
    if isinstance(value, dict):
        for key, below in value.items():
            yield key
            yield from keys(below)
    elif isinstance(value, list):
        for below in value:
            yield from keys(below)


def test_format_and_version_come_first(trip):
    first, second, *_ = read(trip).items()
    assert (first, second) == (("format", "lightplan-plan"), ("version", 1))


def test_the_sun_and_the_moon_by_the_minute_are_the_plans(trip):
    for held, drive in drives(trip):
        minutes = held["minutes"]
        pairs = [
            (minutes["altitude_deg"], drive.altitude_deg),
            (minutes["apparent_deg"], drive.apparent_deg),
            (minutes["azimuth_deg"], drive.azimuth_deg),
        ]
        assert (held["moon"] is None) == (drive.moon is None)
        if drive.moon:
            pairs.append((held["moon"]["altitude_deg"], drive.moon.altitude_deg))
            assert held["moon"]["lit"] == pytest.approx(
                drive.moon.fraction, rel=SIX_DIGITS
            )
        for found, expected in pairs:
            np.testing.assert_allclose(
                np.array(found, dtype=float), expected, rtol=0, atol=ANGLE_TOLERANCE_DEG
            )  # None becomes NaN, and NaN equals NaN


def test_light_and_iso_by_the_minute_are_the_plans(trip):
    for held, drive in drives(trip):
        minutes = held["minutes"]
        np.testing.assert_allclose(minutes["light_lux"], drive.lux, rtol=SIX_DIGITS)
        np.testing.assert_allclose(minutes["needed_iso"], drive.iso, rtol=SIX_DIGITS)


def test_element_i_is_i_minutes_after_the_opening(trip):
    for held, drive in drives(trip):
        opens, closes = instant(held["opens_utc"]), instant(held["closes_utc"])
        count = int((closes - opens) / np.timedelta64(1, "m")) + 1
        for values in held["minutes"]["needed_iso"][0]:
            assert len(values) == count
        assert opens + np.timedelta64(7, "m") == drive.utc[7]


def test_gates_and_turning_back_are_the_plans(trip):
    for held, drive in drives(trip):
        assert same(held["opens_utc"], drive.opens_utc)
        assert same(held["closes_utc"], drive.closes_utc)
        assert same(held["turn_back_utc"], drive.turn_back_utc)
        assert held["gated"] == drive.gated
        assert held["notes"] == list(drive.notes)


def test_the_sky_and_spread_of_each_drive_are_the_plans(trip):
    assert [(h["sky"], h["spread_stops"]) for h, _ in drives(trip)] == [
        (d.sky, pytest.approx(d.spread_stops, rel=SIX_DIGITS)) for d in trip.drives
    ]


def test_light_windows_are_the_plans(trip):
    for held, drive in drives(trip):
        for found, s in zip(held["windows"], drive.windows, strict=True):
            assert found["key"] == s.window.key
            assert same(found["start_utc"], s.start_utc)
            assert same(found["end_utc"], s.end_utc)
            assert found["length_min"] == s.minutes


def test_outcomes_are_the_plans(trip):
    for held, drive in drives(trip):
        found = [o for of_rig in held["outcomes"] for o in of_rig]
        expected = [o for of_rig in drive.outcomes for o in of_rig]
        for a, b in zip(found, expected, strict=True):
            assert a["usable_min"] == b.usable_min
            assert a["usable_golden_min"] == b.usable_golden_min
            assert a["hopeful"] == b.possible
            for span, of_plan in ((a["first"], b.first), (a["last"], b.last)):
                assert (span is None) == (of_plan is None)
                for key in ("utc", "earliest_utc", "latest_utc") if span else ():
                    assert same(span[key], getattr(of_plan, key))


def test_sessions_stand_in_the_plans_order_with_reasons(trip):
    assert [
        (s["key"], s["date"], s["session"], s.get("reason"))
        for s in read(trip)["sessions"]
    ] == [
        (row.key, row.date.isoformat(), row.session, row.reason)
        if isinstance(row, Closed)
        else (row.key, row.date.isoformat(), row.session, None)
        for row in trip.rows
    ]


def test_the_suns_events_are_the_plans_to_the_second(trip):
    for found, day in zip(read(trip)["days"], trip.days, strict=True):
        assert found.pop("date") == day.date.isoformat()
        assert set(found) == set(day.sun._fields)
        for key, value in found.items():
            expected = getattr(day.sun, key)
            if value is None:
                assert expected is None
            elif key.endswith("_utc"):
                assert abs(instant(value) - expected) <= EVENT_TOLERANCE
            else:
                assert value == pytest.approx(expected, abs=ANGLE_TOLERANCE_DEG)


def test_windows_facings_notes_and_cautions_are_the_plans(trip):
    found = read(trip)
    assert found["windows"] == [w._asdict() for w in trip.windows]
    assert found["facings"] == [f._asdict() for f in FACINGS]
    assert found["notes"] == list(words.notes(trip))
    assert found["cautions"] == list(words.CAUTIONS)
    assert found["spread_stops"] == pytest.approx(trip.spread_stops, rel=SIX_DIGITS)


def test_the_request_in_it_plans_the_same_trip(trip):
    asked = json.loads(document.dumps(trip, with_position=True))["request"]
    again = Request(
        place=places.Place.model_validate(asked["place"]),
        first=dt.date.fromisoformat(asked["first"]),
        last=dt.date.fromisoformat(asked["last"]),
        rigs=tuple(
            RigChoice(
                kit.Rig.model_validate(
                    {k: rig[k] for k in ("name", "body", "lens", "converter")}
                ),
                rig["focal_mm"],
                rig["f_number"],
                rig["shutter_s"],
                rig["iso_ceiling"],
            )
            for rig in asked["rigs"]
        ),
        pace=asked["pace"],
        facing=asked["facing"],
        sky=asked["sky"],
        cover=asked["cover"],
        travel_min=asked["travel_min"],
        limits=windows.Limits(**asked["limits"]),
        skies=tuple(asked["skies"].items()),
        hold=asked["hold"],
        animal=asked["animal"],
        distance_m=asked["distance_m"],
        blur_px=asked["blur_px"],
    )
    assert again.place == trip.request.place
    assert document.document(plan.make(again)) == document.document(trip)


# A reader of the file alone: the ISO needed at another shutter time goes as one over
# it, and usable minutes end at turn-back, the minute itself not counted.
def test_ladders_and_minutes_follow_from_the_files_own_iso(trip):
    found = read(trip)
    held = [s for s in found["sessions"] if s["held"]]
    for session in held:
        opens, closes, back = (
            dt.datetime.fromisoformat(session[f"{key}_utc"])
            for key in ("opens", "closes", "turn_back")
        )
        until = back if session["gated"] and back > opens else closes
        last = (until - opens) // dt.timedelta(minutes=1)
        for rig, needed, outcomes in zip(
            found["request"]["rigs"],
            session["minutes"]["needed_iso"],
            session["outcomes"],
            strict=True,
        ):
            own, ceiling = rig["shutter_s"], rig["iso_ceiling"] * (1 + 2e-6)
            full = [1 / n for n in (8000, 4000, 2000, 1000, 500, 250, 125, 60, 30)]
            others = [s for s in full if abs(s - own) > 1e-6 * own]
            for iso, outcome in zip(needed, outcomes, strict=True):
                expected = []
                for shutter_s in sorted([own, *others]):
                    fits = [
                        i
                        for i in range(last + 1)
                        if iso[i] * own <= ceiling * shutter_s
                    ]
                    if fits:
                        expected.append((shutter_s, fits[0], fits[-1]))
                ladder = [
                    (
                        rung["shutter_s"],
                        *(
                            (dt.datetime.fromisoformat(rung[key]) - opens).seconds // 60
                            for key in ("first_utc", "last_utc")
                        ),
                    )
                    for rung in outcome["ladder"]
                ]
                assert [r[1:] for r in ladder] == [e[1:] for e in expected]
                assert [r[0] for r in ladder] == pytest.approx(
                    [e[0] for e in expected], rel=SIX_DIGITS
                )
                count = sum(iso[i] <= ceiling for i in range(last))
                assert outcome["usable_min"] == count


def test_rigs_have_the_letters_they_have_everywhere(trip):
    assert [rig["letter"] for rig in read(trip)["request"]["rigs"]] == ["A", "B"]


def test_instants_are_written_as_rfc_3339_says(trip):
    # RFC 3339, section 5.6: seconds are needed, Z is UTC.
    found = [
        text
        for key, text in leaves(read(trip))
        if (key == "utc" or key.endswith("_utc")) and text is not None
    ]
    assert found
    assert [
        t for t in found if not re.fullmatch(r"\d{4}-\d\d-\d\dT(\d\d:){2}\d\dZ", t)
    ] == []


def test_every_number_stands_under_a_key_with_its_unit(trip):
    bare = {
        key
        for key, value in leaves(read(trip))
        if isinstance(value, int | float) and not isinstance(value, bool)
        if not key.endswith(UNITS)
    }
    assert bare <= BARE


def test_every_key_is_described(trip):
    found = read(trip)
    # Described in locations.example.toml, as the module says.
    del found["request"]["place"], found["request"]["skies"]
    for rig in found["request"]["rigs"]:
        for part in ("body", "lens", "converter"):
            rig[part] = None
    described = set(re.findall(r"\w+", document.__doc__))
    assert {key for key in keys(found)} - described == set()


def test_a_sunset_that_does_not_happen_is_null(catalog):
    day = read(make(catalog, "Ptarmigan Fjord", "2027-06-21"))["days"][0]
    assert (day["sunrise_utc"], day["sunset_utc"]) == (None, None)


def test_a_rig_that_is_never_usable_has_no_minutes(catalog):
    rig = choose(catalog.rig("400 prime"), shutter_s=1 / 32000, iso_ceiling=50)
    date = dt.date(2027, 8, 12)
    trip = plan.make(Request(catalog.place("Mopane Loop"), date, date, (rig,)))
    for held, _ in drives(trip):
        for outcome in held["outcomes"][0]:
            assert (outcome["first"], outcome["last"]) == (None, None)
            assert outcome["usable_min"] == 0


def test_a_trip_without_drives_is_a_document_too(catalog):
    # Heron Marsh is shut on Tuesdays.
    sessions = read(make(catalog, "Heron Marsh", "2027-08-17"))["sessions"]
    assert [s["reason"] for s in sessions] == ["closed on Tuesdays"] * 2


def test_numbers_stay_finite_in_the_dark(catalog):
    # A night without a moon; JSON knows no infinity.
    trip = make(catalog, "Two Rivers Plain", "2027-08-02")
    night = trip.drives[-1]
    assert night.session == "night"
    assert math.isfinite(read(trip)["sessions"][-1]["minutes"]["needed_iso"][0][0][0])


@pytest.mark.parametrize(
    "name",
    [
        '"; \\ "',
        "</script><script>",
        "🦁 👩‍👩‍👧",
        "مرعى \u2067abc\u2069",
        "a\nb\u2028c",
    ],
)
def test_names_arrive_as_they_were_written(catalog, name):
    place = catalog.place("Mopane Loop").model_copy(update={"name": name})
    found = read(make(catalog, place, "2027-08-12"))
    assert found["request"]["place"]["name"] == name


def test_same_plan_makes_the_same_bytes(catalog):
    place, first, last, chosen = TRIPS["own"]
    one, other = (make(catalog, place, first, last, **chosen) for _ in range(2))
    assert document.dumps(one) == document.dumps(other)


def test_each_drive_has_its_warm_light_and_its_sun_and_null_where_there_is_none(
    catalog,
):
    rig = choose(catalog.rig("600 prime"))
    date = dt.date(2027, 8, 12)
    request = Request(
        catalog.place("Mopane Loop"),
        date,
        date,
        (rig,),
        skies=(("2027-08-12-morning", "overcast"),),
    )
    of = plan.make(request)
    cloudy, evening = json.loads(document.dumps(of))["sessions"]
    assert (cloudy["warm"], cloudy["beam"]) == (None, None)
    drive = of.drives[1]
    for key, runs in (("warm", drive.warm), ("beam", drive.sun_on)):
        first, last = runs[0].first_utc, runs[-1].last_utc
        assert evening[key] == {
            "first_utc": f"{first.astype('datetime64[s]')}Z",
            "last_utc": f"{last.astype('datetime64[s]')}Z",
        }
    kelvin = evening["minutes"]["temperature_k"][1]
    found = [k for k in kelvin if k is not None]
    assert len(found) == np.isfinite(drive.kelvin[1]).sum()
    assert min(found) == round(np.nanmin(drive.kelvin[1]), -1)
