"""What a year says of itself: waits at gates, best and poorest weeks, its notes."""

import datetime as dt
from functools import cache
from pathlib import Path

import numpy as np

from lightplan import naming
from lightplan.catalog import places
from lightplan.catalog.places import Place
from lightplan.trip import words
from lightplan.trip.request import FACING_INDEX, Request, choose
from lightplan.year import plan as year_plan
from lightplan.year import words as season_words

CATALOG = places.load(Path(__file__).parents[2] / places.EXAMPLE_FILE)
ANY_DAY = dt.date(2027, 1, 1)


@cache
def year_at(place: Place | str, year: int = 2027, rig: int = 0) -> year_plan.YearPlan:
    at = CATALOG.place(place) if isinstance(place, str) else place
    # Shutter times of their own: the weeks below are not about proposed ones.
    rigs = tuple(
        choose(CATALOG.rig(r.name), shutter_s=1 / n)
        for r, n in zip(CATALOG.rigs, (1250, 800, 1000), strict=False)
    )
    return year_plan.make(Request(at, ANY_DAY, ANY_DAY, rigs, gold="golden"), year, rig)


def told(of: year_plan.YearPlan) -> str:
    return naming.plain(season_words.answer(of))


# ------------------------------------------------------------- waits at the gates


def test_wait_at_the_gate_ends_where_the_rig_is_usable_at_every_hour():
    # 77.5° N: in midsummer's midnight sun there is no first usable light to wait for;
    # the sun of 21 April only grazes the horizon, that of early May does not.
    of = year_at("Ptarmigan Fjord", 2026)
    first = of.edges.first_utc
    dated = [d for i, d in enumerate(of.picture.dates) if not np.isnat(first[i])]
    spring = max(d for d in dated if dt.date(2026, 4, 21) <= d < dt.date(2026, 6, 21))
    assert spring < dt.date(2026, 5, 10)
    expected = f"after first usable light from 21 Apr to {naming.day_month(spring)}. "
    assert expected in told(of)


# ---------------------------------------------------------- best and poorest weeks


def golden(of: year_plan.YearPlan, week: year_plan.Week) -> int:
    """The rig's golden minutes in a week, counted from the drives."""
    return sum(
        d.outcomes[of.rig][FACING_INDEX["side"]].usable_golden_min
        for d in of.plan.drives
        if week.first <= d.date <= week.last
    )


def only(first: str, last: str, latitude_deg: float = 37.0) -> Place:
    """A place with gates between two days of every year, open through golden light."""
    hours = {
        "morning": ("sunrise-00:30", "11:00"),
        "evening": ("17:00", "sunset+00:20"),
    }
    return Place.model_validate(
        {
            "name": "Test Pan",
            "latitude_deg": latitude_deg,
            "longitude_deg": -6.4,
            "timezone": "Europe/Madrid",
            "gates": [{"from": first, "to": last, **hours}],
        }
    )


def test_best_weeks_go_on_round_new_year_where_the_cut_weeks_are_as_good_by_drive():
    of = year_at("Heron Marsh")
    cut = of.weeks[0], of.weeks[-1]
    assert [w.last - w.first for w in cut] == [dt.timedelta(days=d) for d in (2, 4)]
    best = max(golden(of, w) / w.drives for w in of.weeks[1:-1])
    assert all(golden(of, w) / w.drives >= 0.95 * best for w in cut)
    good = [golden(of, w) / w.drives >= 0.95 * best for w in of.weeks]
    last = good.index(False) - 1
    first = len(good) - good[::-1].index(False)
    days = (
        naming.day_month(of.weeks[first].first),
        naming.day_month(of.weeks[last].last),
    )
    assert told(of).split(": ")[1].startswith(f"{days[0]} – {days[1]}, with up to ")


def test_a_closed_end_of_the_year_is_not_among_the_best_weeks():
    # Monday, 27 December is the first day of the year's last, cut week.
    of = year_at(only("11-01", "12-26"))
    best = told(of).split(": ")[1].split(", with")[0]
    assert best.endswith(" – 26 Dec")


def test_best_weeks_stand_in_the_order_of_the_year():
    # The longest run of 69.65° N comes after another one.
    north = Place(
        name="North",
        latitude_deg=69.65,
        longitude_deg=18.96,
        timezone="Europe/Oslo",
    )
    text = told(year_at(north))
    assert ": 7 Jun – 13 Jun and 28 Jun – 11 Jul, with up to" in text


def test_weeks_without_any_golden_minute_are_counted():
    of = year_at("Ptarmigan Fjord", 2026)
    held = [week for week in of.weeks if week.drives]
    none = [week for week in held if golden(of, week) == 0]
    assert len(none) > 1
    assert f"; {len(none)} of {len(held)} open weeks have none. " in told(of)
    assert "poorest" not in told(of)


def test_one_best_week_is_told_once():
    of = year_at("Ptarmigan Fjord", 2026)
    most = max(golden(of, week) for week in of.weeks)
    rig = words.rig_name(of.plan, 0)
    assert told(of).startswith(
        f"Most light for {rig}: 27 Apr – 3 May, "
        f"with {most} minutes of golden light that it can use; "
    )


def test_no_week_is_called_best_while_weather_is_not_counted():
    text = told(year_at(only("06-07", "06-13")))
    assert text.endswith("Weather is not counted: every day is taken as clear.")
    assert "best" not in text.lower()


def test_the_only_open_week_is_not_the_poorest_too():
    of = year_at(only("06-07", "06-13"))
    most = max(golden(of, week) for week in of.weeks)
    assert (
        told(of)
        .split(": ")[1]
        .startswith(
            f"7 Jun – 13 Jun, with {most} minutes of golden light that it can use. "
        )
    )
    assert "poorest" not in told(of)
