"""How large the pocket page is, and how fast it is made, opened and printed.

By hand: python tests/bench/bench_pocket.py [runs]. Figures are of this machine.
"""

import datetime as dt
import statistics
import sys
import tempfile
import time
import zlib
from pathlib import Path

from playwright.sync_api import sync_playwright

from lightplan.catalog import places
from lightplan.catalog.gates import Gates
from lightplan.export.pocket import page as pocket
from lightplan.trip import plan
from lightplan.trip.request import Request, choose

EXAMPLE = Path(__file__).resolve().parents[2] / places.EXAMPLE_FILE
FIRST = dt.date(2027, 8, 2)
SLOWER = 4  # times: a phone's processor against this one
OPENED = """() => performance.getEntriesByType('navigation')[0].loadEventEnd"""
READY = """() => { const start = performance.now(); readyCards();
    return performance.now() - start; }"""


def trips(catalog):
    """What a fortnight may be: usual, with nights, with eight-hour drives."""
    mopane = catalog.place("Mopane Loop").model_copy(update={"closures": ()})
    long = Gates(morning=("05:00", "13:00"), evening=("13:30", "21:30"))
    return (
        ("one day, 1 rig", mopane, 1, 1),
        ("one week, 3 rigs", mopane, 7, 3),
        ("14 days, 6 rigs", mopane, 14, 6),
        ("14 days, 6 rigs, nights", catalog.place("Two Rivers Plain"), 14, 6),
        (
            "14 days, 6 rigs, 16 h a day",
            mopane.model_copy(update={"gates": (long,)}),
            14,
            6,
        ),
    )


def made(catalog, place, days, rigs):
    chosen = tuple(choose(catalog.rig(r.name)) for r in catalog.rigs[:rigs])
    last = FIRST + dt.timedelta(days=days - 1)
    return plan.make(Request(place, FIRST, last, chosen))


def median_ms(run, runs):
    spent = []
    for _ in range(runs):
        start = time.perf_counter()
        run()
        spent.append((time.perf_counter() - start) * 1e3)
    return statistics.median(spent)


def opening_ms(browser, file, runs):
    """Until the page is shown at its minute, and what readying its cards takes."""
    shown, ready = [], []
    for _ in range(runs):
        context = browser.new_context(viewport={"width": 390, "height": 844})
        page = context.new_page()
        session = context.new_cdp_session(page)
        session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        page.goto(file.as_uri())
        shown.append(page.evaluate(OPENED))
        ready.append(page.evaluate(READY))
        context.close()
    return statistics.median(shown), statistics.median(ready)


def main(runs):
    catalog = places.load(EXAMPLE)
    print("trip                         drives     KB  gzip KB  make ms", end="")
    print(f"  open ms  cards ms (processor ÷{SLOWER})")
    with sync_playwright() as started, tempfile.TemporaryDirectory() as folder:
        browser = started.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--no-sandbox"]
        )
        for name, place, days, rigs in trips(catalog):
            trip = made(catalog, place, days, rigs)
            page = pocket.page(trip)
            make_ms = median_ms(lambda trip=trip: pocket.page(trip), runs)
            file = Path(folder) / "trip.html"
            file.write_bytes(page)
            open_ms, cards_ms = opening_ms(browser, file, runs)
            print(
                f"{name:28s} {len(trip.drives):6d} {len(page) / 1e3:6.0f} "
                f"{len(zlib.compress(page)) / 1e3:8.0f} {make_ms:8.0f} "
                f"{open_ms:8.0f} {cards_ms:9.0f}"
            )
        browser.close()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
