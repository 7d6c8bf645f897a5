"""Callbacks and layout fit together, and nothing points at another host."""

import re
from pathlib import Path

import pytest
from dash.fingerprint import check_fingerprint

from lightplan.choices import typed
from lightplan.choices.raw import RIG_FIELDS, slot_field
from lightplan.stop import words as stop_words
from lightplan.web import app as factory
from lightplan.web import ids
from lightplan.web.app import create_app
from lightplan.web.pages import PAGES

ASSETS = Path(factory.__file__).parent / "assets"
STYLES = ASSETS.with_name("styles")
PATHS = [page.path for page in PAGES if page.in_header]


@pytest.fixture(scope="module")
def dependencies(app):
    """Every callback as the browser gets to know it."""
    return app.server.test_client().get("/_dash-dependencies").json


def outputs(dependency) -> list[str]:
    """The ``id.property`` of each output; duplicates that are meant end in ``@…``."""
    text = dependency["output"]
    return text.strip(".").split("...") if text.startswith("..") else [text]


def parts(dependency) -> list[tuple[str, str]]:
    named = [tuple(text.rsplit(".", 1)) for text in outputs(dependency)]
    given = dependency["inputs"] + dependency["state"]
    return [*named, *((entry["id"], entry["property"]) for entry in given)]


@pytest.fixture(scope="module")
def components(app, walk):
    """Every component of the page that has an id of its own, by it."""
    named = {}
    for path in PATHS:
        with app.server.test_request_context(
            "/_dash-layout", headers={"Referer": f"http://127.0.0.1{path}"}
        ):
            each = app.layout()
        found = [c for c in walk(each) if isinstance(getattr(c, "id", None), str)]
        assert len({c.id for c in found}) == len(found)  # no id twice on a page
        named |= {component.id: component for component in found}
    return named


def test_a_callback_has_all_of_its_outputs_on_one_page(app, dependencies, walk):
    # Dash runs it only where it finds them; some here and some there is an error.
    for path in PATHS:
        with app.server.test_request_context(
            "/_dash-layout", headers={"Referer": f"http://127.0.0.1{path}"}
        ):
            here = {
                getattr(c, "id", None)
                for c in walk(app.layout())
                if not isinstance(getattr(c, "id", None), dict)
            }
        for dependency in dependencies:
            named = [text.rsplit(".", 1)[0] for text in outputs(dependency)]
            there = [name in here for name in named if name[0] != "{"]
            assert all(there) or not any(there), (path, named)


def test_every_id_a_callback_names_is_on_the_page(dependencies, components):
    fixed = {name for d in dependencies for name, _ in parts(d) if name[0] != "{"}
    assert fixed - components.keys() == set()
    assert len(fixed) > 30  # the form's, at least


def test_every_property_a_callback_names_is_one_its_component_has(
    dependencies, components
):
    for dependency in dependencies:
        for name, prop in parts(dependency):
            if name in components:
                known = components[name].available_properties
                bare = prop.split("@")[0]
                wild = f"{bare.split('-')[0]}-*"  # aria-*, data-*
                assert bare in known or wild in known, (name, prop)


def test_a_callback_for_many_is_none_for_every_drive(dependencies):
    # The renderer's work for such a callback grows with the drives.
    wild = {name for d in dependencies for name, _ in parts(d) if name[0] == "{"}
    others = ('"type":"kit-', '"type":"learn-', '"type":"nav"')
    wild -= {name for name in wild if any(other in name for other in others)}
    assert wild == {'{"file":["ALL"],"type":"take"}'}


def test_no_output_is_written_by_two_callbacks_unawares(dependencies):
    named = [text for d in dependencies for text in outputs(d)]
    assert len(named) == len(set(named))
    shared = {text.split("@")[0] for text in named if "@" in text}
    # On the page of places and kit several buttons lead to a change or a sentence.
    assert shared <= {
        f"{ids.MINUTE}.value",
        f"{ids.SELECTED}.data",  # by a row of the trip, or the list of where to stop
        f"{ids.KIT_FORM}.children",
        f"{ids.KIT_WANTED}.data",
        f"{ids.KIT_AT}.data",
        f"{ids.KIT_SAID}.children",
        f"{ids.KIT_SAID}.className",
    }


def test_what_runs_in_the_browser_is_in_the_assets(dependencies):
    scripts = {path.stem: path.read_text("utf-8") for path in ASSETS.glob("*.js")}
    called = [
        d["clientside_function"] for d in dependencies if d["clientside_function"]
    ]
    assert called
    for function in called:
        script = scripts[function["namespace"]]
        name = function["function_name"]
        written = re.search(rf"^    (async )?{name}(\(|,)", script, re.MULTILINE)
        assert written, name


def test_two_apps_have_all_their_callbacks_each(example_file):
    # Callbacks registered globally would go to the first app that serves a page.
    counts = []
    for app in (create_app(str(example_file)), create_app(str(example_file))):
        client = app.server.test_client()
        assert client.get("/_dash-layout").status_code == 200
        counts.append(len(client.get("/_dash-dependencies").json))
    assert counts[0] == counts[1] > 5


# ------------------------------------------------------------- no other host

FOREIGN = re.compile(r"(?:https?:)?//[a-z0-9-]+(?:\.[a-z0-9-]+)+", re.IGNORECASE)


def test_the_page_names_no_other_host(app):
    html = app.server.test_client().get("/").text
    assert FOREIGN.findall(html) == []
    assert "<script" in html


@pytest.mark.parametrize(
    "asset",
    [*sorted(ASSETS.iterdir()), *sorted(STYLES.iterdir())],
    ids=lambda path: path.name,
)
def test_no_asset_names_another_host(asset):
    assert FOREIGN.findall(asset.read_text("utf-8")) == []
    assert "@import" not in asset.read_text("utf-8")


def test_every_script_and_sheet_of_the_page_is_served(app):
    client = app.server.test_client()
    html = client.get("/").text
    sources = re.findall(r'(?:src|href)="(/[^"]+)"', html)
    assert any("lightplan.css" in source for source in sources)
    assert any("lightplan.js" in source for source in sources)
    for source in sources:
        with client.get(source) as response:
            assert response.status_code == 200, source


def test_a_server_knows_its_scripts_before_it_is_asked_for_a_page(app, example_file):
    # Browsers that came together to a new server, or to a worker that had made no
    # page yet, were told that there are no such scripts.
    html = app.server.test_client().get("/").text
    asked = re.findall(r'src="/_dash-component-suites/([^/]+)/([^"]+)"', html)
    assert len(asked) > 5
    known = create_app(str(example_file)).registered_paths
    for package, path in asked:
        assert check_fingerprint(path)[0] in known[package]


# ------------------------------------------------------------- what a link carries


def test_the_page_for_a_link_carries_the_links_values(app, usual, served, by_id):
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
        "blur": "2.5",
    }
    rigs = (("600 prime", "600", "8", "1600", "12800"), ("400 prime",))
    raw = usual(changes, rigs, drive="2027-03-27-evening")
    found = by_id(served(app, raw.search()))
    shown = {name: typed.text(found[name]["value"]) for name in changes}
    numbers = {"back": "40.0", "distance": "60.0"}
    assert shown == {**changes, **numbers}
    slot = [found[slot_field(f, 0)]["value"] for f in RIG_FIELDS]
    assert slot == ["600 prime", 600.0, "8", "1600", "12800"]
    assert found[slot_field("rig", 1)]["value"] == "400 prime"
    assert found[ids.SELECTED]["data"] == "2027-03-27-evening"


def test_slots_without_a_rig_are_hidden(app, usual, served, by_id):
    found = by_id(served(app, usual(rigs=(("600 prime",), ("400 prime",))).search()))
    hidden = ["hidden" in found[ids.slot_box(i)]["className"] for i in range(6)]
    assert hidden == [False, False, True, True, True, True]


def test_coordinates_are_shown_only_for_a_place_of_ones_own(
    app, usual, own, served, by_id
):
    with_file = by_id(served(app, usual().search()))
    with_own = by_id(served(app, usual(own).search()))
    assert "hidden" in with_file[ids.OWN_PLACE]["className"]
    assert "hidden" not in with_own[ids.OWN_PLACE]["className"]
    assert with_own["lat"]["value"] == -24.5
    assert with_own["zone"]["value"] == "Africa/Johannesburg"


def test_what_stands_above_the_drives_is_true_without_gates_too(
    app, usual, own, served
):
    page = str(served(app, usual(own).search()))
    assert "Light within each drive" in page
    assert "inside the gates" not in page
    assert "count to the gate" not in page


@pytest.mark.parametrize(
    ("kind", "option"),
    [("aperture", "7"), ("shutter", "1700"), ("iso", "7000")],
)
def test_a_setting_between_the_usual_steps_is_among_a_controls_choices(
    kind, option, app, usual, served, by_id
):
    rig = {"aperture": ("600 prime", "", "7"), "shutter": ("600 prime", "", "", "1700")}
    rigs = (rig.get(kind, ("600 prime", "", "", "", "7000")),)
    control = by_id(served(app, usual(rigs=rigs).search()))[slot_field(kind, 0)]
    assert control["value"] == option
    assert option in [entry["value"] for entry in control["data"]]


def test_a_damaged_link_says_what_was_replaced(app, usual, served):
    page = str(served(app, usual({"sky": "claer", "back": "999"}).search()))
    assert "claer" in page
    assert "Travel time to the gate must be 0 to 600 min, got" in page
    assert "Replaced by the usual values" in page


def test_a_sound_link_says_nothing_of_the_kind(app, usual, served):
    assert "Replaced" not in str(served(app, usual().search()))


# ------------------------------------------------------------- the file


def test_a_broken_file_starts_the_app_on_the_example_and_says_so(
    tmp_path, served, by_id
):
    broken = tmp_path / "mine.toml"
    broken.write_text("[[places]]\nname = 'Here'\nlatitude_deg = 95\n", "utf-8")
    page = served(create_app(str(broken)), "")
    assert by_id(page)["place"]["value"] == "Mopane Loop"
    assert "mine.toml" in str(page)
    assert "latitude_deg" in str(page)
    assert "The built-in example is shown instead." in str(page)


def test_the_environment_names_the_file(tmp_path, monkeypatch, example_file, served):
    text = example_file.read_text("utf-8").replace("Mopane Loop", "Marula Loop")
    mine = tmp_path / "mine.toml"
    mine.write_text(text, "utf-8")
    monkeypatch.setenv("LIGHTPLAN_FILE", str(mine))
    assert "Marula Loop" in str(served(create_app(), ""))


def test_a_file_given_by_hand_goes_before_the_environment(
    monkeypatch, example_file, served
):
    monkeypatch.setenv("LIGHTPLAN_FILE", "/nowhere/at/all.toml")
    assert "Mopane Loop" in str(served(create_app(str(example_file)), ""))


@pytest.mark.parametrize("path", ["/stop", "/spots", "/loop"])
def test_where_one_chooses_a_side_the_cautions_stand_by_the_picture(path, app, text_of):
    with app.server.test_request_context(
        "/_dash-layout", headers={"Referer": f"http://127.0.0.1{path}"}
    ):
        shown = text_of(app.layout())
    assert all(caution in shown for caution in stop_words.CAUTIONS)
