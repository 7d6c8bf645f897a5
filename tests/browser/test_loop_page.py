"""The loop's page in a browser: legs typed, a GPX file read, the seat that follows."""

import re

import pytest
from browsing import SIDEWAYS
from playwright.sync_api import expect

from lightplan.choices.raw import Raw
from lightplan.loop import route

EVENING = "2027-08-12-evening"
# On 12 August at 13° S the sun sets north of west: northwards the right-hand side
# has it behind, southwards the left.
NORTHWARDS, SOUTHWARDS = "N 6 km", "S 6 km"
TRACK = (
    '<?xml version="1.0"?><gpx version="1.1"><trk><trkseg>'
    '<trkpt lat="-13.08" lon="31.8"/><trkpt lat="-13.1" lon="31.8"/>'
    "</trkseg></trk></gpx>"
)


@pytest.fixture
def at_loop(visit, link):
    """Open the page on an evening in August, with these legs."""

    def open_page(legs: str = "", phone: bool = False):
        search = link({"legs": legs, "light": "front"}, drive=EVENING)
        return visit(f"loop{search}", phone=phone)

    return open_page


def answer(page, said: str) -> None:
    expect(page.locator("#loop-answer")).to_contain_text(said)


def legs(page):
    return page.get_by_label("Legs of the loop", exact=True)


def give(page, data: bytes, name: str = "drive.gpx") -> None:
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Read a GPX file").click()
    chooser.value.set_files(
        {"name": name, "mimeType": "application/gpx+xml", "buffer": data}
    )


def test_the_seat_follows_the_legs_typed_and_the_address_keeps_them(at_loop):
    page = at_loop()
    expect(page.locator("#loop-notes")).to_contain_text("an invented example")
    legs(page).fill(NORTHWARDS)
    answer(page, "for front light sit on the right all the way")
    legs(page).fill(f"{NORTHWARDS}\n{SOUTHWARDS}")
    answer(page, "sit on the right until 15:54, then on the left")
    page.reload()
    answer(page, "sit on the right until 15:54, then on the left")
    expect(legs(page)).to_have_value(f"{NORTHWARDS}\n{SOUTHWARDS}")


def test_a_wrong_leg_is_told_and_what_was_shown_stays(at_loop):
    page = at_loop(NORTHWARDS)
    answer(page, "sit on the right")
    legs(page).fill("N six km")
    expect(page.locator("#problem")).to_contain_text("Leg 1 must be written like")
    answer(page, "sit on the right")
    expect(legs(page)).to_have_value("N six km")


def test_a_file_is_read_into_legs_and_changes_the_seat(at_loop):
    page = at_loop(NORTHWARDS)
    give(page, TRACK.encode())
    expect(page.locator("#loop-said")).to_contain_text("Read drive.gpx.")
    expect(legs(page)).to_have_value(re.compile(r"^from -13\.08 31\.8\n180 2\.22"))
    answer(page, "sit on the left all the way")
    page.wait_for_url("**legs=from*")  # the address follows by itself
    kept = Raw.from_search(page.url.split("?")[1])["legs"]
    assert route.read_legs(kept).legs[0].bearing_deg == 180


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"<!DOCTYPE gpx>" + TRACK.encode(), "declares a document type"),
        (b"<gpx>" + b" " * 9_000_000, "must be at most 8 MB, got 9.0 MB"),
    ],
    ids=["hostile", "too large"],
)
def test_a_file_that_is_refused_changes_nothing(data, said, at_loop):
    page = at_loop(NORTHWARDS)
    give(page, data)
    expect(page.locator("#loop-said")).to_contain_text(said)
    expect(legs(page)).to_have_value(NORTHWARDS)
    answer(page, "sit on the right")
    give(page, TRACK.encode())  # the next one is read all the same
    expect(page.locator("#loop-said")).to_contain_text("Read drive.gpx.")


def test_another_drive_of_the_trip_is_a_press_away(at_loop, in_address):
    page = at_loop(NORTHWARDS)
    page.get_by_role("button", name="Thu 12 Aug, morning").click()
    answer(page, "Morning drive, Thu 12 Aug: neither side has front light")
    in_address(page, "drive", "2027-08-12-morning")
    chosen = page.locator("#loop-drives [aria-pressed=true]")
    expect(chosen).to_contain_text("morning")


def test_the_chosen_drive_is_in_sight_in_a_long_list(visit, link):
    week = {"from": "2027-08-09", "to": "2027-08-15", "legs": NORTHWARDS}
    page = visit(f"loop{link(week, drive=EVENING)}")
    answer(page, "Thu 12 Aug")
    chosen = page.locator("#loop-drives [aria-pressed=true]")
    expect(chosen).to_contain_text("Thu 12 Aug, evening")
    count = page.locator(".loop-count")
    expect(count).to_contain_text("drives")
    page.wait_for_function("() => document.getElementById('loop-drives').scrollTop > 0")
    box, seen = chosen.bounding_box(), page.locator("#loop-drives").bounding_box()
    assert box["y"] >= seen["y"]
    assert box["y"] + box["height"] <= count.bounding_box()["y"] + 1


def test_a_warning_wraps_on_a_phone(visit, link):
    search = link({"legs": NORTHWARDS, "start": "23:00"}, drive=EVENING)
    page = visit(f"loop{search}", phone=True)
    answer(page, "The start at 23:00 is 4 h 30 after the gates shut at 18:30.")
    assert page.evaluate(SIDEWAYS) <= 0


def test_the_legs_are_kept_on_the_way_to_the_trip_and_back(at_loop):
    page = at_loop(f"{NORTHWARDS}\n{SOUTHWARDS}")
    page.get_by_role("link", name="Trip").click()
    expect(page.locator("#answer")).not_to_be_empty()
    page.get_by_role("link", name="The loop").click()
    answer(page, "sit on the right until 15:54, then on the left")


def test_on_a_phone_a_leg_shows_its_seat_and_both_sides_unscrolled(at_loop):
    page = at_loop(f"{NORTHWARDS}\n{SOUTHWARDS}", phone=True)
    table = page.get_by_role("region", name="Leg by leg")
    box = table.bounding_box()
    for name in ("Seat", "From the left", "From the right"):
        cell = table.get_by_role("columnheader", name=name).bounding_box()
        assert cell["x"] + cell["width"] <= box["x"] + box["width"], name
