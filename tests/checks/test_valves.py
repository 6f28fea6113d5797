"""Valves switched too fast, against the board's own edges: the shortest time that the coil is really on or off.

The times are those of the valve of the example: 20 ms and 6 ms to come over, 30 ms and 6 ms to go back.
"""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import pairwise

import pytest

from sequencer.board.profiles import AVR328
from sequencer.checks import Checked, check_bytes
from sequencer.checks.clips import ClipFile
from sequencer.checks.examples import LUNGE, changed
from sequencer.steps import Machine, OutputEdge

ON_MS, OFF_MS = 26, 36
OUT = 1
"""The number of the coil's output: the lamp is on a lower pin."""


def checked(lines: list[str]) -> Checked:
    cues = "".join(f"        {line}\n" for line in lines)
    old = "        0 s: ram extends, eyes on\n        2 s: ram retracts\n        4 s: eyes off\n"
    show = changed(LUNGE, (old, cues))

    def no_file(name: str) -> bytes:
        raise FileNotFoundError(name)

    return check_bytes(show.encode(), "it.show", no_file, lambda name: ClipFile(name, trouble="is missing"))


def shortest(found: Checked) -> tuple[int, int]:
    """The shortest time in ms that the coil is on, and that it is off between, when the scare runs.

    The board would itself hold a coil for the valve's time; that is taken away here, to see what was asked for.
    """
    assert found.compiled is not None, found.findings
    program = found.compiled.program
    outputs = tuple(replace(output, shortest_on=0, shortest_off=0) for output in program.outputs)
    machine = Machine(replace(program, outputs=outputs), AVR328.limits, 1)
    for number, entry in enumerate(program.inputs):
        machine.set_input(number, entry.low_when_tripped)
    machine.advance(100)
    assert machine.arm() is None
    machine.press(1, 20)
    edges = [event for event in machine.advance(60_000) if isinstance(event, OutputEdge) and event.output == OUT]
    spans = [(edge.level > 0, after.tick - edge.tick) for edge, after in pairwise(edges)]
    return (min((span for on, span in spans if on), default=10**6),
            min((span for on, span in spans if not on), default=10**6))


def random_lines(rng: random.Random) -> list[str]:
    lines, out = ["0 s: eyes on"], False
    for _ in range(rng.randint(1, 5)):
        wait = rng.choice((10, 25, 26, 30, 35, 36, 40, 900, 1500))
        match rng.randrange(5):
            case 0:
                lines.append(f"+{wait} ms: ram extends for {rng.choice((10, 25, 26, 40, 700))} ms")
                lines.append("then: ram retracts")
                out = False
            case 1 if not out:
                period = rng.choice((60, 61, 62, 70, 400))
                lines += [f"+{wait} ms: repeat 3 times every {period} ms:", "    0 s: ram extends",
                          f"    {rng.choice((10, 25, 26, 30))} ms: ram retracts", "then: eyes on"]
            case 2:
                lines.append(f"+{wait} ms: ram {'extends' if out else 'retracts'}")
            case _:
                lines.append(f"+{wait} ms: ram {'retracts' if out else 'extends'}")
                out = not out
    return [*lines, "+3 s: ram retracts"]


@pytest.mark.parametrize("seed", range(100))
def test_a_valve_is_reported_if_and_only_if_its_coil_is_switched_too_fast(seed: int) -> None:
    lines = random_lines(random.Random(seed))
    found = checked(lines)
    on, off = shortest(found)
    assert ("T002" in {finding.code for finding in found.findings}) == (on < ON_MS or off < OFF_MS), (lines, on, off)


def test_both_verdicts_are_tried() -> None:
    spans = [shortest(checked(random_lines(random.Random(seed)))) for seed in range(100)]
    fast = [on < ON_MS or off < OFF_MS for on, off in spans]
    assert 20 < sum(fast) < 80
