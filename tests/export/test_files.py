"""The list of files: safe names, and every kind for every kind of trip."""

import datetime as dt
import unicodedata
from functools import cache
from pathlib import Path

import pytest

from lightplan.catalog import places
from lightplan.export import calendar, document, files, sheet
from lightplan.trip import plan
from lightplan.trip.request import Request, choose

planned = cache(plan.make)  # many tests look at the same trip, none changes it

EXAMPLE = Path(__file__).parents[2] / places.EXAMPLE_FILE
OPTIONS = files.Options(
    dt.datetime(2027, 8, 1, tzinfo=dt.UTC), calendar.Alarms(("leave", "back"), 40)
)
MAX_OCTETS = 255  # of a file name on ext4, APFS and, in UTF-16 units, NTFS
# Not allowed in a name by Windows, the strictest; "/" by any system.
FORBIDDEN = set('<>:"/\\|?*') | set(map(chr, range(32)))


@pytest.fixture(scope="module")
def catalog():
    return places.load(EXAMPLE)


def make(catalog, place, first, last=None, **kwargs):
    return planned(
        Request(
            catalog.place(place) if isinstance(place, str) else place,
            dt.date.fromisoformat(first),
            dt.date.fromisoformat(last or first),
            tuple(choose(catalog.rig(rig.name)) for rig in catalog.rigs[:3]),
            **kwargs,
        )
    )


def named(catalog, name):
    place = catalog.place("Mopane Loop").model_copy(update={"name": name})
    return make(catalog, place, "2027-08-12")


@pytest.fixture(params=files.FILES.values(), ids=files.FILES)
def file(request):
    return request.param


def test_a_file_is_named_after_place_dates_and_kind(catalog):
    trip = make(catalog, "Mopane Loop", "2027-08-12", "2027-08-14")
    drives = files.FILES["drives"].name(trip)
    assert drives == "lightplan-mopane-loop-2027-08-12-to-2027-08-14-drives.csv"


def test_a_trip_of_one_day_has_its_date_once_in_the_name(catalog):
    found = files.FILES["calendar"].name(make(catalog, "Mopane Loop", "2027-08-12"))
    assert found == "lightplan-mopane-loop-2027-08-12-calendar.ics"


@pytest.mark.parametrize(
    "name",
    ["../../etc/passwd", "C:\\con", 'a"b<c>d|e?f*', "two\nlines", "\u202egnp.exe", "a\0b",
     "~", "-rf", "🦒" * 80, "ø" * 80, "क्षि" * 20, ".hidden ", "%2e%2e%2f"],
)  # fmt: skip
def test_no_name_of_a_place_makes_a_file_name_that_harms(catalog, file, name):
    found = file.name(named(catalog, name))
    assert not set(found) & FORBIDDEN
    assert not any(unicodedata.category(c)[0] == "C" for c in found)
    assert found.startswith("lightplan-")  # no option, no hidden file, no device
    assert found.count(".") == 1
    assert len(found.encode("utf-8")) <= MAX_OCTETS


@pytest.mark.parametrize(
    ("name", "part"),
    [
        ("Grøn Mose – 3 km", "grøn-mose-3-km"),
        ("مرعى", "مرعى"),
        ("राष्ट्रीय", "राष्ट्रीय"),  # vowels and joined letters are marks in this script
        ("❤️ hide", "hide"),
        ("🦁", ""),
        ("é" * 3, "ééé"),
        ("e\u0301" * 3, "ééé"),
    ],
)
def test_letters_of_any_script_stay_in_the_name(catalog, name, part):
    found = files.FILES["json"].name(named(catalog, name))
    middle = f"-{part}" if part else ""
    assert found == f"lightplan{middle}-2027-08-12-plan.json"


def test_every_file_is_utf_8(catalog, file):
    text = file.write(make(catalog, "Mopane Loop", "2027-08-12"), OPTIONS).decode()
    assert "150–600 zoom" in text or "600 mm" in text


def test_files_are_what_the_modules_write(catalog):
    trip = make(catalog, "Mopane Loop", "2027-08-12")
    expected = {
        "calendar": calendar.calendar(trip, OPTIONS.stamp, OPTIONS.alarms),
        "drives": sheet.drives(trip),
        "minutes": sheet.minutes(trip),
        "json": document.dumps(trip),
    }
    for key, content in expected.items():
        assert files.FILES[key].write(trip, OPTIONS) == content


def test_kinds_have_different_names_labels_and_keys(catalog):
    trip = make(catalog, "Mopane Loop", "2027-08-12")
    kinds = files.FILES.values()
    for found in ([f.key for f in kinds], [f.label for f in kinds],
                  [f.name(trip) for f in kinds]):  # fmt: skip
        assert len(set(found)) == len(found)


@pytest.mark.parametrize(
    ("place", "first", "last"),
    [
        ("Ptarmigan Fjord", "2027-06-21", "2027-06-22"),  # midnight sun, past midnight
        ("Heron Marsh", "2027-03-27", "2027-03-29"),  # clocks change; a closed day
        ("Two Rivers Plain", "2027-08-12", "2027-08-12"),  # a night drive
    ],
)
def test_every_file_can_be_made_of_uncommon_days(catalog, file, place, first, last):
    trip = make(catalog, place, first, last)
    assert file.write(trip, OPTIONS) == file.write(trip, OPTIONS) != b""


def test_every_file_can_be_made_of_a_trip_without_a_usable_minute(catalog, file):
    date = dt.date(2027, 8, 12)
    rig = choose(catalog.rig("400 prime"), shutter_s=1 / 32000, iso_ceiling=50)
    trip = plan.make(Request(catalog.place("Mopane Loop"), date, date, (rig,)))
    assert trip.usable_min(0, 0) == 0
    assert file.write(trip, OPTIONS)


def test_polar_night_leaves_a_document_and_empty_tables_but_no_calendar(catalog):
    # At 78° north the noon sun of 21 December stands 11.6° below the horizon.
    place = catalog.place("Ptarmigan Fjord").model_copy(update={"gates": ()})
    trip = make(catalog, place, "2027-12-21")
    for key in ("drives", "minutes", "json"):
        assert files.FILES[key].write(trip, OPTIONS)
    with pytest.raises(ValueError, match="no drive"):
        files.FILES["calendar"].write(trip, OPTIONS)
