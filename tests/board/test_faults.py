"""Whatever goes wrong with a board, it comes to rest: outputs at their safe level, and only a person arms it again."""

from __future__ import annotations

from dataclasses import replace

import pytest

from sequencer.board.link import Link
from sequencer.board.log import entry_words
from sequencer.steps import Mode, Program

SAFE = (255, 64)
HURT_BYTES = 40


@pytest.fixture
def show(programs) -> Program:
    """The shove held and the eyes dim at rest; running, the show does the opposite of both."""
    lunge = programs.lunge(hold=5_000)
    steps = (replace(lunge.routines[0].steps[0], args=(0, 0)), *lunge.routines[0].steps[1:])
    shove, eyes = (replace(output, safe=safe, alarm=safe) for output, safe in zip(lunge.outputs, SAFE, strict=True))
    return replace(
        lunge, outputs=(shove, eyes), heartbeat=2_000, routines=(replace(lunge.routines[0], steps=steps),)
    )


def running(bench, show: Program) -> Link:
    link = bench.loaded(show)
    link.arm()
    link.trip(0)
    bench.wait(0.5)
    assert (link.state().mode, link.levels(2)) == (Mode.ARMED, (0, 255))
    return link


@pytest.mark.parametrize(
    ("fault", "mode"),
    [
        ("stop", Mode.STOPPED),
        ("alarm", Mode.ALARMED),
        ("heartbeat", Mode.STOPPED),
        ("cycle", Mode.DISARMED),
        ("watchdog", Mode.DISARMED),
    ],
)
def test_a_running_show_comes_to_rest(bench, show: Program, fault: str, mode: Mode) -> None:
    link = running(bench, show)
    match fault:
        case "stop" | "alarm":
            link.trip(1 if fault == "stop" else 2, ticks=5)
            bench.wait(0.002)
        case "heartbeat":
            bench.wait(2)
        case _:
            link.close()
            link = bench.link(power=fault)
    assert (link.state().mode, link.levels(2)) == (mode, SAFE)
    bench.wait(1)
    assert (link.state().mode, link.levels(2)) == (mode, SAFE)


def test_a_program_that_was_hurt_in_memory_is_not_run(bench, show: Program) -> None:
    """Each byte of the memory in turn: the board comes up with the whole program or with none, never armed."""
    running(bench, show).close()
    memory = bench.folder / "box.eeprom"
    whole = memory.read_bytes()
    told = 0
    for at in range(0, len(whole), max(len(whole) // HURT_BYTES, 1)):
        memory.write_bytes(whole[:at] + bytes([whole[at] ^ 0x10]) + whole[at + 1 :])
        link = bench.link(power="cycle")
        state = link.state()
        assert state.mode is Mode.DISARMED
        if state.length:
            assert link.levels(2) == SAFE
        else:
            told += 1
            assert "without a program" in entry_words(link.log()[0].entry)
        link.close()
    assert told
