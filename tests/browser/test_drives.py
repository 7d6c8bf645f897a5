"""Choosing a drive, by mouse, touch and keyboard, and reading off a minute."""

import pytest
from playwright.sync_api import expect

from lightplan.web.trip import tables

EVENING = "2027-08-14-evening"


def row(page):
    """The row of that drive."""
    return page.locator(".drive-row").filter(
        has=page.get_by_role("button", name="Sat 14 Aug, evening")
    )


def selected(page):
    return page.locator(".drive-row button[aria-pressed=true]")


def focused(page) -> str:
    return page.evaluate("document.activeElement.getAttribute('aria-label') || ''")


DAYS = {"from": "2027-08-14", "to": "2027-08-15"}


@pytest.fixture(scope="module")
def page(visitors, link):
    """A weekend's page, for tests that choose a drive or read a minute off it."""
    with visitors() as visit:
        yield visit(link(DAYS))


def test_a_click_anywhere_in_a_row_shows_its_drive(page, in_address, shows):
    row(page).locator(".strip").click(position={"x": 200, "y": 8}, force=True)
    in_address(page, "drive", EVENING)
    shows(page)
    expect(selected(page)).to_have_text("Sat 14 Aug")
    assert focused(page).startswith("Sat 14 Aug, evening")


def test_a_tap_on_a_row_shows_its_drive_at_the_first_rigs_minute(
    visit, link, in_address, shows, drive_of, reads
):
    page = visit(link(DAYS), phone=True)
    row(page).locator(".row-golden").tap(force=True)
    in_address(page, "drive", EVENING)
    shows(page)
    expect(selected(page)).to_have_text("Sat 14 Aug")
    drive = drive_of(page)
    reads(page, drive.minute(drive.outcomes[0][1].last.utc))


def test_enter_on_a_row_shows_its_drive_and_keeps_the_focus(page, in_address, shows):
    page.locator(".drive-row").get_by_label("Sun 15 Aug, morning").focus()
    page.keyboard.press("Enter")
    in_address(page, "drive", "2027-08-15-morning")
    shows(page)
    expect(selected(page)).to_have_text("Sun 15 Aug")
    assert focused(page).startswith("Sun 15 Aug, morning")
    page.keyboard.press("Tab")
    assert focused(page).startswith("Sat 14 Aug, evening")


@pytest.fixture
def reads(plan_of, drive_of):
    """Hold the readout against the plan's numbers at a minute of the drive."""

    def check(page, minute: int) -> None:
        said = tables.readings(plan_of(page), drive_of(page))
        parts = page.locator("#readout > span")
        time, light = said["head"][minute]
        rigs = [
            f"{name}: {iso[minute]}"
            for name, iso in zip(said["names"], said["rigs"], strict=True)
        ]
        expect(parts).to_have_text([time, light, *rigs])
        cursor = """(minute) => document.querySelector('#chart .js-plotly-plot')
            .layout.shapes.some((s) => s.name === 'cursor' && s.x0 === minute)"""
        page.wait_for_function(cursor, arg=minute)

    return check


def test_the_slider_reads_off_minutes_by_keyboard(page, drive_of, reads):
    page.get_by_role("slider").focus()
    for key, minute in (
        ("Home", 0),
        ("ArrowRight", 1),
        ("End", len(drive_of(page).utc) - 1),
    ):
        page.keyboard.press(key)
        reads(page, minute)


def test_the_pointer_over_the_picture_reads_off_its_minute(page, drive_of, reads):
    length = len(drive_of(page).utc) - 1
    for panel in ("xy", "xy3"):  # ISO, and the sun's bearing
        plot = page.locator(f"#chart .draglayer .{panel} .nsewdrag")
        plot.scroll_into_view_if_needed()
        box = plot.bounding_box()
        minute = round(length * 0.3) if panel == "xy" else round(length * 0.8)
        x = box["x"] + box["width"] * minute / length
        page.mouse.move(x - 30, box["y"] + box["height"] / 2)
        page.mouse.move(x, box["y"] + box["height"] / 2)
        reads(page, minute)


LAID_OVER = """() => [...document.querySelectorAll('.strip')].flatMap((strip) => {
    const boxes = [...strip.querySelectorAll('.mark-label')]
        .map((label) => ({text: label.innerText, box: label.getBoundingClientRect()}))
        .sort((a, b) => a.box.left - b.box.left);
    return boxes.slice(1)
        .filter((b, i) => b.box.left < boxes[i].box.right - 0.5)
        .map((b, i) => b.text);
})"""


# A large screen, two laptops, a tablet both ways, two phones.
WIDTHS = (1920, 1366, 1280, 1024, 820, 390, 360)


@pytest.fixture(scope="module")
def laid_over(visitors, link):
    """Labels that lie on another one, at each width of the window."""
    rigs = ("300 prime ×2", "600 prime ×1.4", "150–600 zoom", "600 prime", "400 prime",
            "70–200 zoom, APS-C")  # fmt: skip
    found = {}
    with visitors() as visit:
        page = visit(link({"to": "2027-08-18"}, tuple((rig,) for rig in rigs)))
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 900})
            assert page.locator(".mark-label:visible").count() > 10
            found[width] = page.evaluate(LAID_OVER)
        yield found


@pytest.mark.parametrize("width", WIDTHS)
def test_labels_of_a_row_never_lie_on_one_another(width, laid_over):
    assert laid_over[width] == []
