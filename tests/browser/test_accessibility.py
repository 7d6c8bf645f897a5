"""axe-core finds nothing, and the whole job can be done by keyboard."""

import json
import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

# Every rule of axe-core that is on by default, whatever its impact, and WCAG 2.2's
# target size (2.5.8), which is not.
OPTIONS = {"resultTypes": ["violations"], "rules": {"target-size": {"enabled": True}}}


def violations(page) -> list[str]:
    # axe-core takes what a scrolling box has scrolled away for text on its ground.
    page.evaluate("document.querySelector('.choices').scrollTo(0, 0)")
    found = Axe().run(page, options=OPTIONS).response["violations"]
    return [
        f"{v['id']} ({v['impact']}): {json.dumps(node['target'])} {node['html'][:120]}"
        for v in found
        for node in v["nodes"]
    ]


# Lists look alike on either device, and axe-core takes its time.
AUDITS = [
    ("desktop", "paper", "all open"),
    ("desktop", "dusk", "all open"),
    ("desktop", "paper", "list open"),
    ("phone", "paper", "all open"),
    ("phone", "dusk", "all open"),
    ("year", "paper", "all open"),
    ("year", "dusk", "all open"),
]
# WCAG 2.2, 1.4.11: the edge by which a control is seen, against what is round it.
EDGE_CONTRAST = 3.0
EDGES = """() => [...document.querySelectorAll('aside .mantine-Input-input')]
    .filter((input) => input.checkVisibility())
    .map((input) => [getComputedStyle(input).borderTopColor,
        getComputedStyle(document.body).backgroundColor])"""


@pytest.fixture(scope="module")
def audited(visitors, press, link):
    """What axe-core finds with settings open, a problem told, and a list open."""
    found = {}
    with visitors() as visit:
        for device in ("desktop", "phone", "year"):
            # A Thursday, and a Friday with its closed evening.
            days = link({"to": "2027-08-13"}, (("400 prime",), ("600 prime",)))
            path = "year" if device == "year" else ""
            page = visit(path + days, phone=device == "phone")
            if device == "phone":
                page.locator("#choices-button").tap()
                expect(page.locator("#choices")).to_be_visible()
            for summary in page.locator("summary:visible").all():
                summary.click()
            page.get_by_label("Distance, m").fill("0")
            expect(page.get_by_role("status")).to_contain_text("What is shown")
            place = page.get_by_label("Place", exact=True).and_(page.locator("input"))
            for theme in ("paper", "dusk"):
                press(page, "Colours of the page", theme)
                # The controls' own colours come after the page's.
                scheme = "light" if theme == "paper" else "dark"
                expect(page.locator("html")).to_have_attribute(
                    "data-mantine-color-scheme", scheme
                )
                found[device, theme, "all open"] = violations(page)
                found[device, theme, "edges"] = page.evaluate(EDGES)
                if (device, theme, "list open") in AUDITS:
                    place.click()
                    expect(page.get_by_role("option").first).to_be_visible()
                    found[device, theme, "list open"] = violations(page)
                    page.keyboard.press("Escape")
        yield found


@pytest.mark.parametrize("audit", AUDITS, ids=", ".join)
def test_axe_finds_nothing(audit, audited):
    assert audited[audit] == []


def luminance(colour: str) -> float:
    """WCAG 2.2, "relative luminance", of a computed colour."""
    red, green, blue = (
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
        for c in (int(part) / 255 for part in re.findall(r"\d+", colour)[:3])
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("theme", ["paper", "dusk"])
def test_the_edge_of_a_control_stands_out(theme, audited):
    edges = audited["desktop", theme, "edges"]
    assert len(edges) > 5
    for pair in edges:
        dark, light = sorted(map(luminance, pair))
        assert (light + 0.05) / (dark + 0.05) >= EDGE_CONTRAST, pair


NAME = """() => {
    const e = document.activeElement;
    const label = e.labels && e.labels.length ? e.labels[0].innerText : '';
    return e.getAttribute('aria-label') || label || e.innerText || '';
}"""


def tab_to(page, name: str) -> None:
    """Go forward by the Tab key alone until a control of that name has the focus."""
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate(NAME).strip().startswith(name):
            return
    raise AssertionError(f"Tab never came to {name!r}")


def test_the_whole_job_can_be_done_by_keyboard(visit, link, in_address, shows):
    days = {"from": "2027-09-08", "to": "2027-09-08"}
    page = visit(link(days, (("400 prime",), ("150–600 zoom",))))
    keys = page.keyboard
    tab_to(page, "Skip to the plan")
    tab_to(page, "Place")
    keys.press("Enter")
    expect(page.get_by_role("option", name="Heron Marsh")).to_be_visible()
    for _ in range(2):  # from Mopane Loop past Two Rivers Plain
        keys.press("ArrowDown")
    keys.press("Enter")
    in_address(page, "place", "Heron Marsh")
    tab_to(page, "Last day")
    keys.type("09092027")  # alike for those who write the day and the month first
    in_address(page, "to", "2027-09-09")
    tab_to(page, "walking")
    keys.press("ArrowRight")
    in_address(page, "pace", "running")
    tab_to(page, "side")
    keys.press("ArrowLeft")
    in_address(page, "side", "front")
    tab_to(page, "Minutes back to the gate")
    keys.press("Control+A")
    keys.type("40")
    in_address(page, "back", "40")
    tab_to(page, "Add a rig")
    keys.press("Enter")
    expect(page.locator("#answer")).to_contain_text("C 400 mm f/5.6")
    tab_to(page, "Thu 9 Sep, evening")
    keys.press("Space")
    in_address(page, "drive", "2027-09-09-evening")
    shows(page)
    tab_to(page, "Minute of the drive to read off")
    time = page.locator("#readout .time")
    before = time.inner_text()
    keys.press("ArrowRight")
    expect(time).not_to_have_text(before)
