"""A catalog of one's own: written, read back, changed, merged, never lost."""

import tomllib
from operator import itemgetter

import pytest
import wild
from hypothesis import given
from hypothesis import strategies as st
from plotly.io.json import to_json_plotly
from werkzeug.exceptions import BadRequest

from lightplan.catalog import places, toml
from lightplan.catalog.gates import SESSIONS, WEEKDAYS
from lightplan.catalog.kit import FORMATS, Entry
from lightplan.catalog.merge import KINDS, PARTS, free_name, merge
from lightplan.catalog.places import Catalog, PlacesError
from lightplan.sky import localtime
from lightplan.web import payloads, saved
from lightplan.web.kit import edit as catalog_edit
from lightplan.web.kit import fields as catalog_fields
from lightplan.web.kit import form as catalog_form
from lightplan.web.kit import texts as catalog_texts
from lightplan.web.kit.edit import ONE_OF

# ------------------------------------------------------------- any catalog

NAMES = st.text(
    st.characters(exclude_categories=("Cc", "Cs")), min_size=1, max_size=12
).filter(lambda text: text == text.strip())
ZONES = st.sampled_from(localtime.zone_names())


def number(low, high):
    return st.floats(low, high, allow_nan=False) | st.integers(
        int(low) + 1, int(high)
    ).map(float)


@st.composite
def sessions(draw):
    opens, closes = draw(
        st.lists(st.integers(0, 29 * 60), min_size=2, max_size=2, unique=True)
        .map(sorted)
    )  # fmt: skip
    return (
        [f"{m // 60:02d}:{m % 60:02d}" for m in (opens, closes)]
        if draw(st.booleans())
        else ["sunrise-00:30", f"sunset+0{opens % 10}:15"]
    )


MONTH_DAYS = st.dates().map(lambda day: f"{day:%m-%d}")
GATES = st.fixed_dictionaries(
    {"from": MONTH_DAYS, "to": MONTH_DAYS},
    optional={session: sessions() for session in SESSIONS},
)
CLOSURES = st.fixed_dictionaries(
    {"from": MONTH_DAYS, "to": MONTH_DAYS},
    optional={"session": st.sampled_from(SESSIONS), "reason": NAMES},
) | st.fixed_dictionaries({"weekday": st.sampled_from(WEEKDAYS)})
SPOTS = st.fixed_dictionaries(
    {"name": NAMES, "bearing_deg": number(0, 360)},
    optional={
        "cover": st.sampled_from(["open", "shade", "woodland", "canopy"]),
        "horizon": st.lists(
            st.tuples(number(0, 360), number(-10, 80)).map(list),
            max_size=3,
            unique_by=lambda point: point[0] % 360,
        ),
    },
)
PLACES = st.fixed_dictionaries(
    {
        "name": NAMES,
        "latitude_deg": number(-90, 90),
        "longitude_deg": number(-180, 180),
        "timezone": ZONES,
    },
    optional={
        "elevation_m": number(-430, 6000),
        "sky": st.sampled_from(["clear", "haze", "storm"]),
        "gates": st.lists(GATES, max_size=2),
        "closures": st.lists(CLOSURES, max_size=2),
        "spots": st.lists(SPOTS, max_size=2, unique_by=itemgetter("name")),
    },
)
SIZE = number(0.5, 100)
BODIES = st.fixed_dictionaries(
    {
        "name": NAMES,
        "megapixels": number(1, 500),
        "iso_ceiling": st.integers(50, 1_000_000),
        "base_iso": st.integers(25, 6400),
        "format": st.sampled_from(list(FORMATS)),
    },
    optional={"width_mm": SIZE},
) | st.fixed_dictionaries(
    {
        "name": NAMES,
        "megapixels": number(1, 500),
        "iso_ceiling": st.integers(50, 1_000_000),
        "base_iso": st.integers(25, 6400),
        "width_mm": SIZE,
        "height_mm": SIZE,
    }
)
LENSES = st.fixed_dictionaries(
    {
        "name": NAMES,
        "widest": st.dictionaries(
            st.integers(1, 5000), number(0.5, 64), min_size=1, max_size=3
        ).map(lambda pairs: [list(pair) for pair in sorted(pairs.items())]),
    },
    optional={"transmission": number(0.1, 1)},
)
CONVERTERS = st.fixed_dictionaries({"name": NAMES, "factor": number(1.1, 3)})


def by_name(entries, least=1):
    return st.lists(
        entries, min_size=least, max_size=3, unique_by=lambda entry: entry["name"]
    )


@st.composite
def catalogs(draw):
    """Any catalog, few entries of each kind."""
    data = {
        "places": draw(by_name(PLACES)),
        "bodies": draw(by_name(BODIES)),
        "lenses": draw(by_name(LENSES)),
        "converters": draw(by_name(CONVERTERS, least=0)),
    }
    names = {kind: [entry["name"] for entry in data[kind]] for kind in PARTS}
    rigs = st.fixed_dictionaries(
        {
            "name": NAMES,
            "body": st.sampled_from(names["bodies"]),
            "lens": st.sampled_from(names["lenses"]),
        },
        optional={"converter": st.sampled_from(["", *names["converters"]])},
    )
    data["rigs"] = draw(by_name(rigs))
    if draw(st.booleans()):
        data["light"] = {"hard_deg": draw(number(7, 80))}
    return places.checked(data)


CATALOGS = catalogs()
FEW = wild.cases(60)


# ------------------------------------------------------------- as a file


@FEW
@given(CATALOGS)
def test_a_catalog_read_back_from_its_file_is_the_same(catalog):
    assert places.read(toml.dumps(catalog), "mine.toml") == catalog


def test_the_example_read_back_from_its_file_is_the_same(catalog):
    assert places.read(toml.dumps(catalog), "mine.toml") == catalog


def test_a_file_is_toml_that_leaves_out_what_is_usual(catalog):
    data = tomllib.loads(toml.dumps(catalog))
    assert data["bodies"][0] == {
        "name": "full-frame body",
        "format": "full frame",
        "megapixels": 45,
        "iso_ceiling": 6400,
    }
    assert "sky" not in data["places"][0]


# ------------------------------------------------------------- typed texts


@FEW
@given(CATALOGS)
def test_an_entry_saved_as_the_form_shows_it_is_the_same(catalog):
    for kind in ONE_OF:
        for entry in getattr(catalog, kind):
            lines = catalog_form.flat(
                kind, catalog_form.saved(catalog, kind, entry.name)
            )
            table = catalog_texts.table(kind, catalog_form.unflat(kind, lines))
            assert catalog_edit.put(catalog, kind, entry.name, table) == catalog


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"latitude_deg": "abc"}, "latitude must be a number, got 'abc'"),
        ({"latitude_deg": ""}, "latitude is missing"),
        ({"longitude_deg": "200"}, "longitude must be at most 180, got 200"),
        ({"timezone": ""}, "time zone is missing"),
        ({"name": ""}, "a place needs a name"),
        ({"name": "Heron Marsh"}, "different names, got 'Heron Marsh' twice"),
    ],
)
def test_what_is_wrong_in_a_form_is_told_by_its_labels(typed, said, catalog):
    texts = catalog_form.saved(catalog, "places", "Mopane Loop")
    texts[""][0].update(typed)
    table = catalog_texts.table("places", texts)
    with pytest.raises(PlacesError) as error:
        catalog_edit.put(catalog, "places", "Mopane Loop", table)
    assert said in catalog_fields.in_words(str(error.value))


def test_rows_left_blank_are_no_part_of_an_entry(catalog):
    texts = catalog_form.saved(catalog, "places", "Mopane Loop")
    for part in catalog_fields.parts("places"):
        texts[part.key].append(catalog_fields.usual(part.key))
    table = catalog_texts.table("places", texts)
    assert catalog_edit.put(catalog, "places", "Mopane Loop", table) == catalog


def test_a_new_entry_goes_last(catalog):
    changed = catalog_edit.put(catalog, "converters", "", {"name": "×3", "factor": 3})
    assert [c.name for c in changed.converters] == ["×1.4", "×2", "×3"]


def test_rigs_follow_a_part_that_is_renamed(catalog):
    lens = {"name": "six hundred", "widest": [[600, 4]]}
    changed = catalog_edit.put(catalog, "lenses", "600 mm f/4", lens)
    assert changed.rig("600 prime ×1.4").lens.name == "six hundred"


@pytest.mark.parametrize(
    ("kind", "name", "said"),
    [
        ("bodies", "APS-C body", "is part of rig '100–400 zoom, APS-C'"),
        ("places", "Nowhere", "place 'Nowhere' is unknown"),
    ],
)
def test_what_cannot_be_removed_is_told(kind, name, said, catalog):
    with pytest.raises(PlacesError, match=said):
        catalog_edit.without(catalog, kind, name)


def test_the_last_place_is_not_removed(catalog):
    one = catalog.model_copy(update={"places": catalog.places[:1]})
    with pytest.raises(PlacesError, match="'Mopane Loop' is the last one"):
        catalog_edit.without(one, "places", "Mopane Loop")


# ------------------------------------------------------------- two tabs


def held(catalog, kind):
    return {entry.name: entry for entry in getattr(catalog, kind)}


@FEW
@given(CATALOGS, CATALOGS, CATALOGS)
def test_nothing_that_either_tab_entered_is_lost(base, mine, newer):
    both = merge(base, mine, newer)
    assert places.checked(toml.document(both)) == both
    for kind in ("places", "bodies", "lenses", "converters"):
        before, after = held(base, kind), held(both, kind)
        for entry in (*getattr(newer, kind), *getattr(mine, kind)):
            if entry != before.get(entry.name):  # entered since
                alike = [
                    e.model_copy(update={"name": entry.name}) for e in after.values()
                ]
                assert entry in alike, (kind, entry)


@FEW
@given(CATALOGS, CATALOGS)
def test_a_tab_that_changed_nothing_leaves_the_newer_as_it_is(base, newer):
    assert merge(base, base, newer) == newer


@FEW
@given(CATALOGS, CATALOGS)
def test_where_no_other_tab_changed_anything_mine_counts(base, mine):
    both = merge(base, mine, base)
    for kind in KINDS:
        assert held(mine, kind).items() <= held(both, kind).items()


def test_what_both_changed_is_there_twice(catalog):
    def raised(to):
        (first, *others) = catalog.places
        first = first.model_copy(update={"elevation_m": to})
        return catalog.model_copy(update={"places": (first, *others)})

    both = merge(catalog, raised(555.0), raised(777.0))
    found = {p.name: p.elevation_m for p in both.places if "Mopane" in p.name}
    assert found == {"Mopane Loop": 777.0, "Mopane Loop (2)": 555.0}


def test_what_one_tab_removed_and_the_other_left_alone_goes(catalog):
    mine = catalog_edit.without(catalog, "places", "Mopane Loop")
    assert "Mopane Loop" not in held(merge(catalog, mine, catalog), "places")


def test_a_lens_that_one_tab_removed_stays_for_the_other_tabs_rig(catalog):
    mine = catalog_edit.without(catalog, "rigs", "300 prime ×2")
    mine = catalog_edit.without(mine, "lenses", "300 mm f/4")
    rig = {"name": "light one", "body": "APS-C body", "lens": "300 mm f/4"}
    newer = catalog_edit.put(catalog, "rigs", "", rig)
    both = merge(catalog, mine, newer)
    assert both.rig("light one").lens.name == "300 mm f/4"
    assert "300 prime ×2" not in held(both, "rigs")


def test_a_rig_removed_with_its_lens_takes_the_lens_along(catalog):
    mine = catalog_edit.without(catalog, "rigs", "300 prime ×2")
    mine = catalog_edit.without(mine, "lenses", "300 mm f/4")
    light = catalog.light.model_copy(update={"hard_deg": 40.0})
    both = merge(catalog, mine, catalog.model_copy(update={"light": light}))
    assert not {"300 prime ×2"} & held(both, "rigs").keys()
    assert not {"300 mm f/4"} & held(both, "lenses").keys()


def test_a_rig_whose_converter_is_an_empty_text_has_none(catalog):
    rig = {"name": "bare", "body": "APS-C body", "lens": "600 mm f/4"}
    mine = catalog_edit.put(catalog, "rigs", "", {**rig, "converter": ""})
    assert merge(catalog, mine, catalog).rig("bare").converter is None


def test_my_new_rig_goes_with_my_lens_where_both_tabs_changed_it(catalog):
    def slower(f_number):
        lens = {"name": "600 mm f/4", "widest": [[600, f_number]]}
        return catalog_edit.put(catalog, "lenses", "600 mm f/4", lens)

    rig = {"name": "mine", "body": "APS-C body", "lens": "600 mm f/4"}
    mine = catalog_edit.put(slower(5), "rigs", "", rig)
    both = merge(catalog, mine, slower(8))
    assert both.rig("mine").lens.widest == ((600, 5),)
    assert both.rig("600 prime").lens.widest == ((600, 8),)


def test_one_place_stays_where_the_tabs_removed_them_all(catalog):
    two = catalog.model_copy(update={"places": catalog.places[:2]})
    mine = catalog_edit.without(two, "places", "Mopane Loop")
    newer = catalog_edit.without(two, "places", "Two Rivers Plain")
    assert merge(two, mine, newer).places == newer.places


def test_of_several_places_removed_the_last_of_the_file_stays(catalog):
    # By the order of names, not of their hashes: each run gives the same.
    three = catalog.model_copy(update={"places": catalog.places[:3]})
    mine = three.model_copy(update={"places": three.places[2:]})
    newer = three.model_copy(update={"places": three.places[:2]})
    assert merge(three, mine, newer).places == three.places[1:2]


def numbered(count, converter="n0"):
    """A catalog of so many of each kind, each rig with a body and a lens of its own."""
    at = {"latitude_deg": 1, "longitude_deg": 2, "timezone": "Etc/UTC"}
    every = [{"name": f"n{i}"} for i in range(count)]
    body = {"format": "full frame", "megapixels": 45, "iso_ceiling": 6400}
    return {
        "places": [{**name, **at} for name in every],
        "bodies": [{**name, **body} for name in every],
        "lenses": [{**name, "widest": [[400, 2.8]]} for name in every],
        "converters": [{**name, "factor": 2} for name in every],
        "rigs": [
            {**name, "body": name["name"], "lens": name["name"], "converter": converter}
            for name in every
        ],
    }


def test_four_times_as_many_entries_are_four_times_the_work(monkeypatch):
    # What a page may send is 1,000 of each kind: their square would take seconds.
    reads = 0

    def counted(entry, name):
        nonlocal reads
        reads += 1
        return object.__getattribute__(entry, name)

    def work(count):
        nonlocal reads
        reads = 0
        base, mine = places.checked(numbered(count)), places.checked(numbered(1))
        newer = places.checked(numbered(count, "n1"))
        merge(base, mine, newer)  # the rigs changed there keep what goes here
        return reads

    monkeypatch.setattr(Entry, "__getattribute__", counted)
    assert work(80) <= 4 * work(20)


def test_changed_limits_of_the_light_are_kept(catalog):
    other = catalog.light.model_copy(update={"hard_deg": 40.0})
    changed = catalog.model_copy(update={"light": other})
    assert merge(catalog, changed, catalog).light == other
    assert merge(catalog, catalog, changed).light == other


def test_a_free_name_is_no_longer_than_names_may_be():
    assert free_name("x" * 80, {"x" * 76 + " (2)": 1}) == "x" * 76 + " (3)"


# ------------------------------------------------------------- a browser's record


@pytest.mark.parametrize("record", [None, {}, {"text": ""}, {"text": 3}, "x", 7, []])
def test_without_a_record_the_servers_file_counts(record, served_file):
    assert saved.loaded(record, served_file) == served_file
    assert saved.revision_of(record) is None


def test_a_record_that_cannot_be_read_is_told_and_the_servers_file_counts(served_file):
    found = saved.loaded({"text": "= 3", "revision": "1"}, served_file)
    assert isinstance(found.catalog, Catalog)
    assert found.catalog == served_file.catalog
    assert "is not valid TOML" in found.problem


def test_a_text_without_end_is_refused():
    with pytest.raises(PlacesError, match="at most 500,000 characters"):
        saved.read("#" * 500_001, "mine.toml")


@pytest.fixture
def served_file(example_file):
    return places.Loaded(places.load(example_file), example_file)


def many_covers(letter, count):
    found = [
        {"name": f"{letter}{n}", "stops": 1, "spread_stops": 1} for n in range(count)
    ]
    return places.read(wild.document({**wild.TABLES, "covers": found}), "")


def test_the_longest_form_is_an_answer_of_three_megabytes_at_most():
    # Every spot has a list of every cover.
    most = places.MOST_OF_A_PLACE
    catalog = many_covers("cover ", places.MOST_COVERS)
    rows = [{"name": str(n), "cover": "open"} for n in range(most + 1)]
    form = catalog_form.form("places", "p", {"": [{}], "spots": rows}, catalog)
    assert len(to_json_plotly(form)) < 3_000_000
    field = {"part": "spots", "row": most + 101, "key": "name"}
    with pytest.raises(BadRequest):
        payloads.typed([field], [""])


def test_two_catalogs_that_are_too_much_together_are_one_sentence():
    base = places.read(wild.document(wild.TABLES), "")
    with pytest.raises(PlacesError) as refused:
        merge(base, many_covers("a", 150), many_covers("b", 150))
    assert str(refused.value) == (
        "the two catalogs cannot be merged: covers must hold at most 200, got 300"
    )
