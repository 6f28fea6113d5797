"""The commands as typed, over a pseudo-terminal, to the AVR image in real time: serial library, UART, EEPROM, pins."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from sequencer.board.profiles import AVR328
from sequencer.steps import encode
from tests.firmware.bench.board import memory_with
from tests.firmware.bench.driver import bench_words, pins_of, terminal
from tests.firmware.bench.programs import STOP, TRIGGER, limited, one_pulse


@pytest.fixture
def board(tmp_path: Path):
    memory = tmp_path / "memory"
    memory.write_bytes(memory_with(AVR328, encode(one_pulse(300))))
    with terminal(bench_words("avr328", memory=memory), tmp_path) as (port, child):
        _, inputs = pins_of("avr328")
        for pin in (TRIGGER, STOP):
            child.stdin.write(f"pin {inputs[pin].name} 1\n")
        child.stdin.write("pin C2 0\npower on\n")
        child.stdin.flush()
        yield port, child


def typed(tmp_path: Path, *words: str) -> dict[str, object]:
    env = os.environ | {"XDG_STATE_HOME": str(tmp_path / "state"), "XDG_CACHE_HOME": str(tmp_path / "cache")}
    done = subprocess.run(
        [sys.executable, "-m", "sequencer", *words, "--json"], capture_output=True, text=True, timeout=60, env=env
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return json.loads(done.stdout)


def test_flash_arm_trip_and_log_reach_the_pins_of_the_image(board, tmp_path):
    port, _ = board
    (tmp_path / "new.steps").write_bytes(encode(limited()))
    on = ("--port", port)
    flashed = typed(tmp_path, "flash", str(tmp_path / "new.steps"), "--yes", "--no-trim", *on)["flashed"]
    assert flashed["written"] and flashed["bytes"] == len(encode(limited()))
    assert typed(tmp_path, "readback", *on)["program"]["hex"] == encode(limited()).hex()
    typed(tmp_path, "arm", "--yes", *on)
    typed(tmp_path, "trip", "0", *on)
    time.sleep(0.3)
    told = (tmp_path / "told").read_text()
    outputs, _ = pins_of("avr328")
    assert f" {outputs[6].name} 1\n" in told
    entries = typed(tmp_path, "log", *on)["entries"]
    assert any("started" in entry["text"] or entry["kind"] == "started" for entry in entries)
    typed(tmp_path, "disarm", *on)
    assert typed(tmp_path, "state", *on)["mode"] == "disarmed"
