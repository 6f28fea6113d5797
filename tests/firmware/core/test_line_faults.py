"""Uploads over a bad line end right or with a clear error; the board never holds a wrong program and never moves."""

from __future__ import annotations

import random
from collections import Counter

import pytest

from sequencer.board.errors import BoardError
from sequencer.board.flash import flash
from sequencer.board.frames import unpack
from sequencer.board.profiles import AVR328
from sequencer.board.protocol import TRIM
from sequencer.steps import Mode
from tests.firmware.bench.board import Packets
from tests.firmware.core.bad_line import BadLine, link_over
from tests.firmware.core.uploads import program_of
from tests.firmware.core.whole import Whole, build_whole, crc_of

OLD, NEW = program_of(AVR328, 1, 24), program_of(AVR328, 2, 90)


@pytest.fixture(scope="module")
def board(tmp_path_factory: pytest.TempPathFactory) -> Whole:
    return Whole(build_whole(tmp_path_factory.mktemp("whole") / "whole.so", AVR328), AVR328)


@pytest.fixture
def loaded(board: Whole) -> Whole:
    """With the old program, confirmed."""
    board.renew()
    board.start()
    flash(board.link(), OLD, AVR328)
    return board


def outcome(board: Whole, line: BadLine) -> str:
    """What the tool said of one upload; the board is then looked at over a good line."""
    said = "right"
    try:
        link = link_over(line, board)
        link.identify()
        flash(link, NEW, AVR328)
    except BoardError as fault:
        assert fault.sentence.endswith(".")
        said = "a clear error"
    assert board.program_crc in (crc_of(OLD), crc_of(NEW))
    assert board.moved == 0, "nothing was asked to move"
    board.run(3000)
    link = board.link()
    link.identify()
    state = link.state()
    assert state.mode is Mode.DISARMED
    assert state.crc == board.program_crc
    if said == "right":
        assert state.crc == crc_of(NEW)
    board.start()
    assert board.program_crc == state.crc
    return said


@pytest.mark.parametrize("first", range(0, 200, 25))
def test_of_two_hundred_uploads_at_one_fault_in_a_hundred_bytes_each_ends_well(loaded: Whole, first: int) -> None:
    ended: Counter[str] = Counter()
    suffered = 0
    kept = loaded.memory
    for seed in range(first, first + 25):
        loaded.memory = kept
        loaded.start()
        line = BadLine(loaded, random.Random(seed), 100)
        ended[outcome(loaded, line)] += 1
        suffered += line.suffered
    assert suffered > 25 * 4, "the line was bad"
    assert ended["right"] > 20, "asking again helps"


def test_a_line_cut_after_any_frame_leaves_a_whole_program(loaded: Whole) -> None:
    """After each request, whose answer is lost then, and after each answer."""
    kept = loaded.memory
    ended = []
    while not ended or ended[-1] != "right":
        loaded.memory = kept
        loaded.start()
        ended.append(outcome(loaded, BadLine(loaded, random.Random(1), 1 << 30, len(ended))))
    assert len(ended) > 20, "an upload is many frames"
    assert set(ended[:-1]) == {"a clear error"}
    assert len(ended) % 2 == 1, "each request has its answer"


def test_a_board_that_understands_nothing_tries_the_other_rate(loaded: Whole) -> None:
    """After framing errors for a fifth of a second, or eight broken packets in a row; the conversation goes on."""
    link = loaded.link()
    link.identify()
    link.port.baudrate = 38_400
    assert link.state().crc == crc_of(OLD)
    assert loaded.rate == 1
    for _ in range(8):
        loaded.say(b"\x05\x01\x00")
        loaded.run(20)
    assert loaded.rate == 0
    assert link.state().crc == crc_of(OLD), "the tool goes over too"


def test_a_trim_that_is_asked_for_again_is_told_again(loaded: Whole) -> None:
    """Its answer was lost: the place where that stood holds the request by then."""
    packets = Packets()
    loaded.say(packets.greeting())
    loaded.run(50)
    request = packets.make(TRIM, keep=1, trim=300)
    packets.sent = [*(packets.sent or []), *(packets.sent or [])[-1:]]
    for _ in range(2):
        loaded.say(request)
        loaded.run(200)
    told = [unpack(TRIM.answer, answer.body) for answer in packets.answers(loaded.hear(400))[1:]]
    assert [(one["trim"], one["kept"]) for one in told] == [(300, 1)] * 2
    assert told[1]["tick"] > told[0]["tick"]
