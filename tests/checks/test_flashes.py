"""The flash limit against the board's own edges: what a lamp really does is counted, second by second.

The limit is that of WCAG 2.2, success criterion 2.3.1: no more than three flashes in any one-second period.
"""

from __future__ import annotations

import random

import pytest

from sequencer.board.profiles import AVR328
from sequencer.checks import Checked, check_bytes
from sequencer.checks.clips import ClipFile
from sequencer.checks.examples import LAMP, changed
from sequencer.steps import Machine, OutputEdge

MOST = 3
CODES = {"R016", "T011"}


def checked(lines: list[str]) -> Checked:
    show = changed(LAMP, ("    0 s: eyes on\n    2 s: eyes off\n", "".join(f"    {line}\n" for line in lines)))

    def no_file(name: str) -> bytes:
        raise FileNotFoundError(name)

    return check_bytes(show.encode(), "it.show", no_file, lambda name: ClipFile(name, trouble="is missing"))


def rises_of(found: Checked) -> list[int]:
    """The ticks in which the lamp goes from dark to bright when the scare runs on a board."""
    assert found.compiled is not None, found.findings
    machine = Machine(found.compiled.program, AVR328.limits, 1)
    machine.set_input(0, found.compiled.program.inputs[0].low_when_tripped)
    machine.advance(10)
    assert machine.arm() is None
    machine.press(0, 20)
    edges = [event for event in machine.advance(60_000) if isinstance(event, OutputEdge)]
    levels = [0, *(edge.level for edge in edges)]
    return [edge.tick for before, edge in zip(levels, edges, strict=False) if edge.level - before > 25]


def flashes_a_second(rises: list[int]) -> float:
    """The highest rate of four flashes that begin within one second; 0 where there are none."""
    spans = [end - begin for begin, end in zip(rises, rises[MOST:], strict=False)]
    return max((MOST * 1000 / span for span in spans if span < 1000), default=0.0)


def random_lines(rng: random.Random) -> list[str]:
    match rng.randrange(3):
        case 0:
            return [f"0 s: eyes flashes {rng.randint(5, 80) / 10} Hz for {rng.randint(2, 40) * 100} ms"]
        case 1:
            period = rng.randrange(60, 900, 20)
            return [f"0 s: repeat {rng.randint(1, 9)} times every {period} ms:",
                    "    0 s: eyes on", f"    {period // 2} ms: eyes off"]
        case _:
            lines, at = [], 0
            for number in range(rng.randint(2, 16)):
                lines.append(f"{at} ms: eyes {'off' if number % 2 else 'on'}")
                at += rng.randrange(20, 400, 10)
            return lines


@pytest.mark.parametrize("seed", range(80))
def test_a_lamp_is_reported_if_and_only_if_the_board_would_flash_it_too_fast(seed: int) -> None:
    lines = random_lines(random.Random(seed))
    found = checked(lines)
    rate = flashes_a_second(rises_of(found))
    if not MOST < rate < MOST * 1.02:  # a rounded tick or two decide nothing
        assert bool(CODES & {finding.code for finding in found.findings}) == (rate > MOST), (lines, rate)


def test_both_verdicts_are_tried() -> None:
    rates = [flashes_a_second(rises_of(checked(random_lines(random.Random(seed))))) for seed in range(80)]
    assert sum(rate > MOST for rate in rates) > 15
    assert sum(rate == 0.0 for rate in rates) > 15


@pytest.mark.parametrize(("rate", "reported"), [("3 Hz", False), ("3.2 Hz", True), ("4 Hz", True), ("1 Hz", False)])
def test_three_flashes_a_second_are_the_limit(rate: str, reported: bool) -> None:
    codes = {finding.code for finding in checked([f"0 s: eyes flashes {rate} for 3 s"]).findings}
    assert ("R016" in codes) == reported
