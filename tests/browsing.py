"""How browser tests start Chromium, tell a drawn page, and watch and measure it."""

import json
from urllib.parse import urlsplit

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, Request, Response, expect

from lightplan import naming
from lightplan.catalog.gates import SESSIONS
from lightplan.trip import light_words, words
from lightplan.trip.plan import DrivePlan, TripPlan
from lightplan.trip.request import FACING_INDEX
from lightplan.web.trip.page import picture_text

# Chromium resolves no name, and no address but this one.
ARGUMENTS = [
    "--no-sandbox",
    "--disable-background-networking",
    "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1",
]
USUAL = {"locale": "en-GB", "reduced_motion": "reduce"}
DESKTOP = {"viewport": {"width": 1440, "height": 900}, **USUAL}
PHONE = {"viewport": {"width": 390, "height": 844}, **USUAL}
PHONE |= {"is_mobile": True, "has_touch": True}

# Any page: its picture, its answer and, on the trip's, the minute read off. The
# drawing of where to stop has texts and no axes; one's own frames have no
# picture before there are some, spots none without a spot; kit is a form, the pocket
# plan a frame.
DRAWN = """() => document.querySelector('main.pocket iframe') || (
    document.querySelector('.chart .main-svg :is(.xtick, .annotation, '
        + '.annotation-text), #learn-found.hidden, #spots-shown.hidden, #kit-form label')
    && document.querySelector('.answer')?.textContent
    && document.querySelector('#readout')?.textContent !== '')"""

SIDEWAYS = """() => document.documentElement.scrollWidth
    - document.documentElement.clientWidth"""


def watch(page: Page, trouble: list[str]) -> None:
    """Write down whatever goes wrong, or to another host."""

    def foreign(request: Request) -> None:
        url = urlsplit(request.url)
        if url.scheme not in ("data", "blob", "about") and url.hostname != "127.0.0.1":
            trouble.append(f"foreign: {request.url}")

    def failed(request: Request) -> None:
        # A page that is left aborts what it still asked for, as it may; whatever
        # else fails does so under another name.
        if request.failure != "net::ERR_ABORTED":
            trouble.append(f"failed: {request.url}: {request.failure}")

    def refused(response: Response) -> None:
        if response.status >= 400:
            trouble.append(f"{response.status}: {response.url}")

    page.on("console", lambda m: trouble.append(f"console {m.type}: {m.text}"))
    page.on("pageerror", lambda error: trouble.append(f"script: {error}"))
    page.on("websocket", lambda socket: trouble.append(f"socket: {socket.url}"))
    page.on("request", foreign)
    page.on("requestfailed", failed)
    page.on("response", refused)


def shows_plan(page: Page, of: TripPlan, drive: DrivePlan) -> None:
    """Hold all that the trip's page shows against a plan and one of its drives."""
    expect(page.locator("#problem")).to_be_empty()
    answer = naming.plain(words.answer(of, drive)).strip()
    expect(page.locator("#answer")).to_have_text(answer)
    expect(page.locator("#chart-title")).to_contain_text(drive.name)
    expect(page.locator("#chart-why")).to_have_text(light_words.why(of, drive))
    expect(page.locator("#chart-text")).to_have_text(picture_text(of, drive))
    facing = FACING_INDEX[of.request.facing]
    sessions = [[d for d in of.drives if d.session == s] for s in SESSIONS]
    expect(page.locator(".drive-row .row-usable")).to_have_text(
        [
            " · ".join(str(o[facing].usable_min) for o in d.outcomes)
            for session in sessions
            for d in session
        ]
    )
    heads = page.locator("#tables table").first.locator("tbody th")
    expect(heads).to_have_text(
        [
            f"{words.rig_name(of, rig)} up to ISO {choice.iso_ceiling:g}"
            for rig, choice in enumerate(of.request.rigs)
        ]
    )
    ends = page.locator("#tables table").last.locator("tbody th")
    expect(ends.first).to_have_text(of.clock(drive.opens_utc))
    expect(ends.last).to_have_text(of.clock(drive.closes_utc))


# Every rule of axe-core that is on by default, whatever its impact, and WCAG 2.2's
# target size (2.5.8), which is not.
OPTIONS = {"resultTypes": ["violations"], "rules": {"target-size": {"enabled": True}}}


# Of all rules the one that another theme may break.
COLOURS = {"resultTypes": ["violations"], "runOnly": ["color-contrast"]}


def violations(
    page: Page, context: str | None = None, colours_only: bool = False
) -> list[str]:
    """Return what axe-core finds on a page, or in a part of it."""
    # axe-core takes what a scrolling box has scrolled away for text on its ground.
    page.evaluate("document.querySelector('.choices')?.scrollTo(0, 0)")
    # It also takes what a form's foot lies over just now for a smaller target.
    foot = """(position) => document.querySelectorAll('.foot')
        .forEach((e) => { e.style.position = position; })"""
    page.evaluate(foot, "static")
    options = COLOURS if colours_only else OPTIONS
    found = Axe().run(page, context, options).response["violations"]
    page.evaluate(foot, "")
    return [
        f"{v['id']} ({v['impact']}): {json.dumps(node['target'])} {node['html'][:120]}"
        for v in found
        for node in v["nodes"]
    ]
