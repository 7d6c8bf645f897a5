"""Places and kit of one's own: typed in, kept by the browser, planned with."""

import json

import pytest
import wild
from browsing import violations
from playwright.sync_api import expect

from lightplan.catalog import places

# The file of a person with one place and one rig.
FILE = """\
# my own comment
[[places]]
name = "Otter Pan"
latitude_deg = -15.25
longitude_deg = 33.5
timezone = "Africa/Maputo"
[[places.gates]]
morning = ["05:45", "09:15"]
[[bodies]]
name = "old body"
format = "APS-C"
megapixels = 20
iso_ceiling = 1600
[[lenses]]
name = "300 mm f/4"
widest = [[300, 4]]
[[rigs]]
name = "old faithful"
body = "old body"
lens = "300 mm f/4"
"""


@pytest.fixture
def at_kit(visit):
    """Come to the page of places and kit."""

    def come(search: str = "", **how):
        page = visit(f"kit{search}", **how)
        expect(page.locator("#kit-title")).to_have_text("Mopane Loop")
        return page

    return come


def field(page, label: str, within: str = "#kit-form"):
    named = page.locator(within).get_by_label(label, exact=True)
    return named.and_(page.locator("input")).first


def opened(page, kind: str, name: str) -> None:
    """Open an entry of a list."""
    group = page.locator("#kit-lists details").filter(
        has=page.locator("summary", has_text=kind)
    )
    button = group.get_by_role("button", name=name, exact=True)
    # The list may be about to be drawn anew, with a name just saved.
    group.get_by_text(name, exact=True).first.wait_for(state="attached")
    if not button.is_visible():
        group.locator("summary").click()
    button.click()


def say(page, text: str) -> None:
    expect(page.locator("#kit-said")).to_contain_text(text)


def save(page, said: str) -> None:
    page.locator("#kit-save").click()
    say(page, said)


def load(page, text: str, name: str = "mine.toml") -> None:
    page.locator("#kit-upload input[type=file]").set_input_files(
        {"name": name, "mimeType": "application/toml", "buffer": text.encode()}
    )


def test_a_photograph_is_refused_in_a_sentence(visit):
    page = visit("kit")
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Load a file").click()
    # ITU-T T.81, table B.1: FF D8 begins an image, FF E0 an application's segment.
    jpeg = b"\xff\xd8\xff\xe0\x00\x10JFIF\x00"
    chooser.value.set_files(
        {"name": "gate.jpg", "mimeType": "image/jpeg", "buffer": jpeg}
    )
    say(page, "gate.jpg is not UTF-8 text. Nothing was changed.")


def kept(page):
    """The catalog that the browser keeps."""
    record = page.evaluate("localStorage.getItem('lightplan-catalog')")
    return places.read(json.loads(record)["text"], "kept") if record else None


def add_place(page, name: str) -> None:
    opened(page, "Places", "Add a place")
    expect(page.locator("#kit-title")).to_have_text("A new place")
    field(page, "Name").fill(name)
    field(page, "Latitude, °N").fill("-15.25")
    field(page, "Longitude, °E").fill("33.5")
    zone = field(page, "Time zone")
    zone.click()
    zone.fill("Maputo")
    page.get_by_role("option", name="Africa/Maputo").click()


def test_a_place_that_was_added_is_there_after_a_reload_and_plans(at_kit, choose):
    page = at_kit()
    expect(page.locator("#kit-answer")).to_contain_text("no entries of yours yet")
    add_place(page, "Otter Pan")
    page.get_by_role("button", name="Add a season").click()
    field(page, "Morning opens").fill("05:45")
    field(page, "Morning closes").fill("09:15")
    save(page, "Saved: Otter Pan.")
    answer = page.locator("#kit-answer")
    expect(answer).to_have_text("This browser has 7 places and 8 rigs of yours.")
    page.reload()
    expect(answer).to_have_text("This browser has 7 places and 8 rigs of yours.")
    expect(page.locator("#kit-title")).to_have_text("Otter Pan")
    expect(field(page, "Morning closes")).to_have_value("09:15")
    page.get_by_role("link", name="Trip").click()
    choose(page, "Place", "Otter Pan")
    page.wait_for_url("**place=Otter+Pan**")
    # The gates that were typed, on the place's clock, and the link alone restores it.
    hours = page.locator("#tables table").last.locator("tbody th")
    for again in (False, True):
        if again:
            page.reload()
        expect(hours.first).to_have_text("05:45")
        expect(hours.last).to_have_text("09:15")
        expect(page.locator("p.problem")).to_have_count(0)
        expect(page.locator("#summary")).to_contain_text("Otter Pan")
        expect(page.locator(".drive-row").first).to_be_visible()
    page.get_by_role("link", name="Year").click()
    expect(page.locator("#year-table")).to_contain_text("05:45–09:15")


def test_a_wrong_value_is_told_in_a_sentence_and_stays_as_typed(at_kit):
    page = at_kit()
    field(page, "Latitude, °N").fill("131")
    save(page, "Place 'Mopane Loop': latitude must be at most 90, got 131")
    expect(field(page, "Latitude, °N")).to_have_value("131")
    assert kept(page) is None


def test_what_was_typed_and_not_saved_outlasts_a_reload_and_another_entry(at_kit):
    page = at_kit()
    field(page, "Name").fill("Mopane Bend")
    expect(page.get_by_text("Not saved yet.")).to_be_visible()
    page.reload()
    expect(field(page, "Name")).to_have_value("Mopane Bend")
    opened(page, "Rigs", "400 prime")
    expect(page.locator("#kit-title")).to_have_text("400 prime")
    expect(page.locator("#kit-lists")).to_contain_text("Mopane Loop · not saved")
    opened(page, "Places", "Mopane Loop · not saved")
    expect(field(page, "Name")).to_have_value("Mopane Bend")
    page.get_by_role("button", name="Undo unsaved changes").click()
    expect(field(page, "Name")).to_have_value("Mopane Loop")
    assert kept(page) is None


def test_a_lens_can_be_renamed_and_its_rigs_follow(at_kit):
    page = at_kit()
    opened(page, "Lenses", "600 mm f/4")
    expect(page.locator("#kit-title")).to_have_text("600 mm f/4")
    field(page, "Name").fill("600 mm, repaired")
    save(page, "Saved: 600 mm, repaired.")
    assert kept(page).rig("600 prime ×1.4").lens.name == "600 mm, repaired"


def test_a_part_of_a_rig_is_not_removed(at_kit):
    page = at_kit()
    opened(page, "Bodies", "APS-C body")
    expect(page.locator("#kit-title")).to_have_text("APS-C body")
    page.get_by_role("button", name="Remove this body").click()
    say(page, "Body 'APS-C body' is part of rig '100–400 zoom, APS-C'")
    assert kept(page) is None


def test_what_was_removed_can_be_put_back(at_kit):
    page = at_kit()
    page.get_by_role("button", name="Remove this place").click()
    say(page, "Removed: Mopane Loop.")
    assert kept(page).places[0].name == "Two Rivers Plain"
    save(page, "Saved: Mopane Loop.")
    assert kept(page).place("Mopane Loop").gates[1].evening == ("15:30", "18:45")


def test_rows_can_be_added_and_removed_without_losing_what_is_typed(at_kit):
    page = at_kit()
    first = page.locator(".row-of-gates").first
    first.get_by_label("Evening closes", exact=True).fill("18:10")
    page.get_by_role("button", name="Add a season").click()
    expect(page.locator(".row-of-gates")).to_have_count(3)
    page.get_by_role("button", name="Remove season 2").click()
    expect(page.locator(".row-of-gates")).to_have_count(2)
    expect(first.get_by_label("Evening closes", exact=True)).to_have_value("18:10")
    save(page, "Saved: Mopane Loop.")
    (gates,) = kept(page).place("Mopane Loop").gates
    assert gates.evening == ("15:30", "18:10")


# ------------------------------------------------------------- files


def test_a_loaded_file_is_kept_word_for_word_and_downloaded_the_same(at_kit, tmp_path):
    page = at_kit()
    load(page, FILE)
    say(page, "Loaded: mine.toml.")
    expect(page.locator("#kit-answer")).to_have_text(
        "This browser has 1 place and 1 rig of yours."
    )
    with page.expect_download() as download:
        page.get_by_role("button", name="Download as a file").click()
    assert download.value.suggested_filename == "locations.toml"
    download.value.save_as(tmp_path / "back.toml")
    assert (tmp_path / "back.toml").read_text("utf-8") == FILE


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("= 3", "mine.toml is not valid TOML"),
        wild.again("", "mine.toml is empty", id="empty"),
        (FILE.replace("-15.25", "95"), "mine.toml: place 'Otter Pan': latitude_deg"),
    ],
    ids=["no TOML", None, "a wrong value"],
)
def test_a_wrong_file_is_told_in_a_sentence_and_changes_nothing(text, said, at_kit):
    page = at_kit()
    load(page, FILE, "good.toml")
    say(page, "Loaded: good.toml.")
    load(page, text)
    say(page, said)
    say(page, "Nothing was changed.")
    assert kept(page) == places.read(FILE, "")


def test_a_file_takes_the_place_of_ones_own_only_after_asking(at_kit):
    page = at_kit()
    load(page, FILE)
    say(page, "Loaded: mine.toml.")
    load(page, FILE.replace("Otter Pan", "Egret Pan"), "other.toml")
    expect(page.get_by_role("alert")).to_contain_text("1 place and 1 rig of yours")
    page.get_by_role("button", name="Leave it as it is").click()
    say(page, "Nothing was changed.")
    assert kept(page).places[0].name == "Otter Pan"
    load(page, FILE.replace("Otter Pan", "Egret Pan"), "other.toml")
    page.get_by_role("button", name="Use the file").click()
    say(page, "Loaded: other.toml.")
    assert kept(page).places[0].name == "Egret Pan"


def test_the_built_in_file_comes_back_after_asking(at_kit):
    page = at_kit()
    load(page, FILE)
    say(page, "Loaded: mine.toml.")
    page.get_by_role("button", name="Use the built-in file again").click()
    expect(page.get_by_role("alert")).to_contain_text("Remove your 1 place and 1 rig")
    assert kept(page).places[0].name == "Otter Pan"
    page.get_by_role("button", name="Remove them").click()
    say(page, "The pages use the built-in file again.")
    expect(page.locator("#kit-title")).to_have_text("Mopane Loop")
    assert kept(page) is None
    page.get_by_role("link", name="Trip").click()
    expect(page.locator("#answer")).not_to_be_empty()
    expect(page.locator("p.problem")).to_have_count(0)


# ------------------------------------------------------------- a second tab


@pytest.fixture
def two(at_kit):
    """Two tabs of one browser at the page, the second with a newer save."""
    page = at_kit()
    other = page.context.new_page()
    other.goto(page.url)
    expect(other.locator("#kit-title")).to_have_text("Mopane Loop")
    page.bring_to_front()  # what lies behind is drawn once a second
    field(page, "Height above the sea, m").fill("555")
    other.bring_to_front()
    field(other, "Height above the sea, m").fill("777")
    save(other, "Saved: Mopane Loop.")
    return page, other


def heights(page) -> dict[str, float]:
    """The heights of the places that the browser keeps, by name."""
    return {p.name: p.elevation_m for p in kept(page).places if "Mopane" in p.name}


def test_a_newer_save_of_another_tab_is_told_and_not_written_over(two):
    page, _ = two
    expect(page.get_by_role("alert")).to_contain_text("Another tab of this browser")
    page.locator("#kit-save").click()
    expect(page.get_by_role("alert")).to_contain_text("yours is not saved yet")
    assert heights(page) == {"Mopane Loop": 777}
    expect(field(page, "Height above the sea, m")).to_have_value("555")


def test_both_tabs_changes_can_be_kept_apart(two):
    page, _ = two
    page.locator("#kit-save").click()
    page.get_by_role("button", name="Keep both").click()
    say(page, "Both are saved")
    assert heights(page) == {"Mopane Loop": 777, "Mopane Loop (2)": 555}
    opened(page, "Places", "Mopane Loop (2)")
    expect(field(page, "Height above the sea, m")).to_have_value("555")


def test_the_newer_save_can_be_loaded_instead(two):
    page, _ = two
    page.get_by_role("button", name="Load the newer one").click()
    say(page, "This is the newer one")
    expect(page.locator("#kit-lists")).to_contain_text("Mopane Loop · not saved")
    page.get_by_role("button", name="Undo unsaved changes").click()
    expect(field(page, "Height above the sea, m")).to_have_value("777")


def test_a_trip_in_another_tab_follows_and_keeps_its_choices(at_kit, link):
    page = at_kit(link({"pace": "flying", "place": "Mopane Loop"}))
    trip = page.context.new_page()
    trip.goto(page.url.replace("/kit", "/"))
    expect(trip.locator(".drive-row").first).to_be_visible()
    page.bring_to_front()  # what lies behind is drawn once a second
    add_place(page, "Otter Pan")
    save(page, "Saved: Otter Pan.")
    trip.bring_to_front()
    expect(trip.locator("#usual")).to_have_count(0)
    # The tab follows in its own time; a list that is open by then is closed.
    place = trip.get_by_label("Place", exact=True).and_(trip.locator("input"))
    option = trip.get_by_role("option", name="Otter Pan")
    for _ in range(20):
        place.click()
        try:
            expect(option).to_be_visible(timeout=2_000)
            break
        except AssertionError:
            place.press("Escape")
    expect(option).to_be_visible()
    expect(trip.locator("#answer")).to_contain_text("For a lion running")
    assert "pace=flying" in trip.url


# ------------------------------------------------------------- for everybody


def test_axe_finds_nothing_on_a_phone_with_a_problem_told(at_kit):
    page = at_kit(phone=True)
    field(page, "Latitude, °N").fill("131")
    save(page, "latitude must be at most 90")
    assert violations(page) == []
