"""What others install: from the source archive to a command, without the clone.

Catches what no test that runs in the clone can: a file that stays behind, a command
without its entry point, a dependency that is read from the clone's folder.
"""

import os
import re
import shutil
import socket
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path
from urllib.request import urlopen

import pytest

from lightplan import __version__
from lightplan.catalog import places

ROOT = Path(__file__).parents[1]
PATIENCE_S = 60  # for a busy machine


def bare():
    """The environment variables of somebody who has set none for Python or for us."""
    return {
        name: value
        for name, value in os.environ.items()
        if not name.startswith(("PYTHON", "LIGHTPLAN"))
    }


def run(folder, *command):
    """Run a command in a folder, and return what it prints; it must not complain."""
    done = subprocess.run(
        command, cwd=folder, env=bare(), capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


def build(kind, source, made):
    """Build a ``wheel`` or an ``sdist`` with the backend that pip would call."""
    command = [sys.executable, "-m", "hatchling", "build", "-t", kind, "-d", made]
    subprocess.run(command, cwd=source, env=bare(), capture_output=True, check=True)
    (file,) = made.iterdir()
    return file


@pytest.fixture(scope="module")
def source(tmp_path_factory):
    """The unpacked source archive, made where a person's own things lie about."""
    clone = tmp_path_factory.mktemp("made") / "clone"
    others = ".git", ".venv", "__pycache__", ".*_cache", ".hypothesis"
    shutil.copytree(ROOT, clone, ignore=shutil.ignore_patterns(*others))
    for private in (places.OWN_FILE, "our-trip.html", "den.toml"):
        (clone / private).write_text("where the den is", encoding="utf-8")
    unpacked = tmp_path_factory.mktemp("unpacked")
    with tarfile.open(build("sdist", clone, clone.parent / "sdist")) as archive:
        archive.extractall(unpacked, filter="data")
    return unpacked / f"lightplan-{__version__}"


@pytest.fixture(scope="module")
def wheel(source, tmp_path_factory):
    return build("wheel", source, tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="module")
def lightplan(wheel, tmp_path_factory):
    """The command in an environment that holds nothing but the wheel.

    What it depends on is this environment's, to need no network; its own ``.pth``
    files, which lead to the clone, are not read there.
    """
    home = tmp_path_factory.mktemp("environment")
    run(home, sys.executable, "-m", "venv", "--without-pip", home)
    bin_ = home / ("Scripts" if os.name == "nt" else "bin")
    # A pip of its own would take longer to install than all the rest.
    pip = sys.executable, "-m", "pip", "--python", bin_ / "python"
    options = "--quiet", "--disable-pip-version-check", "--no-index", "--no-deps"
    run(home, *pip, "install", *options, wheel)
    site = run(
        home, bin_ / "python", "-c", "import lightplan; print(*lightplan.__path__)"
    )
    libraries = [path for path in sys.path if path.endswith("-packages")]
    (Path(site.strip()).parent / "rest.pth").write_text("\n".join(libraries), "utf-8")
    return bin_ / "lightplan"


def test_the_source_archive_holds_no_file_of_a_persons_own(source):
    written = {path.name for path in source.iterdir()} - {"PKG-INFO"}
    assert written <= {
        ".ci", ".docs", ".gitignore", "DEVELOPERS.md", "README.md", "app.py",
        "lightplan", "locations.example.toml", "pyproject.toml", "tests",
    }  # fmt: skip


def test_the_wheel_holds_the_package_and_the_example_and_nothing_else(wheel):
    here = {
        path.relative_to(ROOT).as_posix(): path.read_bytes()
        for path in (ROOT / "lightplan").rglob("*")
        if path.is_file() and path.parent.name != "__pycache__"
    }
    here["lightplan/locations.example.toml"] = (ROOT / places.EXAMPLE_FILE).read_bytes()
    with zipfile.ZipFile(wheel) as archive:
        inside = {
            name: archive.read(name)
            for name in archive.namelist()
            if ".dist-info/" not in name
        }
    assert inside == here


def test_the_installed_command_reads_the_example_inside_it(lightplan, tmp_path):
    assert run(tmp_path, lightplan, "--version") == f"{__version__}\n"
    path, _, listed = run(tmp_path, lightplan, "places").partition("\n")
    assert Path(path).is_relative_to(lightplan.parents[1])
    assert "Mopane Loop" in listed
    planned = run(tmp_path, lightplan, "plan", "--place", "Mopane Loop")
    assert planned.startswith("Mopane Loop (Africa/Lusaka, UTC+2)")


def test_the_installed_command_serves_the_page_and_its_scripts(lightplan, tmp_path):
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = str(free.getsockname()[1])
    command = [lightplan, "serve", "--port", port]
    with subprocess.Popen(
        command, cwd=tmp_path, env=bare(),
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
    ) as server:  # fmt: skip
        try:
            host = f"http://127.0.0.1:{port}"
            assert server.stdout.readline() == f"lightplan listens on {host}\n"
            page = urlopen(host, timeout=PATIENCE_S).read().decode()
            linked = re.findall(r'(?:src|href)="(/[^"]+)"', page)
            assert sum("/assets/" in address for address in linked) > 10
            for address in linked:
                with urlopen(host + address, timeout=PATIENCE_S) as answer:
                    assert answer.status == 200
                    assert answer.read()
        finally:
            server.terminate()
