"""The example file, and which file is read when."""

import datetime as dt
import re
import shutil
from pathlib import Path

import pytest

from lightplan.catalog import places
from lightplan.catalog.places import PlacesError

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / places.EXAMPLE_FILE
TEXT = EXAMPLE.read_text(encoding="utf-8")
CATALOG = places.load(EXAMPLE)
ARCTIC_CIRCLE_DEG = 66.56  # 90° − the obliquity of the ecliptic, 23.44°


def utc_offsets(place: places.Place, iana) -> set[dt.timedelta]:
    zone = iana(place.timezone)
    noons = (dt.datetime(2027, month, 15, 12, tzinfo=zone) for month in range(1, 13))
    return {noon.utcoffset() for noon in noons}


def test_example_holds_at_least_five_reserves():
    assert len(CATALOG.places) >= 5


@pytest.mark.parametrize(
    ("south_deg", "north_deg"),
    [(-15, -11), (-1, 1), (-60, -50), (ARCTIC_CIRCLE_DEG, 90)],
    ids=["near 13° S", "equator", "beyond 50° S", "arctic"],
)
def test_example_has_a_reserve_at_this_latitude(south_deg, north_deg):
    assert any(south_deg <= p.latitude_deg <= north_deg for p in CATALOG.places)


def test_example_has_a_reserve_whose_clocks_change_below_the_arctic_circle(iana):
    assert any(
        len(utc_offsets(p, iana)) == 2
        for p in CATALOG.places
        if abs(p.latitude_deg) < ARCTIC_CIRCLE_DEG
    )


def test_every_example_reserve_has_gates():
    assert all(p.gates for p in CATALOG.places)


# Longitude and zone belong together: local mean time is 4 min per degree, and no
# zone strays from it by more than three hours (Xinjiang on Beijing time; common
# knowledge of the IANA map, not from one document).
def test_every_example_zone_fits_its_longitude(iana):
    for place in CATALOG.places:
        mean_time = dt.timedelta(minutes=4 * place.longitude_deg)
        assert all(
            abs(offset - mean_time) < dt.timedelta(hours=3)
            for offset in utc_offsets(place, iana)
        ), place.name


# A leap year has a 29 February; seasons that meet there must not leave it out.
@pytest.mark.parametrize("place", CATALOG.places, ids=lambda p: p.name)
def test_no_example_season_ends_before_a_leap_day(place):
    days = [dt.date(2028, 2, 28), dt.date(2028, 2, 29), dt.date(2028, 3, 1)]
    before, leap, after = (
        any(season.cover_date(day) for season in place.gates) for day in days
    )
    assert leap or not (before and after)


# Lenses common among wildlife photographers, by [focal length, f-number] at
# both ends (common practice).
@pytest.mark.parametrize(
    ("shortest", "longest"),
    [
        ((150, 5.0), (600, 6.3)),
        ((100, 4.5), (400, 5.6)),
        ((70, 2.8), (200, 2.8)),
        ((400, 2.8), (400, 2.8)),
        ((600, 4.0), (600, 4.0)),
        ((300, 4.0), (300, 4.0)),
    ],
)
def test_example_has_the_usual_lens(shortest, longest):
    ends = {(lens.widest[0], lens.widest[-1]) for lens in CATALOG.lenses}
    assert (shortest, longest) in ends


def test_example_has_both_usual_converters():
    assert {c.factor for c in CATALOG.converters} >= {1.4, 2.0}


def test_example_has_full_frame_and_aps_c():
    assert {body.format for body in CATALOG.bodies} >= {"full frame", "APS-C"}


@pytest.mark.parametrize("name", [rig.name for rig in CATALOG.rigs])
def test_every_example_rig_can_be_put_together(name):
    rig = CATALOG.rig(name)
    assert rig.widest_f_number(rig.focal_range_mm[1]) > 0


def documentation(table: str) -> str:
    """The blocks that begin with a comment, in the part of the file for a table."""
    top, *ruled = TEXT.split("# -----")
    parts = {part.split(None, 2)[1]: "# " + part for part in ruled}
    if table == "":
        part = TEXT
    elif table == "light":
        part = top
    else:  # a place's own tables are described with it
        part = parts.get(table, parts["places"])
    return "\n".join(b for b in part.split("\n\n") if b.startswith("#"))


@pytest.mark.parametrize(
    ("table", "key"),
    [(table, key) for table, keys in places.KEYS.items() for key in keys],
)
def test_every_key_is_documented_in_the_example(table, key):
    assert re.search(rf"\b{key}\b", documentation(table))


def test_every_table_of_the_file_has_its_keys_listed():
    assert set(places.KEYS) == {
        "", "places", "gates", "closures", "spots", "covers", "bodies", "lenses", "converters",
        "rigs", "light",
    }  # fmt: skip


def test_two_spots_of_one_name_at_a_place_are_refused():
    twice = TEXT.replace('name = "Ebony bend"', 'name = "Oxbow hide"')
    with pytest.raises(PlacesError) as error:
        places.read(twice, "mine.toml")
    assert str(error.value) == (
        "mine.toml: place 'Mopane Loop': spots must have different names, got "
        "'Oxbow hide' twice"
    )


def test_spots_of_two_places_may_share_a_name():
    elsewhere = CATALOG.places[1].model_copy(update={"spots": CATALOG.places[0].spots})
    catalog = CATALOG.model_copy(update={"places": (CATALOG.places[0], elsewhere)})
    assert places.Catalog.model_validate(catalog.model_dump(by_alias=True))


@pytest.fixture
def checkout(monkeypatch, tmp_path) -> Path:
    """The top of a checkout with the example, for `places.find` to look in."""
    shutil.copy(EXAMPLE, tmp_path)
    monkeypatch.setattr(places, "PACKAGE", tmp_path / "lightplan")
    monkeypatch.delenv(places.NAMING, raising=False)
    return tmp_path


@pytest.fixture
def installed(monkeypatch, checkout) -> Path:
    """The folder a person is in who has installed lightplan, example and all."""
    (checkout / "lightplan").mkdir()
    (checkout / places.EXAMPLE_FILE).rename(places.PACKAGE / places.EXAMPLE_FILE)
    (checkout / "here").mkdir()
    monkeypatch.chdir(checkout / "here")
    return checkout / "here"


def renamed(folder: Path, file: str, reserve: str) -> Path:
    path = folder / file
    path.write_text(TEXT.replace("Mopane Loop", reserve), encoding="utf-8")
    return path


def test_example_is_read_when_there_is_no_other_file(checkout):
    assert places.find() == (CATALOG, checkout / places.EXAMPLE_FILE, "")


def test_a_copy_that_an_editable_install_leaves_is_not_read(checkout):
    (checkout / "lightplan").mkdir()
    renamed(checkout / "lightplan", places.EXAMPLE_FILE, "Old Loop")
    assert places.find().path == checkout / places.EXAMPLE_FILE


def test_installed_the_example_is_in_the_package(installed):
    assert places.find() == (CATALOG, places.PACKAGE / places.EXAMPLE_FILE, "")


def test_installed_the_own_file_is_in_the_folder_one_is_in(installed):
    renamed(places.PACKAGE.parent, places.OWN_FILE, "Loop of somebody else")
    assert places.find().catalog == CATALOG
    renamed(installed, places.OWN_FILE, "Own Loop")
    assert places.find().catalog.places[0].name == "Own Loop"


def test_own_file_goes_before_the_example(checkout):
    own = renamed(checkout, places.OWN_FILE, "Own Loop")
    loaded = places.find()
    assert (loaded.path, loaded.problem) == (own, "")
    assert loaded.catalog.places[0].name == "Own Loop"


def test_named_file_goes_before_the_own_one(checkout):
    renamed(checkout, places.OWN_FILE, "Own Loop")
    named = renamed(checkout, "elsewhere.toml", "Named Loop")
    loaded = places.find(str(named))
    assert (loaded.path, loaded.problem) == (named, "")
    assert loaded.catalog.places[0].name == "Named Loop"


def test_wrong_own_file_gives_the_example_and_says_why(checkout):
    own = checkout / places.OWN_FILE
    own.write_text(TEXT.replace("-14.0", "-114.0"), encoding="utf-8")
    loaded = places.find()
    assert loaded.catalog == CATALOG
    assert loaded.path == checkout / places.EXAMPLE_FILE
    assert "locations.toml" in loaded.problem
    assert "latitude_deg" in loaded.problem


def test_missing_named_file_gives_the_example_not_the_own_one_and_says_why(checkout):
    renamed(checkout, places.OWN_FILE, "Own Loop")
    loaded = places.find(str(checkout / "nowhere.toml"))
    assert loaded.path == checkout / places.EXAMPLE_FILE
    assert "nowhere.toml" in loaded.problem


def test_folder_in_place_of_the_own_file_gives_the_example_and_says_why(checkout):
    (checkout / places.OWN_FILE).mkdir()
    loaded = places.find()
    assert loaded.path == checkout / places.EXAMPLE_FILE
    assert "directory" in loaded.problem


def test_missing_example_is_an_error_that_names_it(checkout):
    (checkout / places.EXAMPLE_FILE).unlink()
    with pytest.raises(PlacesError, match=r"locations\.example\.toml cannot be read"):
        places.find()


def test_file_with_a_byte_order_mark_is_read(tmp_path):
    path = tmp_path / "bom.toml"
    path.write_bytes(b"\xef\xbb\xbf" + TEXT.encode())
    assert places.load(path) == CATALOG


@pytest.mark.parametrize(
    ("lookup", "asked", "proposed"),
    [("place", "Mopane Lop", "Mopane Loop"), ("rig", "400 prim", "400 prime")],
)
def test_unknown_name_proposes_the_nearest(lookup, asked, proposed):
    with pytest.raises(ValueError, match=f"{asked}.*did you mean '{proposed}'"):
        getattr(CATALOG, lookup)(asked)


def test_a_places_air_is_twelve_months_or_none():
    assert CATALOG.place("Mopane Loop").air[9] == 0.4
    assert CATALOG.place("Heron Marsh").air == ()
    eleven = TEXT.replace("air = [0.15, 0.15, 0.15,", "air = [0.15, 0.15,")
    with pytest.raises(PlacesError) as error:
        places.read(eleven, "mine.toml")
    assert str(error.value) == (
        "mine.toml: place 'Mopane Loop': air must have 12 optical depths, January to "
        "December, got 11"
    )
    foul = TEXT.replace("air = [0.15, 0.15, 0.15,", "air = [0.15, 0.15, 3,")
    with pytest.raises(PlacesError, match="at most 2, got 3"):
        places.read(foul, "mine.toml")
