"""What a year says of itself: waits at gates, best and poorest weeks, its notes."""

import datetime as dt
from functools import cache
from pathlib import Path

import numpy as np

from lightplan import naming, places, plan, season, season_words
from lightplan.places import Place
from lightplan.plan import Request

CATALOG = places.load(Path(__file__).parents[1] / places.EXAMPLE_FILE)
ANY_DAY = dt.date(2027, 1, 1)


@cache
def year_at(place: Place | str, year: int = 2027, rig: int = 0) -> season.Season:
    at = CATALOG.place(place) if isinstance(place, str) else place
    rigs = tuple(plan.choose(CATALOG.rig(r.name)) for r in CATALOG.rigs[:3])
    return season.make(Request(at, ANY_DAY, ANY_DAY, rigs), year, rig)


def told(of: season.Season) -> str:
    return naming.plain(season_words.answer(of))


# ------------------------------------------------------------- waits at the gates


def test_wait_at_the_gate_ends_where_the_rig_is_usable_at_every_hour():
    # 78.2° N: in midsummer's midnight sun there is no first usable light to wait for;
    # the sun of 20 April sets for about two hours, that of early May for none.
    of = year_at("Ptarmigan Fjord", 2026)
    first = of.edges.first_utc
    dated = [d for i, d in enumerate(of.picture.dates) if not np.isnat(first[i])]
    spring = max(d for d in dated if dt.date(2026, 4, 20) <= d < dt.date(2026, 6, 21))
    assert spring < dt.date(2026, 5, 10)
    expected = f"after first usable light from 20 Apr to {naming.day_month(spring)}. "
    assert expected in told(of)
