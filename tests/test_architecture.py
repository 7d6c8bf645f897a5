"""Packages import one way, and the core knows neither Dash nor Plotly."""

import ast
import subprocess
import sys
from functools import cache
from pathlib import Path

import lightplan

PACKAGE = Path(lightplan.__file__).parent

# A package imports only from those before it; the single modules beside them are
# for all, and import no package.
PACKAGES = (
    "sky",
    "light",
    "camera",
    "catalog",
    "trip",
    "year",
    "stop",
    "spots",
    "loop",
    "frames",
    "export",
    "choices",
    "web",
    "cli",
)
START = "__main__"  # of the command line
CORE = PACKAGES[: PACKAGES.index("web")]
WEB_SHARED = ("figures",)  # what all pages share


def dotted(path):
    """The name of a file's module within the package, '' for the package itself."""
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


FILES = {dotted(path): path for path in sorted(PACKAGE.rglob("*.py"))}


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


@cache
def imported(name):
    """Everything a module imports, also within its functions."""
    return {
        full
        for node in ast.walk(ast.parse(FILES[name].read_text(encoding="utf-8")))
        if isinstance(node, ast.Import | ast.ImportFrom)
        for full in absolute(name, node)
    }


def module_of(full):
    """The module of ours that a full name is, or is in; None for others' modules."""
    parts = full.split(".")
    if parts[0] != "lightplan":
        return None
    while ".".join(parts[1:]) not in FILES:
        parts.pop()
    return ".".join(parts[1:])


def ours(name):
    """The modules of ours that a module imports."""
    return {module_of(full) for full in imported(name)} - {None, ""}


GRAPH = {name: ours(name) for name in FILES if name}


def reached(start):
    """All that a module imports, directly or through others."""
    found, waiting = set(), [start]
    while waiting:
        for name in GRAPH[waiting.pop()] - found:
            found.add(name)
            waiting.append(name)
    return found


def top(name):
    return name.split(".")[0]


def test_every_module_has_its_room():
    single = {name for name in GRAPH if "." not in name} - {*PACKAGES, START}
    assert {top(name) for name in GRAPH} - single - {START} == {*PACKAGES}
    for name in single:
        assert GRAPH[name] <= single, f"{name} is for all, but imports a package"


def test_packages_import_one_way():
    place = {name: i for i, name in enumerate(PACKAGES)}
    for name, found in GRAPH.items():
        if name == START or top(name) not in place:
            continue
        backward = [n for n in found if place.get(top(n), -1) > place[top(name)]]
        assert not backward, f"{name} imports {backward}"


def test_what_pages_share_imports_no_page():
    pages = {
        ".".join(name.split(".")[:2])
        for name in GRAPH
        if name.startswith("web.") and name.count(".") == 2
    } - {f"web.{name}" for name in WEB_SHARED}
    shared = [
        n for n in GRAPH if n.startswith("web.") and n.split(".")[1] in WEB_SHARED
    ]
    assert pages
    assert shared
    for name in shared:
        found = {n for n in GRAPH[name] if ".".join(n.split(".")[:2]) in pages}
        assert not found, f"{name} imports {sorted(found)}"


def test_no_module_leads_back_to_itself():
    assert [name for name in GRAPH if name in reached(name)] == []


def test_the_core_runs_without_dash_and_plotly():
    # Its own interpreter: here, another test may have imported them already.
    # The command that serves the pages imports them only once it runs.
    core = [f"lightplan.{n}" for n in GRAPH if top(n) in (*CORE, "cli")]
    program = (
        f"import sys, importlib\nfor name in {core!r}: importlib.import_module(name)\n"
        "found = {m.split('.')[0] for m in sys.modules}\n"
        "print(*sorted(found & {'dash', 'plotly', 'flask'}))"
    )
    run = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stderr
    assert run.stdout.strip() == ""


def test_no_module_of_the_core_names_dash_or_plotly_in_an_import():
    # Also not within a function, where the interpreter above would not see it.
    for name in GRAPH:
        if top(name) != "web":
            roots = {full.split(".")[0] for full in imported(name)}
            assert not roots & {"dash", "plotly", "dash_mantine_components"}, name


def test_only_localtime_mentions_pytz():
    mentioning = {
        name for name, path in FILES.items() if "pytz" in path.read_text("utf-8")
    }
    assert mentioning == {"sky.localtime"}


def test_each_package_says_what_lives_there():
    for name, path in FILES.items():
        if path.name == "__init__.py" and name:
            tree = ast.parse(path.read_text("utf-8"))
            assert len(tree.body) == 1, f"{name}/__init__.py does more than say so"
            assert len(ast.get_docstring(tree) or "") > 40, name
