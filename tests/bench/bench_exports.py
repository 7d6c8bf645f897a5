"""What the files of a trip weigh and cost. By hand: bench_exports.py [runs].

14 days, two drives a day, 6 rigs. Figures are of this machine.
"""

import datetime as dt
import gzip
import statistics
import sys
import time
from pathlib import Path

from lightplan import places, plan
from lightplan.export import calendar, files

EXAMPLE = Path(__file__).resolve().parents[2] / places.EXAMPLE_FILE
FIRST = dt.date(2027, 8, 2)
DAYS, RIGS = 14, 6


def trip():
    """Two drives every day: the example's closed evenings are taken out."""
    catalog = places.load(EXAMPLE)
    place = catalog.place("Mopane Loop").model_copy(update={"closures": ()})
    rigs = tuple(plan.choose(catalog.rig(r.name)) for r in catalog.rigs[:RIGS])
    last = FIRST + dt.timedelta(days=DAYS - 1)
    return plan.make(plan.Request(place, FIRST, last, rigs))


def times_ms(file, planned, options, runs):
    spent = []
    for _ in range(runs):
        start = time.perf_counter()
        file.write(planned, options)
        spent.append((time.perf_counter() - start) * 1e3)
    return spent


def main(runs):
    planned = trip()
    assert len(planned.drives) == 2 * DAYS
    stamp = dt.datetime(2027, 8, 1, tzinfo=dt.UTC)
    options = files.Options(stamp, calendar.Alarms(tuple(calendar.KINDS)))
    print(f"{DAYS} days, {len(planned.drives)} drives, {RIGS} rigs; {runs} runs each:")
    print("file       KB  KB gzip  median ms  least ms")
    for file in files.FILES.values():
        content = file.write(planned, options)
        spent = times_ms(file, planned, options, runs)
        print(
            f"{file.key:8s} {len(content) / 1e3:5.0f}  "
            f"{len(gzip.compress(content)) / 1e3:7.0f}  "
            f"{statistics.median(spent):9.1f}  {min(spent):8.1f}"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
