"""The names of sunrise, sunset and gates on a picture of a year."""

from lightplan.catalog.gates import SESSIONS, Session
from lightplan.web.figures import year_lines
from lightplan.web.figures.base import Figure
from lightplan.web.figures.theme import Theme
from lightplan.web.figures.year_lines import Days, of_day

# The height of a name, in minutes of a whole day's picture, so that it hides no line.
_ROOM_MIN = 75


def line_names(days: Days, zone: str, theme: Theme) -> list[Figure]:
    """Name the lines once: sunrise and sunset, and the gates of each session."""
    gates = [_gate_names(days, session, zone, theme) for session in SESSIONS]
    return [*_sun_names(days, zone, theme), *(name for of in gates for name in of)]


def _sun_names(days: Days, zone: str, theme: Theme) -> list[Figure]:
    lit = [
        i
        for i, day in enumerate(days)
        if day.sun.sunrise_utc is not None and day.sun.sunset_utc is not None
    ]
    if not lit:
        return []
    closed = year_lines.closed_runs(days)
    # A closure's own name stands in the middle of it.
    clear = [
        i
        for i in lit
        if i >= 15 and not any(a <= days[i].date <= b for a, b, _ in closed)
    ]
    i = clear[0] if clear else _middle_of_first_run(lit)
    side = "left" if clear or not _lengthens(days, i) else "right"
    return [
        year_lines.label(
            days[i].date.isoformat(),
            of_day(zone, utc, days[i].date) or 0,
            word,
            theme,
            yref="y",
            xanchor=side,
            yanchor=anchor,
        )
        for word, utc, anchor in (
            ("sunrise", days[i].sun.sunrise_utc, "bottom"),
            ("sunset", days[i].sun.sunset_utc, "top"),
        )
    ]


def _middle_of_first_run(indexes: list[int]) -> int:
    run = [i for n, i in enumerate(indexes) if i - n == indexes[0]]
    return run[len(run) // 2]


def _lengthens(days: Days, i: int) -> bool:
    """Return whether days lengthen, so that the two lines diverge to the right."""
    noons = [day.sun.noon_altitude_deg for day in days[max(i - 1, 0) : i + 1]]
    return noons[-1] > noons[0]


def _gate_names(days: Days, session: Session, zone: str, theme: Theme) -> list[Figure]:
    drives = list(year_lines.held(days, session).items())
    if not drives:
        return []
    date, drive = drives[len(drives) * 3 // 4]  # clear of the names on the left
    opens = of_day(zone, drive.opens_utc, date) or 0
    closes = of_day(zone, drive.closes_utc, date) or 0
    # After midnight the open hours continue at the top of the picture.
    parts = [(a, b) for a, b in ((opens, 24 * 60), (0, closes)) if b - a >= _ROOM_MIN]
    spans = [(opens, closes)] if closes > opens else parts
    return [
        year_lines.label(
            date.isoformat(),
            (start + end) / 2,
            f"{session} gates",
            theme,
            yref="y",
        )
        for start, end in spans
    ]
