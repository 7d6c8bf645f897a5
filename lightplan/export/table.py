"""A trip as a table to read, and as CSV for a spreadsheet.

Both are pure functions of a `TripPlan`. The table has a row for every session
and shows the chosen side of the sun; the CSV has one for every drive, rig and
side.
"""

import csv
import io
from collections.abc import Callable, Sequence
from textwrap import TextWrapper
from typing import NamedTuple

import numpy as np
from tabulate import tabulate

from lightplan import daylight, exposure, localtime, words
from lightplan.drives import Closed, Drive
from lightplan.kit import PACES
from lightplan.places import Catalog
from lightplan.plan import (
    FACING_INDEX,
    FACINGS,
    DrivePlan,
    Outcome,
    RigChoice,
    TripPlan,
)

Cell = str | int | float | None

_PAGE_WIDTH = 88
_GATES_WIDTH = 16  # "turn back 09:35" fits
_RIG_WIDTH = 21  # "06:22–10:00 (218 min)" fits
_HALF_MINUTE = np.timedelta64(30, "s")


# --- to read ------------------------------------------------------------------


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
    dates = f"{words.day_name(request.first)} {request.first.year}"
    if request.last != request.first:
        dates += f" to {words.day_name(request.last)} {request.last.year}"
    animal = "bird" if request.pace == "flying" else "animal"
    return (
        f"{request.place.name} ({words.zone_name(plan)}), {dates}: "
        f"{daylight.SKIES[request.sky].label}; {daylight.cover_named(request.cover).label}; "
        f"{animal} {PACES[request.pace].label}, "
        f"{FACINGS[FACING_INDEX[request.facing]].label}; "
        f"light ±{plan.spread_stops:.1f} stops, for which the times in brackets allow."
    )


def rigs(plan: TripPlan) -> str:
    """Return a line for every rig: its letter, settings, ISO ceiling and name."""
    return "\n".join(
        f"{words.rig_name(plan, i)}, up to ISO {choice.iso_ceiling:.0f}: "
        f"{choice.rig.name}"
        for i, choice in enumerate(plan.request.rigs)
    )


def table(plan: TripPlan) -> str:
    """Return the table: a row for every session, closed ones with the reason."""
    light = ("golden light", "twilight\n(min)", "hard\n(min)")
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
        _session_cell(drive.drive),
        _gates_cell(plan, drive),
        _sun_cell(plan, drive),
        _golden_cell(plan, drive),
        str(drive.window_min("twilight")),
        str(drive.window_min("hard")),
        *(_rig_cell(plan, drive, of_rig[facing]) for of_rig in drive.outcomes),
    )


def _session_cell(session: Drive | Closed) -> str:
    return f"{words.day_name(session.date)}\n{session.session}"


def _gates_cell(plan: TripPlan, drive: DrivePlan) -> str:
    opens, closes = drive.drive.opens_utc, drive.drive.closes_utc
    if not drive.drive.gated:
        below = "no gates"
    elif drive.turn_back_utc <= opens:
        below = "way back too long"
    else:
        below = f"turn back {words.clock(plan, drive.turn_back_utc)}"
    return f"{_from_to(plan, opens, closes)}\n{_wrapped(below, _GATES_WIDTH)}"


def _sun_cell(plan: TripPlan, drive: DrivePlan) -> str:
    morning = drive.drive.session == "morning"
    event = drive.sun.sunrise_utc if morning else drive.sun.sunset_utc
    if event is None:
        return "always up" if drive.sun.noon_altitude_deg > 0 else "never up"
    return f"{'up' if morning else 'down'} {words.clock(plan, event + _HALF_MINUTE)}"


def _golden_cell(plan: TripPlan, drive: DrivePlan) -> str:
    spans = [s for s in drive.windows if s.window.key == "golden"]
    times = [_from_to(plan, span.start_utc, span.end_utc) for span in spans]
    return "\n".join([*times, f"{drive.window_min('golden')} min"])


def _rig_cell(plan: TripPlan, drive: DrivePlan, outcome: Outcome) -> str:
    if outcome.first is None or outcome.last is None:
        never = words.plain(tuple(words.outcome_parts(plan, drive, outcome)))
        return _wrapped(never, _RIG_WIDTH)
    times = _from_to(plan, outcome.first.utc, outcome.last.utc)
    lines = [f"{times} ({outcome.usable_min} min)"]
    if spread := words.first_spread(plan, drive, outcome):
        lines.append(_wrapped(f"start{spread}", _RIG_WIDTH))
    if spread := words.last_spread(plan, drive, outcome):
        lines.append(_wrapped(f"end{spread}", _RIG_WIDTH))
    return "\n".join(lines)


def _wrapped(text: str, width: int) -> str:
    return TextWrapper(width, break_on_hyphens=False).fill(text)


def _from_to(plan: TripPlan, start: np.datetime64, end: np.datetime64) -> str:
    return f"{words.clock(plan, start)}–{words.clock(plan, end)}"


def catalog_text(catalog: Catalog) -> str:
    """Return the places and the rigs of a file as two tables to print."""
    places = [
        (p.name, f"{p.latitude_deg:g}", f"{p.longitude_deg:g}", p.timezone, p.sky, p.cover)
        for p in catalog.places
    ]  # fmt: skip
    kit = []
    for rig in (catalog.rig(entry.name) for entry in catalog.rigs):
        low, high = rig.focal_range_mm
        reach = f"{low:g}–{high:g}" if low < high else f"{low:g}"
        widest = exposure.f_number_text(rig.widest_f_number(high))
        kit.append((rig.name, rig.body.name, reach, widest, str(rig.body.iso_ceiling)))
    of_place = ("latitude (°)", "longitude (°)", "time zone", "sky", "cover")
    of_rig = ("body", "focal length (mm)", "widest at longest", "ISO ceiling")
    return "\n\n".join(
        [_tabulated(("place", *of_place), places), _tabulated(("rig", *of_rig), kit)]
    )


def _tabulated(headers: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> str:
    # Names that look like numbers stay as they were written.
    drawn = tabulate(rows, headers, tablefmt="simple", disable_numparse=True)
    return "\n".join(line.rstrip() for line in drawn.splitlines())


# --- for a spreadsheet --------------------------------------------------------


class _Line(NamedTuple):
    """What one line of the CSV is about: a drive, a rig and a side of the sun."""

    plan: TripPlan
    drive: DrivePlan
    rig: int
    facing: int

    @property
    def choice(self) -> RigChoice:
        return self.plan.request.rigs[self.rig]

    @property
    def outcome(self) -> Outcome:
        return self.drive.outcomes[self.rig][self.facing]

    def start(self, case: int) -> str | None:
        """Start as expected, at the earliest, at the latest."""
        return self.local(self.outcome.first[case]) if self.outcome.first else None

    def end(self, case: int) -> str | None:
        """End as expected, at the earliest, at the latest."""
        return self.local(self.outcome.last[case]) if self.outcome.last else None

    def local(self, utc: np.datetime64 | None) -> str | None:
        """Write an instant to the nearest minute, ``2027-08-12T06:22+02:00``."""
        if utc is None:
            return None
        zone = self.plan.request.place.timezone
        return localtime.aware(zone, utc + _HALF_MINUTE).isoformat(timespec="minutes")

    def golden(self) -> str:
        return " ".join(
            f"{self.local(span.start_utc)}/{self.local(span.end_utc)}"
            for span in self.drive.windows
            if span.window.key == "golden"
        )


# A column: its heading, with the unit of what it measures, and its cells.
_COLUMNS: tuple[tuple[str, Callable[[_Line], Cell]], ...] = (
    ("place", lambda x: x.plan.request.place.name),
    ("latitude (°)", lambda x: x.plan.request.place.latitude_deg),
    ("longitude (°)", lambda x: x.plan.request.place.longitude_deg),
    ("time zone", lambda x: x.plan.request.place.timezone),
    ("date (local, ISO 8601)", lambda x: x.drive.drive.date.isoformat()),
    ("session", lambda x: x.drive.drive.session),
    ("opens (local, ISO 8601)", lambda x: x.local(x.drive.drive.opens_utc)),
    ("closes (local, ISO 8601)", lambda x: x.local(x.drive.drive.closes_utc)),
    ("turn back (local, ISO 8601)", lambda x: x.local(x.drive.turn_back_utc)),
    ("sunrise (local, ISO 8601)", lambda x: x.local(x.drive.sun.sunrise_utc)),
    ("sunset (local, ISO 8601)", lambda x: x.local(x.drive.sun.sunset_utc)),
    ("golden light (local, ISO 8601 intervals)", lambda x: x.golden()),
    ("dark (min)", lambda x: x.drive.window_min("dark")),
    ("civil twilight (min)", lambda x: x.drive.window_min("twilight")),
    ("golden light (min)", lambda x: x.drive.window_min("golden")),
    ("open light (min)", lambda x: x.drive.window_min("open")),
    ("hard light (min)", lambda x: x.drive.window_min("hard")),
    ("sky", lambda x: x.drive.sky),
    ("cover", lambda x: daylight.cover_named(x.plan.request.cover).key),
    ("spread (± stops)", lambda x: _number(x.drive.spread_stops)),
    ("pace", lambda x: x.plan.request.pace),
    ("facing", lambda x: FACINGS[x.facing].key),
    ("angle between camera and sun (°)", lambda x: _number(FACINGS[x.facing].angle_deg)),
    ("rig", lambda x: x.choice.rig.name),
    ("focal length (mm)", lambda x: _number(x.choice.focal_mm)),
    ("aperture (f-number)", lambda x: _number(x.choice.f_number)),
    ("shutter (s)", lambda x: _number(x.choice.shutter_s)),
    ("ceiling (ISO)", lambda x: _number(x.choice.iso_ceiling)),
    ("usable (min)", lambda x: x.outcome.usable_min),
    ("usable in golden light (min)", lambda x: x.outcome.usable_golden_min),
    ("start (local, ISO 8601)", lambda x: x.start(0)),
    ("earliest start (local, ISO 8601)", lambda x: x.start(1)),
    ("latest start (local, ISO 8601)", lambda x: x.start(2)),
    ("end (local, ISO 8601)", lambda x: x.end(0)),
    ("earliest end (local, ISO 8601)", lambda x: x.end(1)),
    ("latest end (local, ISO 8601)", lambda x: x.end(2)),
)  # fmt: skip
CSV_HEADER = tuple(heading for heading, _ in _COLUMNS)


def csv_rows(plan: TripPlan) -> list[tuple[Cell, ...]]:
    """Return a row for every drive, rig and facing, in that order.

    Parameters
    ----------
    plan : TripPlan
        From `plan.make`.

    Returns
    -------
    list of tuple
        Cells under `CSV_HEADER`; None where there is no such instant, as when
        a rig is never usable. Closed sessions have no row.
    """
    return [
        tuple(cell(_Line(plan, drive, rig, facing)) for _, cell in _COLUMNS)
        for drive in plan.drives
        for rig in range(len(plan.request.rigs))
        for facing in range(len(FACINGS))
    ]


def csv_text(plan: TripPlan) -> str:
    """Return `csv_rows` under their header as CSV (RFC 4180, lines end in CRLF)."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(CSV_HEADER)
    for row in csv_rows(plan):
        writer.writerow([_guarded(c) if isinstance(c, str) else c for c in row])
    return out.getvalue()


def _guarded(cell: str) -> str:
    # A spreadsheet runs text that begins so as a formula, and names are free text.
    return f"'{cell}" if cell.startswith(("=", "+", "-", "@", "\t", "\r")) else cell


def _number(value: float) -> int | float:
    """Return six significant digits: 0.0008, not 0.0007999999999999999; 600."""
    rounded = float(f"{value:.6g}")
    return int(rounded) if rounded.is_integer() else rounded
