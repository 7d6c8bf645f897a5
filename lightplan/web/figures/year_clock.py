"""The time axis of a year's picture: which hours of the local clock it shows."""

from lightplan.trip.drives import Drive
from lightplan.web.figures.base import Figure
from lightplan.web.figures.year_lines import Days, of_day


def span(days: Days, zone: str) -> tuple[int, int]:
    """Return the first and last minute of the day that a picture shows.

    Whole hours that hold every gate, sunrise and sunset, with an hour to spare. The
    whole day if a session or the sunlight lasts past midnight, if there are night
    drives, or if there are neither gates nor sunrises.
    """
    suns = [(day.sun.sunrise_utc, day.sun.sunset_utc, day.date) for day in days]
    held = [s for day in days for s in day.sessions if isinstance(s, Drive)]
    gates = [(s.opens_utc, s.closes_utc, s.date) for s in held]
    spans = [
        (of_day(zone, start, date) or 0, of_day(zone, end, date) or 0)
        for start, end, date in (*suns, *gates)
        if start is not None and end is not None
    ]
    # Without a sunrise, the sun is either never up or never down.
    never_down = any(
        day.sun.noon_altitude_deg > 0
        for day, (rises, sets, _) in zip(days, suns, strict=True)
        if rises is None or sets is None
    )
    nights = any(s.session == "night" for s in held)
    if never_down or nights or not spans or any(end < start for start, end in spans):
        return 0, 24 * 60
    first = min(start for start, _ in spans) // 60 * 60
    last = -(-max(end for _, end in spans) // 60) * 60
    return max(int(first) - 60, 0), min(int(last) + 60, 24 * 60)


def axis(first_min: int, last_min: int, step_min: float) -> Figure:
    """Return the axis of the local clock, from a minute of the day down to another."""
    step = 120 if last_min - first_min > 12 * 60 else 60
    ticks = [m for m in range(0, 24 * 60 + 1, step) if first_min <= m <= last_min]
    return {
        "range": [last_min - step_min / 2, first_min - step_min / 2],
        "tickvals": ticks,
        "ticktext": [f"{m // 60:02d}:00" for m in ticks],
        "fixedrange": True,
        "showgrid": False,
        "zeroline": False,
    }
