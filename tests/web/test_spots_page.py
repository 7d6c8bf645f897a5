"""The page of fixed spots: what it says, shows, and carries in its links."""

import base64
import datetime as dt
import json
import re
from functools import cache
from pathlib import Path
from urllib.parse import urlsplit

import numpy as np
import pytest
from dash import html

from lightplan import naming
from lightplan.catalog import places
from lightplan.catalog.places import Place, Spot
from lightplan.choices import state, table
from lightplan.choices.raw import Raw
from lightplan.spots import chances, spots
from lightplan.spots import words as spot_words
from lightplan.spots.chances import Wish
from lightplan.spots.spots import KINDS, LIGHTS, NO_SUN
from lightplan.web import callbacks, ids
from lightplan.web.figures.theme import THEMES
from lightplan.web.spots import figure as spots_pictures
from lightplan.web.spots import page
from lightplan.web.spots.figure import cells, colours, faint

YEAR = 2027
NOW = dt.datetime(YEAR, 1, 1, 12, tzinfo=dt.UTC)
TODAY = (dt.date(YEAR, 1, 1), dt.date(YEAR, 1, 1))  # first that counts, and today
PAYLOAD_BYTES = 300_000  # by the project's own aim
TEXT, GRAPHICS = 4.5, 3.0  # WCAG 2.2, success criteria 1.4.3 and 1.4.11
HOURS = {"morning": ("06:00", "10:00"), "evening": ("15:30", "18:30")}
RIDGE = [[60, 2], [90, 4], [120, 5], [150, 3], [240, 6], [270, 8], [300, 5]]


def place(timezone, latitude_deg, longitude_deg, hours=HOURS, **more) -> Place:
    return Place.model_validate(
        {
            "name": "Test Pan",
            "latitude_deg": latitude_deg,
            "longitude_deg": longitude_deg,
            "timezone": timezone,
            "gates": [hours] if hours else [],
            **more,
        }
    )


def spot(bearing_deg, horizon=()) -> Spot:
    return Spot.model_validate(
        {"name": "Hide", "bearing_deg": bearing_deg, "horizon": horizon}
    )


SOUTH = place("Africa/Lusaka", -13.1, 31.8)
SPAIN = place("Europe/Madrid", 37.0, -6.4)
NORTH = place("Arctic/Longyearbyen", 78.0, 15.6, None)


EXAMPLE = Path(__file__).parents[2] / places.EXAMPLE_FILE
MOPANE = places.load(EXAMPLE).place("Mopane Loop")


@cache
def of_year(at=SOUTH, look=None, year=YEAR) -> spots.SpotYear:
    return spots.make(at, look or spot(285), year)


# Many tests look at the same picture and the same page; none changes it.
@cache
def drawn(of, wish, theme_name):
    return spots_pictures.spots_figure(of, wish, THEMES[theme_name])


def spots_figure(of, wish, theme):
    (name,) = (name for name, one in THEMES.items() if one is theme)
    return drawn(of, wish, name)


@pytest.fixture(scope="module")
def content(catalog, usual):
    """What the page shows for some texts."""
    shown_for = cache(page.content)

    def shown(changes=None, theme="paper", kept=catalog, now=NOW):
        return shown_for(usual(changes), kept, theme, now)

    return shown


OXBOW = {"place": "Mopane Loop", "spot": "Oxbow hide"}
EBONY = {"place": "Mopane Loop", "spot": "Ebony bend"}


# ------------------------------------------------------------------------ sentences


def test_answer_names_the_next_chance_from_the_trips_first_day(content, text_of):
    of = of_year(MOPANE, MOPANE.spots[1])
    first = next(
        c
        for c in chances.chances(of, Wish())
        if c.drive.date >= dt.date(YEAR, 8, 12) and c.minutes >= 5
    )
    said = text_of(content(EBONY)["answer"])
    assert said.startswith(
        "Ebony bend, looking 285° WNW: the sun is within 10° of straight behind "
    )
    assert f"{naming.day_name(first.drive.date)}, {spot_words.span(of, first)}" in said


def test_answer_counts_the_dates_of_the_year(content, text_of):
    of = of_year(MOPANE, MOPANE.spots[1])
    dates = {c.drive.date for c in chances.chances(of, Wish())}
    said = text_of(content(EBONY)["answer"])
    assert f"on {len(dates)} evenings in {YEAR}." in said


def test_in_another_year_the_chances_count_from_its_first_day(content, text_of):
    shown = content(EBONY | {"year": "2030"})
    assert "the animal first on" in text_of(shown["answer"])
    assert "From Tue 1 Jan 2030 on" in text_of(shown["next"])


def first_row(shown) -> dt.date:
    """The date that the first of the chances opens as a trip."""
    link = rows(shown["next"])[0].children[0].children
    query = urlsplit(link.href).query
    return dt.date.fromisoformat(Raw.from_search(query)["from"])


def at_noon(date: str) -> dt.datetime:
    return dt.datetime.fromisoformat(f"{date}T12:00+00:00")


# The trip of these texts begins on 12 August 2027; Ebony bend has chances to spare.
@pytest.mark.parametrize(
    ("today", "year", "since"),
    [
        ("2027-05-03", "2027", "Thu 12 Aug 2027"),  # the trip lies ahead
        ("2027-08-20", "2027", "Fri 20 Aug 2027"),  # it is past
        ("2028-08-20", "2028", "Sun 20 Aug 2028"),  # in another year
        ("2027-08-20", "2028", "Sat 1 Jan 2028"),
        ("2029-03-05", "2028", "Mon 5 Mar 2029"),  # the year shown is past
    ],
)
def test_no_chance_is_listed_that_is_past_or_before_the_trip(
    content, text_of, today, year, since
):
    shown = content(EBONY | {"year": year}, now=at_noon(today))
    assert f"From {since} on, " in text_of(shown["next"])
    begins = dt.datetime.strptime(since, "%a %d %b %Y").date()  # noqa: DTZ007
    assert begins <= first_row(shown) < begins + dt.timedelta(days=366)


def test_today_is_that_of_the_place(content, text_of):
    # 22:30 UTC is half past midnight in Lusaka's zone, UTC+2.
    late = dt.datetime(2027, 8, 20, 22, 30, tzinfo=dt.UTC)
    assert "From Sat 21 Aug 2027 on" in text_of(content(EBONY, now=late)["next"])


@pytest.mark.parametrize(
    ("today", "year"), [("2027-05-03", ""), ("2026-11-25", "2027")]
)
def test_dates_of_another_year_than_todays_have_it_beside_them(
    content, text_of, today, year
):
    shown = content(EBONY, now=at_noon(today))
    beside = f" {year}" if year else ""
    assert f"next on Thu 12 Aug{beside}, " in text_of(shown["answer"])
    first = rows(shown["next"])[0]
    assert text_of(first).startswith(f"Thu 12 Aug{beside}, evening")


def test_answer_where_it_never_happens_says_how_near_the_sun_comes(text_of):
    # 50° N: the sun is never in the north while these gates are open.
    of = of_year(place("Europe/Prague", 50.0, 14.0), spot(0))
    said = naming.plain(spot_words.answer(of, Wish(), (), *TODAY))
    assert "in 2027 there is no minute inside the gates" in said
    assert re.search(r"It comes nearest on .*, \d+° from straight behind", said)


def test_light_that_is_waited_for_is_named_with_how_high_the_sun_may_be():
    said = spot_words.wished_low(Wish("rim", up_to_deg=12))
    assert said == "the animal has rim light, with the sun at most 12° high"


def test_next_chance_of_a_year_without_one_is_named_with_its_own_year():
    of = of_year(place("Europe/Prague", 50.0, 14.0), spot(0))
    chance = chances.chances(of_year(SOUTH, year=2028), Wish())[0]
    said = naming.plain(spot_words.answer(of, Wish(), (chance,), *TODAY))
    assert f"first on {naming.day_name(chance.drive.date)} 2028, " in said
    assert said.endswith("That does not happen in 2027. ")


def test_chances_of_one_date_are_that_date_and_its_time():
    of = of_year()
    run = chances.chances(of, Wish())[:1]
    said = naming.plain(spot_words.run_sentence(of, Wish(), run))
    date = run[0].drive.date
    day = f"{date.day} {naming.MONTHS[date.month - 1]}"
    assert said.startswith(f"On {day} the sun is within 10° of straight behind")
    assert f" at {spot_words.span(of, run[0])}, with the sun at " in said


def test_chances_from_first_to_last_of_the_year_are_all_year():
    # At 13° S the low sun is never 45° from east or west: side light looking north.
    of, wish = of_year(look=spot(0)), Wish("side")
    runs = chances.spells(of, chances.chances(of, wish))
    said = [naming.plain(spot_words.run_sentence(of, wish, run)) for run in runs]
    assert len(said) == 2
    assert all(text.startswith("All year the animal has side light") for text in said)


def test_answer_behind_a_wall_says_that_the_sun_is_never_up():
    of = of_year(place("Europe/Prague", 50.0, 14.0), spot(90, ((0, 80),)))
    said = naming.plain(spot_words.answer(of, Wish(), (), *TODAY))
    assert "The sun is never up and that low while the gates are open." in said


def test_last_chance_of_all_years_is_told():
    of = of_year(SOUTH, spot(285), 2037)
    found = chances.chances(of, Wish())
    first = dt.date(2037, 12, 1)
    said = naming.plain(spot_words.answer(of, Wish(), (), first, first))
    assert (
        f"for the last time in 2037 on {naming.day_name(found[-1].drive.date)}" in said
    )
    assert "not again from Tue 1 Dec to the end of 2037" in said


def test_clear_weather_is_assumed_once_in_so_many_words(content, text_of):
    shown = content(EBONY)
    said = " ".join(text_of(shown[key]) for key in ("answer", "notes", "runs", "next"))
    assert said.count("if it is out") == 1


def test_each_run_of_dates_is_a_sentence(content, text_of):
    of = of_year(MOPANE, MOPANE.spots[1])
    found = chances.chances(of, Wish())
    sentences = [text_of(c) for c in content(EBONY)["runs"] if isinstance(c, html.P)]
    runs = chances.spells(of, found)
    assert len(sentences) == len(runs) > 0
    first, last = runs[0][0].drive.date, runs[0][-1].drive.date
    named = [f"{d.day} {naming.MONTHS[d.month - 1]}" for d in (first, last)]
    assert sentences[0].startswith(f"Between {named[0]} and {named[1]} the sun is")
    assert re.search(r": earliest \d\d:\d\d, latest \d\d:\d\d; longest", sentences[0])
    clocks = re.findall(r"\d\d:\d\d", sentences[0])
    starts = [spot_words.clock(of, c.start_utc) for c in runs[0]]
    ends = [spot_words.clock(of, c.end_utc) for c in runs[0]]
    assert clocks[:2] == [min(starts), max(ends)]
    longest = max(runs[0], key=lambda c: c.minutes)
    assert "–".join(clocks[2:]) == spot_words.span(of, longest)


def test_spell_over_new_year_is_one_sentence(content, text_of):
    (_, sentence) = map(text_of, content(OXBOW)["runs"])
    said = re.match(r"Between (\d+ \w+) and (\d+ \w+) the sun", sentence)
    assert said is not None
    assert [day.split()[1] for day in said.groups()] == ["Nov", "Feb"]


def test_place_without_spots_says_how_to_add_one(content, text_of):
    shown = content({"place": "Teak Hollow"})
    said = text_of(shown["answer"])
    assert said.startswith("Teak Hollow has no spot yet: add one under Kit and places")
    assert "[[" not in said  # a page's visitor has no file to write
    assert shown["shown"] == "hidden"
    (link,) = [c for c in shown["answer"] if isinstance(c, html.A)]
    assert urlsplit(link.href).path == "/kit"


def test_own_coordinates_say_how_to_have_spots(content, own, text_of):
    shown = content(own)
    assert text_of(shown["answer"]).startswith("Bare coordinates have no spots:")
    assert shown["shown"] == "hidden"


NO_SKYLINE = "Hide has no skyline: the horizon is taken as level."
NOTES = {
    "none": ((), NO_SKYLINE),
    "one point": (
        ((120, 4),),
        "The skyline has one point, at 120°; the same height is used all round.",
    ),
    "a gap in the south": (
        ((0, 1), (90, 3), (240, 1), (300, 4)),
        "The skyline has no point from 90° to 240°; a straight line joins the ends, "
        "so times there are rough.",
    ),
    "a gap": (
        RIDGE,
        "The skyline has no point from 300° through north to 60°; a straight line "
        "joins the ends, so times there are rough.",
    ),
}


@pytest.mark.parametrize(("horizon", "note"), NOTES.values(), ids=NOTES)
def test_what_a_skyline_lacks_is_a_note(horizon, note):
    assert spot_words.notes(of_year(SOUTH, spot(285, tuple(map(tuple, horizon)))))[
        0
    ] == (note)


def test_skyline_of_four_points_needs_no_note():
    square = ((0, 1), (90, 3), (180, 1), (270, 4))
    said = spot_words.notes(of_year(SOUTH, spot(285, square)))
    assert not any("skyline" in note for note in said)


def test_dates_on_which_the_sun_rises_behind_the_skyline_are_counted():
    # 78° N with hills of 8° all round: from the sun's return until it culminates
    # above 8°, 90 − 78 + δ = 8, so from δ = −12° or so to −4°: three weeks each way.
    of = of_year(NORTH, spot(180, ((0, 8), (180, 8))))
    (note,) = [n for n in spot_words.notes(of) if "does not clear" in n]
    assert 36 <= int(note.split()[1]) <= 48


def test_day_without_a_passage_is_up_all_day_or_never():
    of = of_year(NORTH, spot(180))
    june, december = (
        (dt.date(YEAR, month, 21) - dt.date(YEAR, 1, 1)).days for month in (6, 12)
    )
    assert spot_words.passages(of, june) == "up all day"
    assert spot_words.passages(of, december) == "never"


# -------------------------------------------------------------------------- tables


def rows(tables):
    (table,) = [
        c.children
        for c in tables
        if isinstance(getattr(c, "children", None), html.Table)
    ]
    return table.children[1].children


def test_next_chances_are_ten_rows_that_open_as_trips(content, text_of):
    ten = rows(content(EBONY)["next"])
    assert len(ten) == 10
    link = ten[0].children[0].children
    carried = Raw.from_search(urlsplit(link.href).query)
    assert urlsplit(link.href).path == "/"
    assert carried["from"] == carried["to"] == "2027-08-12"
    assert carried["side"] == "back"
    assert carried["cover"] == "shade"  # the spot's own
    assert text_of(ten[0]).startswith("Thu 12 Aug, evening")


def test_next_chance_has_the_range_of_its_angles_from_behind(content, text_of):
    of = of_year(MOPANE, MOPANE.spots[1])
    found = {c.drive.date: c for c in chances.chances(of, Wish())}
    ten = rows(content(EBONY)["next"])
    assert re.fullmatch(r"\d+–\d+°", text_of(ten[-1].children[-1]))
    for row in ten:
        link = row.children[0].children
        carried = Raw.from_search(urlsplit(link.href).query)
        chance = found[dt.date.fromisoformat(carried["from"])]
        minutes = np.arange(chance.start_utc, chance.end_utc)
        at = ((minutes - of.utc[0]) / np.timedelta64(1, "m")).astype(int)
        off = 180 - of.facing_deg[at]
        ends = [int(n) for n in re.findall(r"\d+", text_of(row.children[-1]))]
        assert (ends[0], ends[-1]) == (round(off.min()), round(off.max()))


def minutes_of(text: str) -> int:
    """``11 h 45``, ``45 min`` or ``–`` as minutes."""
    if text == "–":
        return 0
    if text.endswith(" min"):
        return int(text.removesuffix(" min"))
    hours, rest = text.split(" h ")
    return int(hours) * 60 + int(rest)


def test_weeks_are_rows_of_the_years_hours(content, text_of):
    weeks = rows(content(EBONY)["weeks"])
    of = of_year(MOPANE, MOPANE.spots[1])
    expected = chances.weeks(of, chances.chances(of, Wish()))
    assert len(weeks) == len(expected) == 53
    for row, week in zip(weeks, expected, strict=True):
        shown = [text_of(cell) for cell in row.children]
        lights = [minutes_of(t) for t in shown[-len(LIGHTS) :]]
        assert tuple(lights) == week.light_min
        assert minutes_of(shown[2]) == sum(c.minutes for c in week.chances)


def test_week_says_the_answer_before_the_rest(content, text_of):
    weeks = content(EBONY)["weeks"]
    (table,) = [c.children for c in weeks if isinstance(c.children, html.Table)]
    head = [text_of(cell) for cell in table.children[0].children.children]
    assert head[:3] == ["Week", "Chances", "Total"]


# ----------------------------------------------------------------------- the picture


@pytest.mark.parametrize("at", [SOUTH, SPAIN, NORTH], ids=["13° S", "37° N", "78° N"])
def test_picture_is_under_300_kilobytes(at):
    of = of_year(at, spot(200, tuple(map(tuple, RIDGE))))
    figure = spots_figure(of, Wish("back", 60, 60), THEMES["paper"])
    assert len(json.dumps(figure).encode()) < PAYLOAD_BYTES


def decoded(figure) -> np.ndarray:
    """The heat map as Plotly's typed arrays are specified: dtype, bdata, shape."""
    z = figure["data"][0]["z"]
    shape = tuple(int(n) for n in z["shape"].split(","))
    return np.frombuffer(base64.b64decode(z["bdata"]), dtype=np.int8).reshape(shape)


@pytest.mark.parametrize("at", [SOUTH, SPAIN], ids=["13° S", "37° N"])
def test_picture_holds_every_cell_with_sun_or_open_gates_at_its_clock(at):
    of = of_year(at)
    figure = spots_figure(of, Wish(), THEMES["paper"])
    heat, shown = figure["data"][0], spots.picture(of)
    first = heat["y0"] // spots.STEP_MIN
    found = decoded(figure)
    assert (found == cells(shown)[first : first + len(found)]).all()
    left_out = np.delete(
        (shown.light != NO_SUN) | shown.inside,
        np.s_[first : first + len(found)],
        axis=0,
    )
    assert not left_out.any()
    assert heat["y0"] % 60 == 0
    assert (heat["x0"], heat["dy"]) == ("2027-01-01", spots.STEP_MIN)


def test_each_kind_of_cell_has_its_own_colour():
    of = of_year()
    for theme in THEMES.values():
        heat = spots_figure(of, Wish(), theme)["data"][0]
        scale = heat["colorscale"]
        lasting = [scale[i][1] for i in range(0, len(scale), 2)]
        assert len(lasting) == heat["zmax"] - heat["zmin"]
        assert len(set(lasting)) == len(lasting)
        assert [at for at, _ in scale] == sorted(at for at, _ in scale)


@pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES)
def test_light_has_its_full_colour_inside_the_gates_and_there_only(theme):
    of = of_year(SPAIN)
    heat, shown = spots_figure(of, Wish(), theme)["data"][0], spots.picture(of)
    first, found = heat["y0"] // spots.STEP_MIN, cells(shown)
    scale = heat["colorscale"]
    at = (found - heat["zmin"]) / (heat["zmax"] - heat["zmin"])
    seen = {True: 0, False: 0}
    last = first + len(decoded(spots_figure(of, Wish(), theme)))
    for row in range(first, last, 7):
        for column in range(0, 365, 13):
            light = int(shown.light[row, column])
            if light == NO_SUN:
                continue
            below = [colour for stop, colour in scale if stop <= at[row, column]]
            inside = bool(shown.inside[row, column])
            assert (below[-1] == theme.sides[light]) == inside
            seen[inside] += 1
    assert min(seen.values()) > 50


def luminance(text: str) -> float:
    """WCAG 2.2, "relative luminance"."""
    channels = [int(text[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a: str, b: str) -> float:
    dark, light = sorted((luminance(a), luminance(b)))
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES)
def test_letters_can_be_read_on_their_colours(theme):
    for fill, ink in colours(theme):
        assert contrast(fill, ink) >= TEXT
        assert contrast(faint(fill, theme), theme.ink) >= TEXT


@pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES)
def test_from_front_light_to_backlight_colours_darken_to_every_eye(theme):
    front, side, rim, back, _ = map(luminance, theme.sides)
    assert front > side > rim > back
    for a, b in zip(theme.sides[:3], theme.sides[1:4], strict=True):
        assert contrast(a, b) >= 1.3


@pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES)
@pytest.mark.parametrize("key", ["back", "rim", "side", "front"])
def test_hatching_can_be_seen_on_its_light(theme, key):
    figure = spots_figure(of_year(), Wish(key), theme)
    hatch = figure["data"][1]["line"]["color"]
    fill = theme.sides[[light.key for light in LIGHTS].index(key)]
    assert contrast(hatch, fill) >= GRAPHICS


def test_letters_stand_in_fields_of_their_own_light():
    of = of_year(SPAIN, spot(250))
    figure = spots_figure(of, Wish(), THEMES["paper"])
    shown = spots.picture(of)
    letters = [a for a in figure["layout"]["annotations"] if len(a["text"]) == 8]
    assert len(letters) > 4
    for letter in letters:
        column = (dt.date.fromisoformat(letter["x"]) - dt.date(YEAR, 1, 1)).days
        light = int(shown.light[letter["y"] // spots.STEP_MIN, column])
        assert letter["text"] == f"<b>{KINDS[light].letter}</b>"


def lettered(of):
    """Letters by whether they stand inside the gates."""
    shown = spots.picture(of)
    said = {True: set(), False: set()}
    annotations = spots_figure(of, Wish(), THEMES["paper"])["layout"]["annotations"]
    for a in annotations:
        text = a["text"].removeprefix("<b>").removesuffix("</b>")
        if len(text) == 1:
            column = (dt.date.fromisoformat(a["x"]) - dt.date(of.year, 1, 1)).days
            row = a["y"] // spots.STEP_MIN
            assert text == KINDS[shown.light[row, column]].letter
            said[bool(shown.inside[row, column])].add(text)
    return said


def test_top_light_of_midday_has_its_letter_outside_the_gates():
    # 13° S: the noon sun is above 60° from September to March (90 − 13 − δ).
    assert "T" in lettered(of_year(SOUTH))[False]


def test_wide_band_without_sun_has_its_letter():
    # Behind a hill of 20° to the west the sun is gone for hours before the gates shut.
    behind = spot(105, ((0, 0), (240, 0), (250, 20), (290, 20), (300, 0)))
    assert "N" in lettered(of_year(SOUTH, behind))[True]


def test_letters_keep_clear_of_a_closures_box():
    rains = {"from": "04-10", "to": "05-20", "reason": "closed for the rains"}
    of = of_year(place("Africa/Lusaka", -13.1, 31.8, closures=[rains]), spot(105))
    annotations = spots_figure(of, Wish(), THEMES["paper"])["layout"]["annotations"]
    at = [a["x"] for a in annotations if len(re.sub("</?b>", "", a["text"])) == 1]
    # A letter of 13 px is some 10 px wide; on a phone a date takes 0.8 px.
    near = [x for x in at if f"{YEAR}-04-04" <= x <= f"{YEAR}-05-26"]
    assert len(at) > 8
    assert near == []


@pytest.mark.parametrize("theme", THEMES, ids=THEMES)
def test_legend_shows_the_band_without_sun_in_the_pictures_colour(content, theme):
    shown = content(EBONY, theme)
    swatches = [item.children[0] for item in shown["key"]]
    scale = shown["figure"]["data"][0]["colorscale"]
    without_sun = scale[2][1]  # the second colour: no sun, inside the gates
    (named,) = [s for s in swatches if s.children == "N"]
    assert named.style["backgroundColor"] == without_sun


def test_legend_says_what_no_sun_is_and_what_is_faint(content, text_of):
    said = [text_of(item) for item in content(EBONY)["key"]]
    assert "Nno sun: down, or behind the skyline" in said
    assert "faint: outside the gates" in said


@pytest.mark.parametrize(
    ("where", "closed"), [(EBONY, True), ({"place": "Two Rivers Plain"}, False)]
)
def test_legend_has_stripes_where_single_days_are_closed(
    content, text_of, where, closed
):
    # Closed on Friday evenings the one, while tracks are graded alone the other.
    said = [text_of(item) for item in content(where)["key"]]
    assert ("faint stripe: closed on that day" in said) == closed


def strokes(of, wish=Wish()) -> list[tuple[dt.date, int, dt.date, int]]:  # noqa: B008
    """Date and minute at which each stroke of the hatching begins and ends."""
    hatch = spots_figure(of, wish, THEMES["paper"])["data"][1]
    x, y = hatch["x"], hatch["y"]
    assert {*x[2::3], *y[2::3]} == {None}
    dates = dt.date.fromisoformat
    return [
        (dates(a), start, dates(b), end)
        for a, b, start, end in zip(x[::3], x[1::3], y[::3], y[1::3], strict=True)
    ]


def test_hatching_runs_from_start_to_end_of_the_chances(iana):
    of = of_year()
    found = {c.drive.date: c for c in chances.chances(of, Wish())}
    drawn = strokes(of)
    assert len(drawn) > 20
    zone = iana("Africa/Lusaka")
    for first, start, last, end in drawn:
        for minute, utc in (
            (start, found[first].start_utc),
            (end, found[last].end_utc),
        ):
            moment = utc.astype("datetime64[s]").item().replace(tzinfo=dt.UTC)
            local = moment.astimezone(zone)
            assert minute == local.hour * 60 + local.minute


def test_hatching_leans_but_at_the_ends_of_a_run():
    # A closed day is an upright stripe of the picture: a stroke must not look like it.
    of = of_year()
    runs = chances.runs(of, chances.chances(of, Wish()))
    ends = {run[i].drive.date for run in runs for i in (0, -1)}
    drawn = strokes(of)
    assert {first for first, _, last, _ in drawn if first == last} == ends
    assert all(first <= last for first, _, last, _ in drawn)
    assert sum(first < last for first, _, last, _ in drawn) > 20


def test_strokes_join_chances_of_the_same_half_of_a_night():
    # 78° N, gates from 22:00 to 02:00: the sun of June is in the north at midnight,
    # and each night's chances are one bar before midnight and one after it.
    nights = place("Etc/GMT-1", 78.0, 15.6, {"night": ("22:00", "26:00")})
    drawn = strokes(of_year(nights, spot(0)), Wish(up_to_deg=30))
    before = [(start, end) for _, start, _, end in drawn if start > 720]
    after = [(start, end) for _, start, _, end in drawn if start <= 720]
    assert min(len(before), len(after)) > 5
    assert all(0 < end - start < 120 for start, end in (*before, *after))


@pytest.mark.parametrize("key", ["back", "side"])
def test_legend_has_the_hatching_in_its_colour(content, text_of, key):
    shown = content(EBONY | {"wait": key})
    (item,) = [i for i in shown["key"] if "the light you wait for" in text_of(i)]
    assert text_of(item) == "slanted lines: the light you wait for"
    ink = shown["figure"]["data"][1]["line"]["color"]
    assert ink in item.children[0].style["background"]


def test_letters_stand_clear_of_the_hatching_where_their_light_has_room():
    of, wish = of_year(MOPANE, MOPANE.spots[0]), Wish("rim")
    figure = spots_figure(of, wish, THEMES["paper"])
    letters = [a for a in figure["layout"]["annotations"] if a["text"] == "<b>R</b>"]
    hatched = {c.drive.date.isoformat(): c for c in chances.chances(of, wish)}
    beside = [letter for letter in letters if letter["x"] in hatched]
    assert beside
    for letter in beside:
        start, end = (
            int(t[:2]) * 60 + int(t[3:])
            for t in spot_words.span(of, hatched[letter["x"]]).split("–")
        )
        assert not start <= letter["y"] <= end


def test_clock_changes_closures_and_gates_are_drawn():
    rains = {"from": "04-10", "to": "05-20", "reason": "long rains"}
    of = of_year(place("Europe/Madrid", 37.0, -6.4, closures=(rains,)))
    layout = spots_figure(of, Wish(), THEMES["dusk"])["layout"]
    said = [a["text"] for a in layout["annotations"]]
    assert "clock UTC+1<br>to UTC+2, 28 Mar" in said
    assert {"long rains", "sunrise", "sunset", "morning gates"} <= set(said)
    assert len(layout["shapes"]) == 3  # two changes, one closure


def test_caption_tells_what_the_picture_shows(content):
    text = content(EBONY)["text"]
    assert text.startswith("Light on an animal at Ebony bend for every date (across)")
    assert (
        "the sun is within 10° of straight behind the animal, at most 30° high" in text
    )


# ------------------------------------------------------------------------- the link


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"spot": "Oxbow hyde"}, "spot 'Oxbow hyde' is unknown (did you mean 'Oxbow"),
        ({"wait": "rimm"}, "light 'rimm' is unknown (did you mean 'rim'?)"),
        ({"wait": "top"}, "light 'top' is unknown"),
        (
            {"behind": "0"},
            "widest angle from straight behind must be 1 to 60°, got '0'",
        ),
        ({"height": "95"}, "highest sun must be 1 to 60°, got '95'"),
    ],
)
def test_wrong_value_of_a_link_is_replaced_with_a_sentence(
    changes, said, catalog, usual, now
):
    mended, sentences = state.mended(usual(changes), catalog, now)
    assert len(sentences) == 1
    assert sentences[0].startswith(said)
    (name,) = changes
    assert mended[name] == state.defaults(catalog, now)[name]


def test_links_spot_is_the_one_chosen(app, usual, served, by_id):
    found = by_id(served(app, "spots" + usual(EBONY).search()))
    assert found[ids.SPOT_CHOICE]["value"] == "Ebony bend"
    assert found["spot"]["value"] == "Ebony bend"
    listed = found[ids.SPOT_CHOICE]["data"]
    assert listed == ["Oxbow hide", "Ebony bend"]


def test_spot_of_another_place_stays_behind_without_a_word(catalog, usual, now):
    changes = {"place": "Two Rivers Plain", "spot": "Ebony bend"}
    mended, sentences = state.mended(usual(changes), catalog, now)
    assert sentences == ()
    chosen = table.SPOT.of(mended, catalog)
    assert chosen is not None
    assert chosen.name == "Salt lick"


def test_page_carries_what_it_does_not_ask_for(app, usual, served, by_id):
    changes = {"pace": "flying", "sky": "broken", "from": "2027-08-13"}
    found = by_id(served(app, "spots" + usual(changes).search()))
    assert {name: found[name]["value"] for name in changes} == changes


def test_choices_of_the_page_fit_on_one_line(catalog, usual):
    said = callbacks.choices(usual(EBONY), catalog, "spots")["summary"]
    assert said == "Mopane Loop · Ebony bend · 2027 · backlight"


def test_wrong_angle_is_one_sentence_and_leaves_the_rest(catalog, usual):
    said = callbacks.choices(usual({"behind": "300"}), catalog, "spots")
    assert said["problem"].startswith(
        "Widest angle from straight behind must be 1 to 60°, got"
    )
