"""A trip as a table to read: a row for every session, the chosen side of the sun.

A pure function of a `TripPlan`, like the CSV of `sheet`.
"""

from collections.abc import Sequence
from textwrap import TextWrapper

import numpy as np
from tabulate import tabulate

from lightplan import naming
from lightplan.arrays import nearest_minute
from lightplan.camera import exposure
from lightplan.catalog.places import Catalog
from lightplan.light import daylight
from lightplan.trip import ladder_words, words
from lightplan.trip.drives import Closed
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import FACING_INDEX, FACINGS

_PAGE_WIDTH = 88
_GATES_WIDTH = 16  # "turn back 09:35" fits
_RIG_WIDTH = 21  # "06:22–10:00 (218 min)" fits


def text(plan: TripPlan) -> str:
    """Return the whole trip to print: heading, rigs, table, notes and cautions."""
    blocks = [_wrapped(heading(plan), _PAGE_WIDTH), rigs(plan), table(plan)]
    for sentences in (words.notes(plan), words.CAUTIONS):
        if sentences:
            blocks.append("\n".join(_wrapped(s, _PAGE_WIDTH) for s in sentences))
    return "\n\n".join(blocks) + "\n"


def heading(plan: TripPlan) -> str:
    """Say in one sentence where, when, in what light, and how sure."""
    request = plan.request
    dates = f"{naming.day_name(request.first)} {request.first.year}"
    if request.last != request.first:
        dates += f" to {naming.day_name(request.last)} {request.last.year}"
    return (
        f"{request.place.name} ({words.zone_name(plan)}), {dates}: "
        f"{request.in_air(request.sky, request.first.month).text}; "
        f"{daylight.cover_named(request.cover).label}; "
        f"{words.subject(request)} ({words.holding(request)}), "
        f"{FACINGS[FACING_INDEX[request.facing]].label}; "
        f"light ±{plan.spread_stops:.1f} stops, which the times in brackets allow for."
    )


def rigs(plan: TripPlan) -> str:
    """Return a line for every rig: its letter, settings, ISO ceiling and name."""
    return "\n".join(
        f"{words.rig_name(plan, i)}, up to {choice.ceiling_text}: {choice.rig.name}"
        for i, choice in enumerate(plan.request.rigs)
    )


def table(plan: TripPlan) -> str:
    """Return the table: a row for every session, closed ones with the reason."""
    best = "golden light" if plan.request.gold == "golden" else "warm light,\nsun on it"
    light = (best, "twilight\n(min)", "hard\n(min)")
    names = [words.rig_name(plan, i) for i in range(len(plan.request.rigs))]
    return _tabulated(
        ("drive", "gates", "sun", *light, *(_wrapped(name, 16) for name in names)),
        [
            _closed_row(row) if isinstance(row, Closed) else _drive_row(plan, row)
            for row in plan.rows
        ],
    )


def _closed_row(closed: Closed) -> tuple[str, ...]:
    return _session_cell(closed), _wrapped(closed.reason, _GATES_WIDTH)


def _drive_row(plan: TripPlan, drive: DrivePlan) -> tuple[str, ...]:
    facing = FACING_INDEX[plan.request.facing]
    return (
        _session_cell(drive),
        _gates_cell(plan, drive),
        _sun_cell(plan, drive),
        _best_cell(plan, drive),
        str(drive.window_min("twilight")),
        str(drive.window_min("hard")),
        *(_rig_cell(plan, drive, rig, facing) for rig in range(len(drive.outcomes))),
    )


def _session_cell(session: DrivePlan | Closed) -> str:
    return f"{naming.day_name(session.date)}\n{session.session}"


def _gates_cell(plan: TripPlan, drive: DrivePlan) -> str:
    opens, closes = drive.opens_utc, drive.closes_utc
    if not drive.gated:
        below = "no gates"
    elif not drive.can_turn_back:
        below = "way back too long"
    else:
        below = f"turn back {plan.clock(drive.turn_back_utc)}"
    return f"{_from_to(plan, opens, closes)}\n{_wrapped(below, _GATES_WIDTH)}"


def _sun_cell(plan: TripPlan, drive: DrivePlan) -> str:
    morning = drive.session == "morning"
    event = drive.sun.sunrise_utc if morning else drive.sun.sunset_utc
    if event is None:
        return "always up" if drive.sun.noon_altitude_deg > 0 else "never up"
    return f"{'up' if morning else 'down'} {plan.clock(nearest_minute(event))}"


def _best_cell(plan: TripPlan, drive: DrivePlan) -> str:
    if plan.request.gold == "golden":
        return _golden_cell(plan, drive)
    warm = [_from_to(plan, *run) for run in drive.warm] or ["not warm"]
    warm += [f"{drive.warm_min} min"] if drive.warm else []
    sun = [f"sun {_from_to(plan, *run)}" for run in drive.sun_on] or ["no sun on it"]
    return "\n".join([*warm, *sun])


def _golden_cell(plan: TripPlan, drive: DrivePlan) -> str:
    spans = [s for s in drive.windows if s.window.key == "golden"]
    times = [_from_to(plan, span.start_utc, span.end_utc) for span in spans]
    return "\n".join([*times, f"{drive.window_min('golden')} min"])


def _rig_cell(plan: TripPlan, drive: DrivePlan, rig: int, facing: int) -> str:
    outcome = drive.outcomes[rig][facing]
    if outcome.first is None or outcome.last is None:
        never = naming.plain(tuple(words.outcome_parts(plan, drive, rig, facing)))
        return _wrapped(never, _RIG_WIDTH)
    times = _from_to(plan, outcome.first.utc, outcome.last.utc)
    lines = [f"{times} ({outcome.usable_min} min)"]
    if spread := words.first_spread(plan, drive, outcome):
        lines.append(_wrapped(f"start{spread}", _RIG_WIDTH))
    if spread := words.last_spread(plan, drive, outcome):
        lines.append(_wrapped(f"end{spread}", _RIG_WIDTH))
    choice = plan.request.rigs[rig]
    for rung in ladder_words.slower(drive, outcome, choice):
        lines += ladder_words.rung(plan, drive, rung).replace(" (", "\n(").split("\n")
    return "\n".join(lines)


def _wrapped(text: str, width: int) -> str:
    return TextWrapper(width, break_on_hyphens=False).fill(text)


def _from_to(plan: TripPlan, start: np.datetime64, end: np.datetime64) -> str:
    return f"{plan.clock(start)}–{plan.clock(end)}"


def catalog_text(catalog: Catalog) -> str:
    """Return the places, rigs and own covers of a file as tables to print."""
    places = [
        (p.name, f"{p.latitude_deg:g}", f"{p.longitude_deg:g}", p.timezone, p.sky, p.cover)
        for p in catalog.places
    ]  # fmt: skip
    kit = []
    for rig in (catalog.rig(entry.name) for entry in catalog.rigs):
        low, high = rig.focal_range_mm
        reach = f"{low:g}–{high:g}" if low < high else f"{low:g}"
        widest = exposure.f_number_text(rig.widest_f_number(high))
        kit.append(
            (
                rig.name,
                rig.body.name,
                reach,
                widest,
                str(rig.body.iso_ceiling or "by noise"),
            )
        )
    of_place = ("latitude (°)", "longitude (°)", "time zone", "sky", "cover")
    of_rig = ("body", "focal length (mm)", "widest at long end", "ISO ceiling")
    tables = [
        _tabulated(("place", *of_place), places),
        _tabulated(("rig", *of_rig), kit),
    ]
    return "\n\n".join([*tables, *_covers(catalog)])


def _covers(catalog: Catalog) -> list[str]:
    """Return the table of the user's covers, nothing if there are none."""
    rows = [
        (
            own.name,
            naming.minus(f"{own.stops:.2f} ± {own.spread_stops:.2f}"),
            daylight.cover_named(own.base).label,
            f"{own.frames:,} in {own.bursts:,} bursts" if own.frames else "",
        )
        for own in catalog.covers
    ]
    heads = ("own cover", "darker by (stops)", "than", "learned from frames")
    return [_tabulated(heads, rows)] if rows else []


def _tabulated(headers: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> str:
    # Names that look like numbers stay as they were written.
    drawn = tabulate(rows, headers, tablefmt="simple", disable_numparse=True)
    return "\n".join(line.rstrip() for line in drawn.splitlines())
