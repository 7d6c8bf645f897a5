"""The command air: twelve numbers for a place, printed or written into the file."""

import builtins
import shutil
from pathlib import Path

import pytest

from lightplan.catalog import places
from lightplan.cli import main as cli

EXAMPLE = Path(__file__).parents[2] / "locations.example.toml"


@pytest.fixture
def own(tmp_path):
    return Path(shutil.copy(EXAMPLE, tmp_path / "mine.toml"))


def test_the_line_printed_is_a_place_that_reads_it_back(own, capsys):
    assert cli.main(["air", "--file", str(own), "--place", "Heron Marsh"]) == 0
    line = capsys.readouterr().out.splitlines()[-1]
    text = own.read_text(encoding="utf-8")
    at = text.index("[[places.gates]]", text.index('name = "Heron Marsh"'))
    found = places.read(f"{text[:at]}{line}\n{text[at:]}", "mine.toml")
    depths = found.place("Heron Marsh").air
    assert len(depths) == 12
    # Western Europe, by sun photometers: hazier in summer; from memory.
    assert 0.05 <= min(depths) < max(depths) < 0.5
    assert max(depths[4:8]) > min(depths[0], depths[11])


def test_written_it_is_in_its_place_and_all_else_stays(own, capsys):
    before = places.load(own)
    assert (
        cli.main(["air", "--file", str(own), "--place", "Heron Marsh", "--write"]) == 0
    )
    after = places.load(own)
    printed = capsys.readouterr().out.splitlines()[-1]
    depths = after.place("Heron Marsh").air
    assert printed == f"air = [{', '.join(f'{depth:g}' for depth in depths)}]"
    assert len(set(depths)) > 3
    rest = [p for p in after.places if p.name != "Heron Marsh"]
    assert rest == [p for p in before.places if p.name != "Heron Marsh"]
    comments = [t for t in own.read_text(encoding="utf-8").splitlines() if t[:1] == "#"]
    assert comments == [
        t for t in EXAMPLE.read_text(encoding="utf-8").splitlines() if t[:1] == "#"
    ]


def test_the_example_is_not_written_to(capsys):
    assert cli.main(["air", "--file", str(EXAMPLE), "--write"]) == 2
    assert "the built-in example is not written to: copy it" in capsys.readouterr().err


def test_without_the_map_it_says_what_to_install(own, capsys, monkeypatch):
    real = builtins.__import__

    def missing(name, *rest, **more):
        if name in ("h5py", "pvlib"):
            raise ImportError(name)
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", missing)
    assert cli.main(["air", "--file", str(own)]) == 2
    assert "pip install 'lightplan[air]'" in capsys.readouterr().err


def test_an_unknown_place_is_told_with_the_nearest(own, capsys):
    assert cli.main(["air", "--file", str(own), "--place", "Heron Mash"]) == 2
    assert "Heron Marsh" in capsys.readouterr().err
