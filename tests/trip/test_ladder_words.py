"""Which rungs of a ladder are worth a word, and how each is said.

The ladders are written down here, so that each rule meets the case that decides it;
that the plan's own are right, the export's tests hold.
"""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from lightplan.catalog.gates import Gates
from lightplan.catalog.kit import Body, Lens, Rig
from lightplan.catalog.places import Place
from lightplan.trip import ladder_words, plan
from lightplan.trip.minutes import Rung
from lightplan.trip.request import Request, choose

# Turn-back is 25 min before the gate shuts, at minutes 215 and 155.
GATES = {"morning": ("06:00", "10:00"), "evening": ("15:30", "18:30")}
BACK = {"morning": 215, "evening": 155}
OWN = 1600


@pytest.fixture(scope="module")
def trip():
    place = Place(
        name="p",
        latitude_deg=-13,
        longitude_deg=31,
        timezone="Africa/Lusaka",
        gates=(Gates.model_validate(GATES),),
    )
    body = Body(name="b", format="full frame", megapixels=45)
    rig = Rig(name="r", body=body, lens=Lens(name="l", widest=((600, 6.3),)))
    day = dt.date(2027, 8, 12)
    choice = choose(rig, shutter_s=1 / OWN)
    return plan.make(Request(place, day, day, (choice,)))


def drive_of(trip, session):
    return next(d for d in trip.drives if d.session == session)


def rung(drive, denominator, share, first=0, last=60):
    at = (drive.opens_utc + np.timedelta64(m, "m") for m in (first, last))
    return Rung(1 / denominator, *at, share)


def ladder(drive, *rungs):
    """An outcome of rungs as (denominator, share, …)."""
    steps = tuple(rung(drive, *each) for each in rungs)
    return replace(drive.outcomes[0][1], ladder=steps)


EVENING_BACK = BACK["evening"]


@pytest.mark.parametrize(
    ("rungs", "named"),
    [
        # Its own and two slower ones, no third; a faster one is not worth a word.
        (
            [(2000, 0.9), (OWN, 0.85), (1000, 0.7), (500, 0.5), (250, 0.3)],
            [OWN, 1000, 500],
        ),
        # While two frames in ten are sharp.
        ([(OWN, 0.85), (1000, 0.2), (500, 0.19)], [OWN, 1000]),
        ([(OWN, 0.85), (1000, 0.19), (500, 0.18)], [OWN]),
        # Its own however few are sharp: a person has typed it.
        ([(OWN, 0.1), (1000, 0.05)], [OWN]),
        # What holds for the whole drive is the last.
        ([(OWN, 0.85, 0, EVENING_BACK), (1000, 0.7, 0, EVENING_BACK)], [OWN]),
        (
            [(OWN, 0.85), (1000, 0.7, 0, EVENING_BACK), (500, 0.6, 0, EVENING_BACK)],
            [OWN, 1000],
        ),
        # Too slow throughout, it still has slower ones.
        ([(1000, 0.7), (500, 0.5), (250, 0.3), (125, 0.2)], [1000, 500, 250]),
    ],
)
def test_rungs_worth_a_word(trip, rungs, named):
    drive, (choice,) = drive_of(trip, "evening"), trip.request.rigs
    outcome = ladder(drive, *rungs)
    found = ladder_words.shown(drive, outcome, choice)
    assert [round(1 / each.shutter_s) for each in found] == named
    slower = ladder_words.slower(drive, outcome, choice)
    assert [round(1 / each.shutter_s) for each in slower] == [
        n for n in named if n < OWN
    ]


@pytest.mark.parametrize(
    ("shares", "best"),
    [
        ((0.72, 0.5), 500),  # the slowest with half of its frames sharp
        ((0.72, 0.49), 1000),
        ((0.45, 0.3), 1000),  # none has: the first
        ((0.1, 0.05), None),
    ],
)
def test_the_one_slower_shutter_that_is_named_first(trip, shares, best):
    drive, (choice,) = drive_of(trip, "evening"), trip.request.rigs
    steps = zip((1000, 500), shares, strict=True)
    outcome = ladder(drive, (OWN, 0.85), *steps)
    found = ladder_words.next_best(drive, outcome, choice)
    assert (found and round(1 / found.shutter_s)) == best


# Never more than is true: 79 in 100 are seven in ten.
@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.95, ""),
        (0.8, ""),
        (0.799, "7 in 10 sharp"),
        (0.66, "6 in 10 sharp"),
        (0.6, "6 in 10 sharp"),
        (0.3, "3 in 10 sharp"),
    ],
)
def test_a_share_is_rounded_down(trip, share, text):
    drive = drive_of(trip, "evening")
    assert ladder_words.share(rung(drive, 500, share)) == text


@pytest.mark.parametrize(
    ("session", "first", "last", "text"),
    [
        ("evening", 0, 124, "to 17:34"),
        ("evening", 10, 124, "15:40–17:34"),
        ("evening", 10, BACK["evening"] - 1, "15:40–18:04"),
        ("evening", 10, BACK["evening"], "from 15:40"),
        ("evening", 0, BACK["evening"], "to turn-back"),
        ("morning", 0, BACK["morning"], "from 06:00"),
        ("morning", 21, BACK["morning"], "from 06:21"),
        ("morning", 0, 100, "to 07:40"),
    ],
)
def test_when_a_rung_holds(trip, session, first, last, text):
    drive = drive_of(trip, session)
    of = rung(drive, 500, 0.9, first, last)
    assert ladder_words.rung(trip, drive, of) == f"1/500 {text}"
