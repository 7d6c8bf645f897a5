"""How long the trip page takes to answer, to show a mark and a change of pace.

By hand: python tests/bench/bench_browser.py [runs] [days ...]. Each figure is the
median of some runs in Chromium on this machine, desktop size, server in a process of
its own; the plan of each trip has been computed before. First the time until it is
seen, then the processor's time that the page's thread worked until all was quiet:
that one holds on a busy machine too. Give PYTHONPATH another tree to compare.
"""

import datetime as dt
import os
import socket
import statistics
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable
from pathlib import Path
from urllib.parse import urlencode

from playwright.sync_api import BrowserContext, Page, sync_playwright

Timed = tuple[float, float]

FIRST = dt.date(2027, 8, 2)
RIGS = ("600 prime", "400 prime", "150–600 zoom", "100–400 zoom, APS-C",
        "300 prime ×2", "70–200 zoom, APS-C")  # fmt: skip
TRIPS = {7: 3, 14: 6, 62: 6}  # days: rigs

ANSWERED = "() => document.querySelector('#answer')?.textContent"
COUNTED = "() => document.querySelectorAll('#booking tbody tr').length >= %d"
# From the event to the first frame that shows its effect.
TIMED = """([act, seen]) => new Promise((done) => {
    const is = new Function('return ' + seen);
    const start = performance.now();
    const look = () => is() ? requestAnimationFrame(() => done(performance.now() - start))
        : requestAnimationFrame(look);
    new Function(act)();
    look();
})"""
MARK = "document.querySelectorAll('#booking tbody button')[0].click()"
MARKED = """document.querySelectorAll('#booking tbody button')[0]
    .getAttribute('aria-pressed') === '%s'
    && [...document.querySelectorAll('.drive-row .marked')]
        .filter((e) => e.textContent).length === %d"""
CHOSEN = """document.querySelectorAll('.drive-row button')[%d].click()"""
SHOWN = """document.querySelectorAll('.drive-row button')[%d]
    .getAttribute('aria-pressed') === 'true'
    && document.querySelector('#chart-title').textContent.startsWith(
        document.querySelectorAll('.drive-row button')[%d].firstChild.textContent)"""
PACE = """[...document.querySelectorAll('[role=radiogroup] label')]
    .find((e) => e.textContent === '%s').click()"""
PACED = """(document.querySelector('.drive-row .row-usable').textContent !== %r)
    && document.querySelector('#lenses tbody tr td').textContent !== %r"""


def address(port: int, days: int, rigs: int) -> str:
    last = FIRST + dt.timedelta(days=days - 1)
    asked = [("place", "Mopane Loop"), ("from", f"{FIRST}"), ("to", f"{last}")]
    asked += [("rig", rig) for rig in RIGS[:rigs]]
    return f"http://127.0.0.1:{port}/?{urlencode(asked)}"


def texts(page: Page) -> tuple[str, str]:
    row = page.locator(".drive-row .row-usable").first
    return row.inner_text(), page.locator("#lenses tbody tr td").first.inner_text()


def quiet(page: Page) -> None:
    """Wait until nothing has been asked for or drawn for a while."""
    # The plotting script runs in one piece; a mark set meanwhile would wait for it.
    page.wait_for_selector("#chart .main-svg", state="attached")
    page.wait_for_load_state("networkidle")
    page.wait_for_timeout(1500)


class Watch:
    """Times what is done to a page, and the work that it makes."""

    def __init__(self, page: Page) -> None:
        self.page, self.took = page, dict[str, tuple[float, float]]()
        self.session = page.context.new_cdp_session(page)
        self.session.send("Performance.enable", {"timeDomain": "threadTicks"})

    def worked_ms(self) -> float:
        metrics = self.session.send("Performance.getMetrics")["metrics"]
        return next(m["value"] for m in metrics if m["name"] == "TaskDuration") * 1e3

    def note(self, name: str, act: Callable[[], float]) -> None:
        before = self.worked_ms()
        seen = act()
        quiet(self.page)
        self.took[name] = (seen, self.worked_ms() - before)

    def run(self, name: str, act: str, seen: str) -> None:
        self.note(name, lambda: self.page.evaluate(TIMED, [act, seen]))


def opened(page: Page, url: str, drives: int) -> float:
    start = time.perf_counter()
    page.goto(url, wait_until="commit")
    page.wait_for_function(ANSWERED)
    seen = time.perf_counter() - start
    page.wait_for_function(COUNTED % drives)
    return seen * 1e3


def once(context: BrowserContext, url: str, drives: int) -> dict[str, Timed]:
    page = context.new_page()
    watch = Watch(page)
    watch.note("answer", lambda: opened(page, url, drives))
    watch.run("mark", MARK, MARKED % ("true", 1))
    watch.run("unmark", MARK, MARKED % ("false", 0))
    watch.run("drive", CHOSEN % 3, SHOWN % (3, 3))
    watch.run("pace", PACE % "flying", PACED % texts(page))
    page.close()
    return watch.took


def free_port() -> int:
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        return held.getsockname()[1]


def serving(port: int) -> subprocess.Popen[bytes]:
    """Start the app as people do, of the tree on the path."""
    tree = os.environ.get("PYTHONPATH") or str(Path(__file__).resolve().parents[2])
    given = {**os.environ, "LIGHTPLAN_PORT": str(port), "PYTHONPATH": tree}
    server = subprocess.Popen(
        [sys.executable, "app.py"],
        cwd=tree,
        env=given,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    for _ in range(600):
        try:
            urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=1).close()
            return server
        except OSError:
            time.sleep(0.1)
    server.kill()
    raise RuntimeError("the app does not start")


def middle(rounds: list[dict[str, Timed]], key: str) -> str:
    seen, worked = (statistics.median(r[key][i] for r in rounds) for i in (0, 1))
    return f"{seen:6.0f} ({worked:5.0f})"


def main(runs: int, lengths: list[int]) -> None:
    port = free_port()
    server = serving(port)
    try:
        with sync_playwright() as started:
            browser = started.chromium.launch(
                executable_path="/usr/bin/chromium", args=["--no-sandbox"]
            )
            context = browser.new_context(viewport={"width": 1440, "height": 900})
            context.set_default_timeout(400_000)
            print("milliseconds until seen (and of the page's own work)")
            for days in lengths:
                url = address(port, days, TRIPS[days])
                rounds = []
                for i in range(runs + 1):
                    found = once(context, url, days + days // 2)
                    if i:  # the first warms plans and scripts
                        rounds.append(found)
                told = "  ".join(f"{key} {middle(rounds, key)}" for key in rounds[0])
                print(f"{days:3d} days, {TRIPS[days]} rigs:  {told}", flush=True)
            browser.close()
    finally:
        server.terminate()
        server.wait()


if __name__ == "__main__":
    numbers = [int(text) for text in sys.argv[1:]]
    main(numbers[0] if numbers else 3, numbers[1:] or [*TRIPS])
