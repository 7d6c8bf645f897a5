"""Fifty guests at once, each with a trip of their own. By hand: load.py [seconds].

Starts ``python app.py`` on a free port of this machine. Every guest sends the requests
of a form that was changed, and reads the answers against what was asked: another
guest's trip, an error or a page that gives no answer ends the run. Then it measures how short answers fare while years are computed,
and what the server weighs before and after 5,000 callbacks.
"""

import contextlib
import http.client
import json
import os
import random
import socket
import statistics
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from lightplan.catalog import places  # noqa: E402
from lightplan.choices import state  # noqa: E402
from lightplan.choices.raw import (  # noqa: E402
    OWN,
    RIG_FIELDS,
    Raw,
    slot_field,
)
from lightplan.web import ids  # noqa: E402
from lightplan.web.clock import now  # noqa: E402

GUESTS = 50
CALLBACKS = 5000
GROWTH = 0.10  # of the server's memory after it has warmed up
CHOICES, ROWS = f"{ids.PROBLEM}.children", f"{ids.DRIVES}.html"
DRIVE, YEAR = f"{ids.CHART_TITLE}.children", f"{ids.YEAR_ANSWER}.children"
SHORT = (CHOICES, ROWS, DRIVE)

Asked = dict[str, object]


class Failed(Exception):
    """An answer that is none, or somebody else's."""


@contextlib.contextmanager
def served() -> Iterator[tuple[int, int]]:
    """Run the server; give its port and its process."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    environment = {
        **os.environ,
        "LIGHTPLAN_PORT": str(port),
        "LIGHTPLAN_FILE": str(ROOT / places.EXAMPLE_FILE),
    }
    command = [sys.executable, "app.py"]
    process = subprocess.Popen(command, cwd=ROOT, env=environment)
    try:
        for _ in range(200):
            with (
                contextlib.suppress(OSError),
                socket.create_connection(("127.0.0.1", port)),
            ):
                break
            time.sleep(0.1)
        yield port, process.pid
    finally:
        process.terminate()
        process.wait(20)


def server_kb(pid: int) -> int:
    """Return the server's resident memory. [KiB]."""
    status = Path(f"/proc/{pid}/status").read_text()
    (line,) = (row for row in status.splitlines() if row.startswith("VmRSS"))
    return int(line.split()[1])


def server_s(pid: int) -> float:
    """Return the processor time that the server has had. [s]."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


class Guest:
    """A browser: one connection, and trips to one place after another."""

    def __init__(self, port: int, seed: int) -> None:
        self.random = random.Random(seed)
        self.line = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        self.catalog = places.load(ROOT / places.EXAMPLE_FILE)
        self.known = self._json("GET", "/_dash-dependencies")

    def _json(self, method: str, path: str, body: object = None) -> object:
        text = None if body is None else json.dumps(body)
        try:
            answer = self._answer(method, path, text)
        except ConnectionError:
            # The server closed a line that was idle just then; a browser opens another.
            self.line.close()
            answer = self._answer(method, path, text)
        content = answer.read()
        if answer.status != 200:
            raise Failed(f"{answer.status}: {content[:200]!r}")
        return json.loads(content)

    def _answer(
        self, method: str, path: str, text: str | None
    ) -> http.client.HTTPResponse:
        self.line.request(method, path, text, {"Content-Type": "application/json"})
        return self.line.getresponse()

    def trip(self) -> Raw:
        """Return a form with a place of its own coordinates and dates at random."""
        latitude = round(self.random.uniform(-35, 35), 3)
        longitude = round(self.random.uniform(10, 45), 3)
        month, day = self.random.randint(1, 12), self.random.randint(1, 20)
        length = self.random.randint(0, 6)
        rigs = self.random.sample([r.name for r in self.catalog.rigs], 3)
        changes = {
            "place": OWN,
            "lat": str(latitude),
            "lon": str(longitude),
            "zone": "Africa/Johannesburg",
            "from": f"2027-{month:02d}-{day:02d}",
            "to": f"2027-{month:02d}-{day + length:02d}",
            "year": "2027",
        }
        base = state.defaults(self.catalog, now()).replaced(changes)
        return Raw(base.fields, tuple((name, "", "", "", "") for name in rigs))

    def ask(self, output: str, raw: Raw) -> dict[str, Asked]:
        """Ask one callback, as the page does."""
        values: Asked = {**dict(raw.fields), ids.PAGE: "trip", ids.THEME: "paper"}
        for slot, rig in enumerate(raw.rigs):
            for field, text in zip(RIG_FIELDS, rig, strict=True):
                values[slot_field(field, slot)] = text
        (one,) = (d for d in self.known if f"..{output}." in f".{d['output']}.")
        named = [t.rsplit(".", 1) for t in one["output"].strip(".").split("...")]

        def filled(entries: list[Asked]) -> list[Asked]:
            return [
                {**entry, "value": values.get(str(entry["id"]))} for entry in entries
            ]

        body = {
            "output": one["output"],
            "outputs": [{"id": i, "property": p} for i, p in named],
            "inputs": filled(one["inputs"]),
            "state": filled(one["state"]),
            "changedPropIds": ["place.value"],
        }
        found = self._json("POST", "/_dash-update-component", body)
        return dict(found["response"])

    def short(self) -> list[float]:
        """Change the form once; return how long each of its answers took. [s]."""
        raw = self.trip()
        request = state.read(raw, self.catalog)
        taken = []
        for output in SHORT:
            started = time.perf_counter()
            answer = self.ask(output, raw)
            taken.append(time.perf_counter() - started)
            self.check(output, raw, request, json.dumps(answer, ensure_ascii=False))
        return taken

    def check(self, output: str, raw: Raw, request: object, answer: str) -> None:
        """Fail unless an answer is that of this guest's own form."""
        mine = {
            CHOICES: [request.place.name, raw.search()],
            ROWS: [f"{request.first.isoformat()}-", f"{request.last.isoformat()}-"],
            DRIVE: [f" {request.first.day} {request.first:%b}"],
        }[output]
        if not all(part in answer for part in mine):
            raise Failed(f"{output} of somebody else: {mine} not in {answer[:300]}")

    def year(self) -> list[float]:
        """Ask for a year; return how long that took. [s]."""
        started = time.perf_counter()
        self.ask(YEAR, self.trip())
        return [time.perf_counter() - started]


def together(
    guests: list[Guest], work: Callable[[Guest], list[float]], until: Callable[[], bool]
) -> list[float]:
    """Let guests work at once until it is enough; return the times taken. [s]."""
    taken: list[list[float]] = []
    failures: list[BaseException] = []

    def run(guest: Guest) -> None:
        try:
            while not until() and not failures:
                taken.append(work(guest))
        except BaseException as failure:
            failures.append(failure)

    threads = [threading.Thread(target=run, args=(guest,)) for guest in guests]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if failures:
        raise failures[0]
    return [time for times in taken for time in times]


def after(seconds: float) -> Callable[[], bool]:
    """Return what tells whether so much time has passed from now on."""
    end = time.monotonic() + seconds
    return lambda: time.monotonic() > end


def say(what: str, taken: list[float], seconds: float) -> None:
    """Print requests a second, median and 95th percentile."""
    p50, p95 = statistics.median(taken), statistics.quantiles(taken, n=20)[18]
    print(
        f"{what}: {len(taken)} answers, {len(taken) / seconds:.0f}/s, "
        f"p50 {p50 * 1000:.0f} ms, p95 {p95 * 1000:.0f} ms",
        flush=True,
    )


def main(seconds: float) -> None:
    """Measure, and stop with an error where something is wrong."""
    with served() as (port, server):
        guests = [Guest(port, seed) for seed in range(GUESTS)]
        together(guests, Guest.short, after(5))  # imports, caches
        before_s = server_s(server)
        taken = together(guests, Guest.short, after(seconds))
        each_ms = (server_s(server) - before_s) / len(taken) * 1000
        say(f"{GUESTS} guests, {each_ms:.1f} ms of processor time", taken, seconds)

        few = guests[:4]
        say("4 guests", together(few, Guest.short, after(5)), 5)
        stop, years = after(10), []
        busy = threading.Thread(
            target=lambda: years.extend(together(guests[4:7], Guest.year, stop))
        )
        busy.start()
        say("4 guests beside 3 who ask for years", together(few, Guest.short, stop), 10)
        busy.join()
        say("years", years, 10)

        before_kb = server_kb(server)
        count = iter(range(CALLBACKS // len(SHORT)))
        together(few, Guest.short, lambda: next(count, None) is None)
        grown = server_kb(server) / before_kb - 1
        print(f"{before_kb / 1024:.0f} MB; after {CALLBACKS} callbacks {grown:+.1%}")
        if grown > GROWTH:
            sys.exit(f"the server grew by more than {GROWTH:.0%}")


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 30.0)
