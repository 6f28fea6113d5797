"""The walkthrough is true: its commands print what it shows, and it has what a newcomer needs in two pages."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from tests.documents import BLOCK, ROOT, blocks, commands, not_shown, pieces_stand_there, run_all

TEXT = (ROOT / "shows" / "marrow_lane" / "WALKTHROUGH.md").read_text(encoding="utf-8")

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="its questions need a terminal of POSIX")


def test_every_command_does_what_the_walkthrough_shows(tmp_path: Path) -> None:
    run_all(TEXT, tmp_path)


def test_a_line_that_does_not_come_is_noticed() -> None:
    assert not_shown(["one", "...", "two 2.0 s"], ["one", "", "two 2.0 s", "three"]) is None
    assert not_shown(["one", "two"], ["one", "", "two"]) == "two"
    assert not_shown(["...", "o...e is three"], ["zero", "one is two"]) == "o...e is three"
    assert not_shown(["..."], []) is None


def test_the_piece_of_marrow_lane_stands_there() -> None:
    pieces_stand_there(TEXT)


def test_the_commands_that_a_newcomer_needs_are_all_there() -> None:
    used = {command.split()[1] for kind, text in blocks(TEXT) if kind == "console" for command, _ in commands(text)}
    needed = {"new", "check", "format", "dryrun", "compile", "flash", "state", "bench", "arm", "trip", "log", "stop"}
    assert needed <= used


def test_the_walkthrough_is_two_pages() -> None:
    """Words of the text itself, without what stands in blocks."""
    assert 600 <= len(BLOCK.sub("", TEXT).split()) <= 1_100
