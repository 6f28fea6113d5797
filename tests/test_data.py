"""What is kept between runs can be lost or spoilt and is made anew."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from sequencer.data import cache_file

ROOT = Path(__file__).resolve().parents[1]
pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="the cache folder of other systems is elsewhere")


def check(cache: Path) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "XDG_CACHE_HOME": str(cache), "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-m", "sequencer", "check", "shows/first.show"]
    return subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True)


def test_the_tables_of_the_grammar_are_kept_and_a_spoilt_file_does_no_harm(tmp_path: Path) -> None:
    first = check(tmp_path)
    assert first.returncode == 0, first.stderr
    kept = {file: file.read_bytes() for file in (tmp_path / "prop-sequencer").iterdir()}
    assert [file.name.split("-")[0] for file in sorted(kept)] == ["grammar", "tables"]
    assert all(len(data) > 1000 for data in kept.values())
    for spoil in (lambda _: b"", lambda _: b"nonsense", lambda data: data[:500]):
        for file, data in kept.items():
            file.write_bytes(spoil(data))
        again = check(tmp_path)
        assert (again.returncode, again.stdout, again.stderr) == (0, first.stdout, first.stderr)


def test_without_a_place_to_write_nothing_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "taken").write_text("a file where the folder would be", encoding="utf-8")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "taken"))
    assert cache_file("grammar") is None
    assert check(tmp_path / "taken").returncode == 0


def test_the_folder_is_the_users_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    found = cache_file("grammar")
    assert found is not None
    assert Path(found).parent.stat().st_mode & 0o077 == 0
