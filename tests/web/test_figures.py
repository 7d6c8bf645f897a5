"""The selected drive's picture holds the plan's numbers, with their units."""

import dataclasses
import datetime as dt
import itertools
import json
import re

import numpy as np
import pytest
import wild
from hypothesis import given
from hypothesis import strategies as st

from lightplan.trip import plan
from lightplan.trip.frame import in_frame
from lightplan.trip.request import FACING_INDEX, LETTERS, MAX_RIGS, choose
from lightplan.web.figures.theme import DASHES, DUSK, PAPER, SYMBOLS, THEMES
from lightplan.web.trip import annotations, marks
from lightplan.web.trip import figure as figures

FOUR_FIGURES = 5e-4  # relative, half a unit in the fourth figure
LIMIT_BYTES = 100_000  # STYLE.md 3.5

# A place and its gates, each a different kind of drive.
KINDS = {
    "usual evening": ("15:30", "18:30", "evening", -13.1, 31.8, "Africa/Lusaka"),
    "one minute": ("06:10", "06:11", "morning", -13.1, 31.8, "Africa/Lusaka"),
    "quarter of an hour": ("18:02", "18:17", "evening", -13.1, 31.8, "Africa/Lusaka"),
    "past midnight": ("22:00", "26:00", "evening", 60.0, 25.0, "Europe/Helsinki"),
    "through north": ("10:00", "15:00", "morning", -33.0, 25.0, "Africa/Johannesburg"),
    "sun at the zenith": ("10:00", "14:00", "morning", 0.0, 37.0, "Africa/Nairobi"),
    "half-hour zone": ("06:00", "10:00", "morning", 22.3, 80.6, "Asia/Kolkata"),
    "bearing nearly still": ("05:30", "09:30", "morning", -13.1, 31.8, "Africa/Lusaka"),
}
DATES = {"bearing nearly still": "2027-11-26"}  # else in July


@pytest.fixture(params=KINDS)
def kind(request, gated, trip):
    """Yield a plan of one drive of each kind."""
    opens, closes, session, latitude, longitude, zone = KINDS[request.param]
    date = DATES.get(request.param, "2027-07-12")
    return trip(gated(opens, closes, session, latitude, longitude, zone), date)


def drawn(of, theme=PAPER, minute=0):
    return figures.drive_figure(of, of.drives[0], theme, minute)


def lines(figure, rigs):
    """The ISO lines of a figure, after the two edges of each rig's spread."""
    return figure["data"][2 * rigs : 3 * rigs]


def bands(figure):
    return [shape for shape in figure["layout"]["shapes"] if shape["type"] == "rect"]


@pytest.mark.parametrize("rigs", [1, 2, 3, 6])
def test_a_rig_has_a_line_two_edges_and_its_marks_the_sun_has_two_lines(rigs, trip):
    of = trip(rigs=rigs)
    drive = of.drives[1]
    figure = figures.drive_figure(of, drive, PAPER)
    modes = [t["mode"] for t in figure["data"] if t.get("name") != "slower"]
    assert modes.count("lines") == 3 * rigs + 2
    found = marks.of_drive(of, drive, FACING_INDEX["side"])
    assert modes.count("markers") == len(found)
    assert found


def test_the_iso_lines_are_the_plans_numbers(kind):
    drive = kind.drives[0]
    for rig, line in enumerate(lines(drawn(kind), len(kind.request.rigs))):
        # No body of the example goes below ISO 100.
        expected = np.maximum(drive.iso[rig, FACING_INDEX["side"]], 100)
        np.testing.assert_allclose(line["y"], expected, rtol=FOUR_FIGURES)


def test_lines_and_spread_are_flat_at_base_iso_where_the_shutter_rises(trip):
    of = trip(rigs=1)
    (choice,) = of.request.rigs
    body = choice.rig.body.model_copy(update={"base_iso": 800})
    rig = choice.rig.model_copy(update={"body": body})
    made = plan.make(
        dataclasses.replace(of.request, rigs=(dataclasses.replace(choice, rig=rig),))
    )
    drive = made.drives[0]
    needed = drive.iso[0, FACING_INDEX["side"]]
    assert (needed < 800).sum() > 30
    below, above, line = (np.array(t["y"]) for t in drawn(made)["data"][:3])
    factor = 2**made.spread_stops
    for found, wanted in (
        (below, needed / factor),
        (above, needed * factor),
        (line, needed),
    ):
        np.testing.assert_allclose(found, np.maximum(wanted, 800), rtol=FOUR_FIGURES)


@pytest.mark.parametrize("facing", FACING_INDEX)
def test_the_iso_lines_are_of_the_side_that_was_asked_for(facing, trip):
    of = trip(facing=facing)
    drive = of.drives[0]
    line = lines(drawn(of), len(of.request.rigs))[0]
    expected = np.maximum(drive.iso[0, FACING_INDEX[facing]], 100)
    np.testing.assert_allclose(line["y"], expected, rtol=FOUR_FIGURES)


def test_the_spread_lies_the_plans_stops_above_and_below_each_line(kind):
    rigs = len(kind.request.rigs)
    figure = drawn(kind)
    for rig in range(rigs):
        below, above = (np.array(figure["data"][2 * rig + i]["y"]) for i in (0, 1))
        # At base ISO, 100, all are flat. Four figures are 0.0007 stop.
        needed = kind.drives[0].iso[rig, FACING_INDEX["side"]]
        for edge, stops in ((below, -kind.spread_stops), (above, kind.spread_stops)):
            wanted = np.maximum(needed * 2.0**stops, 100)
            np.testing.assert_allclose(edge, wanted, rtol=0.0015)


def test_every_line_runs_over_the_drives_minutes(kind):
    drive = kind.drives[0]
    minutes = len(drive.utc)
    figure = drawn(kind)
    for line in [t for t in figure["data"] if t["mode"] == "lines"]:
        assert (line["x0"], line["dx"], len(line["y"])) == (0, 1, minutes)
    assert figure["layout"]["xaxis"]["range"] == [0, minutes - 1]


def test_the_sun_is_drawn_to_a_tenth_of_a_degree(kind):
    drive = kind.drives[0]
    altitude, bearing = drawn(kind)["data"][-2:]
    np.testing.assert_allclose(altitude["y"], drive.altitude_deg, atol=0.05)
    np.testing.assert_allclose(
        np.mod(bearing["y"], 360), np.mod(drive.azimuth_deg.round(1), 360), atol=0.06
    )


def test_marks_stand_on_their_lines_at_their_minutes(trip):
    of = trip(rigs=6)
    drive = of.drives[1]
    figure = figures.drive_figure(of, drive, PAPER)
    found = [t for t in figure["data"] if t["mode"] == "markers"]
    found = [t for t in found if t.get("name") != "slower"]
    # The evening's last minutes, from the plan.
    ends = [
        (drive.minute(o[1].last.utc), rig)
        for rig, o in enumerate(drive.outcomes)
        if o[1].last and o[1].last.utc != drive.turn_back_utc
    ]
    expected = [(m, float(drive.iso[rig, 1, m])) for m, rig in sorted(ends)]
    assert [(t["x"][0], t["y"][0]) for t in found] == expected
    assert expected


# At the ring a line stands above its ceiling by as many stops as the shutter time
# named there is slower than the rig's own, or a minute's light less.
# The drive ends long after dark, so that there is room for the names of all rings.
def test_rings_stand_where_the_slower_shutter_they_name_is_at_the_ceiling(gated, trip):
    of = trip(gated("15:30", "21:30", "evening"), rigs=3)
    drive = of.drives[0]
    figure = figures.drive_figure(of, drive, PAPER)
    layout = figure["layout"]
    named = [a for a in layout["annotations"] if a["text"].startswith("1/")]
    assert named
    traces = [t for t in figure["data"] if t.get("name") == "slower"]
    rings = {(x, y) for t in traces for x, y in zip(t["x"], t["y"], strict=True)}
    assert len(rings) == len(named)
    for name in named:
        at = name["x"], pytest.approx(10 ** name["y"])
        assert at in [(x, y) for x, y in rings]
        stops = [
            np.log2(10 ** name["y"] / c.iso_ceiling)
            - np.log2(c.shutter_s**-1 / float(name["text"][2:]))
            for c in of.request.rigs
        ]
        a_minute = np.log2(drive.iso[0, 1, name["x"] + 1] / drive.iso[0, 1, name["x"]])
        assert any(-1.5 * a_minute <= s <= 1e-6 for s in stops)


# A name in the dark half of its line lies over no other minute's line; a ring that the
# panel cannot show is left out, or its name would stand on the axis of another.
def test_rings_lie_on_the_panel_and_their_names_on_the_dark_side(gated, trip):
    day = gated("00:30", "23:50", "morning")
    of = trip(day, rigs=3)
    drive = of.drives[0]
    figure = figures.drive_figure(of, drive, PAPER)
    top = 10 ** figure["layout"]["yaxis"]["range"][1]
    traces = [t for t in figure["data"] if t.get("name") == "slower"]
    assert all(y <= top for t in traces for y in t["y"])
    noon = len(drive.utc) / 2
    named = [a for a in figure["layout"]["annotations"] if a["text"].startswith("1/")]
    sides = set()
    for name in named:
        side = "left" if name["x"] > noon else "right"
        assert (name["xanchor"], name["xshift"] > 0) == (side, side == "left")
        sides.add(side)
    assert sides == {"left", "right"}


def test_a_ring_above_the_panel_is_left_out(trip):
    drive = (of := trip(rigs=3)).drives[1]
    all_of = annotations.rungs_on(of, drive, 1, drive.iso[:, 1], float("inf"))
    minutes = sorted(m.minute for ms in all_of.values() for m in ms)
    heights = sorted(
        drive.iso[rig, 1, m.minute] for rig, ms in all_of.items() for m in ms
    )
    kept = annotations.rungs_on(of, drive, 1, drive.iso[:, 1], float(heights[0]))
    assert len(minutes) > 1
    assert sum(map(len, kept.values())) == 1


def test_strips_run_from_the_first_rig_down_each_beside_its_letter(trip):
    layout = drawn(trip(rigs=6))["layout"]
    strips = {
        s["name"][0]: s["y0"] for s in layout["shapes"] if " " in s.get("name", "")
    }
    letters = {
        a["text"][3]: a["y"] for a in layout["annotations"] if a.get("x") == -0.008
    }
    assert letters == strips
    assert sorted(strips, key=strips.get, reverse=True) == list("ABCDEF")


# The names are written outward, over the ISO axis if nothing stops them.
def test_rings_near_the_edge_of_the_panel_have_no_name(trip):
    for drive in (of := trip(rigs=3)).drives:
        figure = figures.drive_figure(of, drive, PAPER)
        assert any(t.get("name") == "slower" for t in figure["data"])
        for name in figure["layout"]["annotations"]:
            if name["text"].startswith("1/"):
                assert 0.2 <= name["x"] / (len(drive.utc) - 1) <= 0.8


def test_every_distinct_ceiling_has_one_rule_and_its_letters(trip):
    of = trip(rigs=6)  # five full-frame bodies to ISO 6400, one APS-C to 3200
    layout = drawn(of)["layout"]
    rules = [s["y0"] for s in layout["shapes"] if s.get("yref") == "y"]
    assert sorted(rules) == [3200, 6400]
    names = [a["text"] for a in layout["annotations"]]
    assert "ceiling A B D E F: ISO 6400" in names
    assert "ceiling C: ISO 3200" in names


def test_strips_say_each_rigs_band_of_noise_by_thickness_at_every_minute(trip):
    of = trip(rigs=6)
    drive = of.drives[1]
    shapes = figures.drive_figure(of, drive, PAPER)["layout"]["shapes"]
    names = ("clean", "usable", "record")
    strips = [s for s in shapes if s.get("name", "").endswith(names)]
    widths = {s["name"][2:]: s["line"]["width"] for s in strips}
    assert widths["clean"] > widths["usable"] > widths["record"]
    for rig, seen in enumerate(in_frame(of.request)):
        mine = [s for s in strips if s["name"][0] == LETTERS[rig]]
        assert len({s["y0"] for s in mine}) == 1
        bands = [s["name"][2:] for s in mine for _ in range(s["x0"], s["x1"])]
        iso = drive.iso[rig, FACING_INDEX["side"], :-1]
        expected = np.where(
            iso <= seen.clean_iso,
            "clean",
            np.where(iso <= seen.usable_iso, "usable", "record"),
        )
        assert bands == expected.tolist()


def test_a_limit_that_noise_sets_is_not_called_a_ceiling(trip):
    of = trip(rigs=2)
    quiet, typed = of.request.rigs
    body = quiet.rig.body.model_copy(update={"iso_ceiling": None})
    made = choose(quiet.rig.model_copy(update={"body": body}))
    request = dataclasses.replace(of.request, rigs=(made, typed))
    texts = [a["text"] for a in drawn(plan.make(request))["layout"]["annotations"]]
    # 24 × 36 mm on an A3 print: S/N 10 up to ISO 32246, see test_ceiling.
    assert "limit by noise A: ISO 32000" in texts
    assert "ceiling B: ISO 6400" in texts


def test_the_bands_of_light_cover_the_drive_without_gap_or_overlap(kind):
    found = bands(drawn(kind))
    edges = [found[0]["x0"], *(band["x1"] for band in found)]
    assert edges[0] == 0
    assert edges[-1] == len(kind.drives[0].utc) - 1
    assert [band["x0"] for band in found] == edges[:-1]
    assert edges == sorted(set(edges))


def test_the_cursor_stands_at_the_minute_read_off(trip):
    shapes = drawn(trip(), minute=37)["layout"]["shapes"]
    cursor = [s for s in shapes if s.get("name") == "cursor"]
    assert [(s["x0"], s["x1"]) for s in cursor] == [(37, 37)]


# --------------------------------------------------------------- axes


def test_every_iso_on_the_axis_says_iso(kind):
    texts = drawn(kind)["layout"]["yaxis"]["ticktext"]
    assert len(texts) >= 2
    assert all(re.fullmatch(r"ISO \d+", text) for text in texts)


def test_altitude_and_bearing_are_marked_in_degrees(kind):
    layout = drawn(kind)["layout"]
    assert layout["yaxis2"]["ticksuffix"] == "°"
    texts = layout["yaxis3"]["ticktext"]
    assert all(re.fullmatch(r"\d+°", text) for text in texts)
    assert all(0 <= int(text[:-1]) < 360 for text in texts)


def test_the_panels_are_named(trip):
    names = {a["text"] for a in drawn(trip())["layout"]["annotations"]}
    assert {"sun altitude", "sun bearing from north"} <= names


def test_the_clock_names_minutes_by_the_places_wall_time(kind, iana):
    drive = kind.drives[0]
    zone = iana(kind.request.place.timezone)
    axis = drawn(kind)["layout"]["xaxis"]
    for minute, text in zip(axis["tickvals"], axis["ticktext"], strict=True):
        utc = drive.utc[minute].astype("datetime64[s]").item()
        local = utc.replace(tzinfo=dt.UTC).astimezone(zone)
        assert text == f"{local:%H:%M}"


def test_a_scale_has_two_numbers_at_least(kind):
    # One number on an axis tells where it is, not how far the next one lies.
    axis = drawn(kind)["layout"]["yaxis3"]
    moved = np.ptp(np.unwrap(kind.drives[0].azimuth_deg, period=360))
    assert len(axis["tickvals"]) >= 2 or moved < 2.0


def test_however_short_a_drive_its_clock_shows_a_time(kind):
    assert drawn(kind)["layout"]["xaxis"]["ticktext"]


def test_a_bearing_through_north_goes_on_without_a_jump(gated, trip):
    south = gated("10:00", "15:00", "morning", -33.0, 25.0, "Africa/Johannesburg")
    of = trip(south, "2027-07-12")
    azimuth = of.drives[0].azimuth_deg
    assert np.ptp(azimuth) > 300  # so that it does pass through north
    drawn_deg = np.array(drawn(of)["data"][-1]["y"])
    assert np.abs(np.diff(drawn_deg)).max() < 2.0
    texts = drawn(of)["layout"]["yaxis3"]["ticktext"]
    assert "0°" in texts


# --------------------------------------------------------------- as sent


@pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES)
def test_a_picture_is_plain_json_without_nan(theme, kind):
    json.loads(json.dumps(drawn(kind, theme), allow_nan=False))


def test_midnight_sun_is_drawn_through_local_midnight(trip):
    of = trip("Ptarmigan Fjord", "2027-06-10")
    evening = of.drives[1]
    figure = figures.drive_figure(of, evening, DUSK)
    json.dumps(figure, allow_nan=False)
    texts = figure["layout"]["xaxis"]["ticktext"]
    assert texts[0] > "20"  # the gates open at 20:00 …
    assert texts[-1] < "02"  # … and shut at 01:30, on one clock
    assert "00:00" in texts


def test_five_hours_of_six_rigs_weigh_less_than_100_kb(gated, trip):
    of = trip(gated("06:00", "11:00"), rigs=6)
    assert len(of.drives[0].utc) == 301
    assert len(json.dumps(drawn(of)).encode()) < LIMIT_BYTES


# --------------------------------------------------------------- colours aside


@pytest.mark.parametrize("looks", [DASHES, SYMBOLS, LETTERS])
def test_six_rigs_differ_in_dash_in_symbol_and_in_letter(looks):
    assert len(set(looks)) == len(looks) == MAX_RIGS


def test_lines_marks_and_names_of_a_rig_carry_its_dash_symbol_and_letter(trip):
    of = trip(rigs=6)
    drive = of.drives[1]
    figure = figures.drive_figure(of, drive, PAPER)
    assert [t["line"]["dash"] for t in lines(figure, 6)] == list(DASHES)
    assert [t["name"][:2] for t in lines(figure, 6)] == [f"{x} " for x in "ABCDEF"]
    symbols = {
        t["marker"]["color"]: t["marker"]["symbol"]
        for t in figure["data"]
        if t["mode"] == "markers" and t.get("name") != "slower"
    }
    by_colour = dict(zip(PAPER.rigs, SYMBOLS, strict=True))
    assert symbols.items() <= by_colour.items()
    assert symbols


@wild.cases(40)
@given(
    levels=st.lists(st.floats(50, 1e5), min_size=2, max_size=6),
    left=st.booleans(),
)
def test_names_of_lines_never_lie_on_one_another(levels, left, trip):
    of = trip(rigs=len(levels))
    of_rigs = np.repeat(np.array(levels)[:, None], 100, axis=1)
    names = annotations.names_inside(of, of_rigs, PAPER, left, (20.0, 1e6))
    are_apart_in_the_panel(names, 20.0, 1e6)
    # Of two names the one of the higher line stands higher.
    height = dict(zip("ABCDEF", levels, strict=False))
    rigs = {name["text"][3]: name["y"] for name in names if name["text"][:3] == "<b>"}
    for one, other in itertools.permutations(rigs, 2):
        assert (height[one] >= height[other]) or rigs[one] < rigs[other]


# A bold letter of 12 px type is 9 px wide. On a phone of 390 px the panel has 256 px,
# on a desktop some 970.
@pytest.mark.parametrize("panel_px", [256, 970])
def test_letters_of_marks_never_lie_on_one_another(panel_px, trip):
    of = trip(last="2027-08-14", rigs=6)
    for drive in of.drives:
        iso = drive.iso[:, 1]
        names = annotations.mark_names(of, drive, 1, iso, PAPER)
        at = [n["x"] / (len(drive.utc) - 1) * panel_px + n["xshift"] for n in names]
        # Marks at ISO 6400 and 3200 are a stop apart: more than a letter's height.
        low = np.array([n["y"] < np.log10(4500) for n in names])
        assert (~low).sum() > 2
        assert np.diff(np.sort(np.array(at)[~low])).min() >= 9


def are_apart_in_the_panel(names, low, high):
    heights = np.sort([name["y"] for name in names])
    # The ISO panel is 0.6 of 496 px, a line of 12 px type 1.2 times that: 14.4 px.
    line = np.log10(high / low) * 14.4 / (0.6 * 496)
    assert np.diff(heights).min() >= line
    assert np.log10(low) - 1e-9 <= heights[0]
    assert heights[-1] + line <= np.log10(high)


# Ceilings a third of a stop apart lie nearer than a line of type, at the edges too.
@pytest.mark.parametrize("ceilings", [(3200, 4000, 5000), (20, 25, 32), (40000, 5e4)])
def test_names_of_ceilings_never_lie_on_one_another(ceilings, trip):
    of = trip(rigs=len(ceilings))
    rigs = tuple(
        dataclasses.replace(rig, iso_ceiling=iso)
        for rig, iso in zip(of.request.rigs, ceilings, strict=True)
    )
    request = dataclasses.replace(of.request, rigs=rigs)
    of = dataclasses.replace(of, request=request)
    flat = np.full(
        (len(ceilings), 100), 300.0
    )  # of the lines, whose names are there too
    names = annotations.names_inside(of, flat, PAPER, True, (20.0, 5e4))
    assert len(names) == 2 * len(ceilings)
    are_apart_in_the_panel(names, 20.0, 5e4)
