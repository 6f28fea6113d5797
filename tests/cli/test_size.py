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


LEVER = ("--lever rod 8 in from the pivot, cylinder 20 in from the pivot at -90 deg, swings from -30 deg to 15 deg, "
         "arm 36 in, carries 6 lb").split()
GATE = ["--time", "0.8 s", "--regulator", "60 psi", *LEVER]


def test_a_lever_says_its_own_travel_and_the_advice_has_it(home: Path, capsys: Said) -> None:
    """Pin to pin from 17.44 in to 23.38 in (law of cosines): 5.949 in, told as 5.95 in."""
    assert main(["size", *GATE, "--json"]) == 0
    value = json.loads(capsys.readouterr().out)
    assert value["size"]["wanted"]["travel"] == "5.95 in" and value["size"]["wanted"]["system"] == "inch"
    assert value["assumed"] == ["stroke 5.95 in, as what it drives takes it", "tube length 10 ft"]
    assert main(["size", *GATE]) == 0
    advised = flat(capsys.readouterr().out).split("the first from nearby: sequencer ")[1].split()
    assert main([*advised, "--json"]) == 0
    stroke = json.loads(capsys.readouterr().out)["stroke"]
    first = value["size"]["choices"][0]["stroke"]
    assert stroke["out"]["arrives_s"] == first["out"]["arrives_s"] <= 0.8
    assert stroke["out"]["ends"][0]["turned_deg"] == pytest.approx(45, abs=1e-6)


@pytest.mark.parametrize(("kind", "more"), [
    ("slide", "--travel 12 in"), ("rope", "--travel 12 in"), ("spring", "--travel 12 in --load 5 lb"), ("scissor", ""),
    ("fourbar", ""), ("lever", "--series metric"),
])
def test_every_kind_of_what_a_rod_drives_can_be_sized(home: Path, capsys: Said, kind: str, more: str) -> None:
    from sequencer.sizing.driven import SUCH_AS

    typed = [*f"--time 1 s --regulator 80 psi --{kind}".split(), SUCH_AS[kind], *more.split()]
    assert main(["size", *typed, "--json"]) == 0
    size = json.loads(capsys.readouterr().out)["size"]
    assert size["wanted"]["drives"] == [f"{kind}: {SUCH_AS[kind]}"]
    assert size["choices"], kind
    for choice in size["choices"]:
        assert 0 < choice["stroke"]["out"]["arrives_s"] <= 1 and choice["stroke"]["out"]["margin"] >= 0.5


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
        ("--load 25 lb --travel 20 ft --time 1 s --regulator 60 psi", "--travel: 20 ft is outside"),
        ("--load 25 lb --travel 12 in --time 1 ms --regulator 60 psi", "--time: 1 ms is sooner"),
        ("--load 25 lb --travel 12 in --time 1 s --regulator 60 psi --length 1 km", "--length"),
        ("--time 1 s --regulator 60 psi --travel 12 in", "--moves: the load is not said."),
        ("--time 1 s --regulator 60 psi --slide carries 9 lb", "--travel: the travel is not said."),
        (" ".join([*GATE, "--travel 3 in"]), "--lever: `lever` takes 5.949 in of rod from -30 deg to 15 deg"),
        (" ".join(GATE).replace("-30 deg to 15", "15 deg to -30"), "is the swing written the wrong way round?"),
        (" ".join(GATE).replace("arm 36 in", "arm 0 in"), "--lever: `arm <length>`: 0 in is outside"),
        ("--load 25 lb --travel 12 in --time 1 s --regulator 60 psi --angle 120 deg", "--lifts: 120 deg is outside"),
    ],
)
def test_a_slip_is_one_sentence_and_wrong_use(home: Path, typed: str, says: str, capsys: Said) -> None:
    assert main(["size", *typed.split()]) == 2
    out, err = capsys.readouterr()
    assert says in flat(err) and out == ""
    assert err.count("[x]") == 1 and "?." not in err
