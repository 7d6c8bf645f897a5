"""A `YearPlan` in sentences: its weeks with most light for a rig, and what the gates cost."""

import datetime as dt
from collections.abc import Iterator
from itertools import groupby

import numpy as np

from lightplan import naming
from lightplan.light import air, daylight
from lightplan.naming import Part, Parts
from lightplan.trip import words
from lightplan.trip.plan import DrivePlan
from lightplan.trip.request import FACING_INDEX, Request
from lightplan.year.plan import Week, YearPlan

# A week counts among those with most if it has at least this share of the most.
_BEST = 0.95
# How many of the longest runs of such weeks are named.
_AT_MOST = 3
# Shorter waits at the gate than this are not worth a sentence.
_WORTH_MIN = 5
# Closed days round New Year over which a time of year goes on.
_FEW_DAYS = 7


def answer(year: YearPlan) -> Parts:
    """Name the weeks with most light for the rig of the picture, and what gates cost."""
    scores = _scores(year)
    rig = words.rig_name(year.plan, year.rig)
    letter, best = rig[0], year.plan.request.best.label
    if not any(scores[i] for i in _open_weeks(year)):
        return (
            Part(rig, letter),
            Part(f" has no usable minute of {best} inside the gates all year. "),
        )
    gates = [*_waits(year, "morning"), *_waits(year, "evening")]
    return (
        *_best_weeks(year, scores, Part(rig, letter)),
        Part(_poorest(year, scores)),
        *(Part(sentence) for sentence in gates),
        # Without the odds of cloud, no week may be called the best.
        Part(f"Weather is not counted: every day is taken as {_sky_label(year)}."),
    )


def _sky_label(year: YearPlan) -> str:
    return daylight.sky_named(year.plan.request.sky).label


def _scores(year: YearPlan) -> list[float]:
    """Return the score that ranks each week: minutes of the best light that the rig can use.

    A week cut short by the end of the year is scaled up to the number of drives
    in the whole week beside it.
    """
    weeks = year.weeks
    beside = [weeks[1], *weeks[1:-1], weeks[-2]]
    return [
        sum(week.usable_best_min[year.rig])
        * (1 if _whole(week) else near.drives / max(week.drives, 1))
        for week, near in zip(weeks, beside, strict=True)
    ]


def _whole(week: Week) -> bool:
    return (week.last - week.first).days == 6


def _open_weeks(year: YearPlan) -> list[int]:
    """Return whole weeks with drives: those with minutes to report."""
    return [i for i, week in enumerate(year.weeks) if week.drives and _whole(week)]


def _best_weeks(year: YearPlan, scores: list[float], rig: Part) -> list[Part]:
    richest = max(_open_weeks(year), key=lambda i: scores[i])
    most, best = scores[richest], year.plan.request.best.label
    runs = _runs([score >= _BEST * most for score in scores])
    if runs == [[richest]]:
        return [
            Part("Most light for "),
            rig,
            Part(": "),
            Part(_span(year, [richest]), "strong"),
            Part(f", with {most:.0f} minutes of {best} that it can use"),
        ]
    when: list[Part] = []
    longest = sorted(sorted(runs, key=len, reverse=True)[:_AT_MOST])
    for i, run in enumerate(longest):
        joint = "" if i == 0 else (" and " if i == len(longest) - 1 else ", ")
        when += [Part(joint), Part(_span(year, run), "strong")]
    return [
        Part("Most light for "),
        rig,
        Part(": "),
        *when,
        Part(f", with up to {most:.0f} minutes a week of {best} that it can use, in "),
        Part(_span(year, [richest]), "strong"),
    ]


def _poorest(year: YearPlan, scores: list[float]) -> str:
    held = [week for week in year.weeks if week.drives]
    none = sum(not any(week.usable_best_min[year.rig]) for week in held)
    if none > 1:
        return f"; {none} of {len(held)} open weeks have none. "
    weeks = _open_weeks(year)
    poorest = min(weeks, key=lambda i: scores[i])
    least, most = scores[poorest], max(scores[i] for i in weeks)
    if least == most:
        return ". "
    return f"; the poorest open week, {_span(year, [poorest])}, has {least:.0f}. "


def _runs(good: list[bool]) -> list[list[int]]:
    """Return runs of neighbouring good weeks; one round New Year is one run."""
    groups = groupby(range(len(good)), lambda i: good[i])
    runs = [list(weeks) for yes, weeks in groups if yes]
    if len(runs) > 1 and good[0] and good[-1]:
        return [*runs[1:-1], [*runs[-1], *runs[0]]]
    return runs


def _span(year: YearPlan, run: list[int]) -> str:
    first, last = year.weeks[run[0]].first, year.weeks[run[-1]].last
    return naming.day_span(first, last)


def _waits(year: YearPlan, session: str) -> Iterator[str]:
    """Say what a gate costs the rig, over the part of the year that loses most."""
    lost = _lost_min(year, session)
    days = year.plan.days
    runs = [
        list(group)
        for costly, group in groupby(
            range(len(days)), lambda i: i in lost and lost[i] >= _WORTH_MIN
        )
        if costly
    ]
    held = set(lost)
    joined = _round_new_year(_bridged(runs, held), held, len(days))
    if not joined:
        return
    run = max(joined, key=lambda r: sum(lost[i] for i in r))
    minutes = round(float(np.median([lost[i] for i in run])))
    start, end = days[run[0]].date, days[run[-1]].date
    when = _when(year, start, end)
    if session == "morning":
        yield f"Gates open {minutes} minutes after first usable light {when}. "
    else:
        yield f"Gates shut {minutes} minutes before the last usable light {when}. "


def _bridged(runs: list[list[int]], held: set[int]) -> list[list[int]]:
    """Join runs with only days without that drive between them."""
    joined: list[list[int]] = []
    for run in runs:
        if joined and not held & set(range(joined[-1][-1] + 1, run[0])):
            joined[-1] = [*joined[-1], *run]
        else:
            joined.append(run)
    return joined


def _round_new_year(
    runs: list[list[int]], held: set[int], days: int
) -> list[list[int]]:
    """Join the last run to the first if only a few days without that drive separate them.

    A closed winter between them is too long: it is not part of either run.
    """
    if len(runs) < 2:
        return runs
    between = {*range(runs[0][0]), *range(runs[-1][-1] + 1, days)}
    if held & between or len(between) > _FEW_DAYS:
        return runs
    return [*runs[1:-1], [*runs[-1], *runs[0]]]


def _when(year: YearPlan, start: dt.date, end: dt.date) -> str:
    first, last = year.plan.days[0].date, year.plan.days[-1].date
    week = dt.timedelta(days=7)
    from_start, to_end = start - first < week, last - end < week
    if from_start and to_end:
        return "all year"
    if from_start:
        return f"until {naming.day_month(end)}"
    if to_end:
        return f"from {naming.day_month(start)} on"
    return f"from {naming.day_month(start)} to {naming.day_month(end)}"


def _lost_min(year: YearPlan, session: str) -> dict[int, float]:
    """Return the minutes of usable light outside the gate, by day with that drive.

    NaN where the rig is usable at every hour or at none: such a day has no first or
    last usable light, so it ends a run, as a day without loss does.
    """
    index = {day.date: i for i, day in enumerate(year.plan.days)}
    lost: dict[int, float] = {}
    for drive in year.plan.drives:
        if drive.session == session and drive.gated:
            i = index[drive.date]
            lost[i] = _outside(year, drive, i)
    return lost


def _outside(year: YearPlan, drive: DrivePlan, i: int) -> float:
    minute = np.timedelta64(1, "m")
    if drive.session == "morning":
        return float((drive.utc[0] - year.edges.first_utc[i]) / minute)
    return float((year.edges.last_utc[i] - drive.utc[-1]) / minute)


def picture(year: YearPlan) -> str:
    """Describe the year's picture for people who cannot see it."""
    request = year.plan.request
    rig = words.rig_name(year.plan, year.rig)
    total = year.plan.usable_min(year.rig, FACING_INDEX[request.facing])
    iso = request.rigs[year.rig].ceiling_text
    return (
        f"Needed ISO of {rig} for every date (across) and local time (down), light to "
        f"dark in thirds of a stop; past its ceiling of {iso} the colour turns "
        f"to blue. Solid lines are the gates, dotted ones sunrise and sunset; "
        f"the sky is {_sky(request)}, without the moon. "
        f"{naming.duration(total)} usable inside the gates over the year."
    )


def _sky(request: Request) -> str:
    """Return ``clear every day, in usual air``: the year's sky, and the air if it counts."""
    kinds = [request.in_air(request.sky, month) for month in range(1, 13)]
    label = f"{kinds[0].label} every day"
    # A sky without a beam is as it is in any air; haze has its own.
    depths = sorted(kind.aod500 for kind in kinds if kind.aod500 is not None)
    if kinds[0].text == kinds[0].label:
        return label
    cleanest, haziest = air.nearest(depths[0]), air.nearest(depths[-1])
    if cleanest == haziest:
        return f"{label}, in {cleanest.label}"
    span = f"{cleanest.label} to {haziest.label}".replace(" air to", " to")
    return f"{label}, in the air of each month ({span.removesuffix(' air')})"
