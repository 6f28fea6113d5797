"""`fit` as it is typed: from the times of a show, from a log in a file, and what it says where there are none."""

from __future__ import annotations

import json
import zlib
from pathlib import Path

import pytest

from sequencer.board.log import LogEntry
from sequencer.cli import main
from tests.board.test_travels import SHOW, TRUE_BACK, TRUE_OUT, run, set_up_of

Said = pytest.CaptureFixture[str]


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def show(home: Path) -> Path:
    path = Path("timed.show")
    path.write_text(SHOW)
    return path


def value_of(capsys: Said, *args: str) -> list[dict[str, object]]:
    main(["fit", *args, "--json"])
    found: list[dict[str, object]] = json.loads(capsys.readouterr().out)["fit"]
    return found


def written(entries: list[LogEntry], path: str = "box.json") -> str:
    """As `log --json` writes it."""
    rows = [{"number": at, "tick": one.tick, "kind": int(one.kind), "subject": one.subject, "value": one.value,
             "text": ""} for at, one in enumerate(entries)]
    Path(path).write_text(json.dumps({"program": program(), "entries": rows}))
    return path


def program() -> dict[str, object]:
    """What a board that holds timed.show says of its program."""
    from sequencer.cli.compile import image_of
    from sequencer.cli.shows import read_show

    compiled = read_show(Path("timed.show")).checked.compiled
    assert compiled is not None
    image = image_of(compiled)
    return {"bytes": len(image), "crc32": f"{zlib.crc32(image):08x}"}


def test_a_time_that_cannot_be_is_not_passed_over_in_silence(show: Path, capsys: Said) -> None:
    show.write_text(SHOW.replace(f"measured out {TRUE_OUT:g} s", "measured out 70 s", 1))
    assert "70 s" in show.read_text()
    main(["fit", "timed.show"])
    assert "timed.show has errors, and a time that one of them is about counts as not taken" in flat(
        capsys.readouterr().err)


def test_the_times_of_a_show_are_fitted(show: Path, capsys: Said) -> None:
    (found,) = value_of(capsys, "timed.show")
    assert found["cylinder"] == "window.ram" and found["times"] is None
    measured = {way["toward"]: way["measured_s"] for way in found["ways"]}  # type: ignore[attr-defined]
    assert measured == {"out": TRUE_OUT, "home": TRUE_BACK}
    code = main(["fit", "timed.show", "ram"])
    out = capsys.readouterr().out
    assert f"{TRUE_OUT:.3f} s" in out and "as described" in out
    reached = all(way["reached"] for way in found["ways"])  # type: ignore[attr-defined]
    assert code == (0 if reached else 1)
    assert ("cannot be what is described" in flat(out)) != reached


def test_the_times_of_a_log_take_the_place_of_those_said(show: Path, capsys: Said) -> None:
    entries, _ = run(set_up_of(show), [1000, 15_000, 30_000])
    log = written(entries)
    (found,) = value_of(capsys, "timed.show", "--log", log)
    assert len(found["times"]["out"]) == 3  # type: ignore[index, call-overload]
    for way in found["ways"]:  # type: ignore[attr-defined]
        # A sensor sees the rod a hundredth of the stroke before its end, so these are not the times of the show.
        assert way["measured_s"] == found["times"][way["toward"]][0]  # type: ignore[index, call-overload]
        assert way["measured_s"] < (TRUE_OUT if way["toward"] == "out" else TRUE_BACK)
        assert way["measured_s"] == pytest.approx(TRUE_OUT if way["toward"] == "out" else TRUE_BACK, rel=0.01)
    main(["fit", "timed.show", "--log", "box.json"])
    out = flat(capsys.readouterr().out)
    assert "the log has 3 times out and 3 times back; to keep this, write `measured out 0.8" in out


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("{}", "is no log as `sequencer log --json` writes it."), ("[", "is no log"), ('{"entries": 5}', "is no log"),
        ('{"entries": [{"tick": 1}]}', "is no log"), ('{"program": PROGRAM, "entries": []}', "times no whole stroke"),
        ('{"program": null, "entries": [{"tick": -1, "kind": 1, "subject": 1, "value": 1}]}', "no entry of a log"),
        ('{"program": null, "entries": [{"tick": "a", "kind": 1, "subject": 1, "value": 1}]}', "no entry of a log"),
        ('{"program": PROGRAM, "entries": [{"tick": 1, "kind": 7, "subject": 200, "value": 1}]}',
         "times no whole stroke"),
        ('{"program": null, "entries": []}', "was not compiled from timed.show"),
        ('{"program": {"bytes": 3, "crc32": "00000000"}, "entries": []}', "was not compiled from timed.show"),
        ('{"program": 5, "entries": []}', "is no log"),
    ],
)
def test_a_file_that_is_no_log_is_told(show: Path, text: str, says: str, capsys: Said) -> None:
    Path("box.json").write_text(text.replace("PROGRAM", json.dumps(program())))
    assert main(["fit", "timed.show", "--log", "box.json"]) == 2
    assert says in flat(capsys.readouterr().err)


def test_where_nothing_was_timed_that_is_said(show: Path, capsys: Said) -> None:
    show.write_text(SHOW.replace(f"        measured out {TRUE_OUT} s, back {TRUE_BACK} s\n", ""))
    assert main(["fit", "timed.show"]) == 2
    assert "No cylinder of timed.show was timed; write `measured out 0.42 s" in flat(capsys.readouterr().err)
    assert main(["fit", "timed.show", "ram"]) == 2
    assert "Nothing was timed on window.ram; write" in flat(capsys.readouterr().err)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        (["timed.show", "rum"], "There is no cylinder called rum. Did you mean window.ram?"),
        (["timd.show"], "Did you mean timed.show?"),
        (["timed.show", "--log", "no.json"], "There is no file or folder no.json."),
        (["timed.show", "--log", "a.json", "--port", "virtual://a"], "not from both"),
        (["timed.show", "--port", "virtual://a"], "no program"),
        ([], "FILE"),
    ],
)
def test_a_slip_is_one_sentence(show: Path, typed: list[str], says: str, capsys: Said) -> None:
    assert main(["fit", *typed]) == 2
    assert says in flat(capsys.readouterr().err)


def test_a_board_with_another_program_lends_no_times(show: Path, capsys: Said) -> None:
    other = Path("other.show")
    other.write_text(SHOW.replace('show "Timed"', 'show "Other"'))
    assert main(["flash", "other.show", "--yes", "--port", "virtual://a"]) == 0
    capsys.readouterr()
    assert main(["fit", "timed.show", "--port", "virtual://a"]) == 2
    assert "was not compiled from timed.show" in flat(capsys.readouterr().err)


def test_a_board_that_timed_nothing_says_what_it_takes(show: Path, capsys: Said) -> None:
    assert main(["flash", "timed.show", "--yes", "--port", "virtual://a"]) == 0
    capsys.readouterr()
    assert main(["fit", "timed.show", "--port", "virtual://a"]) == 2
    assert "times no whole stroke" in flat(capsys.readouterr().err)
