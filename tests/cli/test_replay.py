"""`dryrun --replay`: a night on the virtual board, played again from its log."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

Process = Callable[..., object]

SHOW = """show "Replay"
board box like avr328
lamp glow: on box pwm0
sensor step: on box in0, low when tripped
scare blink on step trips:
    0 s:  glow to 80 % over 200 ms
    +1 s: glow off
"""


def night(process: Process, home: Path) -> Path:
    """The log of a board on which the show ran, as a file."""
    (home / "night.show").write_text(SHOW, encoding="utf-8")
    for words in (("flash", "night.show", "--yes"), ("arm", "--yes"), ("trip", "step")):
        done = process(*words, "--port", "virtual://")
        assert done.returncode == 0, done.stderr
    log = process("log", "--json", "--port", "virtual://")
    file = home / "night.json"
    file.write_bytes(log.stdout)
    return file


def test_a_night_is_played_again(process: Process, home: Path) -> None:
    night(process, home)
    done = process("dryrun", "night.show", "--replay", "night.json")
    assert done.returncode == 0, done.stdout + done.stderr
    assert b"as the board noted it" in done.stdout
    assert b"blink started: step" in done.stdout
    told = json.loads(process("dryrun", "night.show", "--replay", "night.json", "--json").stdout)
    assert told["difference"] is None
    assert told["compared"] >= 3


def test_a_log_that_was_changed_is_told(process: Process, home: Path) -> None:
    file = night(process, home)
    value = json.loads(file.read_text(encoding="utf-8"))
    started = next(entry for entry in value["entries"] if entry["text"].startswith("blink started"))
    started["value"] += 1
    file.write_text(json.dumps(value), encoding="utf-8")
    done = process("dryrun", "night.show", "--replay", "night.json")
    assert done.returncode == 1
    assert b"otherwise than the board noted" in done.stdout
    started["tick"] = 0
    file.write_text(json.dumps(value), encoding="utf-8")
    done = process("dryrun", "night.show", "--replay", "night.json")
    assert done.returncode == 2
    assert b"runs backwards" in done.stderr


def test_a_log_of_another_show_and_a_file_that_is_none_are_refused(process: Process, home: Path) -> None:
    night(process, home)
    (home / "other.show").write_text(SHOW.replace("1 s", "2 s"), encoding="utf-8")
    done = process("dryrun", "other.show", "--replay", "night.json")
    assert done.returncode == 2
    assert b"log of another program" in done.stderr
    (home / "none.json").write_text("[]", encoding="utf-8")
    done = process("dryrun", "night.show", "--replay", "none.json")
    assert done.returncode == 2
    assert b"is no log of a board" in done.stderr
