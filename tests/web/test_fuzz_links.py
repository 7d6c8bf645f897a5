"""Whatever an address holds, it gets its page, and a plan or a sentence on it."""

import json
from urllib.parse import quote, urlencode

import pytest
import wild
from hypothesis import example, given
from hypothesis import strategies as st

from lightplan.catalog.places import Loaded
from lightplan.choices import state, table
from lightplan.choices.raw import OWN_FIELDS, Raw
from lightplan.web import ids, saved
from lightplan.web.pages import PAGES

PATHS = [page.path for page in PAGES]
RIG = ["600 prime ×1.4", "840", "5.6", "1/1600", "12800"]
# Every choice with a right value, the trip short so that it is planned at once.
GOOD = {
    **{choice.name: choice.right for choice in table.CHOICES},
    ids.SELECTED: "2027-08-13-morning",
    "rig": ["~".join(RIG), "400 prime~400~2.8", "150–600 zoom"],
}


def query(values: object) -> str:
    """Write fields as a query, each of a list's items under the same name."""
    if not isinstance(values, dict):
        return quote(str(values), errors="replace")
    pairs = [
        (name, item)
        for name, value in values.items()
        for item in (value if isinstance(value, list) else [value])
    ]
    return urlencode(pairs, errors="replace")


# A link's values are texts; numbers of thousands of digits Python cannot write.
LINKS = wild.edited(GOOD, at_most=4).map(wild.without_endless).map(query)
ODD_ADDRESSES = st.sampled_from(
    [
        "http://[::1/", "http://127.0.0.1/?" + "&" * 9000, "about:blank", "//", "?",
        "http://127.0.0.1/?rig=" + "~" * 7000, "http://127.0.0.1/year?%ED%A0%80=%FF",
        "http://127.0.0.1/kit?place=%00", "javascript:alert(1)", "http://a:b@c:99999/",
    ]
)  # fmt: skip


@pytest.fixture(scope="module")
def client(app):
    return app.server.test_client()


def strict(text: str) -> object:
    """Read JSON as a browser does, which knows no NaN."""

    def refuse(name: str) -> None:
        raise AssertionError(name)

    return json.loads(text, parse_constant=refuse)


def test_a_right_link_has_every_field_and_is_taken_as_it_is(catalog, now):
    raw, said = state.mended(Raw.from_search(query(GOOD)), catalog, now)
    assert said == ()
    # A place of the file brings its own position and zone.
    fields = set(table.BY_NAME) - set(OWN_FIELDS)
    assert {name: raw[name] for name in fields} == {name: GOOD[name] for name in fields}


@wild.cases(40)
@given(path=st.sampled_from(PATHS), search=LINKS)
def test_any_link_gets_its_page(path, search, client):
    response = client.get(f"{path}?{search}")
    assert response.status_code == 200
    asked = client.get(
        "/_dash-layout", headers={"Referer": f"http://127.0.0.1{path}?{search}"}
    )
    assert asked.status_code == 200, asked.text
    assert strict(asked.text)


@wild.cases(20)
@given(
    address=ODD_ADDRESSES | wild.TEXTS.map(lambda text: quote(text, errors="replace"))
)
def test_a_layout_is_given_to_any_address_that_asks(address, client):
    asked = client.get("/_dash-layout", headers={"Referer": address})
    assert asked.status_code == 200, asked.text
    assert strict(asked.text)


@wild.cases(200)
@given(search=LINKS)
@example(search="place=" + "x" * 7000)
@example(search="place=own+coordinates&zone=" + "Africa/" * 900)
def test_any_link_is_mended_in_single_sentences_and_then_read(search, catalog, now):
    raw, said = state.mended(Raw.from_search(search), catalog, now)
    state.read(raw, catalog)
    assert all(wild.is_one_sentence(sentence) for sentence in said), said


@wild.cases(200)
@given(search=LINKS)
def test_a_mended_link_is_a_link_to_itself(search, catalog, now):
    raw, _ = state.mended(Raw.from_search(search), catalog, now)
    again, said = state.mended(Raw.from_search(raw.search()), catalog, now)
    assert said == ()
    assert again.search() == raw.search()


# --------------------------------------------------------- what a browser keeps

RECORDS = st.one_of(
    wild.edited({"text": "", "revision": "7"}),
    wild.edited(wild.TABLES).map(
        lambda tables: {"text": wild.document(tables), "revision": "7"}
    ),
    wild.VALUES,
)


@wild.cases(80)
@given(record=RECORDS)
def test_any_record_is_planned_with_or_told_of(record, example_file, catalog):
    served = Loaded(catalog, example_file)
    found = saved.loaded(record, served)
    assert found.catalog.places
    assert not found.problem or wild.is_one_sentence(found.problem), found.problem
    assert wild.is_one_sentence(saved.answer(record, served))
