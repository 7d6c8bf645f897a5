"""Where rigs start and finish, and labels that never lie on one another."""

from itertools import pairwise

import pytest
import wild
from hypothesis import example, given
from hypothesis import strategies as st

from lightplan.web.trip import marks
from lightplan.web.trip.marks import Mark

SIDE = 1  # lit from the side


@pytest.fixture
def evening(trip):
    """Yield an evening from 15:30 to 18:30, Lusaka time, and its plan."""
    of = trip()
    assert of.drives[1].drive.session == "evening"
    return of, of.drives[1]


def test_a_mark_is_a_minute_inside_the_gates_with_its_clock(evening, with_minutes):
    of, drive = evening
    found = marks.of_drive(of, with_minutes(drive, (20, 124)), SIDE)
    # 15:30 and 20 or 124 minutes.
    assert found == [Mark(20, 0, "start", "15:50"), Mark(124, 0, "end", "17:34")]


def test_marks_are_in_order_of_time(evening, with_minutes):
    of, drive = evening
    found = marks.of_drive(of, with_minutes(drive, (0, 150), (30, 90)), SIDE)
    assert [(m.minute, m.rig, m.side) for m in found] == [
        (30, 1, "start"),
        (90, 1, "end"),
        (150, 0, "end"),
    ]


# The evening's 180 minutes end at turn-back after 155.
@pytest.mark.parametrize("minutes", [(0, 155), None])
def test_gate_and_turn_back_are_no_marks_and_a_rig_never_usable_has_none(
    minutes, evening, with_minutes
):
    of, drive = evening
    assert marks.of_drive(of, with_minutes(drive, minutes), SIDE) == []


# ---------------------------------------------------------------- labels


def ends(*minutes: int) -> list[Mark]:
    return [Mark(m, rig, "end", f"17:{m:02d}") for rig, m in enumerate(minutes)]


def test_marks_close_together_share_a_label_between_them():
    (label,) = marks.labels(ends(30, 32), join_min=6, char_min=0.1)
    assert (label.minute, label.letters, label.times) == (31, "A, B", "17:30–17:32")


def test_marks_at_one_minute_share_a_label_with_one_time():
    (label,) = marks.labels(ends(30, 30, 30), join_min=6, char_min=0.1)
    assert (label.minute, label.letters, label.times) == (30, "A, B, C", "17:30")


def test_marks_far_apart_keep_their_own_labels_in_their_places():
    found = marks.labels(ends(10, 50), join_min=6, char_min=0.1)
    assert [(x.minute, x.letters) for x in found] == [(10, "A"), (50, "B")]


def test_a_start_and_an_end_never_share_a_label():
    pair = [Mark(30, 0, "start", "06:30"), Mark(31, 1, "end", "06:31")]
    found = marks.labels(pair, join_min=6, char_min=0.1)
    assert [(x.letters, x.side) for x in found] == [("A", "start"), ("B", "end")]


def test_a_label_names_each_rig_once():
    both = [Mark(30, 0, "end", "17:30"), Mark(31, 0, "end", "17:31")]
    (label,) = marks.labels(both, join_min=6, char_min=0.1)
    assert label.letters == "A"


def test_without_marks_there_are_no_labels():
    assert marks.labels([], join_min=6, char_min=2) == []


# A row of four hours as `strips` sets it: joined below 1/40 of the clock, a
# character 1/100 of it wide.
SPAN_MIN = 240
JOIN_MIN, CHAR_MIN = SPAN_MIN * 0.025, SPAN_MIN * 0.01


def named(starts: list[int], ends_: list[int]) -> list[Mark]:
    """Marks of light that comes and goes: rigs start, then finish."""
    found = [(m, rig, "start") for rig, m in enumerate(starts)]
    found += [(m, rig, "end") for rig, m in enumerate(ends_)]
    return sorted(
        Mark(m, rig, side, f"{6 + m // 60:02d}:{m % 60:02d}") for m, rig, side in found
    )


@st.composite
def rig_marks(draw: st.DrawFn) -> list[Mark]:
    turn = draw(st.integers(2, SPAN_MIN - 2))
    starts = draw(st.lists(st.integers(1, turn - 1), max_size=6))
    finished = draw(st.lists(st.integers(turn + 1, SPAN_MIN - 1), max_size=6))
    return named(starts, finished)


def half_width(label: marks.Label) -> float:
    """Minutes that half of a label's text covers: letters, space, times, arrow."""
    arrow = 2  # and the space between it and the text
    return (len(f"{label.letters} {label.times}") + arrow) * CHAR_MIN / 2


@wild.cases(100)
@given(found=rig_marks())
@example(found=ends(100, 107, 114, 121, 128, 135))
@example(found=ends(*range(60, 180, 20)))
def test_labels_never_lie_on_one_another(found):
    labels = marks.labels(found, JOIN_MIN, CHAR_MIN)
    for left, right in pairwise(labels):
        room = right.minute - left.minute
        assert room >= half_width(left) + half_width(right), labels


@wild.cases(60)
@given(found=rig_marks())
def test_every_mark_is_named_once_beside_marks_of_its_own_side(found):
    labels = marks.labels(found, JOIN_MIN, CHAR_MIN)
    for side in ("start", "end"):
        named = [
            letter for x in labels if x.side == side for letter in x.letters.split(", ")
        ]
        assert set(named) == {"ABCDEF"[m.rig] for m in found if m.side == side}


@wild.cases(60)
@given(found=rig_marks())
def test_marks_share_a_label_only_if_the_next_is_near(found):
    for label in marks.labels(found, JOIN_MIN, CHAR_MIN):
        clocks = label.times.split("–")
        within = sorted(
            m.minute
            for m in found
            if m.side == label.side and clocks[0] <= m.clock <= clocks[-1]
        )
        gaps = [b - a for a, b in pairwise(within)]
        assert all(gap < JOIN_MIN for gap in gaps), label
