"""Every control changes what it should: the plan, the address, the other controls."""

import pytest
from playwright.sync_api import expect


def field(page, label: str, within: str = "aside"):
    """The input of a label."""
    named = page.locator(within).get_by_label(label, exact=True)
    return named.and_(page.locator("input"))


def opened(page, slot: int):
    """Open a rig's settings; return where they are."""
    page.locator(f"#slot-{slot} summary").click()
    return f"#slot-{slot}"


@pytest.fixture
def carries(in_address, shows):
    """Wait until the address carries a value and the page shows its plan."""

    def wait(page, name: str, text: str) -> None:
        in_address(page, name, text)
        shows(page)

    return wait


@pytest.fixture(scope="module")
def page(visitors, link):
    """A page for tests that begin with the choices as they find them."""
    with visitors() as visit:
        yield visit(link(rigs=(("150–600 zoom",), ("400 prime",))))


def test_pace_changes_the_shutter_and_the_answer(page, press, carries):
    shutter = page.locator("#slot-0-summary").inner_text()
    press(page, "The animal is", "flying")
    carries(page, "pace", "flying")
    expect(page.locator("#answer")).to_contain_text(
        "For a lion running"
    )  # no lion flies
    expect(page.locator("#slot-0-summary")).not_to_have_text(shutter)


def test_the_side_of_the_sun_changes_the_answer_and_the_table(page, press, carries):
    press(page, "Lit from", "back")
    carries(page, "side", "back")
    expect(page.locator("#answer")).to_contain_text("lit from behind")
    expect(page.locator("#tables .caption").last).to_contain_text("Lit from behind")


def test_sky_and_cover_change_the_light_and_its_spread(page, choose, carries):
    choose(page, "Sky", "overcast")
    carries(page, "sky", "overcast")
    choose(page, "Over the animal", "woodland")
    carries(page, "cover", "woodland")
    # Overcast ±0.6 and woodland ±1.0 stops (judgement), in quadrature.
    expect(page.locator("#chart-text")).to_contain_text("±1.2 stops")


def test_the_way_back_changes_when_to_turn(page, carries):
    field(page, "Minutes back to the gate").fill("60")
    carries(page, "back", "60")
    expect(page.locator("#answer")).to_contain_text("Turn back by 09:00")


def test_distance_and_blur_change_the_proposed_shutter(page, carries):
    page.get_by_text("Shutter and air").click()
    shutter = page.locator("#slot-0-summary")
    before = shutter.inner_text()
    field(page, "Distance, m").fill("8")
    carries(page, "distance", "8")
    expect(shutter).not_to_have_text(before)
    near = shutter.inner_text()
    field(page, "Blur allowed, px").fill("11.5")
    carries(page, "blur", "11.5")
    expect(shutter).not_to_have_text(near)


def test_hold_and_animal_change_the_proposed_shutter(page, choose, carries):
    shutter = page.locator("#slot-0-summary")
    before = shutter.inner_text()
    choose(page, "Animal", "fish eagle")
    carries(page, "animal", "fish-eagle")
    expect(page.locator("#answer")).to_contain_text("For a fish eagle flying")
    expect(shutter).not_to_have_text(before)
    choose(page, "How you hold it", "beanbag or door")
    carries(page, "hold", "beanbag")


def test_dates_change_the_rows(page, carries):
    field(page, "Last day").fill("2027-08-27")
    carries(page, "to", "2027-08-27")
    field(page, "First day").fill("2027-08-26")
    carries(page, "from", "2027-08-26")
    expect(page.locator(".drive-row .row-name")).to_have_text(
        ["Thu 26 Aug", "Fri 27 Aug", "Thu 26 Aug"]
    )


def test_the_year_that_other_pages_show_follows_the_first_day(visit, link, carries):
    page = visit(link({"from": "2027-08-12", "to": "2027-08-12", "year": "2026"}))
    field(page, "Last day").fill("2028-08-27")
    field(page, "First day").fill("2028-08-26")
    carries(page, "year", "2028")


@pytest.fixture(scope="module")
def elsewhere(visitors, link):
    """A page of November, when Teak Hollow is open."""
    with visitors() as visit:
        days = {"from": "2027-11-04", "to": "2027-11-04"}
        yield visit(link(days, rigs=(("150–600 zoom",),)))


def test_a_place_brings_its_usual_sky_and_cover(elsewhere, choose, carries):
    page = elsewhere
    choose(page, "Place", "Tussock Steppe")
    carries(page, "sky", "broken")
    expect(field(page, "Sky")).to_have_value("broken cloud")
    choose(page, "Place", "Teak Hollow")
    carries(page, "place", "Teak Hollow")
    carries(page, "sky", "clear")
    carries(page, "cover", "woodland")
    expect(field(page, "Sky")).to_have_value("clear")
    expect(field(page, "Over the animal")).to_have_value("woodland")
    expect(page.locator("#own-place")).to_be_hidden()


def test_coordinates_of_ones_own_are_asked_for_and_followed(elsewhere, choose, carries):
    page = elsewhere
    choose(page, "Place", "own coordinates")
    expect(page.locator("#own-place")).to_be_visible()
    carries(page, "place", "own coordinates")
    field(page, "Latitude, °N").fill("64.1")
    carries(page, "lat", "64.1")
    field(page, "Longitude, °E").fill("-21.9")
    carries(page, "lon", "-21.9")
    zone = field(page, "Time zone")
    zone.click()
    zone.fill("Reykj")
    page.get_by_role("option", name="Atlantic/Reykjavik").click()
    carries(page, "zone", "Atlantic/Reykjavik")
    expect(page.locator("#notes")).to_contain_text("64.1° N 21.9° W has no gate times")


def test_coordinates_stand_as_far_apart_as_other_fields(elsewhere, choose):
    page = elsewhere
    choose(page, "Place", "own coordinates")

    def above(label: str, previous: str) -> float:
        """How far a label stands below the box of another field."""
        name = page.locator("aside label", has_text=label).bounding_box()
        box = field(page, previous).bounding_box()
        return name["y"] - box["y"] - box["height"]

    wanted = above("Over the animal", "Sky")
    assert above("Latitude", "Place") == pytest.approx(wanted, abs=1)
    assert above("Time zone", "Latitude, °N") == pytest.approx(wanted, abs=1)
    # Between them stands how exactly the coordinates are used.
    note = page.locator("#own-place p").bounding_box()
    day = page.locator("aside label", has_text="First day").bounding_box()
    assert day["y"] - note["y"] - note["height"] == pytest.approx(wanted, abs=1)


OTHERS = "400 prime"


def test_a_rig_can_be_set_and_another_in_its_place_starts_afresh(visit, link, carries):
    page = visit(link(rigs=(("150–600 zoom",), ("400 prime",))))
    slot = opened(page, 0)
    field(page, "Focal length, mm", slot).fill("400")
    carries(page, "rig", f"150–600 zoom~400|{OTHERS}")
    for label, option, rig in (
        ("Aperture", "f/8", "150–600 zoom~400~8"),
        ("Shutter", "1/2000", "150–600 zoom~400~8~2000"),
        ("ISO ceiling", "ISO 12800", "150–600 zoom~400~8~2000~12800"),
    ):
        field(page, label, slot).click()
        page.get_by_role("option", name=option, exact=True).click()
        carries(page, "rig", f"{rig}|{OTHERS}")
    summary = page.locator("#slot-0-summary")
    expect(summary).to_have_text("400 mm f/8 · 1/2000 s · ≤ ISO 12800")
    field(page, "Rig A").click()
    page.get_by_role("option", name="300 prime ×2", exact=True).click()
    carries(page, "rig", f"300 prime ×2|{OTHERS}")
    usual = {"Focal length, mm": "", "Aperture": "widest", "Shutter": "proposed"}
    for label, text in {**usual, "ISO ceiling": "the body’s"}.items():
        expect(field(page, label, slot)).to_have_value(text)


SET = ("600 prime", "600", "7", "1700", "7000")


def test_a_rig_and_its_settings_move_up_when_one_above_is_removed(visit, link, carries):
    page = visit(link(rigs=(("400 prime",), SET)))
    slot = opened(page, 0)
    remove = page.locator(slot).get_by_role("button", name="Remove rig A")
    remove.click()
    carries(page, "rig", "~".join(SET))
    expect(page.locator("#slot-1")).to_be_hidden()
    for label, shown in (
        ("Rig A", "600 prime"),
        ("Focal length, mm", "600"),
        ("Aperture", "f/7"),
        ("Shutter", "1/1700"),
        ("ISO ceiling", "ISO 7000"),
    ):
        expect(field(page, label, slot)).to_have_value(shown)


def test_rigs_can_be_added_after_the_last_was_removed(page, carries):
    remove = page.get_by_role("button", name="Remove rig A")
    page.locator("#slot-0 details").evaluate("details => { details.open = true; }")
    for rest in ("400 prime", ""):
        remove.click()
        expect(field(page, "Rig A")).to_have_value(rest)
    expect(page.get_by_role("status")).to_contain_text("hoose 1 to 6 rigs")
    add = page.get_by_role("button", name="Add a rig")
    # The first of the file, then each that is not yet there.
    names = ["150–600 zoom", "400 prime", "100–400 zoom, APS-C"]
    for letter, name in zip("ABC", names, strict=True):
        add.click()
        expect(field(page, f"Rig {letter}")).to_have_value(name)
    carries(page, "rig", "|".join(names))
