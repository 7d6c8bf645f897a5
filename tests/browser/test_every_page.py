"""Every page holds what all promise: for every link, hand and eye, screen and paper."""

import re
from urllib.parse import quote_plus, urlsplit

import pytest
import wild
from browsing import SIDEWAYS, violations
from playwright.sync_api import expect

from lightplan.web.pages import PAGES, at

PATHS = {page.key: page.path for page in PAGES}
HERE, ELSEWHERE = "Mopane Loop", "Heron Marsh"
FINGER_PX = 44  # WCAG 2.2, 2.5.5: target size (enhanced)
# WCAG 2.2, 1.4.11: the edge by which a control is seen, against what is round it.
EDGE_CONTRAST = 3.0
# WCAG 2.2, 1.4.10: reflow at 320 px, which is 1280 px at 400 %; and 1440 × 900 px,
# a laptop's screen, at 200 % (1.4.4).
ZOOMED = [(320, 640), wild.again(720, 450)]

# A table of frames, so that the page of one's own shows all it has.
FRAMES = "time,f,shutter,ISO,UTC offset,group\n" + "".join(
    f"2025-08-12 16:{minute}:00,6.3,1/{1000 - 15 * minute},3200,+02:00,{group}\n"
    for group in ("Pan", "Riverine forest")
    for minute in range(30, 50)
)

# Texts that lie on one another. A table keeps its cells apart and scrolls by itself,
# drawings have tests of their own, and a form's foot stays in sight on top of it.
LAID_OVER = """() => {
    const boxes = [];
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (walk.nextNode()) {
        const [of, text] = [walk.currentNode.parentElement, walk.currentNode.data.trim()];
        if (!text || !of.checkVisibility({visibilityProperty: true}) || of.closest(
            'svg, table, script, style, .visually-hidden, .skip, .foot, .loop-drives'))
            continue;
        const range = document.createRange();
        range.selectNodeContents(walk.currentNode);
        boxes.push(...[...range.getClientRects()].map((box) => [box, text]));
    }
    const lapped = (a, b) => Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1
        && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 3;
    return boxes.flatMap(([a, text], i) => boxes.slice(i + 1)
        .filter(([b]) => lapped(a, b)).map(([, other]) => [text, other]));
}"""
# What does not show whole: a choice in its box, a text in one that hides the rest, or
# anything beyond the window. A typed text may run on in its field.
CUT = """() => [...document.querySelectorAll('main *, aside *, header *')]
    .filter((e) => e.checkVisibility()
        && !e.closest('svg, .visually-hidden, .graph-box, .skip'))
    .filter((e) => e.matches('.mantine-Select-input')
        || ['hidden', 'clip'].includes(getComputedStyle(e).overflowX)
        && !e.matches('input'))
    .filter((e) => e.scrollWidth > e.clientWidth + 1)
    .map((e) => [e.className || e.id, e.value || e.innerText.slice(0, 40)])"""

# What a thumb may aim at, as the box that answers to it. A slider's thumb answers
# beyond what is drawn of it.
SMALL = """(least) => {
    const box = (e) => {
        const at = e.getBoundingClientRect();
        const reach = getComputedStyle(e, '::after');
        if (e.role !== 'slider' || reach.content === 'none') return at;
        return {width: parseFloat(reach.width), height: parseFloat(reach.height)};
    };
    return [...document.querySelectorAll('button, input:not([type=file]), select, '
            + 'summary, a[href], [role=slider], [role=option], '
            + '.mantine-SegmentedControl-label')]
        .filter((e) => e.type !== 'radio')  // its label is what is touched
        .filter((e) => !e.closest('.skip') && e.checkVisibility())
        .map((e) => e.closest('.drive-row') || e)
        .map((e) => e.type === 'checkbox' ? e.labels[0] : e)  // so is a box's
        .map((e) => [e, box(e)])
        .filter(([, {width, height}]) => width > 2 && height > 2
            && Math.min(Math.round(width), Math.round(height)) < least)
        .map(([e, {width, height}]) => [e.innerText || e.id || e.role, width, height]);
}"""
EDGES = """() => [...document.querySelectorAll(
        '.mantine-Input-input, .mantine-Checkbox-input, .mantine-SegmentedControl-root')]
    .filter((e) => e.checkVisibility())
    .map((e) => [getComputedStyle(e).borderTopColor,
        getComputedStyle(document.body).backgroundColor])"""
# With motion reduced, whatever would last longer than a frame of the screen.
MOVING = """() => [...document.querySelectorAll('*')].flatMap((e) =>
    [null, '::before', '::after'].map((part) => getComputedStyle(e, part))
        .filter((style) => `${style.transitionDuration},${style.animationName === 'none'
            ? '0s' : style.animationDuration}`.split(',').some((s) => parseFloat(s) > 0.01))
        .map(() => e.outerHTML.slice(0, 80)))"""
# Of what is drawn: is it hidden from ears, and what do they hear in its stead?
DRAWINGS = """() => [...document.querySelectorAll('.js-plotly-plot')]
    .filter((e) => e.checkVisibility())
    .map((e) => [e.closest('[aria-hidden=true]') !== null,
        e.closest('figure').querySelector('figcaption').innerText])"""
# Roles that want a name, in Playwright's notation.
UNNAMED = re.compile(
    r"^\s*- (?:textbox|button|link|img|radio|radiogroup|slider|combobox|checkbox|region"
    r"|listbox|figure|complementary|navigation|contentinfo)(?::|$| \[)",
    re.MULTILINE,
)


def at_once(page, place: str) -> None:
    """Hold that a page shows a place's plan and carries it along in its links."""
    on = f"on {urlsplit(page.url).path}"
    carried = re.compile(re.escape(quote_plus(place)))
    for link in page.get_by_role("navigation", name="Pages").get_by_role("link").all():
        expect(link, on).to_have_attribute("href", carried)
    field = page.locator("#place:not([type=hidden])")
    if field.count():
        expect(field, on).to_have_value(place)
    if page.locator("iframe").count():
        named = page.frame_locator("iframe").get_by_text(place).first
        expect(named).to_be_visible()


# In two halves, for two workers; the pocket plan, which no header links, comes first.
@pytest.mark.parametrize("names", [list(PATHS)[::2], list(PATHS)[::-2]], ids="-".join)
def test_links_hold_through_reload_back_and_forward_beside_another_tab(
    names, visit, link, drawn
):
    other = visit(PATHS[names[0]][1:] + link({"place": HERE}))
    page = visit(PATHS[names[0]][1:] + link({"place": ELSEWHERE}))

    def settled(name: str) -> None:
        page.wait_for_url(lambda url: urlsplit(url).path == PATHS[name])
        drawn(page)
        # The server gives each page its title; nothing of Dash may take it away.
        expect(page).to_have_title(f"{at(PATHS[name]).title} · lightplan")
        at_once(page, ELSEWHERE)

    pages = page.get_by_role("navigation", name="Pages")
    for name in names:
        if name != names[0]:
            pages.locator(f"a[href^='{PATHS[name]}?']").click()
        settled(name)
        address = page.url
        page.reload()
        settled(name)
        assert page.url == address
    for name in reversed(names[:-1]):
        page.go_back()
        settled(name)
    page.go_forward()
    settled(names[1])
    at_once(other, HERE)


def unfold(page) -> None:
    page.evaluate(
        "document.querySelectorAll('details').forEach((e) => { e.open = true; })"
    )


def filled(page, name: str) -> None:
    """Show all that a page has: every part unfolded, and frames where they belong."""
    if name == "learn":
        with page.expect_file_chooser() as chooser:
            page.get_by_role("button", name="Choose files").click()
        chooser.value.set_files(
            {"name": "a.csv", "mimeType": "text/csv", "buffer": FRAMES.encode()}
        )
        expect(page.locator("#learn-table tbody tr")).to_have_count(2)
        expect(page.locator("#learn-chart .xtick").first).to_be_attached()
    page.wait_for_load_state("networkidle")
    unfold(page)


# Lists and pictures are alike on every day; a Friday brings a closed evening.
DAYS = {"to": "2027-08-13"}


@pytest.fixture(scope="module", params=PATHS)
def desk(request, visitors, link):
    """Each page on a desk, with all it has, as it is and with the other theme."""
    with visitors() as visit:
        page = visit(PATHS[request.param][1:] + link(DAYS))
        filled(page, request.param)
        yield page


def wear(page, theme: str) -> None:
    group = page.get_by_role("radiogroup", name="Colours of the page")
    group.get_by_text(theme, exact=True).click()
    # The controls' own colours come after the page's.
    scheme = {"paper": "light", "dusk": "dark"}[theme]
    expect(page.locator("html")).to_have_attribute("data-mantine-color-scheme", scheme)


def luminance(colour: str) -> float:
    """WCAG 2.2, "relative luminance", of a computed colour."""
    red, green, blue = (
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
        for c in (int(part) / 255 for part in re.findall(r"\d+", colour)[:3])
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


# A phone in dusk is looked at in test_accessibility.
@pytest.mark.parametrize("theme", ["paper", wild.again("dusk")])
def test_axe_finds_nothing_and_edges_stand_out(theme, desk):
    wear(desk, theme)
    assert violations(desk, colours_only=theme == "dusk") == []
    for pair in desk.evaluate(EDGES):
        dark, light = sorted(map(luminance, pair))
        assert (light + 0.05) / (dark + 0.05) >= EDGE_CONTRAST, pair


@pytest.mark.parametrize("theme", ["paper", wild.again("dusk")])
def test_axe_finds_nothing_in_an_open_list_and_nothing_moves(theme, desk):
    wear(desk, theme)
    fields = desk.locator(".mantine-Select-input:visible")
    for field in fields.all()[:2]:  # the second one may be the long list of zones
        field.click()
        expect(desk.get_by_role("option").first).to_be_visible()
        assert violations(desk, "#popups") == []
        assert desk.evaluate(MOVING) == []
        desk.keyboard.press("Escape")
    assert desk.evaluate(MOVING) == []


def test_all_that_is_read_aloud_has_a_name_and_drawings_their_text(desk):
    heard = desk.locator("body").aria_snapshot()
    assert UNNAMED.findall(heard) == []
    for hidden, text in desk.evaluate(DRAWINGS):
        assert hidden
        assert len(text) > 40
        assert text[-1] == "."


def test_a_dark_page_is_printed_as_paper_without_its_controls(desk):
    wear(desk, "dusk")
    desk.emulate_media(media="print")
    ink = desk.evaluate("getComputedStyle(document.body).color")
    exact = """(parts) => [...document.querySelectorAll(parts)]
        .map((e) => getComputedStyle(e).printColorAdjust)"""
    bands = desk.evaluate(exact, ".band, .bar span, .swatch, .chart .main-svg")
    controls = desk.locator("aside.choices, header nav, .theme-choice")
    shown = [control.is_visible() for control in controls.all()]
    desk.emulate_media(media="screen")
    assert luminance(ink) < 0.1
    assert set(bands) <= {"exact"}
    assert not any(shown)


@pytest.mark.parametrize(("width", "height"), ZOOMED)
def test_zoomed_nothing_is_cut_or_laid_over_another_or_sideways(desk, width, height):
    usual = desk.viewport_size
    desk.set_viewport_size({"width": width, "height": height})
    drawer = desk.locator("#choices-button")
    if drawer.count() and drawer.get_attribute("aria-expanded") == "false":
        drawer.click()
        expect(desk.locator("#choices")).to_be_visible()
    # Pictures follow the window a moment later.
    desk.wait_for_function(f"() => ({SIDEWAYS})() <= 0")
    found = [desk.evaluate(script) for script in (LAID_OVER, CUT)]
    desk.set_viewport_size(usual)
    assert found == [[], []]


@pytest.fixture(scope="module")
def phone(visitors, link):
    """A phone, on which one page after another is opened."""
    with visitors() as visit:
        page = visit(link(DAYS), phone=True)
        page.wait_for_load_state("networkidle")
        yield page


@pytest.mark.parametrize("name", PATHS)
def test_on_a_phone_nothing_is_sideways_and_all_is_large_enough(
    name, phone, address, link, drawn
):
    phone.goto(address.rstrip("/") + PATHS[name] + link(DAYS))
    drawn(phone)
    assert phone.evaluate(SIDEWAYS) == 0
    drawer = phone.locator("#choices-button")
    if drawer.count():
        drawer.tap()
        expect(phone.locator("#choices")).to_be_visible()
    filled(phone, name)
    assert phone.evaluate(SIDEWAYS) == 0
    assert phone.evaluate(SMALL, FINGER_PX) == []
    fields = phone.locator(".mantine-Select-input:visible")
    if fields.count():
        fields.first.tap()
        expect(phone.get_by_role("option").first).to_be_visible()
        assert phone.evaluate(SMALL, FINGER_PX) == []
