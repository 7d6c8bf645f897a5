"""A drive worked out minute by minute beside the plan, and compared with it.

The sun is NREL's SPA, refraction and exposure are written out from their
published formulas, and the counting is a plain loop. Only the light itself,
`daylight.subject_lux`, is shared; it has tests of its own.
"""

import datetime as dt
from dataclasses import dataclass
from functools import cache
from math import hypot, radians, tan

import numpy as np
import pytest

from lightplan.catalog.kit import Body, Converter, Lens, Rig
from lightplan.catalog.places import Place
from lightplan.light import daylight
from lightplan.trip import plan
from lightplan.trip.request import Request, RigChoice

MINUTE = np.timedelta64(1, "m")
# The two ephemerides differ by 0.016° at most, which the sun passes in under
# 10 s: an edge may fall into the neighbouring minute, and no further.
EDGE = MINUTE
EDGE_MIN = 1
SUN_DEG = 0.03  # 0.016° of altitude, and what refraction adds near the horizon
SUN_STOPS = 0.05  # light falls by under 1.5 stops per degree, in twilight
# Half-widths of the spread in stops, by judgement.
SPREAD_STOPS = {
    "clear": 0.4, "overcast": 0.6, "storm": 1.5, "open": 0.0, "woodland": 1.0,
}  # fmt: skip

BODY = Body(name="body", format="full frame", megapixels=45, iso_ceiling=6400)
ZOOM = Rig(name="zoom", body=BODY, lens=Lens(name="l", widest=((600, 6.3),)))
PRIME = Rig(
    name="prime ×1.4",
    body=BODY,
    lens=Lens(name="l", widest=((400, 2.8),)),
    converter=Converter(name="tc", factor=1.4),
)
# f-number, exposure time and ceiling of each, to be put in by hand below.
WAY_BACK = np.timedelta64(25, "m")
SETTINGS = ((6.3, 1 / 1250, 6400.0), (3.92, 1 / 800, 3200.0))
RIGS = (
    RigChoice(ZOOM, 600, *SETTINGS[0]),
    RigChoice(PRIME, 560, *SETTINGS[1]),
)


@dataclass(frozen=True)
class Case:
    """A drive, with its gates in UTC as a clock and its offset give them."""

    timezone: str
    latitude_deg: float
    longitude_deg: float
    date: str
    session: str
    hours: tuple[str, str]
    opens_utc: str
    closes_utc: str
    sky: str = "clear"
    cover: str = "open"

    @property
    def spread_stops(self) -> float:
        return hypot(SPREAD_STOPS[self.sky], SPREAD_STOPS[self.cover])


CASES = {
    "13° S, dry season": Case(
        "Africa/Lusaka", -13.1, 31.8, "2027-08-12", "evening", ("15:30", "18:30"),
        "2027-08-12T13:30", "2027-08-12T16:30",
    ),
    "equator, morning": Case(
        "Africa/Nairobi", 0.2, 36.9, "2027-01-20", "morning", ("06:10", "10:30"),
        "2027-01-20T03:10", "2027-01-20T07:30",
    ),
    "equator, overcast": Case(
        "Africa/Nairobi", 0.2, 36.9, "2027-01-20", "evening", ("15:30", "18:45"),
        "2027-01-20T12:30", "2027-01-20T15:45", sky="overcast",
    ),
    "equator, storm in woodland": Case(
        "Africa/Nairobi", 0.2, 36.9, "2027-01-20", "evening", ("15:30", "18:45"),
        "2027-01-20T12:30", "2027-01-20T15:45", sky="storm", cover="woodland",
    ),
    "woodland, UTC+5:30": Case(
        "Asia/Kolkata", 22.3, 80.6, "2027-11-04", "morning", ("06:00", "10:30"),
        "2027-11-04T00:30", "2027-11-04T05:00", cover="woodland",
    ),
    "51° S, summer": Case(
        "America/Punta_Arenas", -51.0, -72.9, "2027-12-21", "evening",
        ("17:30", "23:00"), "2027-12-21T20:30", "2027-12-22T02:00",
    ),
    "78° N, past midnight": Case(
        "Arctic/Longyearbyen", 78.2, 15.6, "2027-04-21", "evening",
        ("20:00", "25:30"), "2027-04-21T18:00", "2027-04-21T23:30",
    ),
    "78° N, sun leaves and returns": Case(
        "Arctic/Longyearbyen", 78.2, 15.6, "2027-04-12", "evening",
        ("19:00", "29:00"), "2027-04-12T17:00", "2027-04-13T03:00",
    ),
    "morning after the clock went forward": Case(
        "Europe/Madrid", 37.0, -6.4, "2027-03-28", "morning", ("07:00", "11:00"),
        "2027-03-28T05:00", "2027-03-28T09:00",
    ),
}  # fmt: skip


def refraction_deg(h: float) -> float:
    """NOAA's workbook, column AF (noaa_formulas.json): arcseconds by branch."""
    if h > 85:
        return 0.0
    t = tan(radians(h))
    if h > 5:
        arcseconds = 58.1 / t - 0.07 / t**3 + 0.000086 / t**5
    elif h > -0.575:
        arcseconds = 1735 + h * (-518.2 + h * (103.4 + h * (-12.79 + h * 0.711)))
    else:
        arcseconds = -20.772 / t
    return arcseconds / 3600


@dataclass
class Tally:
    """What the loop finds for one rig, facing and end of the spread."""

    first: np.datetime64 | None = None
    last: np.datetime64 | None = None
    usable_min: int = 0
    golden_min: int = 0

    def add(self, minute: np.datetime64, golden: bool, counts: bool) -> None:
        self.first = self.first or minute
        self.last = minute
        self.usable_min += counts
        self.golden_min += counts and golden


@cache
def tallies(spa, case: Case, rig: int, angle_deg: float) -> dict[float, Tally]:
    """Walk the minutes of a drive: a tally for each end of the spread, in stops."""
    f_number, shutter_s, ceiling = SETTINGS[rig]
    found = {s: Tally() for s in (0.0, case.spread_stops, -case.spread_stops)}
    # At the gate's closing one is back: usable minutes end WAY_BACK before it.
    until = np.datetime64(case.closes_utc) - WAY_BACK
    minutes = np.arange(np.datetime64(case.opens_utc), until + MINUTE)
    altitudes = spa(minutes, case.latitude_deg, case.longitude_deg).altitude_deg
    for minute, h in zip(minutes, altitudes.tolist(), strict=True):
        apparent = h + refraction_deg(h)
        lux = float(daylight.subject_lux(apparent, angle_deg, case.sky, case.cover))
        # ISO 2720: N²/t = E·S/C with C = 250.
        iso = 250 * f_number**2 / (lux * shutter_s)
        for darker_by, tally in found.items():
            if iso * 2**darker_by <= ceiling:
                tally.add(minute, -4 <= h < 6, minute < until)
    return found


@pytest.fixture(scope="module")
def planned() -> dict[str, plan.DrivePlan]:
    def make(case: Case) -> plan.DrivePlan:
        date = dt.date.fromisoformat(case.date)
        place = Place.model_validate(
            {
                "name": "Test Pan",
                "latitude_deg": case.latitude_deg,
                "longitude_deg": case.longitude_deg,
                "timezone": case.timezone,
                "gates": [{case.session: case.hours}],
            }
        )
        request = Request(place, date, date, RIGS, sky=case.sky, cover=case.cover)
        (drive,) = plan.make(request).drives
        return drive

    return {name: make(case) for name, case in CASES.items()}


def same(a: np.datetime64 | None, b: np.datetime64 | None) -> bool:
    return (a is None) == (b is None) and (a is None or abs(a - b) <= EDGE)


every_drive = pytest.mark.parametrize("name", CASES)
every_rig = pytest.mark.parametrize("rig", [0, 1], ids=["zoom", "prime"])
# φ, the angle between animal→camera and animal→sun.
every_facing = pytest.mark.parametrize(
    ("facing", "angle_deg"),
    [(0, 0.0), (1, 90.0), (2, 180.0)],
    ids=["front", "side", "back"],
)


@every_drive
def test_drive_runs_from_gate_to_gate(planned, name):
    utc = planned[name].utc
    assert (utc[0], utc[-1]) == (
        np.datetime64(CASES[name].opens_utc),
        np.datetime64(CASES[name].closes_utc),
    )


@every_drive
@every_rig
@every_facing
def test_first_and_last_usable_minute_are_those_of_the_loop(
    spa, planned, name, rig, facing, angle_deg
):
    found = tallies(spa, CASES[name], rig, angle_deg)[0.0]
    outcome = planned[name].outcomes[rig][facing]
    assert same(outcome.first and outcome.first.utc, found.first)
    assert same(outcome.last and outcome.last.utc, found.last)


@every_drive
@every_rig
@every_facing
def test_usable_and_golden_minutes_are_those_of_the_loop(
    spa, planned, name, rig, facing, angle_deg
):
    found = tallies(spa, CASES[name], rig, angle_deg)[0.0]
    outcome = planned[name].outcomes[rig][facing]
    assert abs(outcome.usable_min - found.usable_min) <= EDGE_MIN
    assert abs(outcome.usable_golden_min - found.golden_min) <= EDGE_MIN


@every_drive
@every_rig
@every_facing
def test_earliest_and_latest_are_those_of_the_loop_with_the_spread(
    spa, planned, name, rig, facing, angle_deg
):
    case = CASES[name]
    expected, dark, bright = tallies(spa, case, rig, angle_deg).values()
    outcome = planned[name].outcomes[rig][facing]
    assert outcome.possible == (bright.first is not None)
    if expected.first is None:
        assert (outcome.first, outcome.last) == (None, None)
        return
    assert same(outcome.first.earliest_utc, bright.first)
    assert same(outcome.first.latest_utc, dark.first)
    assert same(outcome.last.earliest_utc, dark.last)
    assert same(outcome.last.latest_utc, bright.last)


@every_drive
@every_facing
def test_light_by_the_minute_is_that_of_the_refracted_sun(
    spa, planned, name, facing, angle_deg
):
    case, drive = CASES[name], planned[name]
    sky = spa(drive.utc, case.latitude_deg, case.longitude_deg)
    apparent = [h + refraction_deg(h) for h in sky.altitude_deg.tolist()]
    lux = daylight.subject_lux(apparent, angle_deg, case.sky, case.cover)
    assert drive.apparent_deg == pytest.approx(apparent, abs=SUN_DEG)
    lit = sky.altitude_deg > -6  # darker than that the moon has its share
    assert np.abs(np.log2(drive.lux[facing] / lux))[lit].max() < SUN_STOPS


def test_cases_hold_a_drive_that_only_the_bright_end_of_the_spread_saves(planned):
    outcomes = [o for d in planned.values() for rig in d.outcomes for o in rig]
    assert any(o.possible and o.first is None for o in outcomes)


def test_cases_hold_drives_that_end_in_the_dark_and_drives_that_never_do(planned):
    ended = {name: bool(drive.iso[0, 0, -1] > 6400) for name, drive in planned.items()}
    assert set(ended.values()) == {True, False}
