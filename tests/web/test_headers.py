"""Headers of every answer, limits of every request, errors as one plain sentence."""

import base64
import hashlib
import json
import logging
import re

import flask
import pytest
import wild
from plotly.io.json import to_json_plotly

from lightplan.catalog import places
from lightplan.catalog.places import Loaded
from lightplan.web import clock, guard, ids
from lightplan.web import saved as own
from lightplan.web.app import create_app
from lightplan.web.frames import content as learn_content
from lightplan.web.frames import kept as learn_frames
from lightplan.web.kit import page as kit_page
from lightplan.web.loop import page as loop_page
from lightplan.web.pages import PAGES, Visit
from lightplan.web.spots import page as spots_page
from lightplan.web.stop import page as stop_page
from lightplan.web.trip import page as trip
from lightplan.web.trip import page as trip_page
from lightplan.web.year import page as year_page

UPDATE = "/_dash-update-component"
MALFORMED = "This request did not come from a lightplan page.\n"
PATHS = [page.path for page in PAGES if page.in_header]


@pytest.fixture(scope="module")
def client(app):
    return app.server.test_client()


@pytest.fixture(scope="module")
def question(client):
    """A right request: the page of an address for a browser that keeps nothing."""
    visit = {"path": "/", "search": "", "record": None}
    return {
        "output": f"{ids.ROOT}.children",
        "outputs": {"id": ids.ROOT, "property": "children"},
        "inputs": [{"id": ids.VISIT, "property": "data", "value": visit}],
        "changedPropIds": [f"{ids.VISIT}.data"],
        "state": [],
    }


# ------------------------------------------------------------- headers

EVERY_KIND = [
    *(("GET", path, 200) for path in PATHS),
    ("GET", "/?place=Mopane+Loop", 200),
    ("GET", "/_dash-layout", 200),
    ("GET", "/_dash-dependencies", 200),
    ("GET", "/assets/lightplan.css", 200),
    ("POST", UPDATE, 200),
    ("POST", UPDATE + "?cancelJob=1", 400),
    ("GET", "/assets/nothing.js", 404),
    ("GET", "/nothing", 404),
    ("POST", "/", 405),
]


@pytest.mark.parametrize(("method", "path", "status"), EVERY_KIND)
def test_every_kind_of_answer_keeps_the_browser_to_this_host(
    method, path, status, client, question
):
    with client.open(
        path, method=method, json=question if method == "POST" else None
    ) as response:
        assert response.status_code == status
        headers = response.headers
    policy = dict(
        part.split(" ", 1) for part in headers["Content-Security-Policy"].split("; ")
    )
    assert policy["default-src"] == "'self'"
    assert policy["script-src"].startswith("'self'")
    assert "unsafe-inline" not in policy["script-src"]
    assert "unsafe-eval" not in policy["script-src"]
    assert policy["frame-ancestors"] == policy["object-src"] == "'none'"
    assert policy["form-action"] == policy["base-uri"] == "'self'"
    assert not any("http" in rule or "*" in rule for rule in policy.values())
    assert headers["X-Content-Type-Options"] == "nosniff"
    # A layout is built from the page's own address, so that much must be sent.
    assert headers["Referrer-Policy"] == "same-origin"
    assert headers["X-Frame-Options"] == "DENY"
    assert headers["Cross-Origin-Opener-Policy"] == "same-origin"
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
    for feature in ("camera", "geolocation", "microphone", "payment", "usb"):
        assert f"{feature}=()" in headers["Permissions-Policy"].split(", ")


@pytest.mark.parametrize("path", ["/_dash-layout", UPDATE])
def test_somebodys_plan_is_kept_by_no_cache(path, client, question):
    asked = client.post(path, json=question) if path == UPDATE else client.get(path)
    assert asked.status_code == 200
    assert asked.headers["Cache-Control"] == "no-store"


def test_every_inline_script_of_the_page_is_one_the_policy_knows(client):
    # CSP Level 3, 2.3.1: a source is the base64 of the script's SHA-256.
    response = client.get("/")
    policy = response.headers["Content-Security-Policy"]
    inline = re.findall(r"<script[^>]*>([^<]+)</script>", response.text)
    code = [text for text in inline if not text.lstrip().startswith("{")]  # not data
    assert code
    for text in code:
        digest = hashlib.sha256(text.encode()).digest()
        assert f"'sha256-{base64.b64encode(digest).decode()}'" in policy


def test_the_page_is_there_in_english(client):
    response = client.get("/")
    assert response.status_code == 200
    assert '<html lang="en">' in response.text
    assert response.text.count("<title>") == 1


def test_each_page_has_a_title_of_its_own_before_any_script_runs(client):
    # WCAG 2.2, 2.4.2: titles that say what a page is about.
    paths = [page.path for page in PAGES]
    titles = [
        re.findall("<title>(.*)</title>", client.get(path).text)[0] for path in paths
    ]
    assert len(set(titles)) == len(paths) == 8
    labels = [page.title for page in PAGES]
    assert titles == [f"{label} · lightplan" for label in labels]


# ------------------------------------------------------------- errors


def is_plain(response, status: int) -> bool:
    said = response.text.removesuffix("\n")
    return (
        response.status_code == status
        and response.mimetype == "text/plain"
        and wild.is_one_sentence(said)
        and said.endswith(".")
    )


@pytest.mark.parametrize(
    "path",
    [
        "/nothing", "/kit/", "/wp-login.php", "/%00", "/%ff", "/.git/config", "/app.py",
        "/assets/nothing.js", "/assets/../factory.py", "/assets/%2e%2e/factory.py",
        "/assets/..%5cfactory.py", "/static/nothing", "/_dash-layout/x",
        "/_dash-component-suites/nothing/x.js", "/_dash-component-suites/dash/x.js",
        "/_dash-component-suites/dash/../../../../etc/passwd",
    ],
)  # fmt: skip
def test_an_address_with_nothing_at_it_is_said_to_be_one(path, client):
    response = client.get(path)
    assert is_plain(response, 404), response.text
    assert "There is no page at this address" in response.text


@pytest.mark.parametrize(
    ("method", "path"),
    [("POST", "/"), ("PUT", "/year"), ("GET", UPDATE), ("DELETE", "/_dash-layout")],
)
def test_a_method_that_an_address_does_not_take_is_refused(method, path, client):
    assert is_plain(client.open(path, method=method), 405)


def test_a_refused_method_comes_with_those_that_are_taken(client):
    # RFC 9110, 15.5.6: a 405 must carry Allow.
    assert "GET" in client.post("/").headers["Allow"]


def changed(question, **changes):
    return json.dumps({**question, **changes})


SHAPES = [
    lambda q: "{",
    lambda q: "[]",
    lambda q: "null",
    lambda q: "[" * 100_000,
    lambda q: json.dumps({k: v for k, v in q.items() if k != "output"}),
    lambda q: changed(q, output="no.such"),
    lambda q: changed(q, output=["root"]),
    lambda q: changed(q, outputs=None),
    lambda q: changed(q, outputs={"id": "kit", "property": "children"}),
    lambda q: changed(q, inputs=[]),
    lambda q: changed(q, inputs=q["inputs"] * 2),
    lambda q: changed(q, inputs=["visit.data"]),
    lambda q: changed(q, inputs=[{**q["inputs"][0], "id": "page"}]),
    lambda q: changed(q, state=q["inputs"]),
    lambda q: changed(q, changedPropIds=["{.data"]),
    lambda q: changed(q, changedPropIds=[1]),
    lambda q: changed(q, inputs=[{**q["inputs"][0], "value": "/"}]),
    lambda q: changed(q, inputs=[{**q["inputs"][0], "value": {"path": 1}}]),
    lambda q: changed(q, more=json.loads("[" * 30 + "]" * 30)),
]


@pytest.mark.parametrize("shape", SHAPES, ids=range(len(SHAPES)))
def test_a_request_that_no_page_makes_is_refused(shape, client, question):
    response = client.post(
        UPDATE, data=shape(question), content_type="application/json"
    )
    assert is_plain(response, 400), response.text
    assert response.text == MALFORMED


def test_a_request_of_another_type_is_refused(client):
    assert is_plain(client.post(UPDATE, data="{}", content_type="text/plain"), 415)


def test_more_than_the_largest_request_is_refused(client, question):
    much = changed(question, more="x" * guard.LARGEST_REQUEST)
    response = client.post(UPDATE, data=much, content_type="application/json")
    assert is_plain(response, 413), response.text
    assert "at most 12 MB" in response.text


def test_the_largest_catalogs_of_two_tabs_fit_a_request():
    # Three texts of 500,000 characters, four bytes for each at most in UTF-8.
    assert guard.LARGEST_REQUEST > 3 * 500_000 * 4


def test_a_fault_of_ours_is_told_in_a_sentence_and_logged(
    example_file, question, monkeypatch, caplog
):
    def broken(*_: object) -> None:
        raise RuntimeError("/secret/place in the code")

    app = create_app(str(example_file))
    monkeypatch.setattr(trip_page, "page", broken)
    with caplog.at_level(logging.ERROR):
        response = app.server.test_client().post(UPDATE, json=question)
    assert is_plain(response, 500), response.text
    assert "secret" not in response.text
    assert "/secret/place" in caplog.text
    assert response.headers["Content-Security-Policy"]


def test_a_file_that_is_missing_is_named_without_its_folder(tmp_path):
    page = create_app(str(tmp_path / "mine.toml")).server.test_client()
    said = page.get("/_dash-layout").text
    assert "mine.toml cannot be read" in said
    assert tmp_path.name not in said


# ------------------------------------------------------------- texts stay texts


def strings(tree, path=()):
    """Return every text within an answer, with the way to it."""
    if isinstance(tree, str):
        yield path, tree
    steps = tree.items() if isinstance(tree, dict) else ()
    steps = enumerate(tree) if isinstance(tree, list) else steps
    for key, inner in steps:
        yield from strings(inner, (*path, str(key)))


HOSTILE = {
    **wild.TABLES,
    "places": [
        {
            **wild.TABLES["places"][0],
            "name": wild.MARKUP,
            "closures": [{"from": "01-01", "to": "03-01", "reason": wild.MARKUP}],
        },
        {**wild.TABLES["places"][1], "name": wild.FORMULA},
    ],
}


@pytest.fixture(scope="module")
def hostile():
    return places.read(wild.document(HOSTILE), "")


def are_only_shown(tree) -> bool:
    """Tell whether markup in a tree of components is nothing but what it says."""
    found = [way[-1] for way, text in strings(tree) if wild.MARKUP in text]
    shown = {"children", "value", "label", "title", "name"}
    return bool(found) and all(key in shown or key.isdigit() for key in found)


def plain(answer):
    return json.loads(to_json_plotly(answer))


def test_markup_in_names_is_text_on_the_trips_page(hostile, usual):
    raw = usual({"place": wild.MARKUP, "from": "2027-02-01"})
    raw = raw.replaced({"to": "2027-02-03"})
    loaded = Loaded(hostile, wild.EXAMPLE)
    assert are_only_shown(plain(trip_page.page(Visit(raw, loaded, (), None, loaded))))
    assert are_only_shown(plain(trip.rows(raw, hostile)))


def test_markup_in_names_is_text_on_the_page_of_places_and_kit(hostile):
    record = {"text": wild.document(HOSTILE), "revision": "1"}
    view = {"at": {"kind": "places", "name": wild.MARKUP}}
    loaded = Loaded(hostile, wild.EXAMPLE)
    shown = plain(kit_page.content(view, record, loaded, "", clock.now()))
    assert are_only_shown({key: shown[key] for key in ("lists", "form")})
    assert "Markdown" not in str(shown)


def test_a_name_of_a_link_is_quoted_in_the_address_it_makes(usual):
    search = usual({"place": wild.MARKUP}).search()
    assert not set("<> \"'") & set(search)


def test_markup_in_a_reason_is_text_in_the_years_picture(usual, hostile):
    raw = usual({"place": wild.MARKUP, "year": "2027"})
    figure = plain(year_page.content(raw, hostile, "paper")["figure"])
    found = [text for _, text in strings(figure) if "img" in text]
    assert found
    assert all("<" not in text for text in found), found


def test_markup_in_names_stays_out_of_the_drives_picture(usual, hostile):
    raw = usual({"place": wild.MARKUP})
    figure = plain(trip.drive(raw, hostile, "paper")["figure"])
    assert not [text for _, text in strings(figure) if "<img" in text]


# Plotly makes a link of one and bold letters of the other.
LINK, BOLD = '<a href="javascript:alert(1)">x</a>', "<b>x</b>"


@pytest.fixture(scope="module", params=[LINK, BOLD], ids=["link", "bold"])
def named(request):
    """A name of a stranger's, and a catalog that has it wherever a name may be."""
    name = request.param
    first = wild.TABLES["places"][0]
    spot = {"name": name, "bearing_deg": 270, "horizon": [[0, 3], [180, 4]]}
    closure = {"from": "01-01", "to": "03-01", "reason": name}
    cover = {"name": name, "stops": 3, "spread_stops": 0.5, "base": "woodland"}
    place = {**first, "name": name, "cover": name, "spots": [{**spot, "cover": name}]}
    tables = {
        **wild.TABLES,
        "covers": [cover],
        "places": [{**place, "closures": [closure]}],
        "rigs": [{**wild.TABLES["rigs"][0], "name": name}],
    }
    return name, places.read(wild.document(tables), "")


def frames_of(name):
    """A store of frames that say they belong to a group, a minute apart."""
    return [
        [f"{i}.jpg", f"2025-08-12T15:{i:02d}:00", 120, None, 6.3, 0.002, 800, 0, name]
        for i in range(12)
    ]


# What each page shows, of the texts in an address and a catalog.
SHOWN = {
    "trip": lambda raw, catalog, _: trip.drive(raw, catalog, "paper"),
    "year": lambda raw, catalog, _: year_page.content(raw, catalog, "paper"),
    "stop": lambda raw, catalog, _: stop_page.minute(raw, catalog, 30, "paper"),
    "spots": lambda raw, catalog, _: spots_page.content(
        raw, catalog, "paper", clock.now()
    ),
    "loop": lambda raw, catalog, _: loop_page.content(raw, catalog, "paper"),
    "learn": lambda raw, catalog, name: learn_content.content(
        raw, {}, {"frames": frames_of(name)}, catalog, "paper", clock.now()
    ),
}


@pytest.mark.parametrize("page", SHOWN)
def test_a_name_is_no_markup_in_any_picture(page, named, usual):
    name, catalog = named
    chosen = {
        **{"place": name, "spot": name, "cover": name, "year": "2027"},
        "skyline": f"{name}: {name}",
    }
    raw = usual(chosen, rigs=((name,),))
    figure = plain(SHOWN[page](raw, catalog, name)["figure"])
    assert figure["data"]
    texts = [text for _, text in strings(figure)]
    assert not [text for text in texts if "<a" in text or "<b>x" in text]
    if page in ("year", "spots", "learn"):  # which do show the name
        assert [text for text in texts if text.startswith("&lt;")]


def test_what_is_downloaded_has_a_name_of_ours(client):
    asked = {
        "output": f"{ids.KIT_FILE}.data",
        "outputs": {"id": ids.KIT_FILE, "property": "data"},
        "inputs": [{"id": ids.KIT_DOWNLOAD, "property": "n_clicks", "value": 1}],
        "state": [
            {
                "id": ids.KIT_BASE,
                "property": "data",
                "value": {"text": "x", "revision": "1", "filename": wild.PATH},
            }
        ],
        "changedPropIds": [f"{ids.KIT_DOWNLOAD}.n_clicks"],
    }
    sent = client.post(UPDATE, json=asked).json["response"][ids.KIT_FILE]["data"]
    assert sent["filename"] == "locations.toml"


@pytest.mark.parametrize("what", ["[]", "{}", "1"])
def test_millions_of_things_are_refused_before_they_are_made(
    what, client, question, monkeypatch
):
    monkeypatch.setattr(
        flask.Request, "get_json", lambda *a, **k: pytest.fail("they were made")
    )
    much = changed(question, more="@").replace('"@"', f"[{what}{f',{what}' * 500_000}]")
    response = client.post(UPDATE, data=much, content_type="application/json")
    assert is_plain(response, 400), response.text


def test_the_longest_catalogs_and_the_most_frames_fit_a_request(client, question):
    # Skylines alone, as `toml.dumps` writes them, in three catalogs; or rows of nine
    # values beside one.
    skyline = ("[60.5, 2.5], " * own.LONGEST_FILE)[: own.LONGEST_FILE]
    row = ["Forest/1.jpg", "2025-08-12T15:00:00", 120, None, 6.3, 0.002, 800, 0, ""]
    for more in ([skyline] * 3, [skyline, [row] * learn_frames.MOST_FRAMES]):
        response = client.post(UPDATE, json={**question, "more": more})
        assert response.status_code == 200


def test_more_changes_than_inputs_are_refused(client, question):
    many = question["changedPropIds"] * 2
    assert is_plain(client.post(UPDATE, json={**question, "changedPropIds": many}), 400)
