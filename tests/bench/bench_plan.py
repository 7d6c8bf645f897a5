"""How long a trip takes to plan. By hand: python tests/bench/bench_plan.py [runs].

Figures are of this machine; what matters is how they grow.
"""

import datetime as dt
import statistics
import sys
import time
from pathlib import Path

from lightplan import places, plan

EXAMPLE = Path(__file__).resolve().parents[2] / places.EXAMPLE_FILE
FIRST = dt.date(2027, 8, 2)


def request(catalog, days, rigs):
    """Two drives every day: the example's closed evenings are taken out."""
    place = catalog.place("Mopane Loop").model_copy(update={"closures": ()})
    chosen = tuple(plan.choose(catalog.rig(r.name)) for r in catalog.rigs[:rigs])
    return plan.Request(place, FIRST, FIRST + dt.timedelta(days=days - 1), chosen)


def times_ms(asked, runs):
    spent = []
    for _ in range(runs):
        start = time.perf_counter()
        plan.make(asked)
        spent.append((time.perf_counter() - start) * 1e3)
    return spent


def main(runs):
    catalog = places.load(EXAMPLE)
    first = times_ms(request(catalog, 14, 6), 1)[0]
    print(f"first plan of the process (14 days, 6 rigs): {first:.1f} ms")
    print(f"then, of {runs} runs each, 3 facings:")
    print("days  drives  rigs  median ms  least ms  median µs per drive")
    for days, rigs in ((14, 6), (1, 6), (62, 6), (14, 1), (14, 3)):
        asked = request(catalog, days, rigs)
        drives = len(plan.make(asked).drives)
        assert drives == 2 * days, drives
        spent = times_ms(asked, runs)
        median, least = statistics.median(spent), min(spent)
        print(
            f"{days:4d}  {drives:6d}  {rigs:4d}  {median:9.1f}  {least:8.1f}  "
            f"{median / drives * 1e3:19.0f}"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 30)
