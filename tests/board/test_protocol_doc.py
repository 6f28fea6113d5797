"""The written protocol is the table that the code goes by."""

from __future__ import annotations

from sequencer.board.log import CAUSE_NUMBERS, SKIP_NUMBERS
from sequencer.board.protocol import FRAMES, REFUSALS
from sequencer.board.protocol_doc import DOCUMENT, tables, with_tables
from sequencer.steps import Cause, SkipReason


def test_the_tables_in_the_document_are_those_of_the_code():
    """Mended by `python -m sequencer.board.protocol_doc`."""
    document = DOCUMENT.read_text(encoding="utf-8")
    assert with_tables(document) == document


def test_every_frame_and_every_refusal_is_in_the_tables():
    text = tables()
    for spec in FRAMES:
        assert f"### {spec.number} {spec.name}\n" in text
    for refusal in REFUSALS:
        assert f"| {refusal.code} | {refusal.name} |" in text


def test_every_cause_and_every_reason_has_a_number_of_its_own():
    for numbers, kinds in ((CAUSE_NUMBERS, Cause), (SKIP_NUMBERS, SkipReason)):
        assert set(numbers) == set(kinds)
        assert len(set(numbers.values())) == len(numbers) and 0 not in numbers.values()
