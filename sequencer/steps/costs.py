"""What a kind of board spends on each thing, in cycles: plain numbers, of which `cycles` makes the bound of a program.

They are measured on the firmware, by `python -m tests.bench.cycles --write`.
"""

from __future__ import annotations

from sequencer.frozen import frozen

StepCosts = tuple[tuple[int, int, int], ...]
"""For rising counts of bytes: cycles of the step itself, and of what its output then does with it."""


@frozen
class Costs:
    """What a kind of board spends on each thing, in cycles, measured on its firmware. All are at most, not on average.

    `steps` is by the first byte of a form with its low bits clear. What is "for each" of two things is their product.
    """

    per_tick: int
    """Cycles that a tick has."""
    tick: int
    """The tick of an armed board with nothing to do."""
    byte_of_link: int
    """A byte that comes over the link; one comes in `byte_every` cycles at most."""
    byte_every: int
    request: int
    """The longest request of the link that is done in a tick, other than arming."""
    input: int
    change: int
    """An input changes; the first one also has all routines looked at."""
    slot: int
    """A routine that runs and is not due."""
    run: int
    """A routine that takes steps, beside those steps."""
    row: int
    """Each routine of the program, where any may start."""
    row_start: int
    """Each change that starts a routine, beyond its first."""
    start: int
    draw: int
    """The next time of a clock."""
    end: int
    end_output: int
    """At the end of a run, for each output of the program."""
    kill: int
    idle: int
    """Each idle, where any may start."""
    idle_slot: int
    """For each idle and each routine that runs."""
    idle_row: int
    """For each start or end of a scare, and each routine of a program that has idles."""
    output: int
    """Each output that holds its level."""
    bound: int
    """An output with a longest on-time or an exclusion group, beside that."""
    turn_bound: int
    """Such an output that turns, beside its wish."""
    turn_all: int
    """For each output of the program, where one turns that has either."""
    excludes: int
    """For each output of an exclusion group that turns, and each output of the program."""
    over: int
    """An output whose longest on-time is over."""
    rest: int
    """An output that goes to its state of rest."""
    rest_quiet: int
    """One that is there."""
    fade: int
    """A fade that is under way and takes a level."""
    level: int
    """Each further level that it takes in the same tick."""
    pulse: int
    """A pulse that ends; so of the next two, and a clip."""
    clip: int
    flash: int
    flicker: int
    halt: int
    """A stop or an alarm with nothing running."""
    halt_run: int
    arm: int
    arm_row: int
    """At arming, for each routine."""
    again: int
    unmark: int
    steps: tuple[tuple[int, StepCosts], ...]
