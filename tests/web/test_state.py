"""Texts of a form or a link to a request: what is read, what is refused."""

import datetime as dt
import json
import re
import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
import wild
from hypothesis import example, given
from hypothesis import strategies as st

from lightplan.catalog.places import Catalog
from lightplan.choices import state, table
from lightplan.choices.raw import OWN, Raw
from lightplan.light.air import AIRS
from lightplan.trip import plan
from lightplan.trip.request import Request, RigChoice, choose
from lightplan.web import cache

PATIENCE_S = 20  # for a thread to begin, far more than it takes

texts = st.text(min_size=1, max_size=30)
in_rig = st.text(st.characters(exclude_characters="~", exclude_categories=["Cs"]))
sendable = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=30)


def one_line(sentence: str) -> bool:
    return sentence.isprintable() and sentence.strip() == sentence != ""


# ------------------------------------------------------------------ the link


@wild.cases(60)
@given(
    # A position is rounded on its way: tests/web/test_positions.py.
    fields=st.dictionaries(
        st.sampled_from(sorted({*table.BY_NAME} - {"lat", "lon", "legs"})),
        sendable,
    ),
    rigs=st.lists(st.tuples(*[in_rig] * 5), max_size=6),
    drive=st.text(st.characters(exclude_categories=["Cs"])),
)
@example(
    fields={"place": "Sal & Sons = 1+1 % #?~;", "sky": "klar, déjà vu 狮子 🦁"},
    rigs=[("150–600 & ×1.4", "600", "6,3", "1/1250", "ISO=6400")],
    drive="2027-08-12-evening",
)
def test_a_link_brings_back_every_text_that_went_into_it(fields, rigs, drive):
    fields = {**fields, "place": OWN}  # whose coordinates a link must carry
    ordered = tuple((name, fields[name]) for name in table.BY_NAME if name in fields)
    # A rig without a name is an empty slot, which no link carries.
    named = tuple(rig for rig in rigs if rig[0])
    raw = Raw(ordered, named, drive)
    assert Raw.from_search(raw.search()) == raw


@pytest.mark.parametrize("name", ["zoom ~ one", "zoom~", "~zoom", "a~b~c~d~e~f"])
def test_a_tilde_in_a_rigs_name_survives_the_link(name):
    raw = Raw((("place", "Mopane Loop"),), ((name, "600", "", "", "3200"),))
    assert Raw.from_search(raw.search()).rigs == raw.rigs


def test_a_place_of_the_file_brings_its_own_position_so_the_link_has_none(usual):
    search = usual().search()
    assert "place=Mopane" in search
    assert not re.search(r"[?&](lat|lon|zone)=", search)


def test_unknown_names_in_a_link_are_left_out(catalog, now):
    link = "?place=Mopane+Loop&utm=x&javascript=alert(1)"
    raw, said = state.mended(Raw.from_search(link), catalog, now)
    assert said == ()
    assert {name for name, _ in raw.fields} == {*table.BY_NAME}


# ------------------------------------------------------------------ the form


def test_a_form_is_read_by_the_controls_names():
    form = {"place": " Mopane Loop ", "back": 30, "sky": None}
    form |= {"rig-0": "400 prime", "focal-0": 400, "iso-0": "", "rig-1": None}
    form |= {"rig-2": "600 prime", "shutter-2": "2000"}
    raw = Raw.from_form(form, "2027-08-12-morning")
    assert raw["place"] == "Mopane Loop"
    assert raw["back"] == "30"
    assert raw["sky"] == ""
    assert raw.rigs == (
        ("400 prime", "400", "", "", ""),
        ("600 prime", "", "", "2000", ""),
    )
    assert raw.drive == "2027-08-12-morning"


def test_reading_gives_the_request_that_the_texts_say(usual, catalog):
    changes = {
        "place": "Heron Marsh",
        "from": "2027-03-26",
        "to": "2027-03-29",
        "pace": "flying",
        "side": "back",
        "sky": "overcast",
        "cover": "woodland",
        "back": "40",
        "distance": "60",
        "blur": "2",
        "hold": "beanbag",
        "animal": "fish-eagle",
    }
    rigs = (("150–600 zoom", "420", "8", "1/2000", "12800"), ("400 prime",))
    request = state.read(usual(changes, rigs), catalog)
    zoom, prime = catalog.rig("150–600 zoom"), catalog.rig("400 prime")
    assert request == Request(
        place=catalog.place("Heron Marsh"),
        first=dt.date(2027, 3, 26),
        last=dt.date(2027, 3, 29),
        rigs=(
            RigChoice(zoom, 420.0, 8.0, 1 / 2000, 12800.0),
            choose(
                prime,
                "flying",
                distance_m=60.0,
                blur_px=2.0,
                hold="beanbag",
                animal="fish-eagle",
            ),
        ),
        pace="flying",
        facing="back",
        sky="overcast",
        cover="woodland",
        travel_min=40,
        limits=catalog.light.limits,
        hold="beanbag",
        animal="fish-eagle",
        distance_m=60.0,
        blur_px=2.0,
    )


@pytest.mark.parametrize("shutter", ["2000", "1/2000"])
def test_a_shutter_is_a_fraction_of_a_second_with_or_without_its_1(
    shutter, usual, catalog
):
    raw = usual(rigs=(("400 prime", "", "", shutter, ""),))
    assert state.read(raw, catalog).rigs[0].shutter_s == 1 / 2000


def test_coordinates_of_ones_own_make_a_place_without_gates(usual, own, catalog):
    place = state.read(usual(own), catalog).place
    assert (place.latitude_deg, place.longitude_deg) == (-24.5, 31.25)
    assert place.timezone == "Africa/Johannesburg"
    assert place.name == "24.5° S 31.25° E"
    assert place.gates == ()


# ------------------------------------------------------------------ refusals

RIG = "150–600 zoom"  # 150–600 mm, f/5–6.3
PRIME = "600 prime"  # 600 mm, f/4
OWN_PLACE = {
    "place": OWN,
    "lat": "-24.5",
    "lon": "31.25",
    "zone": "Africa/Johannesburg",
}

# The field, its wrong text, and what the sentence must name: value and range.
FIELDS = [
    ("place", "Mopane Lop", ["'Mopane Lop'", "Mopane Loop"]),
    ("place", "", ["''"]),
    ("from", "2027-13-01", ["'2027-13-01'", "2027-08-12"]),
    ("from", "next week", ["'next week'"]),
    ("from", "", ["''"]),
    ("from", "1949-12-31", ["1949-12-31", "1950", "2037"]),
    ("to", "2038-01-01", ["2038-01-01", "1950", "2037"]),
    ("to", "2027-08-11", ["2027-08-11", "2027-08-12"]),  # before the first
    ("to", "2027-10-13", ["63", "62"]),
    ("pace", "ambling", ["'ambling'", "pace"]),
    ("pace", "", ["''", "pace"]),
    ("side", "top", ["'top'", "side"]),
    ("sky", "claer", ["claer", "clear"]),
    ("sky", "", ["''"]),
    ("cover", "wodland", ["wodland", "woodland"]),
    ("back", "-1", ["'-1'", "0 to 600 min"]),
    ("back", "601", ["'601'", "0 to 600 min"]),
    ("back", "", ["nothing", "0 to 600 min"]),
    ("back", "half an hour", ["'half an hour'", "0 to 600 min"]),
    ("distance", "0", ["'0'", "1 to 2000 m"]),
    ("distance", "NaN", ["'NaN'", "1 to 2000 m"]),
    ("distance", "inf", ["'inf'", "1 to 2000 m"]),
    ("blur", "0", ["'0'", "0.5 to 50 px"]),
    ("blur", "-inf", ["'-inf'", "0.5 to 50 px"]),
]
OWN_FIELDS = [
    ("lat", "90.1", ["'90.1'", "-90 to 90°"]),
    ("lat", "-91", ["'-91'", "-90 to 90°"]),
    ("lat", "NaN", ["'NaN'", "-90 to 90°"]),
    ("lat", "", ["nothing", "-90 to 90°"]),
    ("lat", "24°30′ S", ["'24°30′ S'", "-90 to 90°"]),
    ("lon", "180.5", ["'180.5'", "-180 to 180°"]),
    ("lon", "inf", ["'inf'", "-180 to 180°"]),
    ("zone", "Africa/Lusaca", ["'Africa/Lusaca'", "Africa/Lusaka"]),
    ("zone", "", ["''"]),
]
# Focal length, aperture, shutter and ISO of a rig.
RIGS = [
    (("Zoom",), ["'Zoom'"]),
    ((RIG, "149"), ["149", "150–600 mm"]),
    ((RIG, "601"), ["601", "150–600 mm"]),
    ((RIG, "0"), ["'0'", "1 to 5000 mm"]),
    ((RIG, "-600"), ["'-600'", "1 to 5000 mm"]),
    ((RIG, "NaN"), ["'NaN'", "1 to 5000 mm"]),
    ((PRIME, "500"), ["500", "600 mm only"]),
    ((PRIME, "", "2.8"), ["f/2.8", "f/4", "f/64"]),
    ((PRIME, "", "0"), ["'0'", "0.5 to 64"]),
    ((PRIME, "", "-4"), ["'-4'", "0.5 to 64"]),
    ((PRIME, "", "65"), ["'65'", "0.5 to 64"]),
    ((PRIME, "", "inf"), ["'inf'", "0.5 to 64"]),
    ((PRIME, "", "", "0"), ["got '0'", "1/1 to 1/32000 s"]),
    ((PRIME, "", "", "32001"), ["got '32001'", "1/1 to 1/32000 s"]),
    ((PRIME, "", "", "1/0"), ["got '1/0'", "1/1 to 1/32000 s"]),
    ((PRIME, "", "", "fast"), ["got 'fast'", "1/1 to 1/32000 s"]),
    ((PRIME, "", "", "", "49"), ["'49'", "50 to 1000000"]),
    ((PRIME, "", "", "", "NaN"), ["'NaN'", "50 to 1000000"]),
    ((PRIME, "", "", "", "2000000"), ["'2000000'", "50 to 1000000"]),
]


def refusal(raw: Raw, catalog: Catalog) -> str:
    with pytest.raises(ValueError) as raised:  # noqa: PT011 - its text is returned
        state.read(raw, catalog)
    return str(raised.value)


@pytest.mark.parametrize(("field", "text", "named"), FIELDS)
def test_a_wrong_choice_is_refused_in_a_line_that_names_it(
    field, text, named, usual, catalog
):
    sentence = refusal(usual({field: text}), catalog)
    assert one_line(sentence)
    assert all(part in sentence for part in named), sentence


@pytest.mark.parametrize(("field", "text", "named"), OWN_FIELDS)
def test_a_wrong_position_is_refused_in_a_line_that_names_it(
    field, text, named, usual, own, catalog
):
    sentence = refusal(usual({**own, field: text}), catalog)
    assert one_line(sentence)
    assert all(part in sentence for part in named), sentence


@pytest.mark.parametrize(("rig", "named"), RIGS)
def test_a_wrong_rig_is_refused_in_a_line_that_names_it(rig, named, usual, catalog):
    sentence = refusal(usual(rigs=(rig,)), catalog)
    assert one_line(sentence)
    assert all(part in sentence for part in named), sentence


def test_swapped_latitude_and_longitude_are_refused_beyond_the_pole(
    usual, own, catalog
):
    # Longyearbyen's 78° N 15° E pass for one another; 37° N 122° W do not.
    swapped = {**own, "lat": "-122.4", "lon": "37.8"}
    assert "'-122.4'" in refusal(usual(swapped), catalog)


@pytest.mark.parametrize("count", [0, 7])
def test_no_rig_or_a_seventh_is_refused(count, usual, catalog):
    raw = usual(rigs=((PRIME,),) * count)
    with pytest.raises(ValueError, match="1 to 6 rigs"):
        plan.make(state.read(raw, catalog))


# ------------------------------------------------------------------ defaults


def test_the_usual_trip_is_the_coming_week_at_the_first_place(catalog, now):
    raw = state.defaults(catalog, now)
    assert raw["place"] == catalog.places[0].name
    assert (raw["from"], raw["to"]) == ("2027-08-12", "2027-08-18")


def test_the_coming_week_begins_on_the_places_own_tomorrow(catalog):
    # 22:30 UTC on the 11th is 00:30 on the 12th in Lusaka, UTC+2.
    late = dt.datetime(2027, 8, 11, 22, 30, tzinfo=dt.UTC)
    assert state.defaults(catalog, late)["from"] == "2027-08-13"


def test_the_usual_sky_and_cover_are_the_places_own(catalog, now):
    raw = state.defaults(catalog, now, "Teak Hollow")
    assert (raw["sky"], raw["air"], raw["cover"]) == ("clear", "", "woodland")


def test_a_file_of_yesterday_that_calls_its_sky_haze_means_dusty_air(catalog, now):
    place = catalog.place("Teak Hollow").model_copy(update={"sky": "haze", "air": ()})
    raw = state.defaults(catalog.model_copy(update={"places": (place,)}), now)
    assert (raw["sky"], raw["air"]) == ("clear", "dusty")
    request = state.read(raw, catalog)
    assert request.in_air(request.sky, 1).aod500 == AIRS["dusty"].aod500


@pytest.mark.parametrize("day", [22, 26, 31])
def test_a_week_near_the_end_of_2037_stays_within_it(day, catalog):
    raw = state.defaults(catalog, dt.datetime(2037, 12, day, 12, tzinfo=dt.UTC))
    request = state.read(raw, catalog)
    assert request.last - request.first == dt.timedelta(days=6)
    assert request.last <= dt.date(2037, 12, 31)


def test_the_usual_texts_can_be_sent_as_json(usual):
    assert json.loads(json.dumps(dict(usual().fields)))["place"] == "Mopane Loop"


# ------------------------------------------------------------------ too much


def test_a_text_longer_than_anything_asked_for_is_cut_in_what_is_said(usual, catalog):
    form = {**dict(usual().fields), "place": "x" * 100_000}
    with pytest.raises(ValueError, match="is unknown") as refused:
        state.read(Raw.from_form(form), catalog)
    assert len(str(refused.value)) < 600


def test_marks_and_skies_of_the_longest_trip_are_not_cut():
    days = [f"2027-08-{day:02d}" for day in range(1, 32)] * 2
    keys = [f"{day}-{s}" for day in days for s in ("morning", "evening", "night")]
    skies = ",".join(f"{key}:overcast" for key in keys)
    assert Raw.from_form({"skies": skies})["skies"] == skies


def test_half_a_character_from_a_browser_makes_a_link_all_the_same():
    raw = Raw.from_form({"book": "a\ud83d", "place": "b\ude00"})
    assert Raw.from_search(raw.search())["book"] == "a?"


# ------------------------------------------------------------------ at once


@pytest.mark.parametrize("kind", ["trip", "year"])
def test_those_who_ask_for_one_plan_at_once_have_it_computed_once(
    kind, monkeypatch, usual, catalog
):
    # What nobody else asks for, since the answer stays in the cache.
    blur = "7.25" if kind == "trip" else "7.75"
    request = state.read(usual({"blur": blur}), catalog)
    begun, again, finish = (threading.Event() for _ in range(3))

    def slow(*_: object) -> str:
        (again if begun.is_set() else begun).set()
        finish.wait(PATIENCE_S)
        return "a plan"

    monkeypatch.setattr(cache.plan, "make", slow)
    monkeypatch.setattr(cache.year_plan, "make", slow)

    def ask() -> str:
        if kind == "trip":
            return cache.trip(request)
        return cache.year(request, 2027, 0)

    with ThreadPoolExecutor(2) as guests:
        first = guests.submit(ask)
        assert begun.wait(PATIENCE_S)
        second = guests.submit(ask)
        assert not again.wait(0.2)  # time enough to begin, were it let
        finish.set()
        assert first.result() == second.result() == "a plan"
