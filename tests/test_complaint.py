"""What is wrong with a file is told in one sentence its owner can act on."""

import pytest

from lightplan.catalog import places
from lightplan.catalog.places import PlacesError

PLACE = 'name = "Test Pan"\nlatitude_deg = -13.1\nlongitude_deg = 31.8\ntimezone = "Africa/Lusaka"\n'
BODY = (
    'name = "test body"\nformat = "full frame"\nmegapixels = 45\niso_ceiling = 6400\n'
)
LENS = 'name = "test lens"\nwidest = [[400, 2.8]]\n'
CONVERTER = 'name = "test tc"\nfactor = 1.4\n'
RIG = (
    'name = "test rig"\nbody = "test body"\nlens = "test lens"\nconverter = "test tc"\n'
)
LIGHT = "golden_low_deg = -4.0\ngolden_high_deg = 6.0\nhard_deg = 30.0\n"

DOCUMENT = (
    f"[light]\n{LIGHT}\n[[places]]\n{PLACE}\n[[places]]\n"
    f"{PLACE.replace('Test Pan', 'Other Pan')}\n[[bodies]]\n{BODY}\n[[lenses]]\n{LENS}\n"
    f"[[converters]]\n{CONVERTER}\n[[rigs]]\n{RIG}"
)

# How validation libraries and interpreters talk, and an owner should not read.
NOT_FOR_OWNERS = ("\n", "pydantic", "Traceback", "Input should", "validation error")


def complaint(text: str) -> str:
    with pytest.raises(PlacesError) as caught:
        places.read(text, "mine.toml")
    message = str(caught.value)
    assert not any(words in message for words in NOT_FOR_OWNERS), message
    return message


def with_change(old: str, new: str) -> str:
    assert old in DOCUMENT
    return DOCUMENT.replace(old, new, 1)


def with_table(header: str, text: str) -> str:
    """Add a table to the first place."""
    return with_change(PLACE, f"{PLACE}\n[[places.{header}]]\n{text}\n")


def test_document_these_tests_break_is_right():
    assert places.read(DOCUMENT, "mine.toml").rig("test rig").factor == 1.4


# Each names file, entry, key, value and remedy (the range or the right form).
@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("= -13.1", "= -95", ["'Test Pan'", "latitude_deg", "-95", "-90", "swapped?"]),
        ("= -13.1", "= 131.8", ["'Test Pan'", "latitude_deg", "131.8", "90", "swapped?"]),
        ("= 31.8", "= 195", ["'Test Pan'", "longitude_deg", "195", "180"]),
        ("= 31.8", "= -180.5", ["'Test Pan'", "longitude_deg", "-180.5", "-180"]),
        ("= -13.1", "= nan", ["latitude_deg", "finite", "nan"]),
        ("= 31.8", "= inf", ["longitude_deg", "finite", "inf"]),
        ("Lusaka", "Lusakka", ["'Test Pan'", "Lusakka", "did you mean Africa/Lusaka?"]),
        ("Africa/Lusaka", "Mars", ["timezone", "'Mars'", "IANA"]),
        ("latitude_deg", "latitude", ["'Test Pan'", "'latitude'", "mean 'latitude_deg'?"]),
        ("latitude_deg = -13.1\n", "", ["'Test Pan'", "latitude_deg is missing"]),
        ('"Test Pan"', '""', ["place number 1", "name", "empty"]),
        ("[[bodies]]", "[[bodys]]", ["'bodys'", "did you mean 'bodies'?"]),
        ("= 6400", "= 49", ["'test body'", "iso_ceiling", "49", "50"]),
        ("= 6400", "= 2000000", ["iso_ceiling", "2000000", "at most 1000000"]),
        ("= 6400", "= 64.5", ["iso_ceiling", "whole number", "64.5"]),
        ('"full frame"', '"fullframe"', ["'test body'", "'fullframe'", "'full frame'"]),
        ('format = "full frame"\n', "", ["'test body'", "format, or width_mm"]),
        ("2.8]]", "0]]", ["'test lens'", "widest", "f-numbers of 0.5 to 64", "got 0"]),
        ("2.8]]", "-2.8]]", ["'test lens'", "widest", "f-numbers", "got -2.8"]),
        ("[[400,", "[[0,", ["'test lens'", "widest", "focal lengths above 0", "got 0"]),
        ("[[400, 2.8]]", "[[400, 2.8], [300, 4]]", ["'test lens'", "rising order"]),
        ("[[400, 2.8]]", "[]", ["'test lens'", "widest", "at least 1"]),
        ("[[400, 2.8]]", "[[400]]", ["'test lens'", "widest"]),
        ("[[400, 2.8]]", "[400, 2.8]", ["'test lens'", "widest", "list", "400"]),
        ("factor = 1.4", "factor = 1", ["'test tc'", "factor", "greater than 1"]),
        ('lens = "test lens"', 'lens = "tset lens"', ["'test rig'", "mean 'test lens'?"]),
        ('body = "test body"', 'body = "x"', ["'test rig'", "'x'", "test body"]),
        ('"Other Pan"', '"Test Pan"', ["places", "'Test Pan'", "twice"]),
        ("low_deg = -4.0", "low_deg = 7", ["order", "7, 6, 30"]),
        ("hard_deg", "hard", ["'hard'", "did you mean 'hard_deg'?"]),
    ],
)  # fmt: skip
def test_wrong_entry_is_named_with_its_value_and_a_remedy(old, new, words):
    message = complaint(with_change(old, new))
    assert message.startswith("mine.toml: ")
    assert [word for word in words if word not in message] == []


@pytest.mark.parametrize(
    ("table", "text", "words"),
    [
        ("gates", 'morning = ["10:00", "06:00"]', ["after it opens", "10:00 to 06:00"]),
        ("gates", 'evening = ["20:00", "01:30"]', ["evening", "25:30"]),
        ("gates", 'morning = ["10:00\\n", "06:00"]', ["morning", "10:00"]),
        ("gates", 'morning = ["6 am", "10:00"]', ["morning", "'6 am'", "06:00"]),
        ("gates", 'morning = ["06:00"]', ["morning"]),
        ("gates", 'morning = "06:00"', ["morning", "list", "'06:00'"]),
        ("gates", 'mornings = ["06:00", "10:00"]', ["'mornings'", "mean 'morning'?"]),
        ("gates", 'from = "02-30"', ["from", "05-01", "'02-30'"]),
        ("closures", 'weekday = "Fryday"', ["weekday", "Friday", "'Fryday'"]),
        ("closures", 'weekday = "Friday"\nsession = "noon"', ["session", "'morning'"]),
        ("closures", 'reason = "rain"', ["from and to, or a weekday"]),
        ("closures", 'from = "2027-02-30"\nto = "2027-03-02"', ["'2027-02-30'"]),
        ("closures", 'from = 08:00:00\nto = "03-01"', ["from", "quotes", "08:00"]),
        ("spots", 'name = "hide"\nbearing_deg = 400', ["'hide'", "bearing_deg", "360"]),
        ("spots", 'name = "hide"\nbearing_deg = 9\nhorizon = [[90]]', ["'hide'"]),
        ("spots", 'name = "hide"\nbearing_deg = 9\nhorizon = [[90, 95]]', ["80", "95"]),
        ("spots", 'name = "hide"\nbearing_deg = 9\ncover = "tent"', ["'tent'", "open"]),
    ],
)  # fmt: skip
def test_wrong_table_of_a_place_is_named_with_the_place(table, text, words):
    message = complaint(with_table(table, text))
    assert "mine.toml: place 'Test Pan': " in message
    assert [word for word in words if word not in message] == []


# TOML's own types, each where another belongs.
WRONG_TYPES = ["true", "1979-05-27", "07:32:00", "[]", "{}", "[[1]]", "{ a = 1 }"]


@pytest.mark.parametrize("value", [*WRONG_TYPES, '"text"'])
@pytest.mark.parametrize(
    ("line", "name"),
    [
        ("latitude_deg = -13.1", "'Test Pan'"),
        ("megapixels = 45", "'test body'"),
        ("iso_ceiling = 6400", "'test body'"),
        ("factor = 1.4", "'test tc'"),
        ("hard_deg = 30.0", "light"),
    ],
)
def test_number_of_another_type_is_refused_by_name(line, name, value):
    key = line.split(" = ")[0]
    message = complaint(with_change(line, f"{key} = {value}"))
    assert name in message
    assert key in message


@pytest.mark.parametrize("value", [*WRONG_TYPES, "5", "1.5"])
@pytest.mark.parametrize(
    "line",
    [
        'name = "Test Pan"',
        'timezone = "Africa/Lusaka"',
        'format = "full frame"',
        'lens = "test lens"',
    ],
)
def test_text_of_another_type_is_refused_by_key(line, value):
    key = line.split(" = ")[0]
    assert key in complaint(with_change(line, f"{key} = {value}"))


@pytest.mark.parametrize("value", ["5", "true", '"text"', "{}", "[1]", '["a"]', "[[]]"])
@pytest.mark.parametrize(
    ("table", "entry"),
    [
        ("bodies", BODY),
        ("lenses", LENS),
        ("converters", CONVERTER),
        ("rigs", RIG),
    ],
)
def test_table_of_another_type_is_refused_by_name(table, entry, value):
    rest = with_change(f"[[{table}]]\n{entry}", "")
    assert f"mine.toml: {table} " in complaint(f"{table} = {value}\n{rest}")


def test_number_of_further_faults_is_the_number_there_are():
    one = with_change("iso_ceiling = 6400", "iso_ceiling = 49")
    assert "more problem" not in complaint(one)
    two = one.replace("factor = 1.4", "factor = 0.5")
    assert complaint(two).endswith("(and 1 more problem)")


def test_unknown_key_is_told_before_the_key_it_leaves_missing():
    assert "unknown key 'timezones'" in complaint(with_change("timezone", "timezones"))


@pytest.mark.parametrize("text", ["", "  \n\n", "\t"])
def test_empty_file_is_told_what_it_needs(text):
    message = complaint(text)
    assert "mine.toml is empty" in message
    assert "places, bodies, lenses and rigs" in message


def test_broken_toml_is_told_by_line_and_column():
    # The second equals sign of line 3 stands in column 18.
    text = "# mine\n[light]\ngolden_low_deg = = 3\n"
    message = complaint(text)
    assert "mine.toml is not valid TOML" in message
    assert "line 3, column 18" in message


# A TOML integer is 64 bits wide (toml.io v1.0.0); longer ones must not crash it.
@pytest.mark.parametrize(
    "number", ["1" + "0" * 30, "1" + "0" * 400, "9" * 5000, "0x" + "f" * 5000]
)
@pytest.mark.parametrize("line", ["iso_ceiling = 6400", "latitude_deg = -13.1"])
def test_giant_number_is_refused_and_not_printed_in_full(line, number):
    message = complaint(with_change(line, line.split(" = ")[0] + f" = {number}"))
    assert len(message) < 300


def test_nesting_too_deep_to_read_is_refused():
    assert "mine.toml" in complaint("x = " + "[" * 20000)


def test_name_with_a_line_break_is_refused_in_one_line():
    text = with_change('"test body"\nformat', '"test\\nbody"\nformat')
    assert "one line of text" in complaint(text)


def load_complaint(path) -> str:
    with pytest.raises(PlacesError) as caught:
        places.load(path)
    assert not any(words in str(caught.value) for words in NOT_FOR_OWNERS)
    return str(caught.value)


def test_file_that_is_not_utf_8_is_told_so(tmp_path):
    path = tmp_path / "latin.toml"
    path.write_bytes(DOCUMENT.replace("Test Pan", "Tést Pan").encode("latin-1"))
    message = load_complaint(path)
    assert "latin.toml" in message
    assert "UTF-8" in message


def test_missing_file_is_named(tmp_path):
    message = load_complaint(tmp_path / "gone.toml")
    assert "gone.toml" in message
    assert "No such file" in message


def test_folder_in_place_of_a_file_is_named(tmp_path):
    message = load_complaint(tmp_path)
    assert tmp_path.name in message
    assert "directory" in message
