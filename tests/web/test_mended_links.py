"""A damaged link: what is wrong is replaced and said, everything else is kept."""

import datetime as dt

import pytest
import wild
from hypothesis import example, given
from hypothesis import strategies as st

from lightplan.choices import state, table
from lightplan.choices.raw import OWN, OWN_FIELDS, Raw
from lightplan.web import ids

NOW = dt.datetime(2027, 8, 11, 10, tzinfo=dt.UTC)

# A field, a wrong text for it, what stands in for it.
WRONG = [
    ("pace", "ambling", "walking"),
    ("side", "top", "side"),
    ("sky", "purple", "clear"),
    ("air", "mauve", ""),
    ("cover", "tent", "woodland"),
    ("back", "-5", "25"),
    ("distance", "0", "30"),
    ("blur", "NaN", "3"),
    ("aim", "400", ""),
    ("declination", "-200", ""),
    ("skyline", "Nowhere: Hill", ""),
]
GOOD = {
    "place": "Teak Hollow",  # usually in woodland
    "from": "2027-03-01",
    "to": "2027-03-04",
    "pace": "running",
    "side": "back",
    "sky": "broken",
    "cover": "canopy",
    "back": "45",
    "distance": "80",
    "blur": "5",
    "aim": "250",
    "declination": "-3.5",
    "skyline": "Mopane Loop: Oxbow hide",
}
RIGS = (("600 prime", "600", "5.6", "1000", "12800"), ("400 prime", "", "", "", ""))


def mend(changes, catalog, rigs=RIGS, drive="2027-03-02-evening"):
    raw = Raw(tuple({**GOOD, **changes}.items()), rigs, drive)
    return state.mended(raw, catalog, NOW)


def test_a_sound_link_is_kept_as_it_is_and_nothing_is_said(catalog):
    raw, said = mend({}, catalog)
    assert said == ()
    assert {name: raw[name] for name in GOOD} == GOOD
    assert raw.rigs == RIGS
    assert raw.drive == "2027-03-02-evening"


# Links from before there was a choice of animals.
def test_a_link_to_something_flying_without_an_animal_means_a_bird(catalog):
    assert mend({"pace": "flying"}, catalog)[0]["animal"] == "fish-eagle"
    assert mend({"pace": "flying", "animal": "owl"}, catalog)[0]["animal"] == "owl"
    assert mend({"pace": "running"}, catalog)[0]["animal"] == "lion"


# Links from when dust and smoke were a sky.
def test_a_link_to_haze_means_a_clear_sky_in_dusty_air(catalog):
    raw, said = mend({"sky": "haze", "air": ""}, catalog)
    assert (raw["sky"], raw["air"], said) == ("clear", "dusty", ())
    assert mend({"sky": "haze", "air": "smoke"}, catalog)[0]["air"] == "smoke"


@pytest.mark.parametrize("year", ["", "sometime"])
def test_a_link_without_a_right_year_is_about_the_year_of_its_trip(year, catalog):
    raw, _ = mend({"from": "2029-03-01", "to": "2029-03-04", "year": year}, catalog)
    assert raw["year"] == "2029"


@pytest.mark.parametrize(("field", "wrong", "instead"), WRONG)
def test_one_wrong_value_is_replaced_alone_and_said(field, wrong, instead, catalog):
    raw, said = mend({field: wrong}, catalog)
    assert raw[field] == instead
    assert len(said) == 1
    assert wrong in said[0]
    kept = {name: text for name, text in GOOD.items() if name != field}
    assert {name: raw[name] for name in kept} == kept
    assert raw.rigs == RIGS


def test_every_wrong_value_is_said(catalog):
    _, said = mend({field: wrong for field, wrong, _ in WRONG}, catalog)
    assert len(said) == len(WRONG)


def test_an_unknown_place_gives_the_first_place_and_its_position(catalog):
    raw, said = mend({"place": "Atlantis"}, catalog)
    first = catalog.places[0]
    assert raw["place"] == first.name
    assert raw["zone"] == first.timezone
    assert len(said) == 1
    assert said[0].endswith(f"; {first.name} is used instead")
    assert "'Atlantis'" in said[0]


def test_wrong_dates_give_the_coming_week(catalog):
    raw, said = mend({"to": "2026-01-01"}, catalog)
    assert (raw["from"], raw["to"]) == ("2027-08-12", "2027-08-18")
    assert len(said) == 1
    assert "2026-01-01" in said[0]


@pytest.mark.parametrize(
    ("field", "wrong"),
    [("lat", "95"), ("lon", "east"), ("zone", "Mars/Olympus")],
)
def test_a_wrong_part_of_ones_own_position_replaces_all_of_it(
    field, wrong, own, catalog
):
    raw, said = mend({**own, field: wrong}, catalog)
    usual = state.defaults(catalog, NOW)
    for name in ("place", *OWN_FIELDS):
        assert raw[name] == usual[name]
    assert len(said) == 1
    assert wrong in said[0]
    assert said[0].endswith("; Mopane Loop is used instead")


@pytest.mark.parametrize("missing", OWN_FIELDS)
def test_a_position_that_lacks_a_part_is_not_filled_with_another_places(
    missing, own, catalog
):
    raw, said = mend({**own, missing: ""}, catalog)
    assert raw["place"] == "Mopane Loop"
    assert len(said) == 1


@pytest.mark.parametrize(
    "search",
    ["?lat=57.5&lon=-5&zone=Europe/London", "?place=&lat=57.5&lon=-5&zone=UTC"],
)
def test_a_link_with_coordinates_and_no_place_goes_to_the_coordinates(search, catalog):
    raw, said = state.mended(Raw.from_search(search), catalog, NOW)
    assert said == ()
    assert state.read(raw, catalog).place.name == "57.5° N 5° W"


@pytest.mark.parametrize(
    ("search", "wrong"),
    [
        ("?lat=91&lon=0&zone=UTC", "latitude must be -90 to 90°, got '91'"),
        ("?lat=57.5&zone=UTC", "longitude must be -180 to 180°, got nothing"),
        ("?lat=57.5&lon=0", "timezone '' is not"),
    ],
)
def test_wrong_coordinates_without_a_place_are_said(search, wrong, catalog):
    raw, said = state.mended(Raw.from_search(search), catalog, NOW)
    assert raw["place"] == "Mopane Loop"
    assert len(said) == 1
    assert said[0].startswith(wrong)
    assert said[0].endswith("; Mopane Loop is used instead")


def test_own_coordinates_without_any_begin_with_the_first_places(catalog):
    raw, said = mend({"place": OWN}, catalog)
    usual = state.defaults(catalog, NOW)
    assert said == ()
    assert raw["place"] == OWN
    assert all(raw[name] == usual[name] for name in OWN_FIELDS)


@pytest.mark.parametrize("legs", ["N 5 km\nbanana\nS 5 km", "N 500 km"])
def test_wrong_legs_stay_as_typed_for_the_loops_page_to_tell(legs, catalog):
    raw, said = mend({"legs": legs}, catalog)
    assert raw["legs"] == legs
    assert said == ()


def test_an_unknown_rig_is_left_out_and_said(catalog):
    raw, said = mend({}, catalog, (("bazooka", "", "", "", ""), *RIGS))
    assert raw.rigs == RIGS
    assert len(said) == 1
    assert "'bazooka'" in said[0]


def test_without_one_known_rig_the_first_three_are_compared(catalog):
    raw, said = mend({}, catalog, (("bazooka", "", "", "", ""),))
    assert [rig[0] for rig in raw.rigs] == [r.name for r in catalog.rigs[:3]]
    assert "'bazooka'" in said[0]


def test_a_seventh_rig_is_left_out_and_said(catalog):
    raw, said = mend({}, catalog, (("400 prime", "", "", "", ""),) * 7)
    assert len(raw.rigs) == 6
    assert said == ("at most 6 rigs can be compared, got 7",)


# The page says beside it: "everything else is as linked".
@pytest.mark.parametrize(
    ("wrong", "kept"),
    [
        (("600 prime", "300", "5.6", "1000", "12800"), {2: "5.6", 3: "1000", 4: "12800"}),
        (("600 prime", "600", "1.2", "1000", "12800"), {1: "600", 3: "1000", 4: "12800"}),
        (("600 prime", "600", "5.6", "0", "12800"), {1: "600", 2: "5.6", 4: "12800"}),
        (("600 prime", "600", "5.6", "1000", "7"), {1: "600", 2: "5.6", 3: "1000"}),
    ],
)  # fmt: skip
def test_one_wrong_setting_of_a_rig_leaves_its_others(wrong, kept, catalog):
    raw, said = mend({}, catalog, (wrong,))
    assert len(said) == 1
    assert {i: raw.rigs[0][i] for i in kept} == kept


def test_what_is_missing_is_filled_in_without_a_word(catalog):
    raw, said = state.mended(Raw((), ()), catalog, NOW)
    assert said == ()
    assert raw == state.defaults(catalog, NOW)


# ------------------------------------------------------------------ any link

names = st.sampled_from([*table.BY_NAME, "rig", "rig", ids.SELECTED, "x", ""])
known = st.sampled_from(
    [
        "own coordinates", "Mopane Loop", "Ptarmigan Fjord", "2027-08-12", "2037-12-31",
        "1950-01-01", "0001-01-01", "9999-12-31", "walking", "back", "haze", "canopy",
        "90", "-90", "180", "-180", "nan", "inf", "-0", "1e999", "٣", "1_0", " 7 ",
        "Africa/Lusaka", "Pacific/Apia", "America/Punta_Arenas", "Etc/GMT+12",
        "400 prime~400~2.8~1~50", "600 prime ×1.4~840~5.6~1/32000~1000000",
        "150–600 zoom~149.5", "300 prime ×2~800~11~~", "~~~~", "~600", "400 prime~~~~~~",
    ]
)  # fmt: skip
pairs = st.tuples(names, st.one_of(known, st.text(max_size=20)))
queries = st.lists(pairs, max_size=25).map(
    lambda found: "?" + "&".join(f"{name}={text}" for name, text in found)
)


@wild.cases(150)
@given(query=st.one_of(queries, st.text(max_size=60)))
@example(
    query="?place=own+coordinates&lat=90&lon=180&zone=Pacific/Apia&from=2011-12-30"
)
@example(query="?rig=%FF%FE~%00&place=%E2%80%93&from=2027-08-12%0A&&;==")
@example(query="?place=own+coordinates&lat=NaN&lon=&zone=%20")
def test_any_link_is_read_or_refused_in_one_line(query, catalog):
    said = "read"
    try:
        state.read(Raw.from_search(query), catalog)
    except ValueError as error:
        said = str(error)
    assert said
    assert said.isprintable()  # so it has no second line


@wild.cases(150)
@given(query=st.one_of(queries, st.text(max_size=60)))
@example(query="?from=2037-12-31&to=2037-12-31&place=own+coordinates&lat=90&lon=180")
@example(query="?distance=1&blur=50&pace=resting&rig=400+prime~400~64~1~50")
def test_any_link_can_be_mended_and_then_read(query, catalog):
    raw, said = state.mended(Raw.from_search(query), catalog, NOW)
    state.read(raw, catalog)
    assert all(sentence.isprintable() for sentence in said), said


def test_a_link_of_more_fields_than_any_form_has_is_mended_too(catalog):
    raw, _ = state.mended(Raw.from_search("?" + "x=1&" * 300), catalog, NOW)
    assert raw == state.defaults(catalog, NOW)


def test_a_letter_of_no_rig_is_replaced_and_the_letters_in_use_are_told(catalog):
    raw, said = mend({"shown": "E"}, catalog)
    assert said == ("letter of the rig in the picture must be A to B, got 'E'",)
    assert raw["shown"] == "A"
    raw, said = mend({"shown": "B"}, catalog, RIGS[:1])
    assert said == ("letter of the rig in the picture must be A, got 'B'",)
    assert mend({"shown": "B"}, catalog)[1] == ()
    # Without rigs of its own a link gets the usual three.
    assert mend({"shown": "C"}, catalog, ())[1] == ()
