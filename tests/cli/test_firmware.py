"""`flash --firmware` and `trim`, as typed."""

from __future__ import annotations

import json
import os
import stat
from pathlib import Path

import pytest

from sequencer.cli import main


@pytest.fixture
def code(home: Path) -> Path:
    """A file that is firmware for the small board, as far as can be seen from outside."""
    path = home / "avr328.hex"
    data = b"\x0c\x94\x34\x00" * 4
    record = bytes([16, 0, 0, 0]) + data
    lines = []
    for at in range(0, 26 * 4, 16):
        size = min(16, 26 * 4 - at)
        record = bytes([size, at >> 8, at & 255, 0]) + data[:size]
        lines.append(f":{record.hex()}{-sum(record) % 256:02x}")
    path.write_text("\n".join([*lines, ":00000001FF"]))
    return path


def flat(text: str) -> str:
    return " ".join(text.split())


def test_firmware_goes_to_a_named_port_only(code: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["flash", "--firmware", str(code), "--yes"]) == 2
    assert "by the name of its port" in flat(capsys.readouterr().err)
    assert main(["flash", "--yes"]) == 2
    assert "--firmware" in flat(capsys.readouterr().err)


def test_without_a_loader_the_answer_says_how(
    code: Path, home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(home))
    assert main(["flash", "--firmware", str(code), "--yes", "--port", os.devnull]) == 3
    said = flat(capsys.readouterr().err)
    assert "not installed" in said
    assert "avrdude -q -p m328p" in said
    assert "Close the air valve" in said


def test_a_loader_that_cannot_reach_the_chip_is_trouble_with_its_words(
    code: Path, home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    loader = home / "bin" / "avrdude"
    loader.parent.mkdir()
    loader.write_text("#!/bin/sh\necho 'avrdude error: programmer is not responding' >&2\nexit 1\n")
    loader.chmod(loader.stat().st_mode | stat.S_IXUSR)
    monkeypatch.setenv("PATH", str(loader.parent), prepend=os.pathsep)
    assert main(["flash", "--firmware", str(code), "--yes", "--port", os.devnull]) == 3
    assert "programmer is not responding" in flat(capsys.readouterr().err)


def test_trim_says_what_it_found_and_the_board_keeps_it(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["trim", "--for", "1 s", "--json", "--port", "virtual://trimmed"]) == 0
    value = json.loads(capsys.readouterr().out)
    assert abs(value["trim"]["fast_ppm"]) <= value["trim"]["bound_ppm"] + 1
    assert value["mode"] == "disarmed"
