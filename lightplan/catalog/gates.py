"""When a place is open: gate times by season, and closures."""

import datetime as dt
import re
from functools import lru_cache
from typing import Annotated, Literal, NamedTuple

from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from lightplan import errors
from lightplan.catalog.kit import Entry, Line

Session = Literal["morning", "evening", "night"]
SESSIONS: tuple[Session, ...] = ("morning", "evening", "night")
WEEKDAYS = (
    "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday",
)  # fmt: skip


class GateTime(NamedTuple):
    """A gate time: minutes after local midnight, or from a sun event."""

    event: Literal["clock", "sunrise", "sunset"]
    minutes: int


_CLOCK = re.compile(r"([0-2]?\d):([0-5]\d)")
_RELATIVE = re.compile(r"(sunrise|sunset)(?:([+-])(\d?\d):([0-5]\d))?")


@lru_cache(maxsize=1024)
def gate_time(text: str) -> GateTime:
    """Read ``06:00``, ``sunrise-00:30`` or ``sunset+00:15``.

    Hours run to 29, so ``25:30`` is half past one after the evening's midnight.

    Raises
    ------
    ValueError
        If the text is none of these.
    """
    if match := _CLOCK.fullmatch(text.strip()):
        return GateTime("clock", int(match[1]) * 60 + int(match[2]))
    if match := _RELATIVE.fullmatch(text.strip().lower()):
        minutes = int(match[3] or 0) * 60 + int(match[4] or 0)
        event: Literal["sunrise", "sunset"] = (
            "sunrise" if match[1] == "sunrise" else "sunset"
        )
        return GateTime(event, -minutes if match[2] == "-" else minutes)
    raise ValueError(
        "must be a clock time like 06:00 (hours up to 29 for after midnight) "
        f"or one like sunrise-00:30 or sunset+00:15, got {text!r}"
    )


def _gate_text(text: str) -> str:
    gate_time(text)
    return text


def _session_order(session: tuple[str, str]) -> tuple[str, str]:
    opens, closes = (gate_time(text) for text in session)
    if opens.event == closes.event and closes.minutes <= opens.minutes:
        raise ValueError(
            f"gate must close after it opens, got {session[0]} to {session[1]} "
            "(write 01:30 after midnight as 25:30)"
        )
    return session


def _month_day(text: str) -> str:
    if not _is_month_day(text):
        raise ValueError(f"must be month-day like 05-01, got {text!r}")
    return text


def _is_month_day(text: str) -> bool:
    # A leap year, so that 29 February is a day.
    return bool(re.fullmatch(r"\d\d-\d\d", text)) and _is_date(f"2000-{text}")


def _is_date(text: str) -> bool:
    try:
        dt.date.fromisoformat(text)
    except ValueError:
        return False
    return bool(re.fullmatch(r"\d{4}-\d\d-\d\d", text))  # no week dates


def _day_text(value: object) -> object:
    return value.isoformat() if type(value) is dt.date else value  # TOML has dates


def _date_or_month_day(text: str) -> str:
    if not (_is_month_day(text) or _is_date(text)):
        raise ValueError(
            f"must be a date like 2027-02-01 or a day like 02-01, got {text!r}"
        )
    return text


GateText = Annotated[Line, AfterValidator(_gate_text)]
SessionTimes = Annotated[tuple[GateText, GateText], AfterValidator(_session_order)]
MonthDay = Annotated[Line, AfterValidator(_month_day)]
AnyDay = Annotated[Line, BeforeValidator(_day_text), AfterValidator(_date_or_month_day)]


class Gates(Entry):
    """Gate times of one season; ``to`` before ``from`` runs over New Year.

    ``night`` is for places that allow drives after dark.
    """

    from_: Annotated[MonthDay, Field(alias="from")] = "01-01"
    to: MonthDay = "12-31"
    morning: SessionTimes | None = None
    evening: SessionTimes | None = None
    night: SessionTimes | None = None

    def cover_date(self, date: dt.date) -> bool:
        """Return whether the date is in the season."""
        return _within(f"{date:%m-%d}", self.from_, self.to)


class Closure(Entry):
    """When a place is closed: a range of dates, or a weekday, or one of its sessions.

    ``from`` and ``to`` are dates (2027-02-01) or days of every year (02-01).
    """

    from_: Annotated[AnyDay | None, Field(alias="from")] = None
    to: AnyDay | None = None
    weekday: Line | None = None
    session: Session | None = None
    reason: Line = "closed"

    @model_validator(mode="after")
    def _one_kind(self) -> "Closure":
        if (self.from_ is None) != (self.to is None):
            raise ValueError("a closure needs both from and to")
        if self.from_ is None and self.weekday is None:
            raise ValueError("a closure needs from and to, or a weekday")
        if self.from_ and self.to:
            if len(self.from_) != len(self.to):
                raise ValueError("from and to must both have a year, or neither")
            if len(self.from_) == 10 and self.to < self.from_:
                raise ValueError(f"to must not be before from, got {self.to}")
        if self.weekday is not None and self.weekday not in WEEKDAYS:
            raise ValueError(errors.one_of("weekday", self.weekday, WEEKDAYS))
        return self

    def shuts(self, date: dt.date, session: Session) -> bool:
        """Return whether a session of that date is closed."""
        if self.session not in (None, session):
            return False
        if self.weekday is not None and WEEKDAYS[date.weekday()] != self.weekday:
            return False
        if self.from_ is None or self.to is None:
            return True
        day = date.isoformat() if len(self.from_) == 10 else f"{date:%m-%d}"
        return _within(day, self.from_, self.to)


def _within(day: str, first: str, last: str) -> bool:
    # ISO dates and month-days sort as text; last < first runs over New Year.
    if first <= last:
        return first <= day <= last
    return day >= first or day <= last
