"""Whatever a file holds, it is a catalog to plan with or one sentence on why not."""

import datetime as dt

import pytest
import wild
from hypothesis import example, given

from lightplan.catalog import places, toml
from lightplan.catalog.covers import OwnCover
from lightplan.catalog.places import Catalog, PlacesError
from lightplan.sky import localtime
from lightplan.trip import plan
from lightplan.trip.request import Request, choose

TABLES = wild.TABLES
DAY = dt.date(2027, 8, 12)


def read_or_told(text: str) -> Catalog | None:
    """Return the catalog, or None where a sentence says what is wrong."""
    said = ""
    try:
        return places.read(text, "mine.toml")
    except PlacesError as error:
        said = str(error)
    assert wild.is_one_sentence(said), said
    return None


def can_be_planned(catalog: Catalog) -> None:
    for place in catalog.places[:2]:
        rigs = tuple(choose(catalog.rig(r.name)) for r in catalog.rigs[:2])
        plan.make(Request(place, DAY, DAY, rigs, limits=catalog.light.limits))


@wild.cases(150)
@given(wild.edited(TABLES))
@example({**TABLES, "places": [{**TABLES["places"][0], "name": "\ud800"}]})
@example({**TABLES, "rigs": [{**TABLES["rigs"][0], "body": "x" * 5000}]})
@example({**TABLES, "x" * 5000: 1})
def test_an_edited_file_is_planned_with_or_refused_in_one_sentence(tables):
    catalog = read_or_told(wild.document(tables))
    if catalog is not None:
        can_be_planned(catalog)


@wild.cases(60)
@given(wild.edited(TABLES))
def test_an_edited_file_that_is_read_is_written_and_read_alike(tables):
    catalog = read_or_told(wild.document(tables))
    if catalog is not None:
        assert places.read(toml.dumps(catalog), "again.toml") == catalog


@wild.cases(100)
@given(wild.struck(wild.EXAMPLE.read_text("utf-8"), [*"\"'[]{}=.,#\\\n0e_-"]))
def test_a_text_with_wrong_strokes_is_read_or_refused_in_one_sentence(text):
    read_or_told(text)


# U+2028 separates lines; U+202E turns what follows about, sentences with it.
@pytest.mark.parametrize("sign", ["\u2028", "\u202e", "\u2066", "\x85"])
def test_a_name_that_would_break_or_turn_a_line_is_refused(sign):
    tables = {**wild.TABLES, "converters": [{"name": f"a{sign}b", "factor": 2}]}
    with pytest.raises(PlacesError, match="must be one line of text"):
        places.read(wild.document(tables), "mine.toml")


@pytest.mark.parametrize("name", ["मोर\u200dवन", "سد\u200cباغ", "🦁\u200d👁"])
def test_a_name_with_joiners_of_its_script_is_kept(name):
    tables = {
        **wild.TABLES,
        "converters": [*wild.TABLES["converters"], {"name": name, "factor": 2}],
    }
    assert places.read(wild.document(tables), "mine.toml").converters[-1].name == name


# ------------------------------------------------------------- a file made to tire

HEAD = """
places = [{name = "p", latitude_deg = 1, longitude_deg = 2, timezone = "Etc/UTC"}]
bodies = [{name = "b", format = "full frame", megapixels = 45, iso_ceiling = 6400}]
"""
MANY = 12_000
TIRING = {
    # tomllib's reader takes time in the square of a key's parts.
    "long key": ("a." * 200_000 + "a = 1", "nested too deeply"),
    "long quoted key": ('"\\"".' * 60_000 + "a = 1", "nested too deeply"),
    "long header": ("[" + "a." * 200_000 + "a]", "nested too deeply"),
    "deep value": ("places" + ".a" * 3000 + " = 1", "nested too deeply"),
    "many rigs": (
        HEAD
        + 'lenses = [{name = "l", widest = [[400, 2.8]]}]\n'
        + "".join(
            f'[[rigs]]\nname = "{n}"\nbody = "b"\nlens = "l"\n' for n in range(MANY)
        ),
        "rigs must hold at most 1000, got 12000",
    ),
    "many wrong lenses": (
        HEAD + "lenses = [" + '{name = "l", widest = []},' * MANY + "]\nrigs = []",
        "lenses must hold at most 1000, got 12000",
    ),
    "long skyline": (
        HEAD.replace(
            '"Etc/UTC"',
            '"Etc/UTC", spots = [{name = "s", bearing_deg = 1, horizon = ['
            + "[1, 1]," * MANY
            + "]}]",
        ),
        "horizon must hold at most 1000, got 12000",
    ),
}


@pytest.mark.parametrize(("text", "said"), TIRING.values(), ids=TIRING)
def test_a_file_made_to_tire_the_server_is_refused_by_its_size(text, said):
    with pytest.raises(PlacesError, match=said) as refused:
        places.read(text, "mine.toml")
    assert wild.is_one_sentence(str(refused.value))


def test_the_nearest_zone_is_looked_for_once(monkeypatch):
    # A search among 600 names takes 16 ms; a file can name 17,000 wrong ones.
    asked = []
    near = localtime.get_close_matches
    monkeypatch.setattr(
        localtime, "get_close_matches", lambda *a, **k: asked.append(a) or near(*a, **k)
    )
    places_ = [
        {**TABLES["places"][0], "name": str(n), "timezone": "Afrika/Lusaka"}
        for n in range(50)
    ]
    with pytest.raises(PlacesError, match=r"did you mean Africa/Lusaka\?") as refused:
        places.read(wild.document({**TABLES, "places": places_}), "mine.toml")
    assert "49 more problems" in str(refused.value)
    assert len(asked) == 1


def test_a_list_too_long_is_refused_before_its_entries_are_looked_at(monkeypatch):
    monkeypatch.setattr(localtime, "is_zone", lambda name: pytest.fail("looked at"))
    tables = {**TABLES, "places": [{"timezone": "nowhere"}] * 1001}
    with pytest.raises(PlacesError, match="places must hold at most 1000, got 1001"):
        places.read(wild.document(tables), "mine.toml")


def test_covers_of_spots_are_not_made_to_be_compared(monkeypatch):
    # Each of thousands of spots would make hundreds of covers.
    monkeypatch.setattr(OwnCover, "cover", property(lambda own: pytest.fail("made")))
    spots = [{"name": str(n), "bearing_deg": 1, "cover": "c9"} for n in range(9)]
    tables = {
        **TABLES,
        "covers": [{"name": f"c{n}", "stops": 1, "spread_stops": 1} for n in range(10)],
        "places": [{**TABLES["places"][0], "spots": spots}],
    }
    assert len(places.read(wild.document(tables), "").places[0].spots) == 9
