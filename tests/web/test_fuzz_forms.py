"""Whatever a form or a stranger sends a callback, it answers, and never with an error."""

import base64
import json
import struct
from functools import partial
from typing import Any

import pytest
import wild
from hypothesis import given
from hypothesis import strategies as st
from werkzeug.exceptions import BadRequest

from lightplan.catalog import toml
from lightplan.catalog.places import Loaded
from lightplan.choices.raw import RIG_FIELDS, slot_field
from lightplan.web import ids, saved
from lightplan.web import payloads as sent
from lightplan.web.frames import heads as learn_heads
from lightplan.web.kit import changes as kit_changes
from lightplan.web.kit import form as catalog_form
from lightplan.web.loop import callbacks as loop_callbacks

UPDATE = "/_dash-update-component"
OWN_ENTRY = ("places", "Mopane Loop")
GPX = (
    b'<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">'
    b'<trk><trkseg><trkpt lat="-13.1" lon="31.8"/><trkpt lat="-13.0" lon="31.8"/>'
    b"</trkseg></trk></gpx>"
)
# Enough bursts to learn from, all exposed alike a minute apart.
FRAMES = [
    [f"Forest/{i}.jpg", f"2025-08-12T15:{i:02d}:00", 120, None, 6.3, 0.002, 800, 0, ""]
    for i in range(12)
]
STORE = {"frames": FRAMES, "dropped": [["flash fired", 2, "x.jpg"]]}
CHOICES = {
    ids.LEARN_CLOCK_ZONE: "Africa/Lusaka",
    ids.LEARN_CLOCK: "12",
    ids.LEARN_SKY: "clear",
    ids.LEARN_SIDE: "side",
    ids.LEARN_BASE: "open",
    ids.LEARN_PRESET: "woodland",
    ids.LEARN_BY: "folder",
    ids.LEARN_GROUPS: "Early:from=2025-08-12T15:00,to=2025-08-12T15:02",
    ids.LEARN_HABIT: "-0.3",
    ids.LEARN_EXPOSED: True,
    ids.LEARN_REFERENCE: "",
}
COVER = {"name": "Forest", "stops": 3.4, "spread_stops": 0.5, "base": "open"}


def strict(text: str) -> Any:
    """Read JSON as a browser does, which knows no NaN."""

    def refuse(name: str) -> None:
        raise AssertionError(name)

    return json.loads(text, parse_constant=refuse)


@pytest.fixture(scope="module")
def right(catalog, usual):
    """A right value for every component that a callback on the server names."""
    raw = usual({"from": "2027-08-12", "to": "2027-08-12", "year": "2027"})
    form: dict[str, Any] = dict(raw.fields)
    for slot, rig in enumerate(raw.rigs):
        for field, text in zip(RIG_FIELDS, rig, strict=True):
            form[slot_field(field, slot)] = text
    text = toml.dumps(catalog)
    record = {"text": text, "revision": "7"}
    kind, name = OWN_ENTRY
    lines = catalog_form.flat(kind, catalog_form.saved(catalog, kind, name))
    drafts = {f"{kind}:{name}": lines, "rigs:": [["", 0, "name", "new"]]}
    shown = {"kind": kind, "name": name, "title": name, "draft": "x", "lines": lines}
    contents = base64.b64encode(text.encode()).decode()
    typed = [(ids.kit_field(part, row, key), value) for part, row, key, value in lines]
    gpx = base64.b64encode(GPX).decode()
    return {
        **form,
        ids.SELECTED: "2027-08-12-evening",
        ids.THEME: "dusk",
        ids.PAGE: "trip",
        ids.OWN_CATALOG: record,
        ids.VISIT: {"path": "/", "search": raw.search(), "record": record},
        ids.KIT_VIEW: {"at": {"kind": kind, "name": name}, "drafts": drafts},
        ids.KIT_BASE: record,
        ids.KIT_LINK: raw.search(),
        ids.KIT_ORIGINAL: shown,
        ids.KIT_UPLOAD: "data:application/toml;base64," + contents,
        ids.KIT_NEWER: {"record": record, "asked": 1},
        ids.KIT_WANTED: saved.Wanted(text, "7", "Saved.", kind, name, "x")._asdict(),
        "kit-field": typed,
        "kit-add": [({"type": "kit-add", "part": "gates"}, 1)],
        "kit-drop": [({"type": "kit-drop", "part": "gates", "row": 0}, 1)],
        ids.STOP_READINGS: {"drive": "2027-08-12-evening", "lines": [["15:30", "x"]]},
        ids.STOP_MINUTE: 12,
        ids.STOP_AT: [12, 3],
        ids.LOOP_FILE: {"name": "a.gpx", "contents": f"data:;base64,{gpx}", "at": 1},
        "take": [(ids.take_button(file), 1) for file in ("drives", "calendar")],
        ids.ALARMS: ["leave", "lens"],
        ids.LEAVE: 30,
        ids.WITH_POSITION: True,
        ids.LEARN_FRAMES: STORE,
        **CHOICES,
        "learn-keep": [(ids.learn_keep(0), 1)],
        "learn-name": [(ids.learn_name(0), "Old figs")],
        ids.LEARN_COVERS: [COVER],
    }


def given_for(entry: dict[str, str], right: dict[str, Any]) -> Any:
    """Return an input or state of a callback as a page would send it."""
    prop = entry["property"]
    if not entry["id"].startswith("{"):
        pressed = 1 if prop == "n_clicks" else None
        value = right.get(entry["id"], pressed)
        value = "mine.toml" if prop == "filename" else value
        return {"id": entry["id"], "property": prop, "value": value}
    many = right.get(json.loads(entry["id"])["type"], [])
    return [
        {"id": id_, "property": prop, "value": id_ if prop == "id" else value}
        for id_, value in many
    ]


@pytest.fixture(scope="module")
def asked(app, right):
    """A right request for every callback on the server, by the first of its outputs."""
    known = app.server.test_client().get("/_dash-dependencies").json
    found = {}
    for one in (d for d in known if not d["clientside_function"]):
        named = [t.rsplit(".", 1) for t in one["output"].strip(".").split("...")]
        outputs = [{"id": i, "property": p} for i, p in named]
        inputs = [given_for(e, right) for e in one["inputs"]]
        first = next(e for e in inputs if e)
        changed = first[0] if isinstance(first, list) else first
        id_ = changed["id"]
        if isinstance(id_, dict):
            id_ = json.dumps(id_, sort_keys=True, separators=(",", ":"))
        found[one["output"]] = {
            "output": one["output"],
            "outputs": outputs if one["output"].startswith("..") else outputs[0],
            "inputs": inputs,
            "state": [given_for(e, right) for e in one["state"]],
            "changedPropIds": [f"{id_}.{changed['property']}"],
        }
    return found


@pytest.fixture(scope="module")
def post(app):
    client = app.server.test_client()
    return partial(client.post, UPDATE, content_type="application/json")


# Where a page says what is wrong, or what it did, in a text alone.
SAID = (ids.PROBLEM, ids.LEARN_PROBLEM, ids.LOOP_SAID, ids.TAKE_SAID, ids.KIT_SAID)


def is_answered(response: Any) -> None:
    """Fail unless it is an answer, nothing to change, or a refusal in a sentence."""
    assert response.status_code in (200, 204, 400), response.text
    if response.status_code == 200:
        for name, props in strict(response.text)["response"].items():
            for prop, told in props.items() if name in SAID else ():
                if prop.startswith("children") and told:
                    assert wild.is_one_sentence(told), told
    if response.status_code == 400:
        assert wild.is_one_sentence(response.text.strip())


def test_every_callback_of_the_server_answers_a_right_request(asked, post):
    assert len(asked) > 10
    for output, body in asked.items():
        response = post(data=json.dumps(body))
        assert response.status_code == 200, output
        for name in (ids.PROBLEM, ids.LEARN_PROBLEM):
            told = response.json["response"].get(name, {"children": ""})
            assert told["children"] == ""


# A component, a value of it that no page sends, and what the answer is.
ODD = [
    (ids.VISIT, "/", 400),
    (ids.VISIT, {"path": "/", "search": None}, 400),
    (ids.KIT_VIEW, "x", 400),
    (ids.KIT_VIEW, {"at": "x"}, 400),
    (ids.KIT_VIEW, {"drafts": {"places:x": [[1]]}}, 400),
    (ids.KIT_VIEW, {"at": {"kind": "x", "name": "x"}}, 200),
    (ids.KIT_ORIGINAL, {"kind": "x", "name": "", "draft": ""}, 400),
    (ids.KIT_ORIGINAL, None, 400),
    (ids.KIT_NEWER, "x", 400),
    (ids.KIT_WANTED, None, 400),
    (ids.KIT_UPLOAD, ["x"], 200),
    (ids.KIT_UPLOAD, "data:,\xe4", 200),
    (ids.KIT_BASE, ["x"], 200),
    (ids.KIT_LINK, {"place": "x"}, 200),
    (ids.THEME, ["dusk"], 200),
    (ids.SELECTED, {"x": []}, 200),
    (ids.PAGE, [], 200),
    (ids.OWN_CATALOG, {"text": 1}, 200),
    (ids.STOP_READINGS, "x", 400),
    (ids.STOP_READINGS, {"drive": 1}, 400),
    (ids.STOP_READINGS, [], 200),
    (ids.STOP_MINUTE, [12], 400),
    (ids.STOP_MINUTE, -1, 400),
    (ids.STOP_MINUTE, None, 200),
    (ids.STOP_AT, "12", 200),
    (ids.STOP_AT, ["x", 3], 400),
    (ids.LOOP_FILE, "x", 400),
    (ids.LOOP_FILE, {"name": "x"}, 400),
    (ids.ALARMS, [{"leave": 1}], 200),
    (ids.ALARMS, "leave", 200),
    (ids.LEAVE, [30], 200),
    (ids.LEARN_FRAMES, {"frames": "x" * 9, "dropped": [[1e999, 1e999, 1]]}, 200),
    (ids.LEARN_GROUPS, ["x"], 200),
    (ids.LEARN_CLOCK, {}, 200),
    (ids.LEARN_COVERS, "x", 400),
    (ids.LEARN_COVERS, [], 400),
    (ids.LEARN_COVERS, [{"stops": []}], 400),
    (ids.LEARN_COVERS, [{}], 200),
]


@pytest.mark.parametrize(("name", "value", "status"), ODD)
def test_a_value_of_another_shape_is_taken_for_none_or_refused(
    name, value, status, asked, post
):
    met = 0
    for body in asked.values():
        changed = json.loads(json.dumps(body))
        for entry in (e for e in (*changed["inputs"], *changed["state"]) if e):
            if (
                isinstance(entry, dict)
                and entry["id"] == name
                and entry["property"] != "filename"
            ):
                entry["value"] = value
                met += 1
                response = post(data=json.dumps(changed))
                is_answered(response)
                assert response.status_code in {status, 204}, response.text
    assert met


def test_fields_and_values_of_an_entry_must_be_as_many():
    with pytest.raises(BadRequest):
        sent.typed([{"part": "", "row": 0, "key": "name"}], [])


def test_a_row_is_added_only_to_a_part_that_the_entry_has():
    with pytest.raises(BadRequest):
        sent.cause({"type": "kit-add", "part": "gates"}, "rigs")


def test_a_long_link_is_carried_whole_by_the_page_of_places_and_kit(asked, post, usual):
    days = [
        f"2027-08-{day:02d}-{s}" for day in range(1, 32) for s in ("morning", "night")
    ]
    link = usual({"book": ",".join(days)}).search()
    body = next(b for o, b in asked.items() if f"{ids.KIT_PAGES}.children" in o)
    old = next(e for e in body["state"] if e["id"] == ids.KIT_LINK)
    state_ = [{**e, "value": link} if e is old else e for e in body["state"]]
    shown = post(data=json.dumps({**body, "state": state_})).text
    assert "2027-08-31-night" in shown


def test_the_name_of_a_file_is_told_on_one_line(catalog, example_file):
    served = Loaded(catalog, example_file)
    sent = kit_changes.from_file("data:,\xe4", "a\nb\u202e.toml", None, served)
    assert sent["said"] == "ab.toml is not UTF-8 text. Nothing was changed."


def test_the_name_of_a_gpx_file_is_told_on_one_line():
    _, said = loop_callbacks.from_file("data:,x", "a\nb\u202e.gpx")
    assert said == "ab.gpx did not arrive complete. The legs are unchanged."


LEARNED = {ids.LEARN_FRAMES: STORE, **CHOICES}


@wild.cases(60)
@given(values=wild.edited(LEARNED, at_most=6).map(wild.without_endless))
def test_frames_and_choices_are_learned_from_or_told_of(values, asked, post):
    body = next(b for o, b in asked.items() if f"{ids.LEARN_ANSWER}.children" in o)
    inputs = [
        {**e, "value": values.get(e["id"])} if e["id"] in LEARNED else e
        for e in body["inputs"]
    ]
    is_answered(post(data=json.dumps({**body, "inputs": inputs})))


@wild.cases(60)
@given(data=st.data())
def test_the_address_of_headers_answers_any_request(data, app):
    index = [["Forest/a.jpg", 50, [[0, 30]]], ["b.csv", 20, [[0, 10], [10, 10]]]]
    text = json.dumps(wild.without_endless(data.draw(wild.edited(index)))).encode()
    cut = data.draw(st.sampled_from([0, 0, 0, 5, -3]))
    body = struct.pack(">I", max(len(text) + cut, 0)) + text + data.draw(st.binary())
    response = app.server.test_client().post(learn_heads.PATH, data=body)
    assert response.status_code in (200, 400), response.text
    if response.status_code == 200:
        assert all("more" in a or "frames" in a for a in strict(response.text))
    else:
        assert wild.is_one_sentence(response.text.strip())


@wild.cases(150)
@given(data=st.data())
def test_a_callback_answers_wild_values(data, asked, post):
    body = asked[data.draw(st.sampled_from(sorted(asked)))]
    entries = [
        e
        for part in (*body["inputs"], *body["state"])
        for e in (part if isinstance(part, list) else [part])
    ]
    chosen = data.draw(st.sets(st.sampled_from(range(len(entries))), max_size=3))
    sent = json.loads(json.dumps(body))
    flat = [
        e
        for part in (*sent["inputs"], *sent["state"])
        for e in (part if isinstance(part, list) else [part])
    ]
    for i in chosen:
        value = flat[i].get("value")
        near = wild.edited(value) if isinstance(value, dict | list) else wild.VALUES
        flat[i]["value"] = data.draw(near | wild.VALUES)
    is_answered(post(data=json.dumps(wild.without_endless(sent))))


@wild.cases(100)
@given(data=st.data())
def test_a_callback_answers_requests_of_wild_shapes(data, asked, post):
    body = asked[data.draw(st.sampled_from(sorted(asked)))]
    sent = data.draw(wild.edited(body, at_most=2))
    is_answered(post(data=json.dumps(wild.without_endless(sent), default=str)))


@wild.cases(40)
@given(data=st.data())
def test_a_callback_answers_wild_catalogs_of_the_browser(data, asked, post, catalog):
    body = asked[data.draw(st.sampled_from(sorted(asked)))]
    text = wild.document(data.draw(wild.edited(wild.TABLES)))
    sent = json.dumps(body).replace(json.dumps(toml.dumps(catalog)), json.dumps(text))
    is_answered(post(data=sent))


@wild.cases(60)
@given(
    data=st.data(),
    kind=st.sampled_from(["places", "rigs", "bodies", "lenses", "converters"]),
)
def test_a_typed_entry_is_saved_whole_or_refused_in_one_sentence(data, kind, catalog):
    entry = data.draw(st.sampled_from(getattr(catalog, kind)))
    lines = catalog_form.flat(kind, catalog_form.saved(catalog, kind, entry.name))
    for line in data.draw(st.lists(st.sampled_from(lines), max_size=3)):
        line[3] = data.draw(wild.TEXTS)
    shown = {"kind": kind, "name": entry.name, "draft": "x", "lines": lines}
    served = Loaded(catalog, wild.EXAMPLE)
    sent = kit_changes.saved(shown, lines, None, served)
    if sent["wanted"] is None:
        assert wild.is_one_sentence(sent["said"]), sent["said"]
    else:
        assert saved.read(sent["wanted"]["text"], "again")


@wild.cases(60)
@given(data=st.data())
def test_two_tabs_are_made_one_or_told_why_not(data, catalog, example_file):
    served = Loaded(catalog, example_file)
    texts = [wild.document(data.draw(wild.edited(wild.TABLES))) for _ in range(3)]
    base, mine, newer = (
        {"text": text, "revision": str(i)} for i, text in enumerate(texts)
    )
    sent = kit_changes.both(mine, base, {"record": newer}, served)
    if sent["wanted"] is None:
        assert wild.is_one_sentence(sent["said"]), sent["said"]
    else:
        assert saved.read(sent["wanted"]["text"], "again")
