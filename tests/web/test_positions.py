"""Positions stay on the device: links and files tell no more than the light needs."""

import base64
import json
import re
from urllib.parse import parse_qs

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lightplan.catalog import places, positions
from lightplan.catalog.places import Loaded
from lightplan.choices import state, table
from lightplan.choices.raw import OWN, Raw
from lightplan.cli import main as cli
from lightplan.export import files
from lightplan.web import ids, pages
from lightplan.web.callbacks import choices
from lightplan.web.kit import page as kit_page
from lightplan.web.loop import page as loop_page
from lightplan.web.take import downloads

DAYS = {"from": "2027-08-12", "to": "2027-08-13"}
DEN = {
    "place": OWN,
    "lat": "-13.17341",
    "lon": "131.86529",
    "zone": "Australia/Darwin",
}
# 400 m away, and the same to 0.01°.
NEAR = {**DEN, "lat": "-13.1672", "lon": "131.8689"}
# 0.01° of longitude, of which rounding is half, are 2.4 s: the earth turns 15° an hour.
MOST_S = 3


# ------------------------------------------------------------------ links


@settings(max_examples=60)
@given(
    latitude=st.floats(-90, 90),
    longitude=st.floats(-180, 180),
    start=st.tuples(st.floats(-90, 90), st.floats(-180, 180)),
)
def test_a_link_has_two_decimals_and_opens_the_same_plan(
    latitude, longitude, start, usual, catalog
):
    legs = f"from {start[0]:.9f} {start[1]:.9f}\nN 0.256 km 3 min"
    position = {"lat": str(latitude), "lon": str(longitude)}
    raw = usual({**DEN, **position, "legs": legs})
    sent = parse_qs(raw.search().removeprefix("?"))
    assert re.fullmatch(r"-?\d+(\.\d\d?)?", sent["lat"][0])
    assert re.fullmatch(r"-?\d+(\.\d\d?)?", sent["lon"][0])
    assert not re.search(r"\.\d{3}", sent["legs"][0].splitlines()[0])
    linked = Raw.from_search(raw.search())
    assert state.read(linked, catalog) == state.read(raw, catalog)
    assert table.LEGS.of(linked, catalog) == table.LEGS.of(raw, catalog)
    assert linked.search() == raw.search()


@pytest.mark.parametrize(
    ("typed", "linked"),
    [
        ("-13.1", "-13.1"), ("-24.50", "-24.50"), ("-0.001", "0"), ("1.82345e1", "18.23"),
        # Wrong ones travel too, so that they are not lost; they tell as little.
        ("95.12345", "95.12"), ("13.17341 S", "13.17 S"), ("-13,17341", "-13,17"),
        ("24°30′ S", "24°30′ S"), ("nan", "nan"), ("x" * 99, "x" * 99),
    ],
)  # fmt: skip
def test_a_text_is_rounded_where_it_is_a_number_and_kept_where_not(typed, linked):
    raw = Raw((("place", OWN), ("lat", typed)), ())
    assert Raw.from_search(raw.search())["lat"] == linked


def test_yesterdays_link_opens_with_its_digits_and_goes_on_rounded(
    usual, catalog, now, walk
):
    """The form keeps what the link says; nothing that the page sends on does."""
    old = f"?place=own+coordinates&lat=-13.17341&lon=131.86529&zone={DEN['zone']}"
    raw, said = state.mended(Raw.from_search(old), catalog, now)
    assert said == ()
    loaded = Loaded(catalog, places.Path("x"))
    page = (
        pages.PAGES[0].module("page").page(pages.Visit(raw, loaded, said, None, loaded))
    )
    fields = {getattr(c, "id", None): c for c in walk(page) if getattr(c, "id", "")
              in ("lat", "lon")}  # fmt: skip
    assert fields["lat"].value == -13.17341
    links = [c.href for c in walk(page) if "?" in (getattr(c, "href", "") or "")]
    answered = choices(raw, catalog, "trip")
    assert len(links) > len(pages.PAGES) - 1
    for link in (*links, answered["link"], answered["typed"]):
        assert "lat=-13.17&lon=131.87" in link


def test_a_place_of_the_file_keeps_its_own_position(usual, example_file):
    text = example_file.read_text("utf-8")
    text = text.replace("latitude_deg = -14.0\n", "latitude_deg = -13.17341\n")
    found = state.read(usual(), places.read(text, "own")).place
    assert found.latitude_deg == -13.17341


def test_rounding_moves_sun_and_minutes_by_no_more_than_their_last_digit(trip, gated):
    # Up to half of 0.01° in both; 34° N near a solstice, where days change most.
    fine = {
        "latitude_deg": 34.17495,
        "longitude_deg": 31.86505,
        "timezone": "Etc/GMT-2",
    }
    place = gated("04:30", "20:30", **fine)
    exact = trip(place, "2027-06-12", "2027-06-13")
    coarse = trip(positions.withheld(place), "2027-06-12", "2027-06-13")
    assert coarse.request.place != place
    for day, other in zip(exact.days, coarse.days, strict=True):
        for event in ("sunrise_utc", "sunset_utc", "dawn_utc", "dusk_utc", "noon_utc"):
            moved = getattr(day.sun, event) - getattr(other.sun, event)
            assert abs(moved) < np.timedelta64(MOST_S, "s")
    for drive, other in zip(exact.drives, coarse.drives, strict=True):
        assert np.abs(drive.altitude_deg - other.altitude_deg).max() < 0.01
        for rig, same in zip(drive.outcomes, other.outcomes, strict=True):
            for side, again in zip(rig, same, strict=True):
                assert abs(side.first.utc - again.first.utc) <= np.timedelta64(1, "m")
                assert abs(side.last.utc - again.last.utc) <= np.timedelta64(1, "m")


# ------------------------------------------------------------------ files


def saved(raw, catalog, key, now, with_position=False):
    sent, _ = downloads.download(raw, catalog, key, [], 30, now, with_position)
    return base64.b64decode(sent["content"]), sent["filename"]


@pytest.mark.parametrize("key", files.FILES)
def test_no_file_tells_a_position_that_was_not_asked_for(key, usual, catalog, now):
    # Not only as coordinates: the sun's altitude by the minute would tell them. Two
    # places that are the same to 0.01° give the same bytes, so there is no more in it.
    here, name = saved(usual({**DAYS, **DEN}), catalog, key, now)
    near, _ = saved(usual({**DAYS, **NEAR}), catalog, key, now)
    assert here == near
    text = here.decode()
    assert not re.search(r"13\.17\S*° S|131\.8\S*° E|GEO|,-13\.17,", text)
    assert (name.split("-2027")[0], "Unnamed place" in text) == (
        "lightplan-unnamed-place",
        True,
    )


@pytest.mark.parametrize("key", files.FILES)
def test_a_place_of_the_file_is_told_by_its_name_alone(
    key, usual, example_file, now, monkeypatch
):
    text = example_file.read_text("utf-8")
    written = []
    for latitude in ("-13.17341", "-13.1672"):
        moved = text.replace("latitude_deg = -14.0\n", f"latitude_deg = {latitude}\n")
        assert moved != text
        found, name = saved(usual(DAYS), places.read(moved, "own"), key, now)
        assert "Mopane Loop" in found.decode()
        assert "mopane-loop" in name
        written.append(found)
    assert written[0] == written[1]


def test_json_without_a_position_has_null_under_the_same_keys(usual, catalog, now):
    raw = usual({**DAYS, **DEN})
    without, with_it = (
        json.loads(saved(raw, catalog, "json", now, asked)[0])["request"]["place"]
        for asked in (False, True)
    )
    assert (without["latitude_deg"], without["longitude_deg"]) == (None, None)
    assert (with_it["latitude_deg"], with_it["longitude_deg"]) == (-13.17341, 131.86529)
    assert without.keys() == with_it.keys()


@pytest.mark.parametrize("asked", [False, True], ids=["without", "with position"])
@pytest.mark.parametrize("key", files.FILES)
def test_page_and_command_line_tell_the_same_of_typed_coordinates(
    key, asked, usual, catalog, now, monkeypatch, tmp_path, example_file
):
    monkeypatch.setattr(cli, "_now", lambda: now)
    path = tmp_path / "written"
    cli.main([
        "plan", "--latitude", DEN["lat"], "--longitude", DEN["lon"],
        "--zone", DEN["zone"], "--from", "2027-08-12", "--to", "2027-08-13",
        "--file", str(example_file), "--as", key, "--output", str(path),
        *["--with-position"] * asked,
    ])  # fmt: skip
    raw = usual({**DAYS, **DEN})
    assert path.read_bytes() == saved(raw, catalog, key, now, asked)[0]


def test_the_position_is_included_only_when_that_is_chosen_anew(usual, walk):
    (box,) = [
        c
        for c in walk(downloads.section(usual()))
        if getattr(c, "id", "") == ids.WITH_POSITION
    ]
    assert box.checked is False
    assert not getattr(box, "persistence", None)


# ------------------------------------------------------------------ the caution


def test_the_caution_stands_where_links_and_files_are_made(
    usual, catalog, example_file, text_of
):
    loaded = Loaded(catalog, example_file)
    for shown in (
        downloads.section(usual()),
        loop_page.page(pages.Visit(usual(), loaded, (), None, loaded)),
        kit_page.page(pages.Visit(usual(), loaded, (), None, loaded)),
    ):
        assert positions.CAUTION in text_of(shown)
    readme = (example_file.parent / "README.md").read_text("utf-8")
    assert f"- {positions.CAUTION}" in readme
