"""What DEVELOPERS.md names is there: packages, modules, functions, files."""

import importlib
import re
from pathlib import Path

import pytest
from test_architecture import PACKAGES

ROOT = Path(__file__).parents[1]
TEXT = (ROOT / "DEVELOPERS.md").read_text("utf-8")
QUOTED = set(re.findall(r"`([^`\n]+)`", TEXT))
TOP = "|".join(PACKAGES)
NAMES = sorted(n for n in QUOTED if re.fullmatch(rf"({TOP})(\.\w+)+", n))
PATHS = sorted(n for n in QUOTED if re.fullmatch(r"[\w./]+\.(py|js|toml|md)", n))


def found(name):
    """Whether a dotted name is a module of ours, or something in one."""
    parts = name.split(".")
    for length in range(len(parts), 0, -1):
        try:
            value = importlib.import_module(".".join(["lightplan", *parts[:length]]))
        except ModuleNotFoundError:
            continue
        for attribute in parts[length:]:
            if not hasattr(value, attribute):
                return False
            value = getattr(value, attribute)
        return True
    return False


def test_every_package_is_in_the_table():
    assert re.findall(r"^\| `(\w+)` \|", TEXT, re.M) == list(PACKAGES)


@pytest.mark.parametrize("name", NAMES)
def test_what_is_named_exists(name):
    assert found(name)


@pytest.mark.parametrize("path", PATHS)
def test_files_that_are_named_exist(path):
    assert any((base / path).exists() for base in (ROOT, ROOT / "lightplan"))


def test_commands_name_files_that_exist():
    for path in re.findall(r"tests/[\w/]+\.py", TEXT):
        assert (ROOT / path).exists(), path
