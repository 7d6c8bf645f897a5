"""Every drive of the trip as one row on a shared clock, to compare and choose."""

from typing import Any

import numpy as np
from dash import html

from lightplan import naming
from lightplan.catalog.gates import SESSIONS, Session
from lightplan.sky import localtime
from lightplan.trip.drives import Closed
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import FACING_INDEX, LETTERS
from lightplan.web import ids
from lightplan.web.markup import quick
from lightplan.web.parts import aria
from lightplan.web.trip import marks

Row = DrivePlan | Closed

_DAY_MIN = 24 * 60
# Shares of the axis on a desktop: what a label's character covers, how close
# two marks must be to share a label, how wide a band must be to carry its name.
_CHAR_SHARE, _JOIN_SHARE, _NAME_SHARE = 0.012, 0.025, 0.03
_LONG_DAYS = 14  # of a trip whose rows scroll, to keep the picture in reach
_NARROW_SHARE = 0.14  # narrower bands go without a name on a phone


class _Axis:
    """The clock of one session: where a minute of the day stands, in percent."""

    def __init__(self, start_min: int, span_min: int) -> None:
        self.start_min, self.span_min = start_min, span_min

    def percent(self, minute_of_day: float) -> str:
        return f"{(minute_of_day - self.start_min) / self.span_min * 100:.3f}%"

    def width(self, minutes: float) -> str:
        return f"{minutes / self.span_min * 100:.3f}%"

    def hours(self) -> range:
        """Whole hours on the axis; every second or third if they are many."""
        step = 60 * max(1, round(self.span_min / 60 / 8))
        first = -(-self.start_min // step) * step
        return range(first, self.start_min + self.span_min + 1, step)


def sections(
    plan: TripPlan, selected: str, marked: frozenset[str] = frozenset()
) -> list[html.Section]:
    """Return mornings and evenings, each with its own clock and the same scale."""
    axes = _axes(plan)
    return [
        _section(plan, session, axes.get(session), selected, marked)
        for session in SESSIONS
        if any(_session(row) == session for row in plan.rows)
    ]


def _is_long(plan: TripPlan) -> bool:
    return len(plan.days) > _LONG_DAYS


def _session(row: Row) -> Session:
    return row.session


def _opens_min(plan: TripPlan, drive: DrivePlan) -> int:
    """Minutes from the drive's local midnight to its opening, by the clock."""
    wall = localtime.to_wall(plan.request.place.timezone, drive.utc[:1])[0]
    return int((wall - np.datetime64(drive.date)) / np.timedelta64(1, "m"))


def _axes(plan: TripPlan) -> dict[Session, _Axis]:
    bounds: dict[Session, tuple[int, int]] = {}
    for session in SESSIONS:
        held = [d for d in plan.drives if d.session == session]
        if held:
            starts = [_opens_min(plan, d) for d in held]
            ends = [s + len(d.utc) - 1 for s, d in zip(starts, held, strict=True)]
            bounds[session] = (min(starts) // 30 * 30, -(-max(ends) // 30) * 30)
    span = max((end - start for start, end in bounds.values()), default=60)
    return {session: _Axis(start, span) for session, (start, _) in bounds.items()}


def _section(
    plan: TripPlan,
    session: Session,
    axis: _Axis | None,
    selected: str,
    marked: frozenset[str],
) -> html.Section:
    rows = [row for row in plan.rows if _session(row) == session]
    first = next((row for row in rows if isinstance(row, DrivePlan)), None)
    heading = f"{session.capitalize()}s"
    return html.Section(
        [
            _head(plan, heading, axis, first),
            html.Ul(
                [
                    _closed_row(row)
                    if isinstance(row, Closed) or axis is None
                    else _drive_row(plan, row, axis, selected, row.key in marked)
                    for row in rows
                ],
                className="drive-list long" if _is_long(plan) else "drive-list",
            ),
        ],
        className="drive-section",
    )


def _hours(axis: _Axis) -> list[html.Span]:
    return [
        html.Span(
            f"{minute % _DAY_MIN // 60:02d}:00",
            className="tick",
            style={"left": axis.percent(minute)},
        )
        for minute in axis.hours()
    ]


def _light_names(plan: TripPlan, drive: DrivePlan, axis: _Axis) -> list[html.Span]:
    """Name the bands of the first row above it; the rows below read alike."""
    opens = _opens_min(plan, drive)
    names = []
    taken = 0.0
    for stretch in drive.windows:
        share = stretch.minutes / axis.span_min
        middle = opens + drive.minute(stretch.start_utc) + stretch.minutes / 2
        half = len(stretch.window.short) * _CHAR_SHARE / 2
        at = (middle - axis.start_min) / axis.span_min
        if share >= _NAME_SHARE and at - half >= taken:
            taken = at + half
            narrow = " narrow" if share < _NARROW_SHARE else ""
            names.append(
                html.Span(
                    stretch.window.short,
                    className=f"tick light-name{narrow}",
                    style={"left": axis.percent(middle)},
                )
            )
    return names


def _head(
    plan: TripPlan, heading: str, axis: _Axis | None, first: DrivePlan | None
) -> html.Div:
    letters = " · ".join(LETTERS[: len(plan.request.rigs)])
    ticks: list[html.Span] = []
    if axis and first:
        ticks = [*_hours(axis), *_light_names(plan, first, axis)]
    return html.Div(
        [
            html.H3(heading, className="row-name"),
            html.Div(ticks, className="ticks", **aria(hidden="true")),
            html.Div(
                f"{plan.request.best.key}, min",
                className="row-golden",
                **aria(hidden="true"),
            ),
            html.Div(
                f"usable {letters}, min",
                className="row-usable",
                **aria(hidden="true"),
            ),
        ],
        className="row head",
    )


def _closed_row(row: Row) -> html.Li:
    date = row.date
    reason = row.reason if isinstance(row, Closed) else ""
    return html.Li(
        [
            html.Span(naming.day_name(date), className="row-name"),
            html.Span(reason, className="closed"),
        ],
        className="row closed-row",
    )


def _drive_row(
    plan: TripPlan, drive: DrivePlan, axis: _Axis, selected: str, marked: bool
) -> html.Li:
    facing = FACING_INDEX[plan.request.facing]
    usable = [str(outcomes[facing].usable_min) for outcomes in drive.outcomes]
    chosen = drive.key == selected
    return quick(
        html.Li,
        [
            quick(
                html.Button,
                [
                    naming.day_name(drive.date),
                    quick(html.Span, " marked" if marked else "", className="marked"),
                ],
                className="row-name",
                **ids.drive_button(drive.key),
                **aria(
                    pressed="true" if chosen else "false",
                    label=_spoken(plan, drive, facing, marked),
                ),
            ),
            _strip(plan, drive, axis, facing),
            quick(
                html.Span,
                str(plan.best_min(drive)),
                className="row-golden",
                **aria(hidden="true"),
            ),
            quick(
                html.Span,
                " · ".join(usable),
                className="row-usable",
                **aria(hidden="true"),
            ),
        ],
        className="row drive-row",
    )


def _spoken(plan: TripPlan, drive: DrivePlan, facing: int, marked: bool) -> str:
    """The whole row in words, for those who hear the page."""
    opens = plan.clock(drive.opens_utc)
    closes = plan.clock(drive.closes_utc)
    best = f"{plan.request.best.label} {plan.best_min(drive)}"
    usable = ", ".join(
        f"{LETTERS[rig]} {outcomes[facing].usable_min}"
        for rig, outcomes in enumerate(drive.outcomes)
    )
    return (
        f"{drive.name}, {opens} to {closes}: {best} "
        f"minutes; usable minutes {usable}" + ("; marked" if marked else "")
    )


def _strip(plan: TripPlan, drive: DrivePlan, axis: _Axis, facing: int) -> html.Div:
    opens = _opens_min(plan, drive)
    bands = [
        quick(
            html.Span,
            className=f"band light-{s.window.key}",
            style={
                "left": axis.percent(opens + drive.minute(s.start_utc)),
                "width": axis.width(s.minutes),
            },
        )
        for s in drive.windows
    ]
    gate: dict[str, Any] = {
        "left": axis.percent(opens),
        "width": axis.width(len(drive.utc) - 1),
    }
    back: list[html.Span] = []
    if drive.can_turn_back:
        at_back = opens + drive.minute(drive.turn_back_utc)
        back = [
            quick(html.Span, className="back", style={"left": axis.percent(at_back)})
        ]
    found = marks.of_drive(plan, drive, facing)
    lines = [
        quick(
            html.Span,
            className=f"mark {mark.side}",
            style={"left": axis.percent(opens + mark.minute)},
        )
        for mark in found
    ]
    slower = [
        quick(
            html.Span,
            className=f"rung rig-{LETTERS[rung.rig]}",
            style={"left": axis.percent(opens + rung.minute)},
        )
        for rung in marks.of_rungs(plan, drive, facing)
    ]
    labels = [
        quick(
            html.Span,
            [label.letters, quick(html.Span, f" {label.times}", className="mark-time")],
            className=f"mark-label {label.side}",
            style={"left": axis.percent(opens + label.minute)},
        )
        for label in marks.labels(
            found, axis.span_min * _JOIN_SHARE, axis.span_min * _CHAR_SHARE
        )
    ]
    return quick(
        html.Div,
        [
            *bands,
            quick(html.Span, className="gate", style=gate),
            *back,
            *slower,
            *lines,
            *labels,
        ],
        className="strip",
        **aria(hidden="true"),
    )
