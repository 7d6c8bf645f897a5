"""The server as ``python app.py`` starts it: what it says, and whom it keeps waiting."""

import contextlib
import http.client
import os
import socket
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SLOW = 120  # visitors; more than servers have threads, or some of them connections


def started(port):
    return subprocess.Popen(
        [sys.executable, str(ROOT / "app.py")],
        env={
            **os.environ,
            "LIGHTPLAN_PORT": str(port),
            "LIGHTPLAN_FILE": str(ROOT / "locations.example.toml"),
        },
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


@pytest.fixture(scope="module")
def server():
    """A server's port and what it said; its standard error must stay empty."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    with started(port) as process:
        said = process.stdout.readline()
        yield port, said
        process.terminate()
        assert process.stderr.read() == ""


def status(port, path="/"):
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    with contextlib.closing(line):
        line.request("GET", path)
        return line.getresponse().status


def test_the_server_says_where_it_listens_and_nothing_else(server):
    port, said = server
    assert said == f"lightplan listens on http://127.0.0.1:{port}\n"
    assert status(port) == 200


def test_slow_visitors_keep_nobody_waiting(server):
    # Some send a request byte by byte, some do not fetch the largest answer there is
    # (plotly's script, 5 MB); a server that gives each a thread is soon out of them.
    port, _ = server
    script = "/_dash-component-suites/plotly/package_data/plotly.min.js"
    sending = (
        b"POST /_dash-update-component HTTP/1.1\r\nHost: x\r\n"
        b"Content-Type: application/json\r\nContent-Length: 100\r\n\r\n{"
    )
    reading = f"GET {script} HTTP/1.1\r\nHost: x\r\n\r\n".encode()
    with contextlib.ExitStack() as lines:
        slow = [
            lines.enter_context(socket.create_connection(("127.0.0.1", port)))
            for _ in range(SLOW)
        ]
        for i, line in enumerate(slow):
            line.sendall(sending if i % 6 else reading)
        for _ in range(3):
            assert status(port) == 200
            for line in slow[1:6]:
                line.sendall(b" ")
        for line in slow[1:6]:  # none was sent away, so all were waited for
            line.setblocking(False)
            with pytest.raises(BlockingIOError):
                line.recv(1)


def test_a_port_that_is_taken_is_told_in_a_sentence(server):
    port, _ = server
    with started(port) as second:
        said, error = second.communicate(timeout=60)
    assert (second.returncode, said) == (1, "")
    assert error == (
        f"lightplan: cannot listen on 127.0.0.1, port {port}: another program is using "
        "it; stop that one or choose another port\n"
    )
