"""`check` of several shows, and the words and objects of `new`, `demo`, `disassemble` and the listing."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from sequencer.cli import main
from sequencer.steps import Program, Routine, Start, Step, decode
from sequencer.steps.program import WHOLE_YARD

Said = pytest.CaptureFixture[str]

GOOD = """show "Marrow Lane"
use "rig.show"
scare glow on step trips:
    0 s: eyes on
    2 s: eyes off
"""
RIG = """board box like avr328
sensor step like push_button: on box in3
lamp eyes: on box pwm2
fogger mist: on box out4
"""
DOCUMENT = Path(main.__code__.co_filename).parent / "JSON.md"


@pytest.fixture
def yard(home: Path) -> Path:
    Path("rig.show").write_text(RIG)
    Path("good.show").write_text(GOOD)
    Path("bad.show").write_text(GOOD.replace("eyes on", "eyes shines"))
    return home


def value_of(capsys: Said, *args: str, code: int = 0) -> dict[str, object]:
    capsys.readouterr()
    assert main([*args, "--json"]) == code
    value: dict[str, object] = json.loads(capsys.readouterr().out)
    return value


def keys_of(value: object) -> set[str]:
    if isinstance(value, dict):
        return set(value) | {key for item in value.values() for key in keys_of(item)}
    return {key for item in value for key in keys_of(item)} if isinstance(value, list) else set()


def test_several_shows_are_checked_and_the_worst_is_the_exit_code(yard: Path, capsys: Said) -> None:
    assert main(["check", "good.show"]) == 0
    alone = capsys.readouterr().out
    assert main(["check", "good.show", "bad.show"]) == 1
    out = capsys.readouterr().out
    assert out.startswith(alone + "\n")
    assert "[x] bad.show: 1 error" in out
    assert main(["check", "good.show", "good.show"]) == 0


def test_where_one_of_several_cannot_be_read_that_is_told_alone(yard: Path, capsys: Said) -> None:
    assert main(["check", "bad.show", "nowhere.show"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == "[x] There is no file or folder nowhere.show.\n"


def test_json_has_the_same_keys_for_one_show_and_for_several(yard: Path, capsys: Said) -> None:
    one = value_of(capsys, "check", "bad.show", code=1)
    both = value_of(capsys, "check", "good.show", "bad.show", code=1)
    assert set(one) == set(both)
    counts = {row["file"]: row["errors"] for row in both["files"]}  # type: ignore[attr-defined]
    assert counts == {"good.show": 0, "bad.show": 1}
    assert one["findings"] == [f for f in both["findings"] if f["file"] == "bad.show"] + [  # type: ignore[attr-defined]
        f for f in one["findings"] if f["file"] != "bad.show"  # type: ignore[attr-defined]
    ]


def test_a_finding_in_a_file_that_two_shows_use_is_one_finding(yard: Path, capsys: Said) -> None:
    Path("rig.show").write_text(RIG.replace("on box out4", "on box out99"))
    one = value_of(capsys, "check", "good.show", code=1)
    both = value_of(capsys, "check", "good.show", "bad.show", code=1)
    of_rig = [f for f in one["findings"] if f["file"] == "rig.show"]  # type: ignore[attr-defined]
    assert of_rig
    assert [f for f in both["findings"] if f["file"] == "rig.show"] == of_rig  # type: ignore[attr-defined]


def test_mends_of_a_shared_file_are_made_once(yard: Path, capsys: Said) -> None:
    lamp = 'lamp eyes "Red eyes": on'
    Path("good2.show").write_text(GOOD)
    Path("rig.show").write_text(RIG.replace("lamp eyes: on", lamp.replace('"', "\u201c", 1)), encoding="utf-8")
    value = value_of(capsys, "check", "good.show", "good2.show", "--mend")
    assert value["mended"] == ["rig.show"]
    assert lamp in Path("rig.show").read_text(encoding="utf-8")


def test_a_listing_names_board_and_pins_as_the_show_does(yard: Path, capsys: Said) -> None:
    assert main(["compile", "good.show", "--listing"]) == 0
    out = capsys.readouterr().out
    assert "output 0: eyes, on box pwm2, safe" in out
    assert "output 1: mist, on box out4, safe" in out
    assert "input 0: step, on box in3, trigger" in out
    for word in ("board kind", "routine", " pin "):
        assert word not in out


def test_bytes_alone_are_listed_with_the_pins_of_their_kind_of_board(yard: Path, capsys: Said) -> None:
    main(["compile", "good.show"])
    capsys.readouterr()
    assert main(["disassemble", "good.steps"]) == 0
    out = capsys.readouterr().out
    assert "for avr328:" in out and "output 0: on pwm2, safe" in out and "input 0: on in3, trigger" in out
    assert main(["disassemble", "good.steps", "--show", "good.show"]) == 0
    assert "output 0: eyes, on box pwm2, safe" in capsys.readouterr().out


def test_a_flashed_board_is_read_back_with_the_authors_pins(yard: Path, capsys: Said) -> None:
    assert main(["flash", "good.show", "--yes"]) == 0
    capsys.readouterr()
    assert main(["readback"]) == 0
    assert "output 0: eyes, on box pwm2, safe" in capsys.readouterr().out


def test_new_disassemble_and_demo_answer_with_an_object_whose_keys_are_described(yard: Path, capsys: Said) -> None:
    main(["compile", "good.show"])
    text = DOCUMENT.read_text(encoding="utf-8")
    new = value_of(capsys, "new", "coal_bunker")
    assert (new["file"], new["title"]) == ("coal_bunker.show", "coal bunker")
    taken = value_of(capsys, "disassemble", "good.steps")
    assert taken["program"]["bytes"] == Path("good.steps").stat().st_size  # type: ignore[index]
    demo = value_of(capsys, "demo")
    assert demo["entries"] and demo["summary"]["errors"] == 0  # type: ignore[index]
    for value in (new, taken, demo, value_of(capsys, "check", "good.show")):
        assert {key for key in keys_of(value) if f"`{key}`" not in text} == set()


def test_no_scare_of_the_demo_waits_on_the_board_for_a_rod_that_is_not_there(home: Path, capsys: Said) -> None:
    assert main(["demo"]) == 0
    out, err = capsys.readouterr()
    assert "fault" not in out
    assert "cord and latch were not tripped here" in out
    assert "--trip cord@" in out  # the dry run has rods, so there it is tripped
    assert "random generator" not in out + err


def test_a_scare_that_starts_one_that_waits_for_a_rod_waits_too() -> None:
    from sequencer.cli.demo import trips_without_rods

    def scare(*steps: Step, by: int | None = None) -> Routine:
        return Routine((*steps, Step("end")), () if by is None else (Start(by),), group=WHOLE_YARD)

    scares = (
        scare(Step("start", (1,)), by=0), scare(Step("start", (2,))), scare(Step("await_end", (0, 0, 900))),
        scare(Step("wait", (5,)), by=1), scare(Step("start", (4,)), by=2),
    )  # fmt: skip
    program = Program(1, 7, (), (), scares)
    assert trips_without_rods(program, ((1, 0), (2, 1), (3, 2))) == ((2, 1), (3, 2))


def test_the_demo_loads_what_compile_makes(home: Path, capsys: Said) -> None:
    from sequencer.data import folder

    demo = value_of(capsys, "demo")
    assert main(["compile", str(folder("shows") / "marrow_lane" / "marrow_lane.show"), "-o", "lane.steps"]) == 0
    image = Path("lane.steps").read_bytes()
    assert demo["program"]["bytes"] == len(image)  # type: ignore[index]
    assert len(decode(image).outputs) == len(demo["program"]["outputs"])  # type: ignore[index]
