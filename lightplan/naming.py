"""How days, times, bearings and numbers are written for people."""

import datetime as dt
from typing import NamedTuple

_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = (
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
)  # fmt: skip
COMPASS = (
    "N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE",
    "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW",
)  # fmt: skip


class Part(NamedTuple):
    """A piece of a sentence; ``kind`` is "", "strong", "spread" or a rig's letter."""

    text: str
    kind: str = ""


Parts = tuple[Part, ...]


def plain(parts: Parts) -> str:
    """Return the sentence as plain text."""
    return "".join(part.text for part in parts)


def day_name(date: dt.date) -> str:
    """Return ``Thu 12 Aug``, the same in every locale."""
    return f"{_WEEKDAYS[date.weekday()]} {date.day} {MONTHS[date.month - 1]}"


def day_month(date: dt.date) -> str:
    """Return ``14 May``."""
    return day_name(date).split(" ", 1)[1]


def day_span(first: dt.date, last: dt.date) -> str:
    """Return ``10 May – 16 May``."""
    return f"{day_month(first)} – {day_month(last)}"


def minus(text: str) -> str:
    """Return a written number with a true minus sign."""
    return text.replace("-", "−")


def with_article(noun: str) -> str:
    """Return ``a lion`` for a lion, ``an owl`` for an owl."""
    return f"{'an' if noun[0] in 'aeio' else 'a'} {noun}"


def sentence(text: str) -> str:
    """Return a text with a capital first letter; names in it keep theirs."""
    return text[:1].upper() + text[1:]


def kelvin(kelvin: float) -> str:
    """Return a colour temperature to 50 K, ``4,250 K``; bluer ones in words."""
    if kelvin > 20_000:
        return "over 20,000 K"
    return f"{round(kelvin / 50) * 50:,} K"


def percent(share: float) -> str:
    """Return ``78 %`` for 0.78."""
    return f"{share:.0%}".replace("%", " %")


def metres(distance_m: float) -> str:
    """Return ``54 m``, ``8.4 m`` or ``0.31 m``; ``∞`` of endless."""
    if distance_m == float("inf"):
        return "∞"
    digits = 0 if distance_m >= 20 else 1 if distance_m >= 2 else 2
    return f"{distance_m:.{digits}f} m"


def count(number: float) -> str:
    """Return ``8,800``: to two figures, as an estimate is."""
    return f"{float(f'{number:.2g}'):,.0f}"


def duration(minutes: int) -> str:
    """Return ``9 min`` or ``2 h 06``."""
    hours, rest = divmod(abs(minutes), 60)
    text = f"{hours} h {rest:02d}" if hours else f"{rest} min"
    return f"−{text}" if minutes < 0 else text


def bearing(azimuth_deg: float) -> str:
    """Return ``297° WNW``."""
    whole = round(azimuth_deg) % 360
    return f"{whole}° {COMPASS[round(azimuth_deg / 22.5) % 16]}"


def decimal(value: float) -> str:
    """Return ``−4.2``; a number that rounds to 0 has no sign."""
    # Adding 0 takes the sign from a rounded −0.
    return minus(f"{round(value, 1) + 0.0:.1f}")


def signed(value: float) -> str:
    """Return ``+1.2`` or ``−0.3``; ``±0.0`` of what rounds to nothing."""
    rounded = round(value, 1) + 0.0
    return minus(f"{rounded:+.1f}") if rounded else "±0.0"
