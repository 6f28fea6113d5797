"""`stroke` as it is typed: quoted or not, a table, JSON, pictures that are whole, and one sentence for every slip."""

from __future__ import annotations

import json
import math
import struct
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest

from sequencer.cli import main

Process = Callable[..., subprocess.CompletedProcess[bytes]]
Said = pytest.CaptureFixture[str]
RAM = ("--bore 1-1/2 in --stroke 12 in --load 25 lb --angle 20 deg --regulator 60 psi --tube 1/4 in --length 10 ft"
       ).split()
QUOTED = ["--bore", "1-1/2 in", "--stroke=12 in", "--moves", "25 lb", "--lifts", "20 deg", "--pressure", "60 psi",
          "--tube", "1/4 in", "--length", "10 ft"]
SVG = "{http://www.w3.org/2000/svg}"


def flat(text: str) -> str:
    return " ".join(text.split())


def value_of(capsys: Said, *args: str) -> dict[str, object]:
    assert main(["stroke", *args, "--json"]) == 0
    value: dict[str, object] = json.loads(capsys.readouterr().out)
    return value


def test_quotes_make_no_difference(home: Path, capsys: Said) -> None:
    assert value_of(capsys, *RAM) == value_of(capsys, *QUOTED)


def test_the_table_fits_a_terminal_and_says_what_the_json_says(
    home: Path, capsys: Said, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    stroke = value_of(capsys, *RAM)["stroke"]
    assert main(["stroke", *RAM]) == 0
    out = capsys.readouterr().out
    assert max(map(len, out.splitlines())) <= 80
    assert f"{stroke['out']['arrives_s']:.3f} s" in out  # type: ignore[index]
    assert f"{stroke['home']['end_energy_j']:.2f} J" in out  # type: ignore[index]
    for words in stroke["assumed"]:  # type: ignore[index]
        assert words in flat(out)
    for remark in stroke["remarks"]:  # type: ignore[index]
        assert remark["text"] in flat(out)
    assert "Someone could be hit or pinched here." in out


def test_out_of_reach_there_is_no_caution(home: Path, capsys: Said) -> None:
    assert main(["stroke", *RAM, "--reach", "fenced"]) == 0
    assert "pinched" not in capsys.readouterr().out


def test_nothing_in_the_json_is_no_number(home: Path, capsys: Said) -> None:
    for more in ([], ["--load", "200 lb", "--angle", "90 deg"], ["--acting", "single", "--returns", "weight"],
                 ["--acting", "single", "--returns", "spring", "--preload", "40 N", "--rate", "0.2 N/mm"]):
        assert main(["stroke", *RAM, *more, "--json"]) == 0
        json.loads(capsys.readouterr().out, parse_constant=lambda name: pytest.fail(name))


def test_a_rod_that_never_arrives_is_an_answer(home: Path, capsys: Said) -> None:
    assert main(["stroke", *RAM, "--load", "120 lb", "--angle", "90 deg"]) == 0
    out = flat(capsys.readouterr().out)
    assert "arrives never" in out and "stand against a push of" in out


def test_both_pictures_are_drawn_whole(home: Path, capsys: Said) -> None:
    assert main(["stroke", *RAM, "--svg", "ram.svg", "--png", "ram.png"]) == 0
    assert "drawn into ram.svg and ram.png" in capsys.readouterr().err
    svg = ElementTree.parse("ram.svg").getroot()
    titles = [text.text for text in svg.iter(f"{SVG}text") if text.get("transform")]
    assert titles == ["rod (in)", "pressure (psi)", "flow (scfm)"]
    assert "STYLE=" not in Path("ram.svg").read_text().upper().replace("<STYLE>", "")
    png = Path("ram.png").read_bytes()
    assert png.startswith(b"\x89PNG\r\n\x1a\n")
    assert struct.unpack(">II", png[16:24]) == (2 * int(svg.attrib["width"]), 2 * int(svg.attrib["height"]))


def test_the_flows_of_a_picture_add_up_to_the_air_taken(home: Path) -> None:
    """The area under the flow into the cap end is what it holds more than before."""
    from sequencer.air.gas import std_l_of_kg
    from sequencer.pages.stroke_picture import _flow
    from sequencer.sizing.strokes import strokes
    from tests.sizing.props import ram

    trace = strokes(ram(), False).out.trace
    column = 3 + trace.run.make_up.gases().index("mA")
    points = list(_flow(trace, "mA"))
    held = std_l_of_kg(trace.run.samples[-1][column] - trace.run.samples[0][column]) / 1000
    area, before = 0.0, 0.0
    for middle, flow in points:
        width = 2 * (middle - before)
        area, before = area + flow * width, before + width
    assert math.isclose(area, held, rel_tol=1e-6)


@pytest.mark.parametrize("typed", ["regulator|40..90|psi", "regulator 40..90 psi", "pressure|40..90 psi"])
def test_a_sweep_gives_a_table_and_a_picture(home: Path, typed: str, capsys: Said) -> None:
    assert main(["stroke", *RAM, "--sweep", *typed.split("|"), "--svg", "sweep.svg"]) == 0
    rows = capsys.readouterr().out.splitlines()
    assert [row.split(" psi")[0] for row in rows if row[:2].isdigit()] == [str(psi) for psi in range(40, 91, 5)]
    assert max(len(row) for row in rows) <= 100
    svg = ElementTree.parse("sweep.svg").getroot()
    assert sum(1 for one in svg.iter(f"{SVG}circle") if one.get("class") == "d-m0") >= 11 * 3


def test_a_sweep_in_json_has_a_row_a_value(home: Path, capsys: Said) -> None:
    sweep = value_of(capsys, *RAM, "--sweep", "tube length", "1..5", "m")["sweep"]
    assert sweep["over"] == "length"  # type: ignore[index]
    times = [row["out"]["arrives_s"] for row in sweep["rows"]]  # type: ignore[index]
    assert times == sorted(times)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("--bore 1-1/2 --stroke 12 in", "--bore: `1-1/2` needs its unit: a length such as `1-1/2 in`."),
        ("--regulator 60", "--regulator: `60` needs its unit: a pressure such as `60 psi`."),
        ("--bore 60 psi", "--bore: `60 psi` is a pressure; a length such as `1-1/2 in` is due."),
        ("--bore 1 1/2 in", "a whole number and a fraction are joined: `1-1/2 in`."),
        ("--bore 3 inn", "Did you mean `3 in`?"), ("--bore wide", "--bore: `wide` is no value"),
        ("--bore 1/0 in", "--bore: `1/0 in` is no value"), ("--bore nan in", "is no value"),
        ("--bore 1e400 in", "is no value"),
        ("--bore 0 in --stroke 3 in --regulator 60 psi", "--bore: 0 in is outside 0.1181 in to 12.6 in."),
        ("--bore 2 in --rod 2 in --stroke 3 in --regulator 60 psi", "--rod: a rod of 2 in does not fit"),
        ("--bore 2 in --stroke 3 in --regulator -5 psi", "--regulator: -5 psi is outside 3 psi to 250 psi."),
        ("--bore 2 in --stroke 3 in", "--regulator: the pressure is not said"),
        ("--bore 2 in --stroke 3 in --regulator 60 psi --valve valve_5_2", "did you mean valve_5_2"),
        ("--bore 2 in --stroke 3 in --regulator 60 psi --sweep nedle 1..2 %", "Did you mean needle"),
        ("--bore 2 in --stroke 3 in --regulator 60 psi --sweep needle 1..2 psi", "--sweep: `2 psi` is a pressure"),
        ("--bore 2 in --stroke 3 in --regulator 60 psi --sweep", "requires an argument"),
        ("--bore 2 in --stroke 3 in --regulator 60 psi --svg no/such/x.svg", "There is no folder"),
        ("--boer 2 in", "--boer"), ("2 in", "unexpected"), ("--cv x", "x"),
    ],
)
def test_a_slip_is_one_sentence_and_wrong_use(home: Path, typed: str, says: str, capsys: Said) -> None:
    assert main(["stroke", *typed.split()]) == 2
    out, err = capsys.readouterr()
    assert says in flat(err) and out == ""
    assert err.startswith("[x] ") and err.count("[x]") == 1


def test_without_the_library_a_png_is_refused_with_the_mend(
    home: Path, capsys: Said, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "resvg_py", None)
    assert main(["stroke", *RAM, "--png", "ram.png"]) == 2
    assert "pip install 'prop-sequencer[png]'" in flat(capsys.readouterr().err)
    assert not Path("ram.png").exists()


def test_without_a_font_a_png_is_refused(home: Path, capsys: Said, monkeypatch: pytest.MonkeyPatch) -> None:
    class Blind:
        """What the library does where it finds no font: it draws the rest and says nothing."""

        @staticmethod
        def svg_to_bytes(**_: object) -> bytes:
            return b"\x89PNG"

    monkeypatch.setitem(sys.modules, "resvg_py", Blind)
    assert main(["stroke", *RAM, "--png", "ram.png"]) == 2
    assert "no plain font" in flat(capsys.readouterr().err)


def test_it_starts_without_the_language_and_without_boards(process: Process) -> None:
    look = ("import sys; from sequencer.cli import main; code = main(sys.argv[1:]); "
            "print([name for name in ('lark', 'serial', 'numpy', 'resvg_py', 'sequencer.language', 'sequencer.board') "
            "if name in sys.modules], file=sys.stderr); sys.exit(code)")
    import os

    from tests.cli.conftest import ROOT

    ran = subprocess.run([sys.executable, "-c", look, "stroke", *RAM], capture_output=True, text=True, check=True,
                         env={**os.environ, "PYTHONPATH": str(ROOT)})
    assert ran.stderr.strip() == "[]"
