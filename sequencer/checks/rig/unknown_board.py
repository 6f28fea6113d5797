"""A board of a model that there is no profile of."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.board.profiles import PROFILES, profile_by_name
from sequencer.checks.examples import BOARD
from sequencer.checks.saying import listed
from sequencer.checks.wires import Yard, last_word
from sequencer.findings import Edit, Finding, Mend, Rule, closest
from sequencer.rig.board import Board

RULE = Rule(
    "R003", "a board that is not known",
    "Pins, room and limits come from the profile of the board, so a program can only be made for a board that has one.",
    failing='show "Marrow Lane"\nboard box: is avr32\n', mended=BOARD,
)


def find_among(yard: Yard) -> Iterator[Finding]:
    names = [profile.name for profile in PROFILES]
    for placed in yard.of_kind("board"):
        board = placed.part
        assert isinstance(board, Board)
        if profile_by_name(board.model) is None:
            span = last_word(placed.at("model"), board.model) if "model" in placed.where else placed.span
            mends = [Mend(f"write `{name}`", (Edit(span, name),)) for name in closest(board.model, names, 2)]
            message = f"There is no board `{board.model}`; there are {listed([f'`{name}`' for name in names])}."
            yield RULE.at(span, message, mends=mends)
