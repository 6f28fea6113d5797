from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from sequencer.cli.files import read_text_file, write_text_file, write_whole

posix = pytest.mark.skipif(sys.platform == "win32", reason="modes, links and devices of POSIX")


def test_a_text_keeps_its_line_ends_and_its_mark(tmp_path: Path) -> None:
    path = tmp_path / "a.show"
    data = b'\xef\xbb\xbfshow "A"\r\n\rx\n'
    path.write_bytes(data)
    write_text_file(read_text_file(path))
    assert path.read_bytes() == data


@posix
def test_the_mode_stays_and_a_link_stays_a_link(tmp_path: Path) -> None:
    path, link = tmp_path / "a.show", tmp_path / "link.show"
    path.write_bytes(b"old")
    path.chmod(0o640)
    link.symlink_to(path)
    write_whole(link, b"new")
    assert link.is_symlink()
    assert path.read_bytes() == b"new"
    assert path.stat().st_mode & 0o777 == 0o640


def test_a_failed_write_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.show"
    path.write_bytes(b"old")

    def fails(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", fails)
    with pytest.raises(OSError, match="No space"):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["a.show"]


def test_a_full_disk_is_told_of_the_file_that_was_to_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space") as fault:
        write_whole(tmp_path / "a.show", b"new")
    assert fault.value.filename == str(tmp_path / "a.show")
    assert os.listdir(tmp_path) == []


@posix
def test_what_is_no_file_is_never_replaced(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(OSError, match="Invalid argument"):
        write_whole(pipe, b"new")
    with pytest.raises(IsADirectoryError):
        write_whole(tmp_path, b"new")
