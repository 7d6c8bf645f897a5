"""The page's answers, asked for as the browser asks: by POST."""

import datetime as dt
import json

import pytest
import pytz
import wild
from hypothesis import given
from hypothesis import strategies as st

from lightplan import naming
from lightplan.choices import state
from lightplan.choices.raw import OWN, RIG_FIELDS, Raw, slot_field
from lightplan.sky.sun_days import sun_days
from lightplan.trip import light_words, words
from lightplan.trip import plan as planning
from lightplan.trip.request import MAX_RIGS
from lightplan.web import cache, ids
from lightplan.web.trip import page as trip

SLOTS = range(MAX_RIGS)
UPDATE = "/_dash-update-component"


def form_of(raw: Raw) -> dict[str, object]:
    """The controls' values that make these texts, numbers as numbers."""
    form: dict[str, object] = dict(raw.fields)
    for name in ("back", "distance", "blur", "lat", "lon"):
        if raw[name]:
            form[name] = json.loads(raw[name])  # 25 and 0.5, as a browser sends them
    for slot in SLOTS:
        rig = raw.rigs[slot] if slot < len(raw.rigs) else (None, "", "", "", "")
        for field, text in zip(RIG_FIELDS, rig, strict=True):
            form[slot_field(field, slot)] = text
    return form


@pytest.fixture(scope="module")
def post(app):
    """Ask one callback, named by one of its outputs; return what it changes."""
    client = app.server.test_client()
    dependencies = client.get("/_dash-dependencies").json

    def ask(
        output: str,
        raw: Raw,
        theme: str = "paper",
        selected: str = "",
        page: str = "trip",
    ):
        (asked,) = (d for d in dependencies if f"..{output}." in f".{d['output']}.")
        values = {**form_of(raw), ids.PAGE: page}
        values |= {ids.SELECTED: selected, ids.THEME: theme}
        values[ids.NOTES] = []  # callbacks that wait for the rows name them
        values[ids.OWN_CATALOG] = None  # a browser that keeps no catalog of its own

        def filled(entries):
            return [{**entry, "value": values[entry["id"]]} for entry in entries]

        ids_ = [text.rsplit(".", 1) for text in asked["output"].strip(".").split("...")]
        response = client.post(
            UPDATE,
            json={
                "output": asked["output"],
                "outputs": [{"id": i, "property": p} for i, p in ids_],
                "inputs": filled(asked["inputs"]),
                "state": filled(asked["state"]),
                "changedPropIds": ["place.value"],
            },
        )
        if response.status_code == 204:  # nothing is to change
            return {}
        assert response.status_code == 200, response.text
        return response.json["response"]

    return ask


CHOICES, ROWS = f"{ids.PROBLEM}.children", f"{ids.DRIVES}.html"
BOOKABLE, BOOKED = f"{ids.BOOKABLE}.html", f"{ids.BOOKED}.children"
ANSWER, DRIVE = f"{ids.ANSWER}.children", f"{ids.CHART_TITLE}.children"
YEAR = f"{ids.YEAR_ANSWER}.children"


def said(node) -> str:
    if isinstance(node, list):
        return "".join(said(child) for child in node)
    if isinstance(node, dict):
        return said(node.get("props", {}).get("children"))
    return "" if node is None else str(node)


@pytest.fixture(scope="module")
def planned(catalog):
    return lambda raw: planning.make(state.read(raw, catalog))


# ------------------------------------------------------------- good forms


def test_a_good_form_is_answered_with_its_trip(post, usual, planned):
    raw = usual()
    changed = post(CHOICES, raw)
    of = planned(raw)
    assert changed[ids.PROBLEM]["children"] == ""
    assert changed[ids.LINK]["data"] == raw.search()
    rows = json.dumps(post(ROWS, raw)[ids.DRIVES]).count("row drive-row")
    assert rows == len(of.drives)
    assert changed[ids.SUMMARY]["children"].startswith(
        "Mopane Loop · Thu 12 Aug – Wed 18 Aug · walking, side · rigs A B C"
    )
    first = of.request.rigs[0]
    shown = changed[ids.slot_summary(0)]["children"]
    assert shown == (
        f"{first.label} · 1/{1 / first.shutter_s:.0f} s · ≤ ISO {first.iso_ceiling}"
    )
    assert changed[ids.slot_summary(3)]["children"] == "…"


def test_the_first_drive_is_shown_until_one_is_chosen(post, usual, planned):
    raw = usual()
    of = planned(raw)
    changed = post(ANSWER, raw) | post(DRIVE, raw)
    assert said(changed[ids.ANSWER]["children"]) == naming.plain(
        words.answer(of, of.drives[0])
    )
    assert "Thu 12 Aug, morning" in changed[ids.CHART_TITLE]["children"]


def test_the_chosen_drive_is_shown_in_full(post, usual, planned):
    raw = usual()
    of = planned(raw)
    drive = of.drive("2027-08-14-evening")
    changed = post(ANSWER, raw, selected=drive.key)
    changed |= post(DRIVE, raw, selected=drive.key)
    assert said(changed[ids.ANSWER]["children"]) == naming.plain(
        words.answer(of, drive)
    )
    text = changed[ids.CHART_TEXT]["children"]
    assert text == trip.picture_text(of, drive)
    assert changed[ids.CHART_WHY]["children"] == light_words.why(of, drive)
    assert len(changed[ids.MINUTES]["data"]["head"]) == len(drive.utc)
    assert changed[ids.MINUTE]["max"] == len(drive.utc) - 1
    # The minute read off first is the one the first rig turns on.
    last = drive.minute(drive.outcomes[0][1].last.utc)
    assert changed[ids.MINUTE]["value"] == last
    assert "Sat 14 Aug, evening" in changed[ids.CHART_TITLE]["children"]


def test_a_drive_that_is_not_in_the_trip_gives_the_first(post, usual):
    asked = post(DRIVE, usual(), selected="2030-01-01-evening")
    assert asked == post(DRIVE, usual())


@pytest.mark.parametrize(
    ("theme", "surface"), [("paper", "#FFFDF8"), ("dusk", "#1C2024")]
)
def test_the_picture_is_in_the_pages_theme(theme, surface, post, usual):
    figure = post(DRIVE, usual(), theme=theme)[ids.CHART]["figure"]
    assert figure["layout"]["paper_bgcolor"] == surface


def test_a_trip_without_a_drive_says_so(post, usual):
    closed = {"place": "Two Rivers Plain", "from": "2027-10-12"}
    raw = usual({**closed, "to": "2027-10-14"})
    changed = post(ANSWER, raw) | post(DRIVE, raw)
    assert "every session is closed" in said(changed[ids.ANSWER]["children"])
    assert changed[ids.MINUTES]["data"] is None
    assert post(CHOICES, raw)[ids.PROBLEM]["children"] == ""


def components(node) -> int:
    """How many components of Dash an answer has: the renderer keeps books on each."""
    if isinstance(node, list):
        return sum(map(components, node))
    if isinstance(node, dict):
        inner = sum(map(components, node.values()))
        return inner + ({"namespace", "type", "props"} <= node.keys())
    return 0


LOOP = f"{ids.LOOP_DRIVES}.html"


def test_a_long_trip_is_no_more_components_than_a_short_one(post, usual, catalog):
    rigs = tuple((rig.name,) for rig in catalog.rigs[:MAX_RIGS])

    def sent(last: str) -> int:
        raw = usual({"from": "2027-08-01", "to": last}, rigs)
        outputs = (CHOICES, ANSWER, ROWS, BOOKABLE, BOOKED, DRIVE, LOOP)
        return sum(components(post(output, raw)) for output in outputs)

    fortnight, longest = sent("2027-08-14"), sent("2027-10-01")
    assert 0 < fortnight < 80
    assert longest <= fortnight + 5  # a sentence may have a part more


# ------------------------------------------------------------- bad forms

BAD = [
    ({"back": ""}, "Travel time to the gate must be 0 to 600 min, got nothing."),
    ({"from": ""}, "First date must be a date like 2027-08-12, got ''."),
    ({"to": "2027-08-01"}, "2027-08-01"),
    ({"distance": "0"}, "Distance to the animal must be 1 to 2000 m, got '0'."),
    ({"place": OWN, "lat": "95"}, "Latitude must be -90 to 90°"),
    ({"place": "Atlantis"}, "Place 'Atlantis' is unknown"),
    ({"sky": "purple"}, "purple"),
]


@pytest.mark.parametrize(("changes", "sentence"), BAD)
def test_a_bad_form_is_answered_with_one_sentence_and_changes_nothing_else(
    changes, sentence, post, usual
):
    changed = post(CHOICES, usual(changes))
    assert list(changed) in ([ids.PROBLEM], [ids.PROBLEM, ids.TYPED])  # for the links
    problem = changed[ids.PROBLEM]["children"]
    assert sentence in problem
    assert problem.endswith(" Showing the last valid plan.")
    assert problem[0].isupper()


TYPED_WRONG = [case for case in BAD if "" not in case[0].values()]


@pytest.mark.parametrize(("changes", "sentence"), TYPED_WRONG)
def test_the_pages_links_carry_what_is_typed_wrong(changes, sentence, post, usual):
    changed = post(CHOICES, usual(changes))
    carried = Raw.from_search(changed[ids.TYPED]["data"])
    assert {name: carried[name] for name in changes} == changes


@pytest.mark.parametrize("field", ["back", "from"])
def test_an_emptied_field_leaves_the_links_with_its_last_value(field, post, usual):
    assert ids.TYPED not in post(CHOICES, usual({field: ""}))


@pytest.mark.parametrize(("changes", "sentence"), BAD)
@pytest.mark.parametrize("output", [ROWS, BOOKABLE, BOOKED, ANSWER, DRIVE, YEAR])
def test_a_bad_form_leaves_all_else_as_it_is(output, changes, sentence, post, usual):
    assert post(output, usual(changes)) == {}


def test_a_year_out_of_range_is_told(post, usual):
    changed = post(CHOICES, usual({"year": "2038"}), page="year")
    assert "Year must be 1950 to 2037, got '2038'." in changed[ids.PROBLEM]["children"]


def test_the_year_is_answered_and_summed_up_on_its_page(post, usual):
    raw = usual({"year": "2027"})
    changed = post(YEAR, raw)
    assert said(changed[ids.YEAR_ANSWER]["children"]).startswith("Most light for A ")
    assert "Jan" in changed[ids.YEAR_CHART]["figure"]["layout"]["xaxis"]["ticktext"]
    summary = post(CHOICES, raw, page="year")[ids.SUMMARY]["children"]
    assert summary.startswith("Mopane Loop · 2027 · ")


def test_marks_and_skies_of_the_link_are_shown(post, usual):
    drive = "2027-08-14-evening"
    raw = usual({"book": drive, "skies": f"{drive}:storm"})
    booked = post(BOOKED, raw)[ids.BOOKED]["children"]
    assert booked.startswith("1 drive marked: ")
    assert post(BOOKABLE, raw)[ids.BOOKABLE]["html"].count(">marked</button>") == 1
    assert "; marked" in post(ROWS, raw)[ids.DRIVES]["html"]
    chosen = post(DRIVE, raw, selected=drive)
    assert chosen[ids.DRIVE_SKY]["value"] == "storm"
    assert post(DRIVE, raw)[ids.DRIVE_SKY]["value"] == ""


@pytest.mark.parametrize(
    "output", [CHOICES, ROWS, BOOKABLE, BOOKED, ANSWER, DRIVE, YEAR]
)
def test_no_rig_at_all_is_a_sentence_not_an_error(output, post, usual):
    changed = post(output, usual(rigs=()))
    assert changed == {} or list(changed) == [ids.PROBLEM]


def test_a_theme_the_page_does_not_have_is_no_error(post, usual):
    assert ids.CHART in post(DRIVE, usual(), theme="plaid")


# ------------------------------------------------------------- any place, any day


@wild.cases(25)
@given(
    latitude=st.floats(-90, 90),
    longitude=st.floats(-180, 180),
    zone=st.sampled_from(pytz.common_timezones),
    day=st.dates(
        min_value=dt.date(1950, 1, 1),
        max_value=dt.date(2037, 12, 31),
    ),
)
def test_anywhere_on_any_day_there_is_an_answer(
    latitude, longitude, zone, day, usual, own, catalog
):
    changes = {
        "lat": str(latitude),
        "lon": str(longitude),
        "zone": zone,
        "from": day.isoformat(),
        "to": day.isoformat(),
    }
    raw = usual({**own, **changes})
    assert "drives" in trip.rows(raw, catalog)
    shown = trip.drive(raw, catalog, "dusk")
    assert said_by(trip.answer(raw, catalog))
    json.dumps([shown["figure"], shown["minutes"]], allow_nan=False)


def said_by(node) -> str:
    if isinstance(node, list):
        return "".join(said_by(child) for child in node)
    return node if isinstance(node, str) else said_by(node.children)


def test_a_sun_that_only_touches_civil_twilight_is_answered(usual, own, catalog):
    # The latitude whose noon stands at −6°: dawn, noon and dusk are one minute.
    date, longitude, zone = dt.date(2027, 12, 5), 0.05, "Etc/UTC"
    south, north = 60.0, 80.0
    for _ in range(40):
        middle = (south + north) / 2
        (day,) = sun_days(middle, longitude, zone, [date])
        noon_deg = day.noon_altitude_deg
        south, north = (middle, north) if noon_deg > -6 else (south, middle)
    changes = {
        "lat": str(south),
        "lon": str(longitude),
        "zone": zone,
        "from": date.isoformat(),
        "to": date.isoformat(),
    }
    raw = usual({**own, **changes})
    assert "drives" in trip.rows(raw, catalog)
    assert said_by(trip.answer(raw, catalog))


# ------------------------------------------------------------- many at once


def test_two_people_with_different_trips_get_their_own_answers(post, usual, planned):
    mine = usual({"place": "Heron Marsh", "side": "back"})
    yours = usual({"place": "Ptarmigan Fjord", "pace": "flying"})
    for _ in range(2):  # the second time from the cache
        for raw in (mine, yours):
            changed = post(ANSWER, raw)
            of = planned(raw)
            assert said(changed[ids.ANSWER]["children"]) == naming.plain(
                words.answer(of, of.drives[0])
            )


@pytest.mark.parametrize("place", ["Mopane Loop", "Two Rivers Plain"])  # with nights
def test_the_sentence_of_a_drive_is_worked_out_of_its_day_alone(
    place, usual, planned, catalog, monkeypatch
):
    raw = usual({"place": place})
    of = planned(raw)
    monkeypatch.setattr(cache, "trip", lambda request: pytest.fail("the whole trip"))
    for drive in (None, *of.drives):
        asked = Raw(raw.fields, raw.rigs, drive.key if drive else "")
        expected = words.answer(of, drive or of.drives[0])
        assert said_by(trip.answer(asked, catalog)) == naming.plain(expected)


@pytest.mark.parametrize(
    "key", ["2027-08-13-evening", "2026-01-01-morning", "2027-08-13", "tomorrow", "é"]
)
def test_a_drive_that_is_not_held_leaves_the_trips_first(key, usual, planned, catalog):
    raw = usual()  # Friday the 13th is closed in the evening
    of = planned(raw)
    found = trip.answer(Raw(raw.fields, raw.rigs, key), catalog)
    expected = naming.plain(words.answer(of, of.drives[0]))
    assert said_by(found) == expected
