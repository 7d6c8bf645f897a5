"""Learning from one's own frames, in the browser: files in, a cover kept."""

import json
from fractions import Fraction
from urllib.parse import urlsplit

import numpy as np
import pytest
import wild
from playwright.sync_api import expect

from lightplan.camera import exposure
from lightplan.light import daylight
from lightplan.sky import sun
from lightplan.web.frames import heads as learn_heads

AT = (-14.0, 29.0)  # Mopane Loop; its clock is UTC+2 all year
READ = "42 of 42 files read: 40 frames added."
# Tag numbers of Exif 2.32 (CIPA DC-008-2019), tables 4 and 8.
TIME, OFFSET, F_NUMBER, SHUTTER, ISO = 0x9003, 0x9011, 0x829D, 0x829A, 0x8827


def exposures(stops, count=20):
    """Wall times and shutters at f/6.3 and ISO 3200 under a cover of so many stops."""
    minutes = np.linspace(0, 50, count).astype(int)
    utc = np.datetime64("2025-08-12T14:30") + minutes.astype("timedelta64[m]")
    altitude = sun.apparent_altitude_deg(sun.position(utc, *AT).altitude_deg)
    ev = exposure.ev100(daylight.subject_lux(altitude, 90.0)) - stops
    # N²/t = 2^EV · S/100, solved for t.
    return utc + np.timedelta64(2, "h"), 6.3**2 / (2**ev * 32)


def write(folder, stops, image, some=slice(None), mark=""):
    """Write frames into a new folder, taken under a cover of so many stops."""
    folder.mkdir(parents=True)
    for i, (wall, shutter) in list(enumerate(zip(*exposures(stops), strict=True)))[
        some
    ]:
        tags = {
            TIME: str(wall).replace("-", ":").replace("T", " ") + ":00",
            OFFSET: "+02:00",
            F_NUMBER: Fraction(63, 10),
            SHUTTER: Fraction(float(shutter)).limit_denominator(100_000),
            ISO: 3200,
        }
        (folder / f"{mark}{i:03}.jpg").write_bytes(image(tags))


@pytest.fixture(name="folder")
def _folder(tmp_path, image):
    """A folder with a forest, a pan, a letter and a broken frame."""
    write(tmp_path / "Riverine forest", 3.4, image)
    write(tmp_path / "Pan", 0.0, image)
    (tmp_path / "Pan" / "letter.docx").write_bytes(b"private words")
    (tmp_path / "Pan" / "broken.jpg").write_bytes(b"\xff\xd8 not one at all")
    return tmp_path


def choose_files(page, button, files):
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name=button).click()
    chooser.value.set_files(files)


@pytest.fixture(name="learned")
def _learned(visit, folder):
    page = visit("learn")
    choose_files(page, "Choose a folder", folder)
    expect(page.locator("#learn-table tbody tr")).to_have_count(2)
    return page


def test_a_folder_gives_a_sentence_and_a_row_for_each_group(learned):
    # Frames made from the model less 3.4 stops, without noise; ± is what is added.
    answer = learned.locator("#learn-answer")
    expect(answer).to_contain_text("Riverine forest costs you 3.4 ± 0.2 stops")
    expect(answer).to_contain_text("(20 frames in 20 bursts)")
    row = learned.get_by_role("row", name="Riverine forest")
    expect(row).to_contain_text("+3.40")
    expect(row).to_contain_text("good enough")
    expect(learned.locator("#learn-progress")).to_have_text(READ)
    account = learned.locator("#learn-account")
    expect(account).to_contain_text("40 of 42 files or rows used; 2 dropped")


def test_of_what_is_no_frame_only_the_name_is_sent(visit, folder, monkeypatch):
    sent, unpacked = [], learn_heads.unpacked
    monkeypatch.setattr(
        learn_heads, "unpacked", lambda body: sent.append(body) or unpacked(body)
    )
    page = visit("learn")
    choose_files(page, "Choose a folder", folder)
    expect(page.locator("#learn-progress")).to_have_text(READ)
    body = b"".join(sent)
    assert b"Pan/letter.docx" in body
    assert b"not one at all" in body  # the broken frame's head
    assert b"private words" not in body


def test_a_cover_is_kept_and_the_trip_page_plans_under_it(learned, choose, in_address):
    page = learned
    field = page.get_by_label("Name of the cover").and_(
        page.locator("[value='Riverine forest']")
    )
    field.fill("Fig forest")
    item = page.locator("#learn-keeps li", has_text="Riverine forest costs you")
    item.get_by_role("button", name="Save as a cover").click()
    expect(page.locator("#kit-said")).to_contain_text("Saved: Fig forest.")
    expect(item).to_contain_text("Saved as Fig forest")
    page.get_by_role("link", name="Trip", exact=True).click()
    choose(page, "Over the animal", "Fig forest")
    in_address(page, "cover", "Fig forest")
    page.reload()
    label = page.get_by_label("Over the animal", exact=True)
    expect(label.and_(page.locator("input"))).to_have_value("Fig forest")


def test_a_kept_cover_is_on_the_page_of_kit_and_can_be_removed(learned):
    page = learned
    item = page.locator("#learn-keeps li", has_text="Riverine forest costs you")
    item.get_by_role("button", name="Save as a cover").click()
    expect(page.locator("#kit-said")).to_contain_text("Saved: Riverine forest.")
    expect(item).to_contain_text("Saved as Riverine forest")  # nothing is under way
    page.get_by_role("link", name="Kit and places").click()
    expect(page.locator("#kit-title")).to_have_text("Riverine forest")
    page.get_by_role("button", name="Remove this cover").click()
    expect(page.locator("#kit-said")).to_contain_text("Removed: Riverine forest.")
    record = page.evaluate("localStorage.getItem('lightplan-catalog')")
    assert "Riverine" not in json.loads(record)["text"]


def test_frames_stay_in_the_tab_until_they_are_forgotten(learned, drawn):
    page = learned
    page.reload()
    drawn(page)
    expect(page.locator("#learn-table tbody tr")).to_have_count(2)
    page.get_by_role("button", name="Forget these frames").click()
    expect(page.locator("#learn-answer")).to_contain_text("Your own frames show")
    expect(page.locator("#learn-chart")).to_be_hidden()


def test_a_second_folder_is_added_and_what_was_here_counts_once(
    learned, image, tmp_path_factory
):
    later = tmp_path_factory.mktemp("later")
    write(later / "Riverine forest", 3.4, image, slice(8))
    write(later / "Hide", 1.5, image, slice(12), mark="b")
    (later / "Hide" / "letter.docx").write_bytes(b"private words")
    page, progress = learned, learned.locator("#learn-progress")
    choose_files(page, "Choose a folder", later)
    said = "21 of 21 files read: 12 frames added, 8 were here already."
    expect(progress).to_have_text(said)
    expect(page.locator("#learn-table tbody tr")).to_have_count(3)
    account = page.locator("#learn-account")
    expect(account).to_contain_text("52 of 55 files or rows used; 3 dropped")
    write(later / "Den", 2.0, image, slice(1), mark="c")
    choose_files(page, "Choose a folder", later)
    said = "22 of 22 files read: 1 frame added, 20 were here already."
    expect(progress).to_have_text(said)
    expect(account).to_contain_text("53 of 56 files or rows used; 3 dropped")


def test_after_forgetting_one_begins_anew(learned, folder):
    page = learned
    page.get_by_role("button", name="Forget these frames").click()
    expect(page.locator("#learn-chart")).to_be_hidden()
    choose_files(page, "Choose a folder", folder / "Pan")
    said = "22 of 22 files read: 20 frames added."
    expect(page.locator("#learn-progress")).to_have_text(said)
    account = page.locator("#learn-account")
    expect(account).to_contain_text("20 of 22 files or rows used; 2 dropped")


def test_frames_past_the_limit_are_told_of_and_left_out(visit, folder):
    page = visit("learn")
    page.evaluate("document.getElementById('learn-drop').dataset.most = '30'")
    choose_files(page, "Choose a folder", folder)
    said = "42 of 42 files read: 30 frames added."
    expect(page.locator("#learn-progress")).to_have_text(said)
    account = page.locator("#learn-account")
    expect(account).to_contain_text("30 of 42 files or rows used; 12 dropped")
    expect(account).to_contain_text("10 more than 30 frames")


def test_wrong_files_are_counted_and_said(visit, folder):
    page = visit("learn")
    wrong = [folder / "Pan" / "letter.docx", folder / "Pan" / "broken.jpg"]
    choose_files(page, "Choose files", wrong)
    said = "None of these files can be used."
    expect(page.locator("#learn-answer")).to_have_text(said)
    account = page.locator("#learn-account")
    expect(account).to_contain_text("not a supported kind of image file")
    expect(account).to_contain_text("such as broken.jpg")


def test_a_wrong_line_of_groups_is_told_and_nothing_is_lost(learned):
    page = learned
    page.get_by_label("Settings by group, one per line").fill("Pan:colour=red")
    expect(page.locator("#learn-problem")).to_contain_text("Setting 'colour' of")
    expect(page.locator("#learn-table tbody tr")).to_have_count(2)


def test_bursts_selected_on_the_picture_become_a_group(learned):
    page = learned
    page.get_by_role("button", name="Select bursts on the picture").click()
    plot = page.locator("#learn-chart .nsewdrag").first
    plot.scroll_into_view_if_needed()
    box = plot.bounding_box()
    x, y = box["x"], box["y"]
    page.mouse.move(x + 2, y + 2)
    page.mouse.down()
    page.mouse.move(x + box["width"] / 2, y + box["height"] - 2, steps=5)
    page.mouse.up()
    page.get_by_label("Name of the group").fill("Late")
    page.get_by_role("button", name="Make a group").click()
    expect(page.get_by_role("row", name="Late")).to_be_visible()
    lines = page.get_by_label("Settings by group, one per line").input_value()
    assert lines.startswith("Late:from=2025-08-12T1")


def test_the_place_comes_with_the_link(visit, link):
    page = visit("learn" + link({"place": "Heron Marsh"}))
    field = page.get_by_label("Place", exact=True).and_(page.locator("input"))
    expect(field).to_have_value("Heron Marsh")
    trip = page.get_by_role("link", name="Trip", exact=True).get_attribute("href")
    assert "place=Heron+Marsh" in urlsplit(trip).query


@pytest.fixture(name="tabled")
def _tabled(visit, tmp_path, choose):
    """Frames of a table without a zone, all with a stop of compensation."""
    lines = ["date,time,f,shutter,iso,compensation,group"]
    for group, stops in (("Forest", 3.4), ("Pan", 0.0)):
        for wall, shutter in zip(*exposures(stops), strict=True):
            time = str(wall).replace("T", ",")
            lines.append(f"{time}:00,6.3,{shutter:.9f},3200,-1,{group}")
    file = tmp_path / "frames.csv"
    file.write_text("\n".join(lines))
    page = visit("learn")
    choose_files(page, "Choose files", file)
    expect(page.locator("#learn-account")).to_contain_text("0 of 40")
    choose(page, "Camera’s clock, if frames lack a zone", "the place’s time")
    # Made from the model less 3.4 stops, and the meter was told one stop less.
    expect(forest(page)).to_contain_text("+4.40")
    return page


def forest(page):
    return page.get_by_role("row", name="Forest")


def unfold(page, title):
    page.locator("summary", has_text=title).click()


@pytest.mark.parametrize(
    ("label", "typed", "found"),
    [
        wild.again("Habit, stops (−0.7: darker)", "-0.7", "+5.10"),
        ("Reference group, on open ground", "Pan", "+3.40"),
    ],
)
def test_how_frames_were_exposed_is_counted_in(label, typed, found, tabled):
    unfold(tabled, "How you expose")
    field = tabled.get_by_label(label, exact=True)
    field.fill(typed)
    field.blur()
    expect(forest(tabled)).to_contain_text(found)


def test_compensation_for_the_animal_is_left_in(tabled):
    unfold(tabled, "How you expose")
    tabled.get_by_label("Compensation was set for pale or dark animals").check()
    expect(forest(tabled)).to_contain_text("+3.40")


@pytest.mark.parametrize(
    ("label", "option"),
    [
        ("Sky", "overcast"),
        wild.again("Lit from", "back"),
        ("Count stops from", "woodland"),
    ],
)
def test_less_light_expected_leaves_fewer_stops_to_the_cover(
    label, option, tabled, choose
):
    choose(tabled, label, option)
    expect(forest(tabled)).not_to_contain_text("+4.40")
    assert 0.0 < float(forest(tabled).locator("td").first.inner_text()) < 4.0


def test_a_clock_that_was_slow_puts_the_sun_lower(tabled):
    field = tabled.get_by_label("Seconds the camera’s clock was slow")
    field.fill("1200")
    field.blur()
    expect(forest(tabled)).not_to_contain_text("+4.40")
    assert float(forest(tabled).locator("td").first.inner_text()) < 4.4


def test_the_preset_compared_with_is_the_one_chosen(tabled, choose):
    choose(tabled, "Compare with the preset", "open shade")
    expect(tabled.locator("#learn-answer")).to_contain_text("the open shade preset")


def test_frames_are_grouped_as_chosen(tabled, choose):
    choose(tabled, "Group frames by", "date")
    expect(tabled.get_by_role("row", name="2025-08-12")).to_be_visible()
    choose(tabled, "Group frames by", "all as one")
    expect(tabled.locator("#learn-table tbody tr")).to_have_count(1)
