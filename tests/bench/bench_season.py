"""How long a year takes, and what it weighs. By hand: bench_season.py [runs].

A year at one-minute steps for six rigs: aims are a median under 0.6 s, a peak under
500 MB of memory, and a picture under 300 KB. Figures are of this machine.
"""

import datetime as dt
import json
import resource
import statistics
import sys
import time
from pathlib import Path

from lightplan import places, plan, season

EXAMPLE = Path(__file__).resolve().parents[2] / places.EXAMPLE_FILE
YEAR = 2027
AIM_S, AIM_MB, AIM_KB = 0.6, 500, 300


def request(catalog, name, rigs):
    """Every session of the year: closures are taken out."""
    place = catalog.place(name).model_copy(update={"closures": ()})
    chosen = tuple(plan.choose(catalog.rig(r.name)) for r in catalog.rigs[:rigs])
    return plan.Request(place, dt.date(YEAR, 1, 1), dt.date(YEAR, 1, 1), chosen)


def peak_mb():
    """Most memory that this process has held. Linux counts in KiB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e6


def times_s(asked, runs):
    """Seconds by the clock and by the processor, which busy neighbours leave alone."""
    spent = []
    for _ in range(runs):
        start, cpu = time.perf_counter(), time.process_time()
        season.make(asked, YEAR)
        spent.append((time.perf_counter() - start, time.process_time() - cpu))
    return [list(column) for column in zip(*spent, strict=True)]


def main(runs):
    catalog = places.load(EXAMPLE)
    print(f"imported: {peak_mb():.0f} MB")
    (first,), _ = times_s(request(catalog, "Mopane Loop", 6), 1)
    print(f"first year of the process (6 rigs): {first:.2f} s, {peak_mb():.0f} MB")
    print(f"aims: median {AIM_S} s, {AIM_MB} MB; then, of {runs} runs each:")
    print(
        "place              rigs  drives  minutes  median s  least s  CPU s  peak MB so far"
    )
    for name, rigs in (
        ("Mopane Loop", 1),
        ("Mopane Loop", 3),
        ("Mopane Loop", 6),
        ("Heron Marsh", 6),
        ("Two Rivers Plain", 6),
    ):
        asked = request(catalog, name, rigs)
        drives = season.make(asked, YEAR).plan.drives
        minutes = sum(len(d.utc) for d in drives)
        spent, cpu = times_s(asked, runs)
        median, least = statistics.median(spent), min(spent)
        print(
            f"{name:17s}  {rigs:4d}  {len(drives):6d}  {minutes:7d}  {median:8.2f}  "
            f"{least:7.2f}  {statistics.median(cpu):5.2f}  {peak_mb():14.0f}"
        )
    pictures(catalog)


def pictures(catalog):
    # Imported late, so that the memory above is the core's alone.
    from lightplan.web.theme import PAPER
    from lightplan.web.year_figure import year_figure

    print(f"picture as JSON (aim {AIM_KB} KB):")
    for place in catalog.places:
        asked = request(catalog, place.name, 6)
        figure = year_figure(season.make(asked, YEAR), PAPER)
        print(f"{place.name:17s}  {len(json.dumps(figure).encode()) / 1e3:6.1f} KB")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 7)
