"""Imports point one way, and the core knows neither Dash nor Plotly."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import lightplan

PACKAGE = Path(lightplan.__file__).parent

# As DEVELOPERS.md says: a module imports only from those before it. A module not
# named here, split off from one of these, may stand anywhere that keeps this so.
ORDER = (
    "sun",
    "exposure",
    "localtime",
    "moon",
    "windows",
    "daylight",
    "kit",
    "places",
    "drives",
    "backlight",
    "plan",
    "season",
    "calibrate",
    "export",
    "web",
)
ALONE = ("sun", "exposure", "localtime")  # these import nothing of ours
EDGE = ("web", "__main__")  # what people touch; everything else is the core


def dotted(path):
    """The name of a file's module within the package, '' for the package itself."""
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


FILES = {dotted(path): path for path in sorted(PACKAGE.rglob("*.py"))}
CORE = [name for name in FILES if name and name.split(".")[0] not in EDGE]


def tree(name):
    return ast.parse(FILES[name].read_text(encoding="utf-8"))


def absolute(name, node):
    """The full names that one import statement may import."""
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    base = node.module or ""
    if node.level:
        package = ["lightplan", *name.split(".")]
        if FILES[name].name == "__init__.py":
            package = [*package, ""]
        base = ".".join([*package[: -node.level], *filter(None, [base])])
    return [f"{base}.{alias.name}" for alias in node.names]


def imported(name):
    """Everything a module imports, also within its functions."""
    return {
        full
        for node in ast.walk(tree(name))
        if isinstance(node, ast.Import | ast.ImportFrom)
        for full in absolute(name, node)
    }


def ours(name):
    """The first-level modules of the package that a module imports."""
    return {
        full.split(".")[1]
        for full in imported(name)
        if full.startswith("lightplan.") and not full.startswith("lightplan.__")
    }


def first_level():
    """Each first-level module or subpackage with what its files import of ours."""
    graph = {}
    for name in filter(None, FILES):
        top = name.split(".")[0]
        graph.setdefault(top, set()).update(ours(name) - {top})
    return graph


def reached(graph, start):
    """All that a module imports, directly or through others."""
    found, waiting = set(), [start]
    while waiting:
        for name in graph[waiting.pop()] - found:
            found.add(name)
            waiting.append(name)
    return found


def test_the_modules_are_found():
    assert {"sun", "exposure", "localtime", "windows", "daylight"} <= set(CORE)


def test_the_core_imports_neither_dash_nor_plotly():
    # Its own interpreter: here, another test may have imported them already.
    program = (
        "import importlib, sys\n"
        "for name in sys.argv[1:]:\n"
        "    importlib.import_module(f'lightplan.{name}')\n"
        "    roots = {m.split('.')[0] for m in sys.modules}\n"
        "    found = sorted(roots & {'dash', 'plotly', 'flask'})\n"
        "    if found:\n"
        "        sys.exit(f'{name} imports {found}')"
    )
    run = subprocess.run(
        [sys.executable, "-c", program, *CORE],
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stderr


def test_no_module_of_the_core_names_dash_or_plotly_in_an_import():
    # Also not within a function, where the interpreter above would not see it.
    for name in CORE:
        roots = {full.split(".")[0] for full in imported(name)}
        assert not roots & {"dash", "plotly", "dash_mantine_components"}, name


def test_only_localtime_mentions_pytz():
    mentioning = {
        name for name, path in FILES.items() if "pytz" in path.read_text("utf-8")
    }
    assert mentioning == {"localtime"}


def test_imports_follow_the_order_of_the_design():
    graph = first_level()
    place = {name: i for i, name in enumerate(ORDER)}
    for name in ORDER:
        if name in graph:
            backward = {
                n for n in reached(graph, name) if place.get(n, -1) > place[name]
            }
            assert not backward, f"{name} leads to {sorted(backward)}"


def test_no_module_leads_back_to_itself():
    graph = first_level()
    assert [name for name in graph if name in reached(graph, name)] == []


@pytest.mark.parametrize("name", ALONE)
def test_the_first_modules_import_nothing_of_ours(name):
    assert ours(name) == set()


def test_no_module_of_the_core_imports_an_edge():
    for name in CORE:
        assert not ours(name) & set(EDGE), name
