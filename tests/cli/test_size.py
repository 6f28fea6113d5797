"""`size` as it is typed: a table, JSON, the command it advises, and plain words where nothing does it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from sequencer.cli import main

Said = pytest.CaptureFixture[str]
LUNGE = "--load 25 lb --angle 20 deg --travel 12 in --time 0.8 s --regulator 60 psi".split()


def flat(text: str) -> str:
    return " ".join(text.split())


def test_the_table_is_what_the_json_says(home: Path, capsys: Said, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    assert main(["size", *LUNGE, "--json"]) == 0
    value = json.loads(capsys.readouterr().out)
    assert main(["size", *LUNGE]) == 0
    out = capsys.readouterr().out
    assert max(map(len, out.splitlines())) <= 80
    rows = [line.split()[0] for line in out.splitlines() if line.startswith(("round_", "square_"))]
    assert rows == [choice["cylinder"].removeprefix("cylinder_") for choice in value["size"]["choices"]]
    assert value["assumed"] == ["tube length 10 ft"]
    assert "least air" not in out and "tube length 10 ft" in out


def test_the_command_it_advises_gives_the_same_stroke(home: Path, capsys: Said) -> None:
    assert main(["size", *LUNGE, "--json"]) == 0
    first = json.loads(capsys.readouterr().out)["size"]["choices"][0]
    assert main(["size", *LUNGE]) == 0
    advised = flat(capsys.readouterr().out).split("the first from nearby: sequencer ")[1].split()
    assert main([*advised, "--json"]) == 0
    stroke = json.loads(capsys.readouterr().out)["stroke"]
    assert stroke["out"]["arrives_s"] == first["stroke"]["out"]["arrives_s"]
    assert stroke["cycle_air_std_l"] == first["air_std_l"]


def test_where_nothing_does_it_that_is_said_plainly(home: Path, capsys: Said) -> None:
    typed = "--load 60 kg --angle 90 deg --travel 200 mm --time 0.25 s --regulator 6 bar".split()
    assert main(["size", *typed]) == 0
    out = flat(capsys.readouterr().out)
    assert "Nothing on the shelf does this with margin. It would with" in out and "instead of 0.25 s" in out
    assert main(["size", *typed, "--json"]) == 0
    value = json.loads(capsys.readouterr().out)["size"]
    assert value["choices"] == [] and value["nearest"]["time"]["si"] > 0.25


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("--load 25 lb --travel 12 in --regulator 60 psi", "--time: the time is not said."),
        ("--load 25 --travel 12 in", "--moves: `25` needs its unit: a mass such as `25 lb`."),
        ("--load 25 lb --travel 12 in --time 0.5 --regulator 60 psi", "--time: `0.5` needs its unit"),
        ("--load 0 lb --travel 12 in --time 1 s --regulator 60 psi", "--moves: 0 lb is outside"),
        ("--load 25 lb --travel 12 in --time 1 s --regulator 900 psi", "--regulator: 900 psi is outside"),
        ("--load 25 lb --travel 20 ft --time 1 s --regulator 60 psi", "--stroke: 20 ft is outside"),
        ("--load 25 lb --travel 12 in --time 1 ms --regulator 60 psi", "--time: 1 ms is sooner"),
        ("--load 25 lb --travel 12 in --time 1 s --regulator 60 psi --length 1 km", "--length"),
        ("--load 25 lb --travel 12 in --time 1 s --regulator 60 psi --angle 120 deg", "--lifts: 120 deg is outside"),
    ],
)
def test_a_slip_is_one_sentence_and_wrong_use(home: Path, typed: str, says: str, capsys: Said) -> None:
    assert main(["size", *typed.split()]) == 2
    out, err = capsys.readouterr()
    assert says in flat(err) and out == ""
    assert err.count("[x]") == 1
