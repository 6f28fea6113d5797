"""Which scares can run side by side, against what the board's own rules make of random nights.

Nothing that a machine runs side by side may have been ruled out. A scare and one that it starts are left aside:
these do run side by side, and what counts there is at which of its lines.
"""

from __future__ import annotations

import random
from itertools import combinations

import pytest

from sequencer.board.profiles import AVR328
from sequencer.checks import Checked, check_bytes
from sequencer.checks.clips import ClipFile
from sequencer.checks.overlap import can_overlap, starts_of
from sequencer.checks.saying import actions_of
from sequencer.rig.drive import StartRoutine
from sequencer.steps import Ended, Killed, Machine, Started

NIGHT_TICKS = 90_000
RIG = '''show "Marrow Lane"
board box like avr328
sensor step like push_button: on box in0
sensor rope like push_button: on box in1
lamp eyes: on box pwm0
'''


def random_show(rng: random.Random) -> str:
    lines = [RIG]
    names = [f"r{number}" for number in range(5)]
    for number, name in enumerate(names):
        head = rng.choice((" on step trips", " on rope trips", " every 4 s to 9 s", "", ""))
        lines.append(f"scare {name}{head}:\n")
        lines.append(f"    while running {rng.choice(('ignore', 'restart', 'once more'))}\n")
        lines.append(f"    rest {rng.choice((0, 1, 6))} s\n")
        at = 0
        for _ in range(rng.randint(1, 4)):
            later = names[number + 1 :]
            does = f"{rng.choice(later)} starts" if later and rng.random() < 0.5 else "eyes on"
            lines.append(f"    {at} s: {does}\n")
            at += rng.randint(1, 4)
        lines.append(f"    {at} s: eyes off\n")
    return "".join(lines)


def checked(show: str) -> Checked:
    def no_file(name: str) -> bytes:
        raise FileNotFoundError(name)

    return check_bytes(show.encode(), "it.show", no_file, lambda name: ClipFile(name, trouble="is missing"))


def side_by_side(found: Checked, rng: random.Random) -> set[tuple[str, str]]:
    """The pairs that run at the same time on some tick of a night of random steps and pulls."""
    assert found.compiled is not None
    program, names = found.compiled.program, found.compiled.names.routines
    machine = Machine(program, AVR328.limits, rng.randrange(1, 2**32))
    for number, entry in enumerate(program.inputs):
        machine.set_input(number, entry.low_when_tripped)
    machine.advance(100)
    assert machine.arm() is None
    running: set[str] = set()
    met: set[tuple[str, str]] = set()
    at = 100
    while at < NIGHT_TICKS:
        at += rng.randrange(200, 6000)
        for event in machine.advance(at):
            match event:
                case Started(routine=number):
                    running.add(names[number])
                    met |= {(one, other) for one, other in combinations(sorted(running), 2)}
                case Ended(routine=number) | Killed(routine=number):
                    running.discard(names[number])
        machine.press(rng.randrange(2), 50)
    return met


def ruled_out(found: Checked) -> set[tuple[str, str]]:
    assert found.plan is not None
    starts = starts_of(found.plan)
    writers = [(planned, list(actions_of(planned.routine))) for planned in found.plan.routines]
    return {
        (one[0].routine.name, other[0].routine.name) for one, other in combinations(writers, 2)
        if not can_overlap(starts, one, other)
    }


def related(found: Checked) -> set[tuple[str, str]]:
    """A scare and what it starts, in the order of their names."""
    return {
        tuple(sorted((routine.name, drive.routine))) for routine in found.show.routines  # type: ignore[misc]
        for action in actions_of(routine) for drive in action.drives if isinstance(drive, StartRoutine)
    }


@pytest.mark.parametrize("seed", range(120))
def test_what_runs_side_by_side_on_the_board_was_not_ruled_out(seed: int) -> None:
    rng = random.Random(seed)
    found = checked(random_show(rng))
    out = ruled_out(found) - related(found)
    assert not out & side_by_side(found, rng)


def test_something_is_ruled_out_and_something_meets() -> None:
    founds = [checked(random_show(random.Random(seed))) for seed in range(40)]
    assert sum(bool(ruled_out(found) - related(found)) for found in founds) > 5
    assert sum(bool(side_by_side(found, random.Random(1))) for found in founds) > 20
