"""Power that goes at any write: the old program or the new one, by the board's own word, and never a damaged one.

The order of writes and what is checked when are those of the store; a trial with two slots and no checksum ran a wrong
image after 151 of 155 cuts. What an EEPROM does at low voltage is not shown here: a byte is torn by erasing it, or by
leaving bits of it unwritten.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from sequencer.board.errors import BoardError
from sequencer.board.profiles import AVR328, AVR2560, Profile
from tests.firmware.core.faults import STORE, FaultMade, core_with
from tests.firmware.core.uploads import (
    Bench,
    Went,
    after_corruption,
    after_double_cuts,
    after_single_cuts,
    shortfall,
    trial_goes_back,
    wear_is_noticed,
)
from tests.firmware.core.whole import Whole, build_whole

DOUBLE_CUTS = 350
"""Pairs for each of three kinds of upload on each of two boards: 2,100."""


@pytest.fixture(scope="module", params=(AVR328, AVR2560), ids=lambda profile: profile.name)
def bench(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Bench:
    profile: Profile = request.param
    return Bench(Whole(build_whole(tmp_path_factory.mktemp("whole") / "whole.so", profile), profile))


def test_a_cut_at_any_write_leaves_the_old_program_or_the_new_one(bench: Bench) -> None:
    ended = after_single_cuts(bench)
    assert {how for _, how in ended} == {Went.OLD, Went.NEW}
    assert {name for name, _ in ended} == {"first", "replacing", "commit"}
    assert sum(ended.values()) > 500


def test_a_second_cut_while_it_recovers_changes_nothing_of_that(bench: Bench) -> None:
    ended = after_double_cuts(bench, 7, DOUBLE_CUTS)
    assert {how for _, how in ended} == {Went.OLD, Went.NEW}
    assert sum(ended.values()) == 3 * DOUBLE_CUTS


def test_a_program_with_a_wrong_byte_never_runs(bench: Bench) -> None:
    assert after_corruption(bench, 3, 1000)[Went.WRONG] == 0


def test_a_trial_that_ends_in_a_watchdog_reset_goes_back(bench: Bench) -> None:
    assert trial_goes_back(bench)


def test_a_worn_byte_ends_the_upload_with_its_address(bench: Bench) -> None:
    assert wear_is_noticed(bench)


def test_of_the_faults_in_the_store_all_but_one_are_caught(tmp_path: Path) -> None:
    """The one changes nothing that a board says: behind the commit that is not taken back stands the image's CRC."""
    assert len({(fault.file, fault.right) for fault in STORE}) >= 10
    missed = [fault.what for number, fault in enumerate(STORE) if not _caught(fault, tmp_path / str(number))]
    assert missed == ["an upload does not take back the old commit"]


def _caught(fault: FaultMade, folder: Path) -> bool:
    folder.mkdir()
    library = build_whole(folder / "whole.so", AVR328, core_with(fault, folder), ("-O1", "-w"))
    try:
        return shortfall(Bench(Whole(library, AVR328))) is not None
    except (AssertionError, BoardError):
        return True  # the upload that everything else begins with does not end as it must
