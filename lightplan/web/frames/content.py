"""What the page Your frames shows for the frames and choices."""

import datetime as dt
from collections.abc import Mapping
from typing import Any, NamedTuple

from dash.development.base_component import Component

from lightplan import naming
from lightplan.catalog.places import Catalog, Place
from lightplan.catalog.toml import table as as_table
from lightplan.choices import state, typed
from lightplan.choices.raw import Raw
from lightplan.frames import groups as group_text
from lightplan.frames import learning
from lightplan.frames import read as frames
from lightplan.frames import words as calibrate_words
from lightplan.frames.calibrate import FEWEST_BURSTS, LOWEST_SUN_DEG, Fit, Group
from lightplan.frames.groups import Settings
from lightplan.frames.learning import GROUPINGS, Learned, Metering
from lightplan.frames.read import Clock
from lightplan.light import daylight
from lightplan.light.daylight import Cover
from lightplan.trip.request import FACING_INDEX, FACINGS, Request
from lightplan.web import form, ids
from lightplan.web.figures.theme import PAPER, THEMES
from lightplan.web.frames import figure, figure_words, tables
from lightplan.web.frames import kept as learn_frames
from lightplan.web.frames.page import PLACES_OWN, SPOT, sides

_LONGEST_GROUPS = 8000  # characters of group settings
_MOST_GROUPS = 100  # more are slow and of no use
_MOST_SENTENCES = 8  # groups with a sentence on the evening: each takes two plans

Texts = Mapping[str, Any]


class Asked(NamedTuple):
    """The page's own choices, read."""

    clock: Clock
    usual: Group
    settings: Settings
    by: str
    how: Metering
    preset: Cover | None
    reference: str | None


def content(
    raw: Raw,
    choices: Texts,
    kept: object,
    catalog: Catalog,
    theme: str,
    now: dt.datetime,
) -> dict[str, Any]:
    """Return what the page shows.

    Raises
    ------
    ValueError
        With one sentence on the first choice that is wrong.
    """
    request = state.read(raw, catalog)
    place = request.place
    exposed, dropped = learn_frames.kept(kept), learn_frames.dropped(kept)
    if not exposed and not dropped:
        return {**_nothing(place), "answer": _WELCOME}
    asked = read(choices, place, now)
    timed = frames.timed(exposed, asked.clock)
    dropped = learn_frames.account(dropped, timed.dropped)
    if not timed.frames:
        account = tables.account(dropped, 0)
        return {**_nothing(place), "answer": _no_frame(dropped), "account": account}
    names = learning.grouped(timed, place, asked.by, asked.settings.stretches)
    _check_few(names)
    learned = learning.learn(
        timed,
        names,
        place,
        asked.settings.group_of,
        asked.usual,
        asked.how,
        asked.reference,
    )
    learned = learned._replace(fits=_best_first(learned))
    sentences = {
        fit.group.name: sentence(fit, learned, asked, request)
        for fit in learned.fits[:_MOST_SENTENCES]
    }
    points = figure.points(timed, names, learned, place)
    first = points[0].fit if points else None
    preset = asked.preset or learning.usual_preset(first, place) if first else None
    return {
        "answer": _answer(learned, sentences),
        "account": [*_account(dropped, learned), *tables.doubt(learned)],
        "found": "" if points else "hidden",
        "figure": figure.figure(points, preset, THEMES.get(theme, PAPER)),
        "text": figure_words.picture(learned, points, preset),
        "table": tables.groups(learned),
        "keeps": tables.keeps(learned, sentences, raw, catalog),
        "covers": [
            as_table(learning.own_cover(fit)) for fit in learned.fits if fit.usable
        ],
        "sides": form.data(sides(place)),
    }


_WELCOME = (
    "Your own frames show how dark that forest really is: they compare what your "
    "camera metered with the light expected at that minute."
)


def _nothing(place: Place) -> dict[str, Any]:
    return {
        "account": [],
        "found": "hidden",
        "figure": None,
        "text": "",
        "table": [],
        "keeps": [],
        "covers": [],
        "sides": form.data(sides(place)),
    }


def _no_frame(dropped: tuple[tuple[str, int, str], ...]) -> str:
    without_zone = sum(n for reason, n, _ in dropped if reason == frames.NO_ZONE)
    if not without_zone:
        return "None of these files can be used."
    many = "The frame does" if without_zone == 1 else f"{without_zone:,} frames do"
    return (
        f"Which time zone was the camera’s clock set to? {many} not say, and without "
        "it the sun’s altitude is not known. Choose it under “Camera’s clock”."
    )


def _check_few(names: tuple[str, ...]) -> None:
    count = len(set(names))
    if count > _MOST_GROUPS:
        raise ValueError(
            f"frames may be in at most {_MOST_GROUPS} groups, got {count:,}: choose "
            "another grouping or fewer files"
        )


def read(choices: Texts, place: Place, now: dt.datetime) -> Asked:
    """Return the page's own choices; ValueError on the first that is wrong."""
    text = {name: typed.text(choices.get(name)) for name in ids.LEARN_CHOICES}
    groups = typed.text(choices.get(ids.LEARN_GROUPS), _LONGEST_GROUPS + 1)
    if len(groups) > _LONGEST_GROUPS:
        raise ValueError(f"group settings must be at most {_LONGEST_GROUPS} characters")
    zone = text[ids.LEARN_CLOCK_ZONE]
    shift = text[ids.LEARN_CLOCK] or "0"
    habit = (text[ids.LEARN_HABIT] or "0").replace("−", "-")
    clock = Clock(
        now,
        place.timezone if zone == PLACES_OWN else zone or None,
        typed.number(shift, "seconds that the clock was slow", -93_600, 93_600, " s"),
    )
    frames.check(clock)
    usual = _usual(text, place)
    lines = filter(None, map(str.strip, groups.splitlines()))
    preset = text[ids.LEARN_PRESET]
    return Asked(
        clock=clock,
        usual=usual,
        settings=group_text.read(lines, usual, place),
        by=typed.one_of(text[ids.LEARN_BY] or "folder", GROUPINGS, "grouping"),
        how=Metering(
            typed.number(habit, "habit", -5, 5, " stops"),
            choices.get(ids.LEARN_EXPOSED) is True,
        ),
        preset=daylight.cover_named(preset) if preset else None,
        reference=text[ids.LEARN_REFERENCE] or None,
    )


def _usual(text: Mapping[str, str], place: Place) -> Group:
    side = text[ids.LEARN_SIDE] or "side"
    at_spot = side.startswith(SPOT)
    key = "side" if at_spot else typed.one_of(side, FACING_INDEX, "side")
    return Group(
        name="",
        sky=daylight.sky_named(text[ids.LEARN_SKY] or place.sky).key,
        facing_deg=FACINGS[FACING_INDEX[key]].angle_deg,
        bearing_deg=group_text.bearing(side.removeprefix(SPOT), place)
        if at_spot
        else None,
        base=daylight.cover_named(text[ids.LEARN_BASE] or "open").key,
    )


def _best_first(learned: Learned) -> tuple[Fit, ...]:
    """Return the fits in order: usable ones, more bursts, darker covers first."""

    def rank(fit: Fit) -> tuple[bool, int, float]:
        return not fit.usable, -fit.bursts, -fit.stops

    return tuple(sorted(learned.fits, key=rank))


def _answer(learned: Learned, sentences: Mapping[str, str]) -> str:
    if not learned.fits:
        return "Apart from the reference there is no group to learn from."
    best, *others = learned.fits
    usable = sum(fit.usable for fit in others)
    more = ""
    if usable:
        more = (
            f" {usable} more {'group is' if usable == 1 else 'groups are'} listed "
            "below."
        )
    return sentences[best.group.name] + more


def sentence(fit: Fit, learned: Learned, asked: Asked, request: Request) -> str:
    """Return how many stops a group's cover takes, and the effect in the evening."""
    if fit.too_few:
        lacking = FEWEST_BURSTS - fit.bursts
        return f"{calibrate_words.learned(fit)} {lacking} more would be enough."
    place = request.place
    against = asked.preset or learning.usual_preset(fit, place)
    date = learned.dates[fit.group.name]
    return calibrate_words.evening(fit, place, date, request.rigs[0], against)


def _account(
    dropped: tuple[tuple[str, int, str], ...], learned: Learned
) -> list[Component]:
    every = [*learned.fits, *([learned.reference] if learned.reference else [])]
    dark = sum(fit.dark for fit in every)
    if dark:
        reason = naming.minus(f"sun below {LOWEST_SUN_DEG:g}°")
        dropped = (*dropped, (reason, dark, ""))
    return tables.account(dropped, sum(fit.frames for fit in every))
