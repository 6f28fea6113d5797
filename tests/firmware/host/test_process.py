"""The board that is a process: the whole command line against it, over a pseudo-terminal."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]
SHOW = """show "Host"
board box like host
lamp glow: on box pwm0
sensor step: on box in0, low when tripped
scare blink on step trips:
    0 s:    glow on
    200 ms: glow off
"""
DRAWN = SHOW.replace(
    "    200 ms: glow off\n",
    "    +50 ms to 400 ms: glow off\n    +20 ms to 100 ms: glow flickers 10 % to 90 % for 200 ms\n",
)
"""The same with waits and levels that the board draws by itself."""


@pytest.fixture(scope="session")
def program(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The firmware, built as the document says."""
    folder = tmp_path_factory.mktemp("build")
    make = shutil.which("make")
    assert make, "this test needs make"
    done = subprocess.run(
        [make, "-C", str(ROOT / "firmware_stub"), "host", f"BUILD={folder}"], capture_output=True, text=True, check=True
    )
    assert "text" in done.stdout, "sizes are printed"
    return folder / "host"


class Process:
    """The firmware running, with what it has printed."""

    def __init__(self, program: Path, folder: Path, *more: str) -> None:
        self.port = folder / "port"
        self._told = folder / "told"
        with self._told.open("wb") as told:
            self._process = subprocess.Popen(
                [str(program), "--memory", str(folder / "memory"), "--port", str(self.port), *more],
                stdin=subprocess.PIPE, stdout=told,
            )  # fmt: skip
        self.wait(lambda: self.port.exists(), "it makes its port")

    def wait(self, holds: Callable[[], bool], what: str) -> None:
        """Until it holds, or ten seconds are over."""
        until = time.monotonic() + 10
        while not holds():
            assert time.monotonic() < until, what
            time.sleep(0.02)

    def order(self, line: str) -> None:
        """A line to its standard input."""
        assert self._process.stdin is not None
        self._process.stdin.write(line.encode() + b"\n")
        self._process.stdin.flush()

    def edges(self) -> list[tuple[int, int, int]]:
        """Each change of an output: ms, pin, level."""
        lines = self._told.read_text(encoding="ascii").splitlines()
        rows = [line.split()[1:] for line in lines if line.startswith("edge")]
        return [(int(ms), int(pin), int(level)) for ms, pin, level in rows]

    def end(self) -> None:
        self._process.terminate()
        assert self._process.wait(timeout=10) == 0


@pytest.fixture
def board(program: Path, tmp_path: Path) -> Iterator[Process]:
    process = Process(program, tmp_path, "--edges")
    yield process
    process.end()


def sequencer(folder: Path, *words: str) -> str:
    """The command on the board, which must end well; what it said."""
    return typed(folder, *words, "--port", str(folder / "port"))


def typed(folder: Path, *words: str) -> str:
    """The command as it stands."""
    env = {**os.environ, "PYTHONPATH": str(ROOT), "XDG_STATE_HOME": str(folder / "state")}
    done = subprocess.run(
        [sys.executable, "-m", "sequencer", *words],
        env=env, cwd=folder, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_a_show_is_flashed_armed_tripped_and_told_of(board: Process, tmp_path: Path) -> None:
    (tmp_path / "host.show").write_text(SHOW, encoding="utf-8")
    assert "on the board, read back and confirmed" in sequencer(tmp_path, "flash", "host.show", "--yes")
    assert "disarmed" in sequencer(tmp_path, "state")
    assert board.edges() == [], "nothing moves while a show is loaded"
    sequencer(tmp_path, "arm", "--yes")
    board.order("pin 0 0")
    board.wait(lambda: len(board.edges()) >= 2, "the trip lights the lamp")
    (on, *first), (off, *second) = board.edges()
    assert (first, second) == ([0, 255], [0, 0])
    assert off - on == 200
    assert "blink started: step" in sequencer(tmp_path, "log", "--show", "host.show")
    sequencer(tmp_path, "disarm")


def test_its_log_replayed_by_the_dry_run_gives_the_same_edges_tick_for_tick(board: Process, tmp_path: Path) -> None:
    (tmp_path / "host.show").write_text(DRAWN, encoding="utf-8")
    sequencer(tmp_path, "flash", "host.show", "--yes")
    sequencer(tmp_path, "arm", "--yes")
    for _ in range(3):
        board.order("pin 0 0")
        time.sleep(0.2)
        board.order("pin 0 1")
        time.sleep(1)  # the scare takes 0.7 s at most
    (tmp_path / "night.json").write_text(sequencer(tmp_path, "log", "--json"), encoding="utf-8")
    edges = board.edges()
    told = json.loads(typed(tmp_path, "dryrun", "host.show", "--replay", "night.json", "--json"))
    assert told["difference"] is None
    assert told["compared"] > 9
    replayed = [(edge["tick"], edge["output"], edge["level"]) for edge in told["edges"]]
    later = edges[0][0] - replayed[0][0]
    assert [(tick + later, output, level) for tick, output, level in replayed] == edges
    assert len(edges) > 15, "levels are drawn"


def test_it_keeps_its_show_and_is_disarmed_when_it_starts_again(program: Path, tmp_path: Path) -> None:
    (tmp_path / "host.show").write_text(SHOW, encoding="utf-8")
    first = Process(program, tmp_path)
    sequencer(tmp_path, "flash", "host.show", "--yes")
    sequencer(tmp_path, "arm", "--yes")
    first.end()
    second = Process(program, tmp_path, "--bitten")
    said = sequencer(tmp_path, "state")
    assert "disarmed" in said
    assert "confirmed" in said
    assert "hung and started again by itself" in sequencer(tmp_path, "log")
    second.end()


def test_a_memory_of_another_size_is_refused(program: Path, tmp_path: Path) -> None:
    (tmp_path / "memory").write_bytes(bytes(100))
    done = subprocess.run(
        [str(program), "--memory", str(tmp_path / "memory")], capture_output=True, text=True, timeout=10, check=False
    )
    assert done.returncode == 1
    assert "has 100 bytes" in done.stderr
