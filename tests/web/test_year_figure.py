"""The picture of a year: its cells, lines and names, its colours and its size."""

import base64
import datetime as dt
import json
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import wild

from lightplan.catalog import places
from lightplan.catalog.places import Place
from lightplan.trip.request import Request, choose
from lightplan.web.figures.theme import PAPER, THEMES
from lightplan.web.year.figure import year_figure
from lightplan.year import plan as year_plan

EXAMPLE = Path(__file__).parents[2] / places.EXAMPLE_FILE
YEAR = 2027
# What a phone on a slow line should fetch for one picture, by the project's own aim.
PAYLOAD_BYTES = 300_000
BELOW, ABOVE = 21, 18  # thirds of a stop, as the picture's key shows them
# USNO prints whole minutes, NOAA's equations add seconds, the line a tenth.
PRINTED_MIN = 0.75
STEP_OF_LIGHTNESS = 0.10  # a step may be this share off the mean one: rounded to hex
SEEN = 1.5  # contrast across the ceiling's edge, under that of touching graphics (3)
HALF_DAY_MIN = 720


@cache
def year_of(
    name: str, rigs: int = 6, rig: int = 0, year: int = YEAR
) -> year_plan.YearPlan:
    catalog = places.load(EXAMPLE)
    return year_at(catalog.place(name), rigs, rig, year)


def year_at(place: Place, rigs: int, rig: int, year: int) -> year_plan.YearPlan:
    catalog = places.load(EXAMPLE)
    chosen = tuple(choose(catalog.rig(r.name)) for r in catalog.rigs[:rigs])
    day = dt.date(year, 1, 1)
    return year_plan.make(Request(place, day, day, chosen), year, rig)


def figure(name: str, theme=PAPER, **more) -> dict:
    return year_figure(year_of(name, **more), theme)


def drawn(of: dict, dash: str) -> list[list[float | None]]:
    """The lines of a dash, without the pale rim under each."""
    return [t["y"] for t in of["data"][1:] if t["line"].get("dash") == dash]


def cells(of: dict) -> np.ndarray:
    """Decode the heat map as Plotly's typed arrays are specified: dtype, bdata, shape."""
    z = of["data"][0]["z"]
    assert z["dtype"] == "i1"
    shape = tuple(int(n) for n in z["shape"].split(","))
    return np.frombuffer(base64.b64decode(z["bdata"]), dtype=np.int8).reshape(shape)


def on(date: str) -> int:
    """The column of a date."""
    return (dt.date.fromisoformat(date) - dt.date(YEAR, 1, 1)).days


# ------------------------------------------------------------------------- size


@pytest.mark.parametrize(
    "name", ["Two Rivers Plain", *map(wild.again, ("Ptarmigan Fjord", "Heron Marsh"))]
)
def test_picture_with_six_rigs_is_under_300_kilobytes(name):
    of = figure(name)
    assert len(json.dumps(of).encode()) < PAYLOAD_BYTES


def test_picture_of_a_leap_year_has_a_column_for_29_february():
    of = figure("Mopane Loop", rigs=1, year=2028)
    assert cells(of).shape == (144, 366)
    assert of["layout"]["xaxis"]["range"] == ["2028-01-01", "2028-12-31"]


# ------------------------------------------------------------------------ cells


@pytest.mark.parametrize("rig", [0, wild.again(1), 4])
@pytest.mark.parametrize("name", ["Heron Marsh", "Two Rivers Plain"])
def test_cells_are_thirds_of_a_stop_from_the_ceiling_rounded_up(name, rig):
    of = year_of(name, rig=rig)
    ceiling = of.plan.request.rigs[rig].iso_ceiling
    found = cells(year_figure(of, PAPER))
    assert found.shape == of.picture.iso.shape
    for row in range(0, 144, 7):
        for column in range(0, 365, 13):
            third = 3 * np.log2(of.picture.iso[row, column] / ceiling)
            expected = min(max(np.ceil(third - 1e-9), -BELOW), ABOVE + 1)
            assert found[row, column] == expected


@pytest.mark.parametrize("name", ["Heron Marsh", "Two Rivers Plain"])
def test_cell_is_past_the_edge_where_the_plan_has_the_rig_past_its_ceiling(iana, name):
    of = year_of(name)
    found = cells(year_figure(of, PAPER))
    ceiling = of.plan.request.rigs[0].iso_ceiling
    zone = iana(of.plan.request.place.timezone)
    compared = {True: 0, False: 0}
    for drive in of.plan.drives[::7]:
        for n, utc in enumerate(drive.utc.tolist()):
            local = utc.replace(tzinfo=dt.UTC).astimezone(zone)
            if local.minute % 10 or local.year != YEAR:
                continue
            row = (local.hour * 60 + local.minute) // 10
            column = local.timetuple().tm_yday - 1
            usable = bool(drive.iso[0, 1, n] <= ceiling)
            assert (found[row, column] <= 0) == usable
            compared[usable] += 1
    assert min(compared.values()) > 20


def test_cells_lie_at_their_dates_and_clock_times():
    heat = figure("Heron Marsh")["data"][0]
    assert (heat["x0"], heat["dx"]) == ("2027-01-01", 24 * 60 * 60 * 1000)
    assert (heat["y0"], heat["dy"]) == (0, 10)


def test_key_tells_iso_every_two_stops_with_the_ceiling_among_them():
    of = figure("Heron Marsh")
    bar = of["data"][0]["colorbar"]
    told = dict(zip(bar["tickvals"], bar["ticktext"], strict=True))
    # Six thirds are two stops: a factor of four from ISO 6400.
    assert told[0] == "6400"
    assert told[-6] == "1600"
    assert told[-12] == "400"
    assert told[12] == "102400"
    assert bar["ticktext"][0] == "ISO 100"


# ------------------------------------------------------------------------ clock


def hours(of: dict) -> tuple[float, float]:
    """Where the axis begins and ends, in hours; its cells are centred on their time."""
    last, first = of["layout"]["yaxis"]["range"]
    return (first + 5) / 60, (last + 5) / 60


def test_clock_runs_from_an_hour_before_the_first_sun_or_gate_to_one_after_the_last():
    # Mopane Loop's mornings begin at 05:30 and its evenings end at 18:45, whole
    # hours 5 to 19; at 14° S the sun rises after 05:00 and sets before 19:00.
    assert hours(figure("Mopane Loop")) == (4, 20)


def test_clock_holds_sunrise_and_sunset_where_the_gates_are_shorter():
    # At the equator the sun is up for 12 h 07; noon is 12:32 ± 16 min at 36.9° E on
    # UTC+3: it rises and sets within the hours from 6 to 19.
    short = Place.model_validate(
        {
            "name": "Test Pan",
            "latitude_deg": 0.0,
            "longitude_deg": 36.9,
            "timezone": "Africa/Nairobi",
            "gates": [{"morning": ("10:00", "12:00")}],
        }
    )
    assert hours(year_figure(year_at(short, 1, 0, YEAR), PAPER)) == (5, 20)


@pytest.mark.parametrize(
    "name",
    [
        "Ptarmigan Fjord",  # 77.5° N: midnight sun
        "Two Rivers Plain",  # nights to 22:00
    ],
)
def test_clock_is_whole_with_midnight_sun_or_night_drives(name):
    assert hours(figure(name, rigs=1)) == (0, 24)


def test_clock_is_whole_where_the_sun_is_up_for_days_and_never_sets():
    # At the pole a year has one sunrise; gates alone would cut the day to 07 to 13.
    pole = Place.model_validate(
        {
            "name": "Test Floe",
            "latitude_deg": 90.0,
            "longitude_deg": 0.0,
            "timezone": "UTC",
            "gates": [{"morning": ("08:00", "12:00")}],
        }
    )
    assert hours(year_figure(year_at(pole, 1, 0, YEAR), PAPER)) == (0, 24)


@pytest.mark.parametrize("name", ["Heron Marsh", "Mopane Loop", "Teak Hollow"])
def test_every_line_and_name_lies_on_the_clock_that_is_shown(name):
    of = figure(name, rigs=1)
    last, first = of["layout"]["yaxis"]["range"]
    assert last - first < 24 * 60
    drawn_at = [y for t in of["data"][1:] for y in t["y"] if y is not None]
    named_at = [a["y"] for a in of["layout"]["annotations"] if a["yref"] == "y"]
    assert len(named_at) >= 4
    for minute in (*drawn_at, *named_at):
        assert first < minute < last


def test_clock_is_ticked_at_whole_hours_of_the_day():
    axis = figure("Mopane Loop")["layout"]["yaxis"]
    told = dict(zip(axis["tickvals"], axis["ticktext"], strict=True))
    assert told[4 * 60] == "04:00"
    assert told[20 * 60] == "20:00"
    assert len(told) > 6


# -------------------------------------------------------------- sun and gate lines

# US Naval Observatory rows in local time; zones without clock changes.
SITES = {
    "Beijing (as in test_spa.py)": "Asia/Shanghai",
    "Golden CO (test_solarposition.py, USNO)": "Etc/GMT+7",
}


@pytest.mark.parametrize("site", SITES)
def test_dotted_lines_are_sunrise_and_sunset_as_usno_prints_them(rows, site):
    table = [r for r in rows("usno_local_rows_pvlib_tests.csv") if r["place"] == site]
    place = Place.model_validate(
        {
            "name": "Test Pan",
            "latitude_deg": float(table[0]["lat_deg_n"]),
            "longitude_deg": float(table[0]["lon_deg_e"]),
            "timezone": SITES[site],
            "gates": [{"morning": ("06:00", "06:30")}],
        }
    )
    rises, sets = drawn(year_figure(year_at(place, 1, 0, 2015), PAPER), "2px,3px")
    assert len(table) == 4
    for row in table:
        column = dt.date.fromisoformat(row["local_date"]).timetuple().tm_yday - 1
        for line, key in ((rises, "sunrise_local"), (sets, "sunset_local")):
            hour, minute = map(int, row[key].split(":"))
            assert abs(line[column] - (60 * hour + minute)) <= PRINTED_MIN


def test_sun_lines_stop_in_midnight_sun_and_polar_night():
    rises, sets = drawn(figure("Ptarmigan Fjord", rigs=1), "2px,3px")
    for date in ("2027-06-21", "2027-12-21"):
        assert rises[on(date)] is None
        assert sets[on(date)] is None
    assert rises[on("2027-03-21")] is not None


# 77.5° N, 67° W: the sun sets after midnight from 19 April, by the clock. A line that
# runs on from 23:57 to 00:15 crosses the whole picture.
@pytest.mark.parametrize("name", ["Heron Marsh", "Tussock Steppe", "Ptarmigan Fjord"])
def test_no_line_crosses_the_picture_where_its_time_passes_midnight(name):
    of = year_of(name, rigs=1)
    for trace in year_figure(of, PAPER)["data"][1:]:
        for date, (a, b) in zip(of.picture.dates, pairwise(trace["y"]), strict=False):
            if a is not None and b is not None:
                assert abs(b - a) < HALF_DAY_MIN, (date, a, b)


def test_every_line_has_a_rim_under_it():
    traces = figure("Two Rivers Plain")["data"][1:]
    for rim, line in zip(traces[::2], traces[1::2], strict=True):
        assert rim["y"] == line["y"]
        assert "dash" not in rim["line"]
        assert rim["line"]["width"] > line["line"]["width"]


def test_gate_lines_are_the_gate_times_of_each_season():
    # locations.example.toml: Mopane Loop, May to October 06:00–10:00 and
    # 15:30–18:30, else 05:30–09:30 and 15:30–18:45.
    lines = drawn(figure("Mopane Loop"), "solid")
    expected = {
        "2027-04-29": (330, 570, 930, 1125),
        "2027-05-03": (360, 600, 930, 1110),
        "2027-08-12": (360, 600, 930, 1110),
        "2027-11-01": (330, 570, 930, 1125),
    }
    for date, minutes in expected.items():
        assert tuple(line[on(date)] for line in lines) == minutes


def test_night_gates_have_lines_of_their_own():
    # Two Rivers Plain: nights from 19:30 to 22:00.
    lines = drawn(figure("Two Rivers Plain"), "solid")
    assert [line[on("2027-08-12")] for line in lines] == [
        390,
        630,
        930,
        1125,
        1170,
        1320,
    ]


def test_gate_line_runs_on_over_a_weekday_closure():
    # Mopane Loop closes on Friday evenings: 13 August 2027 is a Friday.
    of = year_of("Mopane Loop")
    assert all(d.key != "2027-08-13-evening" for d in of.plan.drives)
    lines = drawn(year_figure(of, PAPER), "solid")
    assert [line[on("2027-08-13")] for line in lines[2:]] == [930, 1110]


def test_gate_line_stops_in_a_closed_season():
    lines = drawn(figure("Two Rivers Plain"), "solid")
    for date in ("2027-10-05", "2027-10-15", "2027-10-25"):
        assert {line[on(date)] for line in lines} == {None}
    for date in ("2027-10-04", "2027-10-26"):
        assert None not in {line[on(date)] for line in lines}


def test_gates_keep_their_clock_time_through_a_clock_change():
    # Heron Marsh's mornings end at 11:00 all year; Tuesdays are closed.
    lines = drawn(figure("Heron Marsh"), "solid")
    for date in ("2027-03-27", "2027-03-28", "2027-03-29", "2027-10-31"):
        assert lines[1][on(date)] == 660


def test_gate_after_midnight_is_drawn_in_the_small_hours():
    # Ptarmigan Fjord's evenings end at 25:30.
    lines = drawn(figure("Ptarmigan Fjord", rigs=1), "solid")
    assert [line[on("2027-06-21")] for line in lines] == [360, 660, 1200, 90]


# ------------------------------------------------------- closures and clock changes


def closures(of: dict) -> list[tuple[str, str]]:
    return [(s["x0"], s["x1"]) for s in of["layout"]["shapes"] if s["type"] == "rect"]


def named(of: dict) -> list[str]:
    return [a["text"] for a in of["layout"]["annotations"]]


@pytest.mark.parametrize(
    ("name", "runs", "reason"),
    [
        ("Mopane Loop", [], None),
        ("Heron Marsh", [], None),  # Tuesdays alone are no closed season
        (
            "Two Rivers Plain",
            [("2027-10-05", "2027-10-25")],
            "closed while the tracks are graded",
        ),
        (
            "Teak Hollow",
            [("2027-01-10", "2027-01-31")],
            "closed for work on the firebreaks",
        ),
        (
            "Ptarmigan Fjord",
            [("2027-01-01", "2027-04-20"), ("2027-08-23", "2027-12-31")],
            "no gate times in this season",
        ),
    ],
)
def test_closed_seasons_are_covered_and_named(name, runs, reason):
    of = figure(name)
    assert closures(of) == runs
    assert [text for text in named(of) if text == reason] == [reason] * len(runs)


@pytest.mark.parametrize(
    ("name", "dates"),
    [
        ("Heron Marsh", ["2027-03-28", "2027-10-31"]),  # EU directive 2000/84
        ("Mopane Loop", []),
    ],
)
def test_clock_changes_are_drawn_on_their_dates(name, dates):
    shapes = figure(name)["layout"]["shapes"]
    assert [s["x0"] for s in shapes if s["type"] == "line"] == dates
    assert all(s["x0"] == s["x1"] for s in shapes if s["type"] == "line")


def test_clock_changes_are_told_with_both_offsets():
    told = [text for text in named(figure("Heron Marsh")) if text.startswith("clock")]
    # In two lines: on a phone one is as wide as half the picture.
    assert told == [
        "clock UTC+1<br>to UTC+2, 28 Mar",
        "clock UTC+2<br>to UTC+1, 31 Oct",
    ]


@pytest.mark.parametrize("name", ["Mopane Loop", "Two Rivers Plain", "Heron Marsh"])
def test_sun_and_gates_are_named_where_they_are_drawn(name):
    of = figure(name)
    assert {"sunrise", "sunset", "morning gates", "evening gates"} <= {*named(of)}
    rises, sets = drawn(of, "2px,3px")
    for word, line in (("sunrise", rises), ("sunset", sets)):
        (name_of,) = [a for a in of["layout"]["annotations"] if a["text"] == word]
        assert name_of["y"] == line[on(name_of["x"])]


def test_sun_is_named_in_a_closed_season_where_no_open_day_has_a_sunrise():
    # 77.5° N: the open season begins after the last sunrise of spring.
    of = figure("Ptarmigan Fjord", rigs=1)
    rises, sets = drawn(of, "2px,3px")
    for word, line in (("sunrise", rises), ("sunset", sets)):
        (name_of,) = [a for a in of["layout"]["annotations"] if a["text"] == word]
        assert name_of["y"] == line[on(name_of["x"])]


def test_gates_that_shut_after_midnight_are_named_on_both_sides_of_it():
    # Evenings from 20:00 to 25:30.
    annotations = figure("Ptarmigan Fjord", rigs=1)["layout"]["annotations"]
    evening = [a["y"] for a in annotations if a["text"] == "evening gates"]
    assert evening == [(20 + 24) / 2 * 60, 90 / 2]


def test_nights_are_named_where_a_place_has_them():
    assert "night gates" in named(figure("Two Rivers Plain"))
    assert "night gates" not in named(figure("Mopane Loop"))


# ------------------------------------------------------------------------ colours


def rgb(text: str) -> np.ndarray:
    return np.array([int(text[i : i + 2], 16) / 255 for i in (1, 3, 5)])


def linear(colour: np.ndarray) -> np.ndarray:
    """IEC 61966-2-1 (sRGB)."""
    return np.where(
        colour <= 0.04045, colour / 12.92, ((colour + 0.055) / 1.055) ** 2.4
    )


def lightness(colour: np.ndarray) -> float:
    """OKLab's L; matrices from CSS Color 4 (from memory, not confirmed)."""
    to_lms = [
        [0.4122214708, 0.5363325363, 0.0514459929],
        [0.2119034982, 0.6806995451, 0.1073969566],
        [0.0883024619, 0.2817188376, 0.6299787005],
    ]
    lms = np.cbrt(np.array(to_lms) @ linear(colour))
    return float(np.array([0.2104542553, 0.7936177850, -0.0040720468]) @ lms)


def contrast(a: np.ndarray, b: np.ndarray) -> float:
    """WCAG 2.2, "contrast ratio": 1 to 21."""
    weights = np.array([0.2126, 0.7152, 0.0722])
    dark, light = sorted(float(weights @ linear(c)) for c in (a, b))
    return (light + 0.05) / (dark + 0.05)


def colour_of(of: dict, third: int) -> np.ndarray:
    """What Plotly paints: colours of the scale joined by straight lines in sRGB."""
    heat = of["data"][0]
    at = (third - heat["zmin"]) / (heat["zmax"] - heat["zmin"])
    places_, colours = zip(*heat["colorscale"], strict=True)
    parts = np.transpose([rgb(c) for c in colours])
    # At the edge two colours share a place; the cells lie a sixth of a stop off it.
    return np.array([np.interp(min(at, 1.0), places_, part) for part in parts])


every_theme = pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES)
USABLE = range(-BELOW, 1)
OVER = range(1, ABOVE + 1)


# CSS Color 4: white is oklch(100% 0 0), red oklch(62.8% 0.2577 29.23).
@pytest.mark.parametrize(("text", "known"), [("#FFFFFF", 1.0), ("#FF0000", 0.628)])
def test_the_formula_of_lightness_gives_known_values(text, known):
    assert lightness(rgb(text)) == pytest.approx(known, abs=5e-4)


@every_theme
def test_scale_runs_from_0_to_1(theme):
    stops = [at for at, _ in figure("Heron Marsh", theme)["data"][0]["colorscale"]]
    assert (stops[0], stops[-1]) == (0.0, 1.0)
    assert stops == sorted(stops)


@every_theme
def test_more_iso_is_darker_all_the_way(theme):
    of = figure("Heron Marsh", theme)
    found = [lightness(colour_of(of, n)) for n in (*USABLE, *OVER)]
    assert all(a > b for a, b in pairwise(found))


@every_theme
@pytest.mark.parametrize("side", ["usable", "over"])
def test_colours_go_in_even_steps_of_lightness(theme, side):
    steps = -np.diff([lightness(rgb(c)) for c in getattr(theme, side)])
    assert np.abs(steps / steps.mean() - 1).max() <= STEP_OF_LIGHTNESS


@every_theme
@pytest.mark.parametrize("side", [USABLE, OVER], ids=["usable", "over"])
def test_thirds_of_a_stop_go_in_even_steps_of_lightness(theme, side):
    of = figure("Heron Marsh", theme)
    steps = -np.diff([lightness(colour_of(of, n)) for n in side])
    assert np.abs(steps / steps.mean() - 1).max() <= 1.5 * STEP_OF_LIGHTNESS


@every_theme
def test_edge_of_the_ceiling_can_be_seen(theme):
    of = figure("Heron Marsh", theme)
    last, first = colour_of(of, 0), colour_of(of, 1)
    assert contrast(last, first) >= SEEN
    within = lightness(colour_of(of, -1)) - lightness(last)
    assert lightness(last) - lightness(first) > 5 * within


@every_theme
def test_lines_can_be_seen_on_every_colour(theme):
    of = figure("Heron Marsh", theme)
    # A line is ink in a pale rim: one of the two stands out (WCAG 2.2, 1.4.11: 3).
    for n in (*USABLE, *OVER):
        ground = colour_of(of, n)
        assert max(contrast(rgb(c), ground) for c in (theme.edge, theme.rim)) >= 3.0


def test_cells_stay_within_the_key_and_one_step_past_its_end():
    found = cells(figure("Ptarmigan Fjord"))
    assert -BELOW <= int(found.min()) < 0
    assert int(found.max()) == ABOVE + 1
