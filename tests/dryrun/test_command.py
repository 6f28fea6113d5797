"""The command `dryrun`: what is typed, what comes out, and the exit code."""

from __future__ import annotations

import json
import os
import select
import subprocess
import sys
import time
from pathlib import Path

import pytest

from sequencer.cli import main

FIRST = """show "Lamp room"
board box like avr328
sensor step like push_button: on box in0
sensor mat like push_button: on box in1
lamp glow: on box pwm0
scare hello on step trips:
    0 s: glow to 100 % over 1 s
    then +2 s: glow off
"""
RAM = """show "Signal box"
compressor shed: delivers 5.1 scfm at 90 psi, tank 20 gal, cuts in at 95 psi, cuts out at 125 psi
line yard from shed: tube 3/8 in, length 50 ft
manifold bench on yard: ports 4
board box like avr328
sensor step like push_button: on box in0
prop window:
    air from bench port 1, tube 3/8 in, length 6 ft, regulator 60 psi
    reach none
    valve shove like valve_5_2_quarter: on box out1, conductance 2.6 dm3/s/bar
    cylinder ram like cylinder_round_1_1_2_in:
        on shove
        stroke 12 in
        moves 9 lb
        measured out 0.42 s, back 0.9 s at 60 psi
    sensor ram_out like reed_switch: on box in1, sees ram out
    scare lunge on step trips:
        1.2 s: ram lands out
        +1 s: ram retracts
"""


@pytest.fixture
def show(tmp_path: Path) -> Path:
    path = tmp_path / "lamp.show"
    path.write_text(FIRST, encoding="utf-8")
    return path


def dryrun(*words: str | Path, **env: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "sequencer", "dryrun", *map(str, words)],
        capture_output=True, text=True, encoding="utf-8", errors="replace", stdin=subprocess.DEVNULL,
        timeout=60,
        env={**os.environ, "PYTHONIOENCODING": "utf-8", **env}, check=False,
    )  # fmt: skip


def test_it_draws_the_run_and_exits_with_0(show: Path) -> None:
    done = dryrun(show, "--trip", "step@1s", "--seed", "7")
    assert done.returncode == 0, done.stderr
    assert "dry run of 6 s, seed 7" in done.stdout
    assert "hello starts  (step)" in done.stdout
    assert "".join(done.stderr.split()) == f"[i]1note;`sequencercheck{show}`showsit."


def test_a_drawn_seed_is_said_and_repeats_the_run(show: Path) -> None:
    first = dryrun(show, "--trip", "step@1s")
    seed = first.stderr.split("--seed")[1].split()[0]
    again = dryrun(show, "--trip", "step@1s", "--seed", seed)
    assert again.stdout == first.stdout


def test_json_is_one_object_and_nothing_else(show: Path) -> None:
    done = dryrun(show, "--trip", "step@1s", "--for", "5s", "--seed", "7", "--json")
    value = json.loads(done.stdout)
    assert (value["version"], value["ticks"], value["seed"]) == (1, 5000, 7)
    assert [1020, 0, 255, 1000] in value["edges"]
    assert done.stderr == ""


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--trip", "setp@1s"], "did you mean step?"),
        (["--trip", "step@1"], "write 1s or 1ms"),
        (["--trip", "step@9s", "--for", "5s"], "make --for longer"),
        (["--for", "soon"], "is not a time"),
        (["--for", "0s"], "runs nothing"),
        (["--from", "4s", "--to", "2s"], "must be later than --from"),
        (["--from", "40s", "--for", "9s"], "beyond the end"),
        (["--seed", "0"], "--seed"),
        (["--pace", "real"], "no terminal"),
    ],
)
def test_wrong_use_is_said_and_exits_with_2(
    show: Path,
    words: list[str],
    says: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("COLUMNS", "400")
    with open(os.devnull, encoding="utf-8") as nobody:
        monkeypatch.setattr(sys, "stdin", nobody)
        assert main(["dryrun", str(show), *words]) == 2
    out, err = capsys.readouterr()
    assert says in err
    assert out == ""


def test_a_show_with_errors_exits_with_1_and_says_them(tmp_path: Path) -> None:
    path = tmp_path / "broken.show"
    path.write_text(FIRST.replace("glow off", "glwo off"), encoding="utf-8")
    done = dryrun(path, "--trip", "step@1s")
    assert done.returncode == 1
    assert "glwo" in done.stderr
    assert done.stdout == ""


def test_a_landing_arrives_when_the_show_says_and_its_sensor_answers(tmp_path: Path) -> None:
    """The trip settles, and 1.2 s later the rod is out; within 1 % of that the reed switch has seen it."""
    path = tmp_path / "ram.show"
    path.write_text(RAM, encoding="utf-8")
    done = dryrun(path, "--trip", "step@1s", "--seed", "7", "--json")
    assert done.returncode == 0, done.stdout + done.stderr
    value = json.loads(done.stdout)
    (started,) = [event["tick"] for event in value["events"] if event["what"] == "started"]
    out = next(one for one in value["motions"][0]["movements"] if one["toward"] == "out")
    # The plan reckons with a manifold that holds its pressure; this one gives way a little.
    assert -1 <= out["ends"] - (started + 1200) <= 0.01 * (out["ends"] - out["commanded"])
    number = next(one["index"] for one in value["inputs"] if one["sensor"] == "window.ram_out")
    seen = [
        event["tick"]
        for event in value["events"]
        if event["what"] == "input_changed" and event["input"] == number and event["tripped"]
    ]
    assert len(seen) == 1
    assert abs(seen[0] - out["ends"]) <= 40


def test_an_old_code_page_gets_ascii(show: Path) -> None:
    done = dryrun(show, "--trip", "step@1s", PYTHONIOENCODING="cp1252")
    assert done.returncode == 0
    assert done.stdout.isascii()
    assert "?" not in done.stdout


def test_no_color_means_no_colour_and_always_means_always(show: Path) -> None:
    assert "\x1b" not in dryrun(show, "--trip", "step@1s", NO_COLOR="1").stdout
    assert "\x1b" in dryrun(show, "--trip", "step@1s", "--color", "always").stdout


@pytest.mark.skipif(sys.platform == "win32", reason="a pseudo-terminal is wanted")
def test_real_pace_on_a_terminal_trips_by_key_and_leaves_by_q(show: Path) -> None:
    import pty

    ours, theirs = pty.openpty()
    run = subprocess.Popen(
        [sys.executable, "-m", "sequencer", "dryrun", str(show), "--pace", "real", "--seed", "7"],
        stdin=theirs, stdout=theirs, stderr=theirs, close_fds=True,
    )  # fmt: skip
    os.close(theirs)
    said = read_until(ours, "leave")
    assert "a      step" in said
    os.write(ours, b"a")
    assert "hello starts" in read_until(ours, "hello starts")
    os.write(ours, b"q")
    assert "dry run of" in read_until(ours, "seed 7")
    assert drained(ours, run) == 0
    os.close(ours)


def read_until(number: int, wanted: str, seconds: float = 15.0) -> str:
    text, until = "", time.monotonic() + seconds
    while wanted not in text and time.monotonic() < until:
        if select.select([number], [], [], 0.1)[0]:
            text += os.read(number, 4096).decode("utf-8", "replace")
    assert wanted in text, text
    return text


def drained(number: int, run: subprocess.Popen[bytes], seconds: float = 15.0) -> int | None:
    """The exit code, while what is still said is read away."""
    until = time.monotonic() + seconds
    while run.poll() is None and time.monotonic() < until:
        if select.select([number], [], [], 0.1)[0]:
            try:
                os.read(number, 4096)
            except OSError:
                break
    return run.wait(5)
