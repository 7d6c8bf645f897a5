"""Whatever is done to a file, it is read or refused in one plain sentence."""

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
import wild
from hypothesis import example, given
from hypothesis import strategies as st

from lightplan.catalog import places
from lightplan.catalog.places import Catalog, PlacesError

EXAMPLE = Path(__file__).parents[2] / places.EXAMPLE_FILE
LINES = [
    line
    for line in EXAMPLE.read_text(encoding="utf-8").splitlines()
    if line and not line.startswith("#")
]
LITERAL = re.compile(r'"[^"]*"|-?\d+(?:\.\d+)?')
NOT_FOR_OWNERS = ("\n", "pydantic", "Traceback", "Input should", "validation error")
LONGEST_SENTENCE = 600  # characters; more is no sentence

KEYS = sorted({key for keys in places.KEYS.values() for key in keys} | {"from_", "x"})
# TOML basic strings are written as JSON strings are, but for a few controls.
STRINGS = st.text(max_size=30).map(lambda text: json.dumps(text, ensure_ascii=False))
ODD_VALUES = [
        "0", "-1", "1", "91", "1e400", "-1e-300", "nan", "inf", "-inf", "true", "false",
        "[]", "{}", "[[]]", "[1]", "[[1]]", "[[1, 2, 3]]", '["06:00"]', '["x", "y"]',
        '["06:00", "06:00", "07:00"]', "{ a = 1 }", "[{ name = 1 }]", "1979-05-27",
        "07:32:00", "1979-05-27T07:32:00Z", '""', '" "', '"06:00"', '"25:61"', '"02-29"',
        '"2027-02-30"', '"sunrise"', '"nan"', '"1"', '"\\n"', '"Africa/Lusaka"',
        "9223372036854775808", "1" + "0" * 400,
    ]  # fmt: skip
VALUES = STRINGS | st.sampled_from(ODD_VALUES)
# Every key of every table once.
COMPACT = """\
[light]
golden_low_deg = -4
golden_high_deg = 6
hard_deg = 30
[[places]]
name = "Test Pan"
latitude_deg = -13.1
longitude_deg = 31.8
timezone = "Africa/Lusaka"
elevation_m = 540
sky = "clear"
cover = "open"
air = [0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.2, 0.3, 0.4, 0.3, 0.2]
[[places.gates]]
from = "05-01"
to = "10-31"
morning = ["06:00", "10:00"]
evening = ["15:30", "sunset+00:15"]
night = ["19:30", "22:00"]
[[places.closures]]
from = "2027-05-01"
to = "2027-05-03"
weekday = "Friday"
session = "evening"
reason = "market"
[[places.spots]]
name = "hide"
bearing_deg = 115
cover = "shade"
horizon = [[60, 2], [90, 4]]
[[covers]]
name = "thicket"
stops = 3.4
spread_stops = 0.5
base = "woodland"
bursts = 41
frames = 180
[[bodies]]
name = "body"
format = "full frame"
width_mm = 36
height_mm = 24
megapixels = 45
iso_ceiling = 6400
base_iso = 64
stabiliser_stops = 3.5
[[lenses]]
name = "lens"
widest = [[150, 5.0], [600, 6.3]]
transmission = 0.9
stabiliser_stops = 4
[[converters]]
name = "tc"
factor = 1.4
[[rigs]]
name = "rig"
body = "body"
lens = "lens"
converter = "tc"
""".splitlines()
VALUE_LINES = [n for n, line in enumerate(COMPACT) if "=" in line]
PLACES_IN_FILE = st.integers(0, len(LINES) - 1)

EDITS = st.one_of(
    st.tuples(st.just("delete"), PLACES_IN_FILE, st.just(""), st.just(0)),
    st.tuples(st.just("repeat"), PLACES_IN_FILE, st.just(""), st.just(0)),
    st.tuples(st.just("key"), PLACES_IN_FILE, st.sampled_from(KEYS), st.just(0)),
    st.tuples(st.just("value"), PLACES_IN_FILE, VALUES, st.just(0)),
    st.tuples(st.just("literal"), PLACES_IN_FILE, VALUES, st.integers(0, 20)),
    st.tuples(st.just("insert"), PLACES_IN_FILE, VALUES, st.sampled_from(KEYS)),
)


def edited(line: str, kind: str, text: str, extra: int | str) -> list[str]:
    """Return what one edit makes of a line."""
    key, equals, value = line.partition(" = ")
    if kind == "delete":
        return []
    if kind == "repeat":
        return [line, line]
    if kind == "insert":
        return [line, f"{extra} = {text}"]
    if not equals:
        return [line.replace("places", text)] if kind == "key" else [line]
    if kind == "key":
        return [f"{text} = {value}"]
    found = list(LITERAL.finditer(value))
    if kind == "value" or not found:
        return [f"{key} = {text}"]
    start, end = found[int(extra) % len(found)].span()
    return [f"{key} = {value[:start]}{text}{value[end:]}"]


def is_used_or_refused_in_one_sentence(read: Callable[[], Catalog]) -> None:
    try:
        catalog = read()
    except PlacesError as error:
        message = str(error)
        assert message.startswith("mine.toml")
        assert not any(words in message for words in NOT_FOR_OWNERS), message
        assert len(message) <= LONGEST_SENTENCE, message
    else:
        assert isinstance(catalog, Catalog)


def is_read_or_refused_in_one_sentence(text: str) -> None:
    is_used_or_refused_in_one_sentence(lambda: places.read(text, "mine.toml"))


def test_compact_document_is_right_and_has_every_key():
    catalog = places.read("\n".join(COMPACT), "mine.toml")
    assert catalog.rig("rig").factor == 1.4
    written = [line.split(" = ")[0] for line in COMPACT if "=" in line]
    tables = {"places", "covers", "bodies", "lenses", "converters", "rigs", "light"}
    known = [key for keys in places.KEYS.values() for key in keys]
    inner = {"gates", "closures", "spots"}
    assert sorted(written) == sorted(k for k in known if k not in tables | inner)


@pytest.mark.parametrize("number", VALUE_LINES, ids=lambda n: f"{n}-{COMPACT[n]}")
def test_any_odd_value_of_any_key_is_read_or_refused_in_one_sentence(number):
    key = COMPACT[number].split(" = ")[0]
    for value in ODD_VALUES:
        lines = [*COMPACT[:number], f"{key} = {value}", *COMPACT[number + 1 :]]
        is_read_or_refused_in_one_sentence("\n".join(lines))


@wild.cases(300)
@given(st.lists(EDITS, min_size=1, max_size=3))
def test_edited_example_is_read_or_refused_in_one_sentence(edits):
    lines = [[line] for line in LINES]
    for kind, index, text, extra in edits:
        lines[index] = edited(LINES[index], kind, text, extra)
    is_read_or_refused_in_one_sentence("\n".join(line for ls in lines for line in ls))


@wild.cases(100)
@given(st.text())
@example("= 3")
@example("places = [{}]\nbodies = [{}]\nlenses = [{}]\nrigs = [{}]")
def test_any_text_is_read_or_refused_in_one_sentence(text):
    is_read_or_refused_in_one_sentence(text)


@wild.cases(100)
@given(st.binary(max_size=200))
def test_any_file_is_read_or_refused_in_one_sentence(tmp_path_factory, content):
    path = tmp_path_factory.mktemp("any") / "mine.toml"
    path.write_bytes(content)
    is_used_or_refused_in_one_sentence(lambda: places.load(path))
