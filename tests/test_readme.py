"""The README shows only what runs."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

from sequencer.cli.group import SECTIONS
from tests.documents import ROOT, pieces_stand_there, run_all

TEXT = (ROOT / "README.md").read_text(encoding="utf-8")


@pytest.mark.skipif(sys.platform == "win32", reason="its commands run at a terminal of POSIX")
def test_every_command_prints_what_the_readme_shows(tmp_path: Path) -> None:
    run_all(TEXT, tmp_path, columns=80)


def test_the_piece_of_marrow_lane_stands_there() -> None:
    pieces_stand_there(TEXT)


def test_the_table_has_every_command() -> None:
    table = TEXT.split("## Commands")[1].split("Exit codes")[0]
    assert set(re.findall(r"`([a-z][a-z-]*)`", table)) == {name for names in SECTIONS.values() for name in names}


def test_the_first_show_is_the_one_that_lies_with_the_shows() -> None:
    shown = TEXT.split("```show first.show\n")[1].split("```")[0]
    assert shown == (ROOT / "shows" / "first.show").read_text(encoding="utf-8")


def test_what_the_document_links_to_is_there() -> None:
    for target in re.findall(r"\]\(([^)#:]+)", TEXT):
        assert (ROOT / target).exists(), target
