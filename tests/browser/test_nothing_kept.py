"""A browser that keeps nothing, or nothing more, or runs no script."""

import pytest
import wild
from playwright.sync_api import expect

from lightplan.web import ids
from lightplan.web.pages import PAGES

PATHS = {page.key: page.path for page in PAGES}
# HTML Standard, 12.2 "Web storage": reading window.localStorage throws a
# SecurityError where storage is not allowed, and setItem a QuotaExceededError where
# the value cannot be stored. So do sessionStorage and its own.
OFF = """for (const name of ['localStorage', 'sessionStorage'])
    Object.defineProperty(window, name, {configurable: true, get() {
        throw new DOMException('refused', 'SecurityError');
    }});"""
FULL = """Storage.prototype.setItem = () => {
    throw new DOMException('full', 'QuotaExceededError');
};"""
FRAMES = "time,f,shutter,ISO,UTC offset\n" + "".join(
    f"2025-08-12 16:{minute}:00,6.3,1/500,3200,+02:00\n" for minute in range(30, 50)
)


@pytest.fixture(scope="module")
def off(visitors):
    with visitors() as visit:
        yield visit("kit", before=lambda page: page.add_init_script(OFF))


def changes_its_colours(page) -> None:
    for theme in ("dusk", "paper"):
        group = page.get_by_role("radiogroup", name="Colours of the page")
        group.get_by_text(theme, exact=True).click()
        expect(page.locator("html")).to_have_attribute("data-theme", theme)


@pytest.mark.parametrize(
    "name",
    # The pages with a picture, a form and a frame; the others are built like these.
    [n if n in ("trip", "kit", ids.POCKET) else wild.again(n) for n in PATHS],
)
def test_every_page_opens_says_so_and_changes_its_colours(
    name, off, address, link, drawn
):
    off.goto(address.rstrip("/") + PATHS[name] + link())
    drawn(off)
    said = off.locator("#keeps-nothing")
    expect(said).to_contain_text("This browser saves nothing: the colours")
    changes_its_colours(off)
    if name == ids.POCKET:
        frame = off.frame_locator("iframe")
        expect(frame.locator("#forgets")).to_be_visible()
        frame.get_by_role("button", name="Lamp").click()
        expect(frame.locator("html")).to_have_attribute("data-theme", "lamp")


@pytest.fixture(scope="module")
def full(visitors):
    """A browser whose storage is full, at the page of places and kit."""
    with visitors() as visit:
        yield visit("kit", before=lambda page: page.add_init_script(FULL))


def test_with_a_full_storage_it_works_on_and_says_so(full):
    said = full.locator("#keeps-nothing")
    expect(said).to_contain_text("This browser saves nothing more: the colours")
    changes_its_colours(full)


def test_what_would_be_lost_is_not_said_to_be_saved(full):
    page = full
    height = page.get_by_label("Height above the sea, m").and_(page.locator("input"))
    height.fill("555")
    expect(page.locator("#kit-unsaved")).to_have_text("Not saved yet.")
    page.locator("#kit-save").click()
    expect(page.locator("#kit-said")).to_contain_text("could not save it")
    expect(height).to_have_value("555")


def test_frames_are_learned_from_all_the_same(full, address, drawn):
    page = full
    page.goto(address + "learn")
    drawn(page)
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Choose files").click()
    chooser.value.set_files(
        {"name": "a.csv", "mimeType": "text/csv", "buffer": FRAMES.encode()}
    )
    expect(page.locator("#learn-table tbody tr")).to_have_count(1)


def test_a_browser_that_keeps_all_says_nothing(visit):
    assert visit("kit").locator("#keeps-nothing").count() == 0


def test_without_scripts_it_says_what_is_missing_and_what_works(browser, address):
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(address + "year")
    said = page.locator(".no-script")
    expect(said).to_be_visible()
    expect(said).to_contain_text("Without scripts lightplan shows no plan")
    expect(said).to_contain_text("python -m lightplan plan")
    expect(page.get_by_text("Loading...")).to_be_hidden()
    context.close()
