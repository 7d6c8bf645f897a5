"""Taking a trip along from the page: the same bytes as from the command line."""

import base64
import re

import pytest
from dash import html

from lightplan.catalog.places import Loaded
from lightplan.choices import state
from lightplan.cli import main as cli
from lightplan.export.files import FILES
from lightplan.export.pocket import page as pocket
from lightplan.web import cache, ids
from lightplan.web.app import page
from lightplan.web.take import downloads

DAYS = {"from": "2027-08-12", "to": "2027-08-13"}


@pytest.mark.parametrize(
    ("options", "chosen"),
    [
        ([], {}),
        (
            [
                *("--drive-sky", "2027-08-12-evening=overcast"),
                *("--drive-sky", "2027-08-13-morning=haze"),
                *("--distance", "80", "--blur", "1.5"),
            ],
            {
                "skies": "2027-08-12-evening:overcast,2027-08-13-morning:haze",
                "distance": "80",
                "blur": "1.5",
            },
        ),
    ],
    ids=["as usual", "skies, distance and blur"],
)
@pytest.mark.parametrize("key", FILES)
def test_page_and_command_line_give_the_same_bytes(
    key, options, chosen, usual, catalog, now, monkeypatch, tmp_path, example_file
):
    monkeypatch.setattr(cli, "_now", lambda: now)
    path = tmp_path / "written"
    days = ["--from", "2027-08-12", "--to", "2027-08-13"]
    trip = ["--place", "Mopane Loop", "--file", str(example_file), *days]
    alarms = ["--alarm", "back", "--alarm", "leave=45"] if key == "calendar" else []
    cli.main(["plan", *trip, *options, "--as", key, *alarms, "--output", str(path)])
    raw = usual({**DAYS, **chosen})
    sent, _ = downloads.download(raw, catalog, key, ["leave", "back"], 45, now)
    assert base64.b64decode(sent["content"]) == path.read_bytes()


def test_a_files_name_and_size_are_said(usual, catalog, now):
    sent, said = downloads.download(usual(DAYS), catalog, "drives", [], 30, now)
    size = len(base64.b64decode(sent["content"]))
    assert (
        sent["filename"] == "lightplan-mopane-loop-2027-08-12-to-2027-08-13-drives.csv"
    )
    assert said == f"{sent['filename']}, {size / 1000:,.0f} kB."


@pytest.mark.parametrize(
    ("alarms", "leave", "said"),
    [
        (["sunrise"], 30, "alarm must be one of leave, gate, light, lens, back"),
        (["leave"], "soon", "before the gates open must be 0 to 600, got 'soon'"),
        (["leave"], None, "before the gates open must be 0 to 600, got nothing"),
        (["leave"], -5, "got '-5'"),
    ],
)
def test_a_wrong_alarm_is_told(usual, catalog, now, alarms, leave, said):
    with pytest.raises(ValueError, match=re.escape(said)):
        downloads.download(usual(DAYS), catalog, "calendar", alarms, leave, now)


def test_minutes_that_no_alarm_needs_stop_no_file(usual, catalog, now):
    for key in ("drives", "calendar"):
        assert downloads.download(usual(DAYS), catalog, key, ["back"], None, now)


def test_an_unknown_file_is_told(usual, catalog, now):
    with pytest.raises(ValueError, match="file 'calender' is unknown"):
        downloads.download(usual(DAYS), catalog, "calender", [], 30, now)


def test_each_file_has_a_button(usual, walk):
    labels = {
        str(getattr(c, "id", "")): getattr(c, "children", "")
        for c in walk(downloads.section(usual()))
    }
    for key, file in FILES.items():
        assert labels[str(ids.take_button(key))] == file.label


def frame(shown, walk) -> str:
    (found,) = [c.srcDoc for c in walk(shown) if isinstance(c, html.Iframe)]
    return found


def test_the_pocket_page_shows_the_file_itself(usual, catalog, example_file, walk):
    raw = usual(DAYS)
    shown = page("/pocket", raw.search(), None, Loaded(catalog, example_file))
    plan = cache.trip(state.read(raw, catalog))
    assert frame(shown, walk) == pocket.page(plan).decode()


def test_a_browsers_own_places_are_in_the_pocket_page(
    usual, catalog, example_file, walk
):
    text = example_file.read_text("utf-8").replace("Mopane Loop", "Quiet Pan")
    record = {"text": text, "revision": "1"}
    search = usual({**DAYS, "place": "Quiet Pan"}).search()
    shown = page("/pocket", search, record, Loaded(catalog, example_file))
    assert "Quiet Pan" in frame(shown, walk)
    assert "Mopane Loop" not in frame(shown, walk)


def test_the_pages_policy_lets_the_pocket_plans_script_run(app):
    policy = app.server.test_client().get("/").headers["Content-Security-Policy"]
    scripts = next(p for p in policy.split("; ") if p.startswith("script-src"))
    assert pocket.script_source() in scripts.split()
