"""Covers of one's own: kept in the file, resolved by name, planned with."""

import datetime as dt

import numpy as np
import pytest
from dash import html

from lightplan.catalog import merge, places, toml
from lightplan.catalog.covers import OwnCover
from lightplan.catalog.places import PlacesError
from lightplan.choices import state
from lightplan.export import sheet, table
from lightplan.light import daylight
from lightplan.trip import plan
from lightplan.trip.request import Request, choose
from lightplan.web import cache, layout
from lightplan.web.kit import edit as catalog_edit
from lightplan.web.kit import form as catalog_form
from lightplan.web.kit import texts as catalog_texts

FOREST = OwnCover(
    name="Riverine forest", stops=3.4, spread_stops=0.5, bursts=41, frames=180
)
FILE = """
[[places]]
name = "Test Pan"
latitude_deg = -13.1
longitude_deg = 31.8
timezone = "Africa/Lusaka"
cover = "Riverine forest"
[[places.spots]]
name = "hide"
bearing_deg = 115
cover = "Riverine forest"
[[covers]]
name = "Riverine forest"
stops = 3.4
spread_stops = 0.5
bursts = 41
frames = 180
[[bodies]]
name = "body"
format = "full frame"
megapixels = 45
iso_ceiling = 6400
[[lenses]]
name = "lens"
widest = [[600, 6.3]]
[[rigs]]
name = "rig"
body = "body"
lens = "lens"
"""


def catalog(text=FILE):
    return places.read(text, "mine.toml")


def request(found, cover):
    date = dt.date(2027, 8, 12)
    rigs = (choose(found.rig("rig")),)
    return Request(found.places[0], date, date, rigs, cover=cover)


@pytest.mark.parametrize("base", list(daylight.COVERS))
@pytest.mark.parametrize("facing_deg", [0.0, 180.0])
def test_light_under_a_cover_is_that_many_stops_less_than_under_its_base(
    base, facing_deg
):
    own = FOREST.model_copy(update={"base": base}).cover
    altitude = np.array([-8.0, 0.0, 5.0, 40.0])
    ratio = daylight.subject_lux(altitude, facing_deg, "clear", base) / (
        daylight.subject_lux(altitude, facing_deg, "clear", own)
    )
    # A stop is a factor of two, by definition.
    assert np.log2(ratio) == pytest.approx(3.4)


def test_a_plan_under_one_stop_more_needs_twice_the_iso():
    found = catalog()
    one = FOREST.model_copy(update={"stops": 1.0}).cover
    under = plan.make(request(found, one)).drives[0]
    open_ground = plan.make(request(found, "open")).drives[0]
    # ISO 2720: needed ISO is inverse to the light.
    assert under.iso / open_ground.iso == pytest.approx(2.0)


def test_a_cover_no_darker_than_its_base_plans_as_its_base_does():
    found = catalog()
    same = FOREST.model_copy(
        update={
            "base": "woodland",
            "stops": 0.0,
            "spread_stops": daylight.COVERS["woodland"].spread_stops,
        }
    )
    asked = [request(found, cover) for cover in (same.cover, "woodland", "open")]
    own, preset, bare = ([d.outcomes for d in plan.make(r).drives] for r in asked)
    assert own == preset != bare
    own, preset, bare = (cache.year(r, 2027, 0).picture.iso for r in asked)
    assert (own == preset).all()
    assert (own > bare).all()


def test_its_spread_goes_into_the_plan():
    trip = plan.make(request(catalog(), FOREST.cover))
    # In quadrature with the clear sky's 0.4 (README).
    assert trip.spread_stops == pytest.approx((0.4**2 + 0.5**2) ** 0.5)


def test_the_file_gives_the_cover_by_name():
    assert catalog().cover("Riverine forest") == FOREST.cover
    assert catalog().cover("shade") == "shade"


def test_place_and_spot_may_name_a_cover_of_the_file():
    place = catalog().places[0]
    assert (place.cover, place.spots[0].cover) == ("Riverine forest",) * 2


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('cover = "Riverine forest"\n[[places.spots', 'cover = "roof"\n[[places.spots',
         "place 'Test Pan': cover must be one of open, shade, woodland, canopy, "
         "Riverine forest, got 'roof'"),
        ('cover = "Riverine forest"\n[[covers', 'cover = "roof"\n[[covers',
         "place 'Test Pan': spot 'hide': cover must be one of"),
        ("spread_stops = 0.5", 'spread_stops = 0.5\nbase = "roof"',
         "cover 'Riverine forest': base cover must be one of open"),
        ("stops = 3.4", "stops = 11", "cover 'Riverine forest': stops must be at most 10"),
        ("stops = 3.4", "darker = 1", "unknown key 'darker'"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_cover_is_one_sentence(old, new, said):
    assert FILE.count(old) == 1
    with pytest.raises(PlacesError) as error:
        catalog(FILE.replace(old, new))
    assert said in str(error.value)


def test_a_cover_called_like_a_preset_is_refused():
    text = FILE.replace('"Riverine forest"', '"open"')
    with pytest.raises(PlacesError, match="'open' must not have the name of a preset"):
        catalog(text)


def test_two_covers_of_one_name_are_refused():
    twice = FILE + '[[covers]]\nname = "Riverine forest"\nstops = 1\nspread_stops = 1\n'
    with pytest.raises(PlacesError, match="covers must have different names"):
        catalog(twice)


def test_the_written_file_is_read_back_alike():
    found = catalog()
    assert places.read(toml.dumps(found), "written.toml") == found


def test_heading_and_csv_name_the_cover():
    trip = plan.make(request(catalog(), FOREST.cover))
    assert "; Riverine forest; " in table.heading(trip)
    assert ",Riverine forest," in sheet.csv_text(trip)


def test_a_link_may_name_a_cover_of_the_file():
    found = catalog()
    usual = state.defaults(found, dt.datetime(2027, 8, 1, tzinfo=dt.UTC))
    assert usual["cover"] == "Riverine forest"
    assert state.read(usual, found).cover == FOREST.cover


# --- two tabs -----------------------------------------------------------------


def without_covers(found):
    bare = found.places[0].model_copy(update={"cover": "open", "spots": ()})
    return found.model_copy(update={"covers": (), "places": (bare,)})


def test_a_cover_added_here_is_kept_when_others_changed_the_rest():
    base = without_covers(catalog())
    merged = merge.merge(base, catalog(), base)
    assert merged.covers == (FOREST,)


def test_a_cover_removed_here_stays_if_the_others_place_needs_it():
    full = catalog()
    base = full.model_copy(update={"places": without_covers(full).places})
    merged = merge.merge(base, without_covers(full), full)
    assert merged.covers == (FOREST,)


def test_a_cover_removed_there_comes_back_if_my_place_needs_it():
    full = catalog()
    base = full.model_copy(update={"places": without_covers(full).places})
    merged = merge.merge(base, full, without_covers(full))
    assert merged.covers == (FOREST,)


def test_a_cover_removed_here_that_nothing_needs_goes():
    full = catalog()
    base = full.model_copy(update={"places": without_covers(full).places})
    assert merge.merge(base, without_covers(full), base).covers == ()


# --- on the pages -------------------------------------------------------------


def choices(node, found):
    """Collect the values of every list of choices in a tree of components."""
    data = getattr(node, "data", None)
    if isinstance(data, list) and data:
        # A value that is its own label stands there as a text.
        found.append([c["value"] if isinstance(c, dict) else c for c in data])
    children = getattr(node, "children", None)
    for child in children if isinstance(children, list | tuple) else [children]:
        if child is not None and not isinstance(child, str):
            choices(child, found)
    return found


def test_the_form_of_a_place_offers_it_for_place_and_spots():
    # None of them has it yet: what is chosen is shown in any case.
    found = catalog(FILE.replace('cover = "Riverine forest"', 'cover = "shade"'))
    texts = catalog_form.saved(found, "places", "Test Pan")
    lists = [
        values
        for node in catalog_form.form("places", "Test Pan", texts, found)
        for values in choices(node, [])
    ]
    offering = [values for values in lists if "Riverine forest" in values]
    assert len(offering) == 2
    assert all(values[:2] == ["open", "shade"] for values in offering)


def test_a_saved_place_keeps_its_cover():
    found = catalog()
    texts = catalog_form.saved(found, "places", "Test Pan")
    table_ = catalog_texts.table("places", texts)
    assert catalog_edit.put(found, "places", "Test Pan", table_) == found


def test_the_form_of_a_plan_offers_it():
    found = catalog()
    raw = state.defaults(found, dt.datetime(2027, 8, 1, tzinfo=dt.UTC))
    lists = choices(html.Div(layout.plan_controls("year", raw, found)), [])
    assert ["open", "shade", "woodland", "canopy", "Riverine forest"] in lists
