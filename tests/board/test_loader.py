"""Firmware files told apart, and the general AVR loader run, missing or failing."""

from __future__ import annotations

import os
import stat

import pytest

from sequencer.board.loader import (
    TARGETS,
    BadFirmware,
    LoaderFailed,
    LoaderMissing,
    bytes_of_hex,
    firmware_of,
    load_firmware,
)


def hex_of(code: bytes) -> str:
    lines = []
    for at in range(0, len(code), 16):
        data = code[at : at + 16]
        record = bytes([len(data)]) + at.to_bytes(2, "big") + b"\x00" + data
        lines.append(f":{record.hex().upper()}{-sum(record) % 256:02X}")
    return "\n".join([*lines, ":00000001FF", ""])


def firmware(vectors: int) -> str:
    return hex_of(b"\x0c\x94\x34\x00" * vectors + b"\x11\x24\x1f\xbe" * 20)


@pytest.fixture
def fake_loader(tmp_path, monkeypatch):
    """A loader that notes its words and ends as it is told to."""

    def make(code: int, says: str = ""):
        program = tmp_path / "bin" / "avrdude"
        program.parent.mkdir()
        program.write_text(f'#!/bin/sh\necho "$@" > {tmp_path}/words\necho "{says}" >&2\nexit {code}\n')
        program.chmod(program.stat().st_mode | stat.S_IXUSR)
        monkeypatch.setenv("PATH", f"{program.parent}:{os.environ['PATH']}")
        return tmp_path / "words"

    return make


@pytest.mark.parametrize("target", TARGETS, ids=lambda target: target.board)
def test_a_file_tells_its_chip_by_the_length_of_its_interrupt_table(tmp_path, target):
    path = tmp_path / "a.hex"
    path.write_text(firmware(target.vectors))
    assert firmware_of(path)[0] is target


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("hello", "line 1 is no record"),
        (":0400000001020304F3\n:00000001FF", "its checksum is wrong"),
        (":0400000001020304F2", "no end"),
        (firmware(30), "interrupt table has 30 jumps"),
        (":00000001FF", "holds nothing"),
        (":04000000zz020304F2\n:00000001FF", "no hexadecimal digits"),
    ],
)
def test_a_file_that_is_no_firmware_is_refused_and_says_why(tmp_path, text, why):
    path = tmp_path / "a.hex"
    path.write_text(text)
    with pytest.raises(BadFirmware, match=why):
        firmware_of(path)


def test_gaps_in_the_file_are_erased_bytes():
    assert bytes_of_hex(":01000000AA55\n:01000300BB41\n:00000001FF\n") == b"\xaa\xff\xff\xbb"


def test_the_loader_is_told_chip_port_and_file(tmp_path, fake_loader):
    words = fake_loader(0)
    path = tmp_path / "a.hex"
    path.write_text(firmware(26))
    assert load_firmware(path, "/dev/ttyNONE").board == "avr328"
    assert words.read_text().split() == [
        "-q", "-p", "m328p", "-c", "arduino", "-b", "115200", "-P", "/dev/ttyNONE", "-U", f"flash:w:{path}:i"
    ]  # fmt: skip


def test_a_loader_that_fails_is_heard(tmp_path, fake_loader):
    fake_loader(1, "avrdude error: programmer is not responding")
    path = tmp_path / "a.hex"
    path.write_text(firmware(57))
    with pytest.raises(LoaderFailed, match="programmer is not responding"):
        load_firmware(path, "/dev/ttyNONE")


def test_without_a_loader_it_says_how(tmp_path, monkeypatch):
    monkeypatch.setenv("PATH", str(tmp_path))
    path = tmp_path / "a.hex"
    path.write_text(firmware(26))
    with pytest.raises(LoaderMissing, match=r"apt install avrdude.*-p m328p"):
        load_firmware(path, "/dev/ttyNONE")
