"""The year's page in words: its weeks as a table, and what the answer says of them."""

import re

import pytest
from dash import html

from lightplan.choices.raw import OWN
from lightplan.web.year import page as year_page


@pytest.fixture
def content(catalog, usual):
    """What the page shows for some texts."""

    def shown(**changes):
        at = {"place": "Mopane Loop", **changes}
        return year_page.content(usual(at), catalog, "paper")

    return shown


def table(shown, text_of) -> list[list[str]]:
    """The table of weeks as texts, its head first."""
    (of,) = [
        c.children
        for c in shown["table"]
        if isinstance(getattr(c, "children", None), html.Table)
    ]
    head, body = of.children
    rows = [head.children, *body.children]
    return [[text_of(cell) for cell in row.children] for row in rows]


def column(shown, name, text_of) -> dict[str, str]:
    """A column of the table by week."""
    head, *weeks = table(shown, text_of)
    return {week[0]: week[head.index(name)] for week in weeks}


@pytest.mark.parametrize("letter", ["A", "B"])
def test_most_warm_minutes_of_the_answer_stand_in_the_row_of_their_week(
    content, text_of, letter
):
    shown = content(**{"shown": letter})
    answer = text_of(shown["answer"])
    said = re.search(r"up to (\d+) minutes a week .*, in (\d+ \w+ – \d+ \w+); ", answer)
    found = column(shown, f"Warm {letter} can use, min", text_of)
    assert found[said[2]] == said[1]
    assert max(map(int, found.values())) == int(said[1]) > 0


def test_no_week_has_more_warm_minutes_for_a_rig_than_there_are(content, text_of):
    shown = content()
    warm = column(shown, "Warm, min", text_of)
    for week, usable in column(shown, "Warm A can use, min", text_of).items():
        there = sum(int(n) for n in warm[week].split(" + "))
        assert 0 <= int(usable) <= there


def test_closed_sessions_are_counted_in_drives(content, text_of):
    # Mopane Loop is closed on Friday evenings; a week has seven mornings and evenings.
    found = column(content(), "Closed", text_of)
    assert found["9 Aug – 15 Aug"] == "1 of 14 drives"


def test_moon_is_told_in_days_of_age_and_percent_lit(content, text_of):
    told = [*column(content(**{"year": "2028"}), "Moon", text_of).values()]
    one_day = [text for text in told if text.startswith("1 day")]
    assert one_day
    for text in told:
        age = "1 day" if text in one_day else r"([02-9]|\d\d) days"
        assert re.fullmatch(rf"{age} old, \d+ % lit", text)


@pytest.mark.parametrize(
    ("at", "changes"),
    [
        # IANA, Thule: the second Sunday of March and the first of November.
        (
            {"place": "Ptarmigan Fjord"},
            "Sun 14 Mar: UTC−4 to UTC−3, and before Sun 7 Nov: UTC−3 to UTC−4.",
        ),
        # Directive 2000/84/EC: the last Sundays of March and October.
        (
            {
                "place": OWN,
                "lat": "69.65",
                "lon": "18.96",
                "zone": "Europe/Oslo",
            },
            "Sun 28 Mar: UTC+1 to UTC+2, and before Sun 31 Oct: UTC+2 to UTC+1.",
        ),
    ],
    ids=["with gates", "without gates"],
)
def test_clock_changes_are_noted_beside_midnight_sun_and_polar_night(
    content, text_of, at, changes
):
    said = [text_of(note) for note in content(**at, **{"year": "2027"})["notes"]]
    assert "On some of these dates the sun does not set." in said
    assert "On some of these dates the sun does not rise." in said
    assert said[-1] == f"Clocks change before {changes}"
