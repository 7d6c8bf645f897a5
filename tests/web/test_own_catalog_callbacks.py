"""The answers to a browser that keeps a catalog of its own, asked for by POST."""

import base64

import pytest

from lightplan.catalog import places, toml
from lightplan.choices.raw import RIG_FIELDS, Raw, slot_field
from lightplan.web import ids
from lightplan.web.kit import changes as kit_changes
from lightplan.web.kit import edit as catalog_edit
from lightplan.web.kit import fields as catalog_fields
from lightplan.web.kit import form as catalog_form

UPDATE = "/_dash-update-component"


@pytest.fixture(scope="module")
def mine(catalog):
    """The example with Mopane Loop under another name, and other gates."""
    entry = toml.table(catalog.place("Mopane Loop"))
    entry |= {"name": "Otter Pan", "gates": [{"morning": ["05:45", "09:15"]}]}
    return catalog_edit.put(catalog, "places", "Mopane Loop", entry)


@pytest.fixture(scope="module")
def record(mine):
    return {"text": toml.dumps(mine), "revision": "7"}


@pytest.fixture(scope="module")
def served_file(example_file):
    return places.Loaded(places.load(example_file), example_file)


@pytest.fixture(scope="module")
def post(app):
    """Ask the callback that changes one output, with the values given by id."""
    client = app.server.test_client()
    dependencies = client.get("/_dash-dependencies").json

    def ask(output, values):
        (asked,) = (d for d in dependencies if f"..{output}." in f"..{d['output']}.")
        named = [t.rsplit(".", 1) for t in asked["output"].strip(".").split("...")]
        outputs = [{"id": i, "property": p} for i, p in named]
        many = asked["output"].startswith("..")
        response = client.post(
            UPDATE,
            json={
                "output": asked["output"],
                "outputs": outputs if many else outputs[0],
                "inputs": [
                    {**e, "value": values.get(e["id"])} for e in asked["inputs"]
                ],
                "state": [{**e, "value": values.get(e["id"])} for e in asked["state"]],
                "changedPropIds": ["{id}.{property}".format(**asked["inputs"][0])],
            },
        )
        assert response.status_code == 200, response.text
        return response.json["response"]

    return ask


def form_of(raw):
    form = dict(raw.fields)
    for slot, rig in enumerate(raw.rigs):
        for field, text in zip(RIG_FIELDS, rig, strict=True):
            form[slot_field(field, slot)] = text
    return form


@pytest.mark.parametrize("path", ["/", "/year", "/kit"])
def test_a_link_to_a_place_of_ones_own_gets_its_page(path, post, record, usual):
    search = usual({"place": "Otter Pan"}).search()
    visit = {"path": path, "search": search, "record": record}
    page = str(post(f"{ids.ROOT}.children", {ids.VISIT: visit}))
    assert "Otter Pan" in page
    assert "is unknown" not in page


def test_without_a_record_the_same_link_is_mended(post, usual):
    search = usual({"place": "Otter Pan"}).search()
    visit = {"path": "/", "search": search, "record": None}
    page = str(post(f"{ids.ROOT}.children", {ids.VISIT: visit}))
    assert "'Otter Pan' is unknown" in page


@pytest.mark.parametrize("output", [f"{ids.DRIVES}.html", f"{ids.ANSWER}.children"])
def test_a_trip_is_planned_with_the_browsers_own_gates(output, post, record, usual):
    form = form_of(usual({"place": "Otter Pan"}))
    shown = str(post(output, {**form, ids.OWN_CATALOG: record}))
    assert "05:45" in shown


def test_a_year_is_planned_with_the_browsers_own_place(post, record, usual):
    form = form_of(usual({"place": "Otter Pan"}))
    shown = str(post(f"{ids.YEAR_ANSWER}.children", {**form, ids.OWN_CATALOG: record}))
    assert "05:45–09:15" in shown  # the gates of each week


def test_choices_with_an_own_place_are_no_problem(post, record, usual):
    raw = usual({"place": "Otter Pan"})
    values = {**form_of(raw), ids.PAGE: "trip", ids.OWN_CATALOG: record}
    changed = post(f"{ids.PROBLEM}.children", values)
    assert changed[ids.PROBLEM]["children"] == ""
    assert Raw.from_search(changed[ids.LINK]["data"])["place"] == "Otter Pan"


def test_a_record_that_cannot_be_read_is_told_on_the_page(post):
    visit = {"path": "/", "search": "", "record": {"text": "= 3", "revision": "1"}}
    page = str(post(f"{ids.ROOT}.children", {ids.VISIT: visit}))
    assert "The catalog of this browser is not valid TOML" in page
    assert "Mopane Loop" in page


def test_the_kit_page_shows_what_the_browser_holds(post, record):
    view = {"at": {"kind": "places", "name": "Otter Pan"}, "drafts": {}}
    values = {ids.KIT_VIEW: view, ids.KIT_BASE: record, ids.KIT_LINK: ""}
    shown = post(f"{ids.KIT_ANSWER}.children", values)
    answer = shown[ids.KIT_ANSWER]["children"]
    assert answer == "This browser has 6 places and 8 rigs of yours."
    lines = shown[ids.KIT_ORIGINAL]["data"]["lines"]
    assert ["gates", 0, "morning_opens", "05:45"] in lines
    assert "place=Otter+Pan" in str(shown[ids.KIT_PAGES])


# ------------------------------------------------------------- changes


def original(kind, name):
    return {"kind": kind, "name": name, "draft": f"{kind}:{name}", "lines": []}


def test_a_saved_entry_grows_from_the_revision_it_was_shown_at(record, served_file):
    lines = [["", 0, "name", "×3"], ["", 0, "factor", "3"]]
    sent = kit_changes.saved(original("converters", ""), lines, record, served_file)
    assert sent["wanted"]["base"] == "7"
    changed = places.read(sent["wanted"]["text"], "")
    assert [c.name for c in changed.converters] == ["×1.4", "×2", "×3"]
    assert changed.place("Otter Pan")


@pytest.mark.parametrize(
    ("factor", "name", "said"),
    [
        ("2.5", "×2.5", "Saved: ×2.5. No rig uses it yet"),
        ("1.4", "", "Saved: ×1.4."),
    ],
    ids=["in no rig", "in a rig"],
)
def test_a_part_that_no_rig_uses_is_said_to_be_one(factor, name, said, served_file):
    used = next(r.converter for r in served_file.catalog.rigs if r.converter)
    lines = [["", 0, "name", name or used], ["", 0, "factor", factor]]
    entry = original("converters", "" if name else used)
    wanted = kit_changes.saved(entry, lines, None, served_file)["wanted"]
    assert wanted["said"].replace(used, "×1.4").startswith(said)
    assert ("No rig" in wanted["said"]) == bool(name)


@pytest.mark.parametrize(
    ("blank", "said"),
    [
        ({}, "Saved: Mopane Loop."),
        ({"gates": 1}, "Saved: Mopane Loop. An empty season was left out."),
        (
            {"gates": 2, "spots": 1},
            "Saved: Mopane Loop. 2 empty seasons were left out. An empty spot was left "
            "out.",
        ),
    ],
)
def test_rows_left_blank_are_said_to_be_left_out(blank, said, served_file):
    texts = catalog_form.saved(served_file.catalog, "places", "Mopane Loop")
    for part, count in blank.items():
        texts[part] += [catalog_fields.usual(part)] * count
    sent = kit_changes.saved(
        original("places", "Mopane Loop"),
        catalog_form.flat("places", texts),
        None,
        served_file,
    )
    assert sent["wanted"]["said"] == said


def test_a_wrong_entry_is_a_sentence_and_no_change(record, served_file):
    lines = [["", 0, "name", "×3"], ["", 0, "factor", "9"]]
    sent = kit_changes.saved(original("converters", ""), lines, record, served_file)
    assert sent["wanted"] is None
    assert sent["said"] == "Converter '×3': factor must be at most 3, got 9."


def test_a_second_spot_of_one_name_is_the_same_sentence_and_no_change(served_file):
    place = served_file.catalog.places[0]
    texts = catalog_form.saved(served_file.catalog, "places", place.name)
    texts["spots"].append(dict(texts["spots"][0]))
    lines = catalog_form.flat("places", texts)
    sent = kit_changes.saved(original("places", place.name), lines, None, served_file)
    assert sent["wanted"] is None
    assert sent["said"] == (
        "Place 'Mopane Loop': spots must have different names, got 'Oxbow hide' twice."
    )


def test_what_was_removed_stays_in_the_form(record, served_file):
    shown = {
        **original("rigs", "300 prime ×2"),
        "lines": [["", 0, "name", "300 prime ×2"]],
    }
    sent = kit_changes.removed(shown, record, served_file)
    assert sent["wanted"]["left"] == shown["lines"]
    left = places.read(sent["wanted"]["text"], "").rigs
    assert "300 prime ×2" not in [rig.name for rig in left]


def upload(content: bytes) -> str:
    return "data:application/toml;base64," + base64.b64encode(content).decode()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"\xff\xfe", "mine.toml is not UTF-8 text. Nothing was changed."),
        (b" ", "mine.toml is empty"),
        (b"places = 3", "mine.toml: places must be a list"),
        (b"x" * 500_001, "mine.toml must be at most 500,000 characters"),
    ],
    ids=["no text", "empty", "no catalog", "too long"],
)
def test_a_wrong_file_is_a_sentence_and_no_change(content, said, record, served_file):
    sent = kit_changes.from_file(upload(content), "mine.toml", record, served_file)
    assert sent["wanted"] is None
    assert sent["said"].startswith(said)


def test_a_file_is_kept_word_for_word(example_file, served_file):
    content = example_file.read_bytes()
    sent = kit_changes.from_file(upload(content), "mine.toml", None, served_file)
    assert sent["wanted"]["text"] == content.decode()
    assert sent["wanted"]["ask"] == ""


def test_a_file_replaces_an_own_catalog_only_after_asking(
    example_file, record, served_file
):
    content = upload(example_file.read_bytes())
    sent = kit_changes.from_file(content, "mine.toml", record, served_file)
    assert "6 places and 8 rigs of yours" in sent["wanted"]["ask"]


def test_the_built_in_file_comes_back_only_after_asking(record, served_file):
    sent = kit_changes.without_own(record, served_file)
    assert sent["wanted"]["text"] == ""
    assert sent["wanted"]["ask"].startswith("Remove your 6 places and 8 rigs")
