"""Print the README's section "How fast it is": python tests/bench/figures.py [runs].

Every figure is the least processor time of some runs, which busy neighbours disturb
least; caches are warm, but no plan or page is one that was made before.
"""

import datetime as dt
import itertools
import json
import math
import os
import platform
import re
import sys
import time
import tracemalloc
import warnings
from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path

import astral.sun
import numpy as np
import pvlib
from astropy import units
from astropy.coordinates import AltAz, EarthLocation, get_sun
from astropy.time import Time
from astropy.utils import iers
from load import CHOICES, DRIVE, ROWS, YEAR, Guest

from lightplan.catalog import places
from lightplan.choices import state
from lightplan.choices.raw import OWN, Raw
from lightplan.export import calendar, files
from lightplan.sky import sun
from lightplan.spots import chances, spots
from lightplan.trip import plan
from lightplan.trip.request import Request, choose
from lightplan.web.app import create_app
from lightplan.web.clock import now
from lightplan.year import plan as year_plan

EXAMPLE = Path(__file__).resolve().parents[2] / places.EXAMPLE_FILE
FIRST = dt.date(2027, 8, 2)
SIZES = ((1, 3), (14, 1), (14, 3), (14, 6), (62, 3))  # days, rigs
RIGS = (1, 3, 6)
COUNT = 10_000  # positions of the sun
PACKAGES = ("numpy", "pvlib", "astropy", "astral", "dash")
LATITUDE_DEG, LONGITUDE_DEG = -13.1, 31.8


def least_ms(runs: int, work: Callable[[], object]) -> float:
    work()
    spent = []
    for _ in range(runs):
        start = time.process_time()
        work()
        spent.append((time.process_time() - start) * 1e3)
    return min(spent)


def peak_mb(work: Callable[[], object]) -> float:
    tracemalloc.start()
    work()
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return peak / 1e6


def figure(value: float) -> str:
    """Two figures are as many as such times have: 0.43, 5.2, 61, 1,200."""
    places = 1 - math.floor(math.log10(value))
    return f"{round(value, places):,.{max(0, places)}f}"


def row(*cells: str) -> None:
    print(f"| {' | '.join(cells)} |", flush=True)


def head(*cells: str) -> None:
    print()
    row(*cells)
    print(f"|{'---|' * len(cells)}")


# --- The sun against other libraries -----------------------------------------


def ours(utc: np.ndarray) -> object:
    return sun.position(utc, LATITUDE_DEG, LONGITUDE_DEG)


def by_pvlib(utc: np.ndarray) -> object:
    seconds = utc.astype("datetime64[s]").astype(np.float64)
    return pvlib.spa.solar_position_numpy(
        seconds,
        LATITUDE_DEG,
        LONGITUDE_DEG,
        elev=0.0,
        pressure=1013.25,
        temp=12.0,
        delta_t=72.0,
        atmos_refract=0.5667,
        numthreads=1,
    )


def by_astropy(utc: np.ndarray) -> object:
    when = Time(utc.astype("datetime64[ms]"))
    here = EarthLocation.from_geodetic(LONGITUDE_DEG, LATITUDE_DEG)
    frame = AltAz(obstime=when, location=here, pressure=0 * units.hPa)
    seen = get_sun(when).transform_to(frame)
    return seen.alt.deg, seen.az.deg


def by_astral(utc: np.ndarray) -> object:
    here = astral.Observer(LATITUDE_DEG, LONGITUDE_DEG)
    moments = [moment.replace(tzinfo=dt.UTC) for moment in utc.tolist()]
    return [
        astral.sun.zenith_and_azimuth(here, moment, with_refraction=False)
        for moment in moments
    ]


LIBRARIES = {
    "lightplan": ours,
    "pvlib, NumPy SPA": by_pvlib,
    "astropy, AltAz": by_astropy,
    "astral, in a loop": by_astral,
}


def positions(runs: int) -> None:
    """The libraries take turns in this process, each with the same instants."""
    first, last = (np.datetime64(f"{year}-01-01", "s") for year in (1950, 2038))
    anywhen = np.random.default_rng(1).integers(0, (last - first).astype(int), COUNT)
    instants = {
        "minutes in a row": np.datetime64(FIRST, "s") + 60 * np.arange(COUNT),
        "scattered over 1950–2037": first + np.sort(anywhen),
    }
    head(f"altitude and azimuth of {COUNT:,} instants", *LIBRARIES)
    with (
        iers.conf.set_temp("auto_download", False),
        iers.conf.set_temp("auto_max_age", None),
        warnings.catch_warnings(action="ignore"),  # of years beyond astropy's tables
    ):
        for name, utc in instants.items():
            row(
                name,
                *(
                    f"{figure(least_ms(runs, lambda by=by, utc=utc: by(utc)))} ms"
                    for by in LIBRARIES.values()
                ),
            )


# --- A trip -------------------------------------------------------------------


def request(catalog: places.Catalog, days: int, rigs: int) -> Request:
    """Two drives every day: the example's closed evenings are taken out."""
    place = catalog.place("Mopane Loop").model_copy(update={"closures": ()})
    chosen = tuple(choose(catalog.rig(r.name)) for r in catalog.rigs[:rigs])
    return Request(place, FIRST, FIRST + dt.timedelta(days=days - 1), chosen)


class Visitor(Guest):
    """A guest of the app in this process, whose trips are all new to the server."""

    def __init__(self, catalog: places.Catalog) -> None:
        self.catalog = catalog
        self.client = create_app(str(EXAMPLE)).server.test_client()
        self.number = itertools.count()
        self.known = self._json("GET", "/_dash-dependencies")

    def _json(self, method: str, path: str, body: object = None) -> object:
        answer = self.client.open(path, method=method, json=body)
        assert answer.status_code == 200, answer.text
        return answer.json

    def form(self, days: int, rigs: int) -> Raw:
        longitude = round(20 + next(self.number) * 0.01, 2)
        base = state.defaults(self.catalog, now()).replaced(
            {
                "place": OWN,
                "lat": str(LATITUDE_DEG),
                "lon": str(longitude),
                "zone": "Africa/Lusaka",
                "from": FIRST.isoformat(),
                "to": (FIRST + dt.timedelta(days=days - 1)).isoformat(),
                "year": str(FIRST.year),
            }
        )
        names = [rig.name for rig in self.catalog.rigs[:rigs]]
        return Raw(base.fields, tuple((name, "", "", "", "") for name in names))

    def visit(self, days: int, rigs: int) -> bytes:
        """Open the trip's page: HTML, its components and its callbacks."""
        address = f"http://127.0.0.1/{self.form(days, rigs).search()}"
        sent = b""
        for asked in (address, "/_dash-layout", "/_dash-dependencies"):
            answer = self.client.get(asked, headers={"Referer": address})
            assert answer.status_code == 200, answer.text
            sent += answer.data
        return sent

    def change(self, days: int, rigs: int) -> bytes:
        """Change the form: all that the page then asks for."""
        raw = self.form(days, rigs)
        answers = [self.ask(output, raw) for output in (CHOICES, ROWS, DRIVE)]
        return json.dumps(answers).encode()


def trips(runs: int, catalog: places.Catalog, visitor: Visitor) -> None:
    stamp = dt.datetime(2027, 8, 1, tzinfo=dt.UTC)
    options = files.Options(stamp, calendar.Alarms(tuple(calendar.KINDS)))
    head("a trip", *(sized(days, "day") + ", " + sized(n, "rig") for days, n in SIZES))
    asked = [request(catalog, *size) for size in SIZES]
    made = [plan.make(one) for one in asked]
    assert [len(one.drives) for one in made] == [2 * days for days, _ in SIZES]
    row(
        "its plan",
        *(
            f"{figure(least_ms(runs, lambda one=one: plan.make(one)))} ms"
            for one in asked
        ),
    )
    for what, answer in (
        ("its page, opened", visitor.visit),
        ("its page, changed", visitor.change),
    ):
        row(
            what,
            *(cell(runs, lambda size=size, get=answer: get(*size)) for size in SIZES),
        )
    for file in files.FILES.values():
        row(
            f"`{file.key}`",
            *(cell(runs, lambda p=p, f=file: f.write(p, options)) for p in made),
        )


def cell(runs: int, make: Callable[[], bytes]) -> str:
    spent = least_ms(runs, make)
    return f"{figure(spent)} ms, {figure(len(make()) / 1e3)} kB"


def sized(count: int, what: str) -> str:
    return f"{count} {what}{'s' if count != 1 else ''}"


# --- A year -------------------------------------------------------------------


def years(runs: int, catalog: places.Catalog, visitor: Visitor) -> None:
    head("a year by the minute", *(sized(n, "rig") for n in RIGS))
    asked = [request(catalog, 1, n) for n in RIGS]
    row(
        "its plan",
        *(
            f"{figure(least_ms(runs, lambda one=one: year_plan.make(one, FIRST.year)))} ms"
            for one in asked
        ),
    )

    def page(rigs: int) -> bytes:
        return json.dumps(visitor.ask(YEAR, visitor.form(1, rigs))).encode()

    row("its page, changed", *(cell(runs, lambda n=n: page(n)) for n in RIGS))
    row("memory for it", *(f"{figure(peak_mb(lambda n=n: page(n)))} MB" for n in RIGS))
    place = catalog.place("Mopane Loop")

    def at_a_spot() -> None:
        of = spots.make(place, place.spots[0], FIRST.year)
        found = chances.chances(of, chances.Wish())
        chances.spells(of, found)
        chances.weeks(of, found)

    row("at a fixed spot", f"{figure(least_ms(runs, at_a_spot))} ms, no rig", "", "")


# --- This machine ---------------------------------------------------------------


def machine() -> str:
    try:
        told = Path("/proc/cpuinfo").read_text()
    except OSError:
        told = ""
    named = re.search(r"^model name\s*: (.*)$", told, re.MULTILINE)
    model = named[1] if named else platform.machine()
    return f"{sized(os.cpu_count() or 1, 'core')}, {model}"


def main(runs: int) -> None:
    catalog = places.load(EXAMPLE)
    visitor = Visitor(catalog)
    versions = (f"{name} {version(name)}" for name in PACKAGES)
    print(
        f"On {machine()}, Python {platform.python_version()}, {', '.join(versions)}: "
        f"the least processor time of {runs} runs, sizes before compression."
    )
    positions(runs)
    trips(runs, catalog, visitor)
    years(runs, catalog, visitor)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
