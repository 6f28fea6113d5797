"""`dryrun --page`: what is written, what is said, what is refused, and the exit code."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from sequencer.cli import main
from sequencer.data import folder
from sequencer.pages.html.read_back import read_page

TRIPS = ["--trip", "step@3s", "--for", "8s", "--seed", "7"]


@pytest.fixture
def lane(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with Marrow Lane in it, worked in."""
    shutil.copytree(folder("shows") / "marrow_lane", tmp_path / "lane")
    monkeypatch.chdir(tmp_path / "lane")
    monkeypatch.setenv("COLUMNS", "300")
    return tmp_path / "lane"


def run(*words: str, capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    code = main(["dryrun", *words])
    out, err = capsys.readouterr()
    return code, out, err


def test_a_page_is_written_and_said(lane: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run("marrow_lane.show", *TRIPS, "--page", "out.html", capsys=capsys)
    assert code == 0
    assert out.startswith("[ok] out.html shows the run (") and out.rstrip().endswith("open it in a browser.")
    text = (lane / "out.html").read_text(encoding="utf-8")
    assert read_page(text, "out.html").name == "out.html (seed 7, 8 s)"
    assert str(lane) not in text


def test_json_stays_alone_on_stdout_beside_a_page(lane: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run("marrow_lane.show", *TRIPS, "--json", "--page", "out.html", capsys=capsys)
    assert code == 0 and json.loads(out)["ticks"] == 8000
    assert "out.html shows the run" in err


def test_sounds_go_in_unless_they_are_not_wanted(lane: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run("marrow_lane.show", *TRIPS, "--page", "loud.html", capsys=capsys)
    run("marrow_lane.show", *TRIPS, "--no-sound", "--page", "quiet.html", capsys=capsys)
    (lane / "sounds" / "growl.wav").unlink()
    shutil.copy(lane / "marrow_lane.show", lane / "mute.show")
    sizes = {name: (lane / name).stat().st_size for name in ("loud.html", "quiet.html")}
    assert sizes["quiet.html"] < 150_000 < sizes["loud.html"]
    assert "was left out (--no-sound)" in (lane / "quiet.html").read_text(encoding="utf-8")


def test_a_part_of_the_run_is_picked(lane: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run("marrow_lane.show", *TRIPS, "--from", "3s", "--to", "5s", "--page", "out.html", capsys=capsys)
    data = read_page((lane / "out.html").read_text(encoding="utf-8"), "").data
    assert (data["begin"], data["end"]) == (3000, 5000)


def test_an_earlier_page_and_another_show_are_compared(lane: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = (lane / "marrow_lane.show").read_text(encoding="utf-8")
    (lane / "later.show").write_text(text.replace("1.20 s:   ram", "1.50 s:   ram"), encoding="utf-8")
    run("marrow_lane.show", *TRIPS, "--page", "first.html", capsys=capsys)
    for other, called in (("first.html", "first.html (seed 7, 8 s)"), ("marrow_lane.show", "marrow_lane.show")):
        code, _, err = run("later.show", *TRIPS, "--page", "out.html", "--against", other, capsys=capsys)
        assert code == 0, err
        page = (lane / "out.html").read_text(encoding="utf-8")
        assert f"Beside {called}" in page and "300 ms later" in page


def test_a_show_with_errors_gives_a_page_of_its_findings_and_exits_with_1(
    lane: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (lane / "marrow_lane.show").read_text(encoding="utf-8")
    (lane / "bad.show").write_text(text.replace("1.20 s:   ram", "0.1 s:   ram"), encoding="utf-8")
    code, out, err = run("bad.show", *TRIPS, "--page", "out.html", capsys=capsys)
    assert code == 1
    assert "error C003" in err and "out.html shows the findings" in out
    page = (lane / "out.html").read_text(encoding="utf-8")
    assert "1 error keeps this show from being run" in page and "C003" in page


@pytest.mark.parametrize(("words", "says"), [
    (["--page", "out.txt"], "end the name of the file in .html: out.txt.html"),
    (["--page", "marrow_lane.show"], "end the name of the file in .html"),
    (["--page", "out.html", "--from", "5h"], "--from (18000 s) lies beyond the end of the run"),
    (["--page", "out.html", "--replay", "log.json"], "leave --page away"),
    (["--against", "out.html"], "give --page FILE.html too"),
    (["--page", "no/out.html"], "There is no folder no"),
    (["--page", "out.html", "--for", "2h"], "60 min at most, and this would be 120 min; --from and --to pick a part"),
    (["--page", "out.html", "--for", "10h"], "beyond 6 h, the longest dry run"),
    (["--page", "out.html", "--against", "none.show"], "no file or folder none.show"),
    (["--page", "out.html", "--against", "none.html"], "no file or folder none.html"),
    (["--page", "out.html", "--against", "junk.html"], "junk.html is no dry-run page"),
    (["--page", "out.html", "--against", "bad.show"], "bad.show has errors"),
    (["--page", "out.html", "--against", "lamp.show"], "cannot be run with the same trips: there is no sensor step"),
])  # fmt: skip
def test_what_cannot_be_is_refused_in_words_and_nothing_is_written(
    lane: Path, words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    (lane / "junk.html").write_bytes(b"\xff\xfe<html>")
    (lane / "bad.show").write_text("show \"Bad\"\nlamp x: on y\n", encoding="utf-8")
    (lane / "lamp.show").write_text('show "L"\nboard box like avr328\nlamp a: on box pwm0\nscare b every 4 s to 8 s:\n'
                                    "    0 s: a on\n    1 s: a off\n", encoding="utf-8")
    before = {path.name: path.read_bytes() for path in lane.glob("*.*") if path.is_file()}
    code, out, err = run("marrow_lane.show", "--trip", "step@3s", *words, capsys=capsys)
    assert code == 2, out + err
    assert says in err
    assert {path.name: path.read_bytes() for path in lane.glob("*.*") if path.is_file()} == before
    assert not (lane / "out.html").exists()


def test_a_part_of_a_long_run_fits_into_a_page(lane: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, _, err = run("marrow_lane.show", "--for", "2h", "--from", "119min", "--seed", "1", "--page", "out.html",
                       capsys=capsys)
    assert code == 0, err
    data = read_page((lane / "out.html").read_text(encoding="utf-8"), "").data
    assert (data["begin"], data["end"]) == (7_140_000, 7_200_000)
