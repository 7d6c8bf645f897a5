"""No log holds what people chose: an address with a position leaves no trace in one."""

import logging
import os
import socket
import subprocess
import sys
import time
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import Request, urlopen

import pytest

from lightplan.web import clock

APP = Path(__file__).parents[2] / "app.py"
SECRET = "13.17341"
QUERY = f"?place=own+coordinates&lat=-{SECRET}&lon=31.8&zone=Africa/Lusaka"
PATIENCE_S = 60  # for the server to start on a busy machine


def free_port():
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        return listening.getsockname()[1]


def status(request):
    try:
        with urlopen(request, timeout=PATIENCE_S) as answer:
            answer.read()
            return answer.status
    except HTTPError as error:
        return error.code


def listens(port):
    with socket.socket() as asking:
        return asking.connect_ex(("127.0.0.1", port)) == 0


def test_the_server_we_start_logs_no_query():
    port = free_port()
    server = subprocess.Popen(
        [sys.executable, "-u", str(APP)],
        env={**os.environ, "LIGHTPLAN_PORT": str(port)},
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip
    try:
        end = time.monotonic() + PATIENCE_S
        while not listens(port) and time.monotonic() < end:
            time.sleep(0.1)
        host = f"http://127.0.0.1:{port}"
        page = {"Referer": f"{host}/{QUERY}"}  # as a page asks for its layout
        found = [
            status(f"{host}/{QUERY}"),
            status(Request(f"{host}/_dash-layout", headers=page)),
            status(f"{host}/nothing{QUERY}"),
            status(Request(f"{host}/_dash-update-component{QUERY}", data=b"{}")),
        ]
    finally:
        server.terminate()
        said, _ = server.communicate(timeout=PATIENCE_S)
    assert found == [200, 200, 404, 400]
    assert SECRET not in said.decode()


@pytest.mark.parametrize("way", ["right", "broken"])
def test_nothing_in_the_app_logs_a_query(way, app, caplog, capfd, monkeypatch):
    # Under any other server: also where an error of our own is logged at length.
    caplog.set_level(logging.DEBUG)
    if way == "broken":
        monkeypatch.setattr(clock, "now", lambda: 1 / 0)
    page = {"Referer": f"http://localhost/{QUERY}"}
    answer = app.server.test_client().get("/_dash-layout" + QUERY, headers=page)
    assert answer.status_code == (500 if way == "broken" else 200)
    assert ("ZeroDivisionError" in caplog.text) == (way == "broken")
    assert SECRET not in caplog.text + "".join(capfd.readouterr())
