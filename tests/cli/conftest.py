from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working folder of its own, with virtual boards of its own."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "state"))
    for name in ("NO_COLOR", "COLUMNS", "SEQUENCER_DEBUG"):
        monkeypatch.delenv(name, raising=False)
    folder = tmp_path / "yard"
    folder.mkdir()
    monkeypatch.chdir(folder)
    return folder


Process = Callable[..., subprocess.CompletedProcess[bytes]]


@pytest.fixture
def process(home: Path) -> Process:
    """Runs the command as a process of its own, from the working folder."""

    def run(*args: str, **more: object) -> subprocess.CompletedProcess[bytes]:
        env = {**os.environ, "PYTHONPATH": str(ROOT), **more.pop("env", {})}  # type: ignore[dict-item]
        command = [sys.executable, "-m", "sequencer", *args]
        options = {"capture_output": True, "stdin": subprocess.DEVNULL, **more}
        return subprocess.run(command, env=env, timeout=30, check=False, cwd=home, **options)  # type: ignore[call-overload]

    return run
