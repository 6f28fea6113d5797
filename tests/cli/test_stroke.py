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
        ("--bore 2 in --stroke 3 in --regulator 74.7 psia", "`74.7 psi` absolute is `60 psi` at sea level."),
        ("--bore 2 in --stroke 3 in --regulator 5 bar absolute", "`5 bar` absolute is `3.99 bar` at sea level."),
        ("--bore 2 in --stroke 3 in --regulator 500000 Pa", "Did you mean `500 kPa`?"),
        ("--bore 2 in --stroke 3 in --regulator 60 psi --tube 1/4 in --length 1 km", "Did you mean `1000 m`?"),
        ("--bore 2 in --stroke 3 in --regulator 60 psi --tube 1/4 in --length 1000 m", "1000 m is outside"),
        ("--bore 2 in --stroke 3 in --regulator 60 psi --needle 0 %", "0 % is outside 1 % to 100 %."),
        ("--bore 2 in --stroke 3 in --regulator 60 psi --load 1e300 lb", "`1e300 lb` is no value"),
        ("--bore 2 in --stroke 3 in --regulator 60 psi --cv nan", "a Cv of nan is outside"),
        ("--boer 2 in", "--boer"), ("2 in", "unexpected"), ("--cv x", "x"),
    ],
)
def test_a_slip_is_one_sentence_and_wrong_use(home: Path, typed: str, says: str, capsys: Said) -> None:
    assert main(["stroke", *typed.split()]) == 2
    out, err = capsys.readouterr()
    assert says in flat(err) and out == ""
    assert err.startswith("[x] ") and err.count("[x]") == 1 and "?." not in err


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


PLAIN = "--bore 1-1/2 in --stroke 6 in --regulator 60 psi --tube 1/4 in --length 10 ft --needle 50 %".split()
LEVER = ("--lever rod 8 in from the pivot, cylinder 20 in from the pivot at -90 deg, swings from -30 deg to 15 deg, "
         "arm 36 in, carries LOAD lb")


def test_a_lever_is_said_as_in_a_show_and_its_end_is_told(home: Path, capsys: Said) -> None:
    found = value_of(capsys, *PLAIN, *LEVER.replace("LOAD", "6").split())["stroke"]
    end, = found["out"]["ends"]  # type: ignore[index]
    assert end["part"] == "lever"
    assert end["turned_deg"] == pytest.approx(45, abs=1e-6)
    assert end["travel_m"] == pytest.approx(36 * 0.0254 * math.radians(45))
    # Pin to pin from 17.44 in to 23.38 in: the swing takes 5.95 in of the 6; on arrival the pin's arm is 6.61 in.
    length = math.sqrt(8**2 + 20**2 - 2 * 8 * 20 * math.cos(math.radians(105)))
    arm = 8 * 20 * math.sin(math.radians(105)) / length
    speed = found["out"]["end_speed_m_s"] * 36 / arm  # type: ignore[index]
    assert end["arrives_m_s"] == pytest.approx(speed, rel=1e-6)
    assert found["given"]["drives"] == [  # type: ignore[index]
        "lever: rod 8 in from the pivot, cylinder 20 in from the pivot at -90 deg, swings from -30 deg to 15 deg, "
        "arm 36 in, carries 6 lb"]


def test_a_lever_is_the_same_as_in_a_show(home: Path, capsys: Said, tmp_path: Path) -> None:
    from sequencer.air.stroke import predict_stroke
    from sequencer.checks import check_file
    from sequencer.schedule.supply import request_for

    path = tmp_path / "gate.show"
    path.write_text(f"""show "Gate"
board box like avr328
compressor shed like compressor_20_gal:
manifold bench on shed: ports 4
prop gate:
    air from bench port 1, tube 1/4 in, length 10 ft, regulator 60 psi
    valve shove like valve_5_2_quarter: on box out1
    cylinder ram like cylinder_round_1_1_2_in: on shove, stroke 6 in, needle out 50 %, needle back 50 %
    lever arm on ram: {LEVER.removeprefix("--lever ").replace("LOAD", "6")}
""")
    request = request_for(check_file(path).show.parts, "gate.ram", 0.0, "out")
    assert request is not None
    found = value_of(capsys, *PLAIN, *LEVER.replace("LOAD", "6").split())["stroke"]
    assert found["out"]["arrives_s"] == pytest.approx(predict_stroke(request).end_us / 1e6, abs=1e-3)  # type: ignore[index]


def test_force_and_margin_are_those_of_the_weakest_place(home: Path, capsys: Said) -> None:
    """The load at the rod is the moment of the weight over the arm of the pin, greatest at the end of the swing."""
    out = value_of(capsys, *PLAIN, *LEVER.replace("LOAD", "6").split())["stroke"]["out"]  # type: ignore[index]
    length = math.sqrt(8**2 + 20**2 - 2 * 8 * 20 * math.cos(math.radians(105)))
    arm = 8 * 20 * math.sin(math.radians(105)) / length
    assert out["load_n"] == pytest.approx(6 * 4.4482216 * 36 * math.cos(math.radians(15)) / arm, rel=1e-3)
    heavy = value_of(capsys, *PLAIN, *LEVER.replace("LOAD", "40").split())["stroke"]
    assert heavy["out"]["margin"] < 0 and heavy["out"]["arrives_s"] is None  # type: ignore[index]


def test_shares_of_the_way_are_of_the_way_that_the_lever_leaves(home: Path, capsys: Said) -> None:
    """The swing takes 5.949 in; more stroke than that is never run, and the output says who has to stop the arm."""
    long = [*PLAIN, "--stroke", "12 in"]
    found = value_of(capsys, *long, *LEVER.replace("LOAD", "6").split())["stroke"]
    for way in ("out", "home"):
        passed = [found[way]["lead_s"], *found[way]["passes_s"].values(), found[way]["arrives_s"]]  # type: ignore[index]
        assert passed == sorted(set(passed)), way
    assert main(["stroke", *long, *LEVER.replace("LOAD", "6").split()]) == 0
    out = flat(capsys.readouterr().out)
    sentence, = found["early_ends"]  # type: ignore[index]
    assert "stands at its end, 15 deg, with `cylinder` 5.949 in out of 12 in" in sentence and sentence in out


def test_every_kind_of_what_a_rod_drives_can_be_said(home: Path, capsys: Said) -> None:
    from sequencer.sizing.driven import DRIVEN, SUCH_AS

    strokes = {"lever": "6 in", "fourbar": "6 in", "scissor": "6 in"}
    for kind in DRIVEN:
        stroke = ["--stroke", strokes.get(kind, "6 in"), "--bore", "2 in", "--regulator", "80 psi"]
        found = value_of(capsys, *stroke, f"--{kind}", SUCH_AS[kind])["stroke"]
        assert found["out"]["arrives_s"] > 0, kind  # type: ignore[index]
        assert [end["part"] for end in found["out"]["ends"]] == ([kind] if kind != "spring" else ["cylinder"])  # type: ignore[index]


def test_two_springs_both_push(home: Path, capsys: Said) -> None:
    spring = ["--spring", "rate 1 lbf/in, preload 20 lbf, pushes home"]
    one, two = (value_of(capsys, *PLAIN, *(spring * number))["stroke"] for number in (1, 2))
    more = two["out"]["load_n"] - one["out"]["load_n"]  # type: ignore[index]
    assert more == pytest.approx(26 * 4.4482216)


@pytest.mark.parametrize(("words", "says"), [
    ("--lever rod 8 in from the pivot, arm 36 in, carries 6 lb", "`cylinder <length> from the pivot at <angle>`"),
    ("--lever rod 8 in from a pivot", "write it as in a show, such as `rod 8 in from the pivot"),
    ("--slide carries 9000 lb", "`carries <mass>`: 9000 lb is outside"),
    (LEVER.replace("LOAD", "6").replace("15 deg", "85 deg"), "take a longer one or a smaller swing"),
    ("--rope carries 5 lb, length 5 in", "a longer rope or a shorter stroke mends it"),
])
def test_what_cannot_be_driven_is_told_of_its_option(home: Path, capsys: Said, words: str, says: str) -> None:
    assert main(["stroke", *PLAIN, *words.split()]) == 2
    err = flat(capsys.readouterr().err)
    assert says in err
    assert f"{words.split()[0]}: " in err


def test_an_attachment_is_swept_in_table_and_picture(
    home: Path, capsys: Said, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    swept = [*RAM[:3], *RAM[12:], *LEVER.replace("LOAD", "6").split(), "--sweep", "lever", "rod", "6..10", "in", "from",
             "the", "pivot"]
    assert main(["stroke", *swept, "--svg", "pin.svg"]) == 0
    out = capsys.readouterr().out
    assert max(map(len, out.splitlines())) <= 80
    assert [row.split(" in ")[0] for row in out.splitlines() if " ft/s " in row] == [
        "6", "6.5", "7", "7.5", "8", "8.5", "9", "9.5", "10"]
    assert "lever: rod 6..10 in from the pivot, cylinder 20 in" in flat(out)
    svg = ElementTree.parse("pin.svg").getroot()
    titles = [text.text for text in svg.iter(f"{SVG}text") if text.get("transform")]
    assert titles == ["arrives (s)", "speed at the end (ft/s)", "lever, fastest (ft/s)", "free air (scf)"]


def test_a_cv_can_be_swept(home: Path, capsys: Said) -> None:
    assert main(["stroke", *PLAIN, "--sweep", "cv 0.1..0.8", "--json"]) == 0
    swept = json.loads(capsys.readouterr().out)["sweep"]
    assert [row["value"] for row in swept["rows"]] == [f"0.{tenth}" for tenth in range(1, 9)]
    alone = value_of(capsys, *PLAIN, "--cv", "0.3")["stroke"]["out"]["arrives_s"]  # type: ignore[index]
    assert swept["rows"][2]["out"]["arrives_s"] == pytest.approx(alone, rel=1e-9)
    assert sum("Cv" in words for words in swept["assumed"]) == 1


def test_a_cv_that_is_no_number_is_told(home: Path, capsys: Said) -> None:
    assert main(["stroke", *PLAIN, "--sweep", "cv 0.1..0.8 psi"]) == 2
    assert "`0.8 psi` is no plain number" in flat(capsys.readouterr().err)


def test_a_quick_exhaust_and_a_clogged_muffler_can_be_asked(home: Path, capsys: Said) -> None:
    plain, quick, clogged = (value_of(capsys, *RAM, *more)["stroke"] for more in (
        [], ["--quick-exhaust", "out"], ["--muffler", "clogged"]))
    assert quick["out"]["arrives_s"] < 0.9 * plain["out"]["arrives_s"]  # type: ignore[index]
    assert quick["home"]["arrives_s"] == pytest.approx(plain["home"]["arrives_s"], rel=0.03)  # type: ignore[index]
    for way in ("out", "home"):
        assert clogged[way]["arrives_s"] > plain[way]["arrives_s"]  # type: ignore[index]
    assert main(["stroke", *RAM, "--quick-exhaust", "both", "--muffler", "none"]) == 0
    assert "quick exhaust both ways, muffler none" in flat(capsys.readouterr().out)


def test_a_quick_exhaust_where_no_air_leaves_is_told_of_its_option(home: Path, capsys: Said) -> None:
    assert main(["stroke", *RAM, "--acting", "single", "--returns", "weight", "--quick-exhaust", "out"]) == 2
    assert "--quick-exhaust: a single-acting cylinder lets no air out" in flat(capsys.readouterr().err)
