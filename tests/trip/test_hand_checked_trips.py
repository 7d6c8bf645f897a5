"""Three trips whose clock times are checked against astropy's sun.

astropy takes the sun from its built-in ephemeris and the earth's rotation from
the IERS tables that come with it: nothing in common with NOAA's equations. The
clock is the standard library's reading of the IANA files. No refraction, as
events are defined by geometric altitude.
"""

import datetime as dt
from dataclasses import dataclass

import numpy as np
import pytest

from lightplan.catalog.kit import Body, Lens, Rig
from lightplan.catalog.places import Place
from lightplan.sky import localtime, windows
from lightplan.trip import plan
from lightplan.trip.request import Request, choose

STEP = np.timedelta64(4, "m")
# NOAA's equations are good to 6 s below 60° of latitude (tried); astropy's
# altitude is joined by straight lines over four minutes, which costs under 1 s.
EVENT = dt.timedelta(seconds=10)
PRINTED = dt.timedelta(seconds=60)  # a stretch of light is cut at whole minutes
# 34′ of refraction and 16′ of radius; civil twilight; golden light (common
# practice, the tool's defaults).
SUNRISE_DEG, CIVIL_DEG, GOLDEN_LOW_DEG, GOLDEN_HIGH_DEG = -0.833, -6.0, -4.0, 6.0


@dataclass(frozen=True)
class Trip:
    """Where and when; each local day has every event once each way."""

    timezone: str
    latitude_deg: float
    longitude_deg: float
    first: dt.date
    last: dt.date

    def place(self) -> Place:
        return Place(
            name="Test Pan",
            latitude_deg=self.latitude_deg,
            longitude_deg=self.longitude_deg,
            timezone=self.timezone,
        )


TRIPS = {
    "equator": Trip(
        "Africa/Nairobi", 0.2, 36.9, dt.date(2027, 1, 30), dt.date(2027, 2, 1)
    ),
    "beyond 50° S": Trip(
        "America/Punta_Arenas", -51.0, -72.9, dt.date(2026, 12, 30), dt.date(2027, 1, 1)
    ),
    "across a clock change": Trip(
        "Europe/Madrid", 37.0, -6.4, dt.date(2027, 3, 27), dt.date(2027, 3, 29)
    ),
}
DAYS = [
    pytest.param(name, trip.first + dt.timedelta(days=n), id=f"{name}, day {n + 1}")
    for name, trip in TRIPS.items()
    for n in range((trip.last - trip.first).days + 1)
]


@pytest.fixture(scope="module")
def local_crossings(iana):
    """Naive local times at which astropy's sun crosses an altitude in a trip."""
    from astropy import units
    from astropy.coordinates import AltAz, EarthLocation, get_sun
    from astropy.time import Time
    from astropy.utils import iers

    def altitudes(trip: Trip) -> tuple[np.ndarray, np.ndarray]:
        day = np.timedelta64(1, "D")
        start, end = np.datetime64(trip.first) - day, np.datetime64(trip.last) + 2 * day
        utc = np.arange(start, end, STEP).astype("datetime64[ms]")
        time = Time(utc)
        here = EarthLocation.from_geodetic(
            trip.longitude_deg * units.deg, trip.latitude_deg * units.deg
        )
        frame = AltAz(obstime=time, location=here, pressure=0 * units.hPa)
        return utc, get_sun(time).transform_to(frame).alt.deg

    with (
        iers.conf.set_temp("auto_download", False),
        iers.conf.set_temp("auto_max_age", None),
    ):
        sampled = {name: altitudes(trip) for name, trip in TRIPS.items()}

    def crossings(name: str, altitude_deg: float, rising: bool) -> list[dt.datetime]:
        utc, heights = sampled[name]
        over = heights - altitude_deg
        before, after = over[:-1], over[1:]
        index = np.flatnonzero(
            (before < 0) & (after >= 0) if rising else (before >= 0) & (after < 0)
        )
        # Over four minutes the altitude runs straight to 0.0022°: an eighth of
        # its greatest bend, 15° · 15° · π/180 per hour², times the step squared.
        share = before[index] / (before[index] - after[index])
        instants = utc[index] + (share * STEP.astype(int) * 60_000).astype(
            "timedelta64[ms]"
        )
        zone = iana(TRIPS[name].timezone)
        return [
            i.item().replace(tzinfo=dt.UTC).astimezone(zone).replace(tzinfo=None)
            for i in instants
        ]

    return crossings


@pytest.fixture(scope="module")
def trips() -> dict[str, plan.TripPlan]:
    body = Body(name="b", format="full frame", megapixels=45, iso_ceiling=6400)
    rig = Rig(name="r", body=body, lens=Lens(name="l", widest=((400, 2.8),)))
    choice = choose(rig)
    return {
        name: plan.make(Request(trip.place(), trip.first, trip.last, (choice,)))
        for name, trip in TRIPS.items()
    }


def on_date(times: list[dt.datetime], date: dt.date) -> dt.datetime:
    (only,) = [time for time in times if time.date() == date]
    return only


def clock(timezone: str, utc: np.datetime64) -> dt.datetime:
    """The tool's own local clock time of an instant."""
    return localtime.to_wall(timezone, utc).item()


@pytest.mark.parametrize(("name", "date"), DAYS)
@pytest.mark.parametrize(
    ("event", "altitude_deg", "rising"),
    [
        ("dawn_utc", CIVIL_DEG, True),
        ("sunrise_utc", SUNRISE_DEG, True),
        ("sunset_utc", SUNRISE_DEG, False),
        ("dusk_utc", CIVIL_DEG, False),
    ],
)
def test_clock_time_of_an_event_is_astropys(
    local_crossings, trips, name, date, event, altitude_deg, rising
):
    expected = on_date(local_crossings(name, altitude_deg, rising), date)
    (day,) = [d for d in trips[name].days if d.date == date]
    shown = clock(TRIPS[name].timezone, getattr(day.sun, event))
    assert abs(shown - expected) <= EVENT


@pytest.mark.parametrize(("name", "date"), DAYS)
@pytest.mark.parametrize("altitude_deg", [GOLDEN_LOW_DEG, GOLDEN_HIGH_DEG])
def test_golden_limits_are_crossed_when_astropy_has_it(
    local_crossings, name, date, altitude_deg
):
    trip = TRIPS[name]
    crossed = windows.crossings(
        trip.latitude_deg, trip.longitude_deg, trip.timezone, date, altitude_deg
    )
    assert [c.rising for c in crossed] == [True, False]
    for crossing in crossed:
        expected = on_date(local_crossings(name, altitude_deg, crossing.rising), date)
        assert abs(clock(trip.timezone, crossing.utc) - expected) <= EVENT


# A golden stretch is cut at whole minutes: its first is the first minute at or
# after the crossing, so it lies at most a minute behind it.
@pytest.mark.parametrize(("name", "date"), DAYS)
def test_golden_stretch_of_a_drive_runs_between_astropys_crossings(
    local_crossings, trips, name, date
):
    timezone = TRIPS[name].timezone
    for session, rising in (("morning", True), ("evening", False)):
        drive = trips[name].drive(f"{date}-{session}")
        (golden,) = [s for s in drive.windows if s.window.key == "golden"]
        begin, end = (
            on_date(local_crossings(name, altitude, rising), date)
            for altitude in sorted(
                (GOLDEN_LOW_DEG, GOLDEN_HIGH_DEG), reverse=not rising
            )
        )
        assert abs(clock(timezone, golden.start_utc) - begin) <= PRINTED
        assert abs(clock(timezone, golden.end_utc) - end) <= PRINTED


# EU summer time begins on 28 March 2027 at 01:00 UTC (Directive 2000/84/EC).
def test_clock_change_moves_every_time_of_the_trip_by_an_hour(trips):
    saturday, sunday = (
        day.sun.sunrise_utc for day in trips["across a clock change"].days[:2]
    )
    timezone = "Europe/Madrid"
    later = clock(timezone, sunday) - clock(timezone, saturday)
    # A day and an hour, less a minute or two as days grow longer.
    assert dt.timedelta(hours=24, minutes=56) < later < dt.timedelta(hours=25)
