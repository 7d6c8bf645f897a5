"""How long a year at a spot takes, and what it weighs. By hand: bench_spots.py [runs].

Every minute of a year, its chances, runs and weeks: the aim is a median under 0.5 s,
and a picture under 300 KB. Figures are of this machine.
"""

import json
import statistics
import sys
import time
from pathlib import Path

from lightplan import places, spot_chances, spots

EXAMPLE = Path(__file__).resolve().parents[2] / places.EXAMPLE_FILE
YEAR = 2027
AIM_S, AIM_KB = 0.5, 300


def whole(place, spot):
    """All that the page computes of a year, but for the drawing."""
    of = spots.make(place, spot, YEAR)
    found = spot_chances.chances(of, spot_chances.Wish())
    spot_chances.spells(of, found)
    spot_chances.weeks(of, found)
    return of


def times_s(place, spot, runs):
    """Seconds by the clock and by the processor, which busy neighbours leave alone."""
    spent = []
    for _ in range(runs):
        start, cpu = time.perf_counter(), time.process_time()
        whole(place, spot)
        spent.append((time.perf_counter() - start, time.process_time() - cpu))
    return [list(column) for column in zip(*spent, strict=True)]


def main(runs):
    # Imported late, as the core needs none of it.
    from lightplan.web.spots_figure import spots_figure
    from lightplan.web.theme import PAPER

    catalog = places.load(EXAMPLE)
    print(f"aims: median {AIM_S} s, {AIM_KB} KB; of {runs} runs each:")
    print("place              spot          drives  median s  least s  CPU s      KB")
    for place in catalog.places:
        for spot in place.spots:
            of = whole(place, spot)
            figure = spots_figure(of, spot_chances.Wish(), PAPER)
            spent, cpu = times_s(place, spot, runs)
            print(
                f"{place.name:17s}  {spot.name:12s}  {len(of.drives):6d}  "
                f"{statistics.median(spent):8.2f}  {min(spent):7.2f}  "
                f"{statistics.median(cpu):5.2f}  "
                f"{len(json.dumps(figure).encode()) / 1e3:6.1f}"
            )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 7)
