"""A trip as CSV for a spreadsheet: its drives, and its minutes.

Both are pure functions of a `TripPlan`. Every heading carries its unit; times
are ISO 8601 with the place's own offset; a cell is blank where there is no such
value, and for latitude and longitude unless the position was asked for. A
spreadsheet must not run a name as a formula, so what begins like one, within a text
too, gets an apostrophe in front.
"""

import codecs
import csv
import io
import re
from collections.abc import Callable, Iterable
from typing import NamedTuple

import numpy as np

from lightplan.arrays import nearest_minute
from lightplan.light import daylight
from lightplan.sky import localtime
from lightplan.sky.windows import window_index
from lightplan.trip import ladder_words, words
from lightplan.trip.minutes import Outcome, Run
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import FACINGS, LETTERS, RigChoice

Cell = str | int | float | None


# --- a row for every drive, rig and side --------------------------------------


class _Line(NamedTuple):
    """What one line of the CSV is about: a drive, a rig and a side of the sun."""

    plan: TripPlan
    drive: DrivePlan
    rig: int
    facing: int
    with_position: bool

    def position(self, axis: int) -> float | None:
        """Latitude or longitude, empty unless the position was asked for."""
        place = self.plan.request.place
        both = (place.latitude_deg, place.longitude_deg)
        return both[axis] if self.with_position else None

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

    def turn_back(self) -> str | None:
        """When to turn back; None without a gate, or where it is too far anyway."""
        drive = self.drive
        return self.local(drive.turn_back_utc) if drive.can_turn_back else None

    def local(self, utc: np.datetime64 | None) -> str | None:
        return None if utc is None else _local(self.plan, utc)

    def stretches(self) -> str:
        return " ".join(
            f"{self.local(run.first_utc)}/{self.local(run.last_utc)}"
            for run in self.outcome.stretches
        )

    def ladder(self) -> str:
        return " ".join(
            f"{ladder_words.shutter(rung.shutter_s).replace(' ', '')}:"
            f"{self.local(rung.first_utc)}/{self.local(rung.last_utc)}:"
            f"{rung.sharp_share:.2f}"
            for rung in self.outcome.ladder
        )

    def spans(self, runs: tuple[Run, ...]) -> str:
        return " ".join(
            f"{self.local(run.first_utc)}/{self.local(run.last_utc)}" for run in runs
        )

    def golden(self) -> str:
        return " ".join(
            f"{self.local(span.start_utc)}/{self.local(span.end_utc)}"
            for span in self.drive.windows
            if span.window.key == "golden"
        )


# A column: its heading, with the unit of what it measures, and its cells.
_COLUMNS: tuple[tuple[str, Callable[[_Line], Cell]], ...] = (
    ("place", lambda x: x.plan.request.place.name),
    ("latitude (°)", lambda x: x.position(0)),
    ("longitude (°)", lambda x: x.position(1)),
    ("time zone", lambda x: x.plan.request.place.timezone),
    ("date (local, ISO 8601)", lambda x: x.drive.date.isoformat()),
    ("session", lambda x: x.drive.session),
    ("opens (local, ISO 8601)", lambda x: x.local(x.drive.opens_utc)),
    ("closes (local, ISO 8601)", lambda x: x.local(x.drive.closes_utc)),
    ("gates", lambda x: "yes" if x.drive.gated else "no"),
    ("way back (min)", lambda x: x.plan.request.travel_min),
    ("turn back (local, ISO 8601)", lambda x: x.turn_back()),
    ("sunrise (local, ISO 8601)", lambda x: x.local(x.drive.sun.sunrise_utc)),
    ("sunset (local, ISO 8601)", lambda x: x.local(x.drive.sun.sunset_utc)),
    ("warm light (local, ISO 8601 intervals)", lambda x: x.spans(x.drive.warm)),
    ("sun on the animal (local, ISO 8601 intervals)", lambda x: x.spans(x.drive.sun_on)),
    ("golden light (local, ISO 8601 intervals)", lambda x: x.golden()),
    ("dark (min)", lambda x: x.drive.window_min("dark")),
    ("civil twilight (min)", lambda x: x.drive.window_min("twilight")),
    ("warm light (min)", lambda x: x.drive.warm_min),
    ("golden light (min)", lambda x: x.drive.window_min("golden")),
    ("open light (min)", lambda x: x.drive.window_min("open")),
    ("hard light (min)", lambda x: x.drive.window_min("hard")),
    ("sky", lambda x: x.drive.sky),
    ("aerosol optical depth (500 nm, unitless)", lambda x: _number(x.drive.kind.aod500 or 0)),
    ("cover", lambda x: daylight.cover_named(x.plan.request.cover).key),
    ("spread (± stops)", lambda x: _number(x.drive.spread_stops)),
    ("pace", lambda x: x.plan.request.pace),
    ("animal", lambda x: x.plan.request.animal),
    ("hold", lambda x: x.plan.request.hold),
    ("distance (m)", lambda x: _number(x.plan.request.distance_m)),
    ("blur allowed (px)", lambda x: _number(x.plan.request.blur_px)),
    ("facing", lambda x: FACINGS[x.facing].key),
    ("angle between camera and sun (°)", lambda x: _number(FACINGS[x.facing].angle_deg)),
    ("rig letter", lambda x: LETTERS[x.rig]),
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
    ("usable stretches (local, ISO 8601 intervals)", lambda x: x.stretches()),
    ("ladder", lambda x: x.ladder()),
    ("notes", lambda x: "; ".join(x.drive.notes)),
)  # fmt: skip
CSV_HEADER = tuple(heading for heading, _ in _COLUMNS)


def csv_rows(plan: TripPlan, with_position: bool = False) -> list[tuple[Cell, ...]]:
    """Return a row for every drive, rig and facing, in that order.

    Parameters
    ----------
    plan : TripPlan
        From `plan.make`.
    with_position : bool
        Whether the cells of latitude and longitude are filled.

    Returns
    -------
    list of tuple
        Cells under `CSV_HEADER`; None where there is no such instant, as when
        a rig is never usable. Closed sessions have no row.
    """
    return [
        tuple(
            cell(_Line(plan, drive, rig, facing, with_position)) for _, cell in _COLUMNS
        )
        for drive in plan.drives
        for rig in range(len(plan.request.rigs))
        for facing in range(len(FACINGS))
    ]


def csv_text(plan: TripPlan, with_position: bool = False) -> str:
    """Return `csv_rows` under their header as CSV (RFC 4180, lines end in CRLF)."""
    return _text(CSV_HEADER, csv_rows(plan, with_position))


def drives(plan: TripPlan, with_position: bool = False) -> bytes:
    """Return `csv_text` as a file."""
    return _file(csv_text(plan, with_position))


# --- a row for every minute ---------------------------------------------------


def minutes_header(plan: TripPlan) -> tuple[str, ...]:
    """Return the headings over `minutes_rows`; the last ones are the rigs'."""
    return (
        "place",
        "time zone",
        "date (local, ISO 8601)",
        "session",
        "since opening (min)",
        "time (local, ISO 8601)",
        "time (UTC, ISO 8601)",
        "light",
        "sun altitude (°)",
        "sun altitude with refraction (°)",
        "sun azimuth from true north (°)",
        "moon altitude with refraction (°)",
        "sky",
        *(f"light on the animal, {facing.label} (lux)" for facing in FACINGS),
        *(
            f"{words.rig_name(plan, rig)}, {facing.label} (ISO)"
            for rig in range(len(plan.request.rigs))
            for facing in FACINGS
        ),
    )


def minutes_rows(plan: TripPlan) -> list[tuple[Cell, ...]]:
    """Return a row for every minute of every drive, both gates included.

    Parameters
    ----------
    plan : TripPlan
        From `plan.make`.

    Returns
    -------
    list of tuple
        Cells under `minutes_header`: angles to 0.001°, lux and needed ISO to
        six digits. The moon has a value in dark minutes only.
    """
    return [row for drive in plan.drives for row in _minutes_of(plan, drive)]


def _minutes_of(plan: TripPlan, drive: DrivePlan) -> Iterable[tuple[Cell, ...]]:
    place = plan.request.place
    fixed = (place.name, place.timezone, drive.date.isoformat(), drive.session)
    light = window_index(drive.altitude_deg, plan.windows)
    by_day = np.full(len(drive.utc), np.nan)
    moon = by_day if drive.moon is None else drive.moon.altitude_deg
    angles = (drive.altitude_deg, drive.apparent_deg, drive.azimuth_deg, moon)
    iso = drive.iso.reshape(-1, len(drive.utc))
    amounts = np.concatenate([drive.lux, iso]).T.tolist()
    for i, utc in enumerate(drive.utc):
        yield (
            *fixed,
            i,
            _local(plan, utc),
            f"{np.datetime_as_string(utc)}Z",
            plan.windows[light[i]].label,
            *(None if np.isnan(angle[i]) else _angle(angle[i]) for angle in angles),
            drive.sky,
            *map(_number, amounts[i]),
        )


def minutes(plan: TripPlan) -> bytes:
    """Return `minutes_rows` under their header as a file."""
    return _file(_text(minutes_header(plan), minutes_rows(plan)))


# --- cells --------------------------------------------------------------------


def _file(text: str) -> bytes:
    # Without this mark a double click reads UTF-8 as an older encoding, and every
    # "°" and "–" of headings and names turns into two or three other signs.
    return codecs.BOM_UTF8 + text.encode("utf-8")


def _text(header: tuple[str, ...], rows: Iterable[tuple[Cell, ...]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(header)
    for row in rows:
        writer.writerow([_guarded(c) if isinstance(c, str) else c for c in row])
    return out.getvalue()


def _local(plan: TripPlan, utc: np.datetime64) -> str:
    """Write an instant to the nearest minute, ``2027-08-12T06:22+02:00``."""
    zone = plan.request.place.timezone
    return localtime.aware(zone, nearest_minute(utc)).isoformat(timespec="minutes")


# What begins so is run as a formula; the wide forms by East Asian versions. Where a
# spreadsheet parts cells by semicolons or tabs, a cell may begin within a text (OWASP,
# "CSV Injection"), whatever is quoted for the comma.
_RUN = re.compile(
    r"(?:^|(?<=[,;\t]))(?= *[\t\r\n])|(?:^|(?<=[,;\t\r\n]))(?= *[=+\-@＝＋－＠])"
)


def _guarded(cell: str) -> str:
    return _RUN.sub("'", cell)


def _number(value: float) -> int | float:
    """Return six significant digits: 0.0008, not 0.0007999999999999999; 600."""
    rounded = float(f"{value:.6g}")
    return int(rounded) if rounded.is_integer() else rounded


def _angle(degrees: float) -> float:
    return round(float(degrees), 3) + 0.0  # no "-0.0"
