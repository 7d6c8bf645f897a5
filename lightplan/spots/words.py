"""A spot's year in sentences: the next chance, the runs of dates, the notes."""

import datetime as dt

import numpy as np

from lightplan.arrays import nearest_minute
from lightplan.catalog.gates import SESSIONS
from lightplan.catalog.places import Place
from lightplan.naming import Part, Parts, bearing, day_month, day_name, minus
from lightplan.sky import localtime, skyline
from lightplan.spots.chances import Chance, Wish, chances, nearest
from lightplan.spots.spots import INDEX, LIGHTS, NO_SUN, TOP, TOP_DEG, SpotYear

# A wider stretch of skyline without a point gets a note. Judgement: four points a
# quarter turn apart are enough for a skyline.
WIDE_GAP_DEG = 100.0
NEVER = "never"
_MINUTE = np.timedelta64(1, "m")


def clock(of: SpotYear, utc: np.datetime64) -> str:
    """Return the place's own clock at an instant, to the nearest minute."""
    return localtime.clock(of.place.timezone, nearest_minute(utc))


def span(of: SpotYear, chance: Chance) -> str:
    """Return ``16:52–17:20``."""
    return f"{clock(of, chance.start_utc)}–{clock(of, chance.end_utc)}"


def height(chance: Chance) -> str:
    """Return the altitudes of the sun during a chance, ``4° to 11°``."""
    low, high = round(chance.lowest_deg), round(chance.highest_deg)
    text = f"{low}°" if low == high else f"{low}° to {high}°"
    return minus(text)


def off_behind(chance: Chance) -> str:
    """Return the angles from straight behind the animal during a chance, ``5–8°``."""
    least, most = round(chance.least_off_deg), round(chance.most_off_deg)
    return f"{least}°" if least == most else f"{least}–{most}°"


def wished(wish: Wish) -> str:
    """Return the light waited for as a clause: ``the sun is within 10° of …``."""
    if wish.key == "back":
        return f"the sun is within {wish.within_deg:g}° of straight behind the animal"
    return f"the animal has {LIGHTS[INDEX[wish.key]].label}"


def wished_low(wish: Wish) -> str:
    """Return the same with how high the sun may be."""
    joint = "" if wish.key == "back" else "with the sun "
    return f"{wished(wish)}, {joint}at most {wish.up_to_deg:g}° high"


def dated(date: dt.date, today: dt.date) -> str:
    """Return ``Thu 12 Aug``, with its year where that is not today's."""
    year = "" if date.year == today.year else f" {date.year}"
    return f"{day_name(date)}{year}"


def answer(
    of: SpotYear,
    wish: Wish,
    coming: tuple[Chance, ...],
    since: dt.date,
    today: dt.date,
) -> Parts:
    """Name the next chance, and on how many dates of the year there is one.

    ``coming`` are the next chances from the date ``since`` on; they may lie in
    a later year than that of ``of``.
    """
    name = f"{of.spot.name}, looking {bearing(of.spot.bearing_deg)}"
    in_year = chances(of, wish)
    if not coming:
        return _never(of, wish, name, in_year, (since, today))
    first = coming[0]
    nth = "first" if (since.month, since.day) == (1, 1) else "next"
    return (
        Part(f"{name}: {wished(wish)} {nth} on "),
        Part(f"{dated(first.drive.date, today)}, {span(of, first)}", "strong"),
        Part(f", with the sun at {height(first)}, if it is out. "),
        Part(_counted(of, in_year)),
    )


def _counted(of: SpotYear, in_year: tuple[Chance, ...]) -> str:
    if not in_year:
        return f"That does not happen in {of.year}. "
    by_session = {
        session: len({c.drive.date for c in in_year if c.drive.session == session})
        for session in SESSIONS
    }
    counted = [
        f"{number} {session}" + ("s" if number > 1 else "")
        for session, number in by_session.items()
        if number
    ]
    return f"That happens on {' and '.join(counted)} in {of.year}. "


def _never(
    of: SpotYear,
    wish: Wish,
    name: str,
    in_year: tuple[Chance, ...],
    dates: tuple[dt.date, dt.date],
) -> Parts:
    if in_year:
        since, today = dates
        last_year = min(since.year + 1, localtime.LAST_YEAR)
        return (
            Part(f"{name}: {wished_low(wish)}, for the last time in {of.year} on "),
            Part(day_name(in_year[-1].drive.date), "strong"),
            Part(f"; not again from {dated(since, today)} to the end of {last_year}. "),
            Part(_counted(of, in_year)),
        )
    never = (
        f"{name}: in {of.year} there is no minute inside the gates when "
        f"{wished_low(wish)}. "
    )
    return (Part(never), Part(_best(of, wish)))


def _best(of: SpotYear, wish: Wish) -> str:
    best = nearest(of, wish)
    if best is None:
        return "The sun is never up and that low while the gates are open. "
    utc, off_deg = best
    date = localtime.aware(of.place.timezone, utc).date()
    return (
        f"It comes nearest on {day_name(date)} at {clock(of, utc)}, {off_deg:.0f}° "
        "from straight behind. "
    )


def run_sentence(of: SpotYear, wish: Wish, run: tuple[Chance, ...]) -> Parts:
    """Say between which dates a run of chances lies, and at what time of day."""
    first, last = run[0].drive.date, run[-1].drive.date
    if first == last:
        when = f"On {day_month(first)}"
    elif (first.month, first.day, last.month, last.day) == (1, 1, 12, 31):
        when = "All year"
    else:
        when = f"Between {day_month(first)} and {day_month(last)}"
    longest = max(run, key=lambda chance: chance.minutes)
    sun = f", with the sun at {height(longest)}."
    if first == last:
        return (
            Part(when, "strong"),
            Part(f" {wished(wish)} at "),
            Part(span(of, longest), "strong"),
            Part(sun),
        )
    earliest, latest = _times_of_day(of, run)
    best = f"; longest on {day_month(longest.drive.date)}, {span(of, longest)}"
    return (
        Part(when, "strong"),
        Part(f" {wished(wish)}: earliest "),
        Part(earliest, "strong"),
        Part(", latest "),
        Part(latest, "strong"),
        Part(f"{best}{sun}"),
    )


def _times_of_day(of: SpotYear, run: tuple[Chance, ...]) -> tuple[str, str]:
    """Return earliest start and latest end by the clock, mostly on different days."""

    def since_midnight(chance: Chance, utc: np.datetime64) -> float:
        wall = localtime.to_wall(of.place.timezone, utc)
        return float((wall - np.datetime64(chance.drive.date)) / _MINUTE)

    first = min(run, key=lambda c: since_midnight(c, c.start_utc))
    last = max(run, key=lambda c: since_midnight(c, c.end_utc))
    return clock(of, first.start_utc), clock(of, last.end_utc)


def passages(of: SpotYear, day: int) -> str:
    """Say when the sun clears and leaves the skyline on a day of the year."""
    of_day = of.passages[day]
    if not of_day:
        noon = of.days[day].sun.noon_utc.astype("datetime64[m]")
        at = int((noon - of.utc[0]) / _MINUTE)
        up = of.light[min(max(at, 0), len(of.light) - 1)] != NO_SUN
        return "up all day" if up else NEVER
    times = [
        f"{'clears' if passage.clears else 'leaves'} {clock(of, passage.utc)}"
        for passage in of_day
    ]
    return ", ".join(times)


def no_spots(place: Place, kept: bool) -> str:
    """Say how a place without spots gets one; ``kept`` is false for coordinates."""
    how = "with the bearing the camera looks along"
    if not kept:
        return (
            "Bare coordinates have no spots: save them as a place under Kit and "
            f"places, and add a spot there, {how}. "
        )
    return f"{place.name} has no spot yet: add one under Kit and places, {how}. "


def notes(of: SpotYear) -> tuple[str, ...]:
    """Return what a reader must know about the spot besides its times."""
    sentences: list[str] = []
    name, horizon = of.spot.name, of.spot.horizon
    start, end, width = skyline.widest_gap_deg(horizon)
    north = " through north" if start > end else ""
    if not horizon:
        sentences.append(f"{name} has no skyline: the horizon is taken as level.")
    elif width == 360:
        sentences.append(
            f"The skyline has one point, at {start:g}°; the same height is used all "
            "round."
        )
    elif width >= WIDE_GAP_DEG:
        sentences.append(
            f"The skyline has no point from {start:g}°{north} to {end:g}°; a straight "
            "line joins the ends, so times there are rough."
        )
    hidden = sum(
        day.sun.sunrise_utc is not None and passages(of, i) == NEVER
        for i, day in enumerate(of.days)
    )
    if hidden:
        sentences.append(
            f"On {hidden} dates the sun rises but does not clear the skyline."
        )
    if any((of.light[of.inside(drive)] == TOP).any() for drive in of.drives):
        sentences.append(
            f"From {TOP_DEG:g}° up the sun gives top light, not light from a side."
        )
    if not of.place.gates:
        sentences.append(
            f"{of.place.name} has no gate times: drives run for up to four hours after "
            "civil dawn and for the four before civil dusk."
        )
    return tuple(sentences)


def picture(of: SpotYear, wish: Wish) -> str:
    """Describe the picture for people who cannot see it."""
    dates = len({c.drive.date for c in chances(of, wish)})
    return (
        f"Light on an animal at {of.spot.name} for every date (across) and local time "
        "(down); faint outside the gates, blue-grey without sun. Hatched inside the "
        f"gates while {wished_low(wish)}: on {dates or 'no'} dates. Solid lines are the gates, "
        "dotted ones sunrise and sunset on a level horizon."
    )
