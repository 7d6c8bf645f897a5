"""Browsers that come together to a new server: first_visits.py [starts].

Starts gunicorn with two workers on ``app:server`` (``pip install gunicorn``), asks for
every script of the page at once, from as many connections, and stops with an error
unless all are there. By hand, since twenty starts take a minute.
"""

import collections
import concurrent.futures
import http.client
import os
import re
import socket
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from lightplan.catalog import places  # noqa: E402
from lightplan.web.app import create_app  # noqa: E402

EXAMPLE = str(ROOT / places.EXAMPLE_FILE)
SERVER = [
    *("-m", "gunicorn", "--workers", "2", "--threads", "4", "--preload"),
    *("--log-level", "error", "app:server"),
]
FROM_EACH = 3  # visitors; each asks for everything


def status(port: int, path: str) -> int:
    """Return how a server answers, as soon as it does."""
    while True:
        line = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        try:
            line.request("GET", path)
            return line.getresponse().status
        except ConnectionRefusedError:
            time.sleep(0.02)
        finally:
            line.close()


def main(starts: int) -> None:
    """Start, ask, and count the answers."""
    page = create_app(EXAMPLE).server.test_client().get("/").text
    paths = re.findall(r'(?:src|content)="(/_dash[^"]+)"', page) * FROM_EACH
    found: collections.Counter[int] = collections.Counter()
    for _ in range(starts):
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        process = subprocess.Popen(
            [sys.executable, *SERVER, "--bind", f"127.0.0.1:{port}"],
            cwd=ROOT,
            env={**os.environ, "LIGHTPLAN_FILE": EXAMPLE},
        )
        try:
            with concurrent.futures.ThreadPoolExecutor(len(paths)) as all_at_once:
                found.update(
                    all_at_once.map(lambda path, port=port: status(port, path), paths)
                )
        finally:
            process.terminate()
            process.wait(20)
    print(
        f"{starts} starts: " + ", ".join(f"{n} × {code}" for code, n in found.items())
    )
    if set(found) != {200}:
        sys.exit("a visitor was told that a script is not there")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
