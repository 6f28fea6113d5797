"""The plan, the compiled program on the board's own rules, and a second naive reading of the show agree."""

from __future__ import annotations

import random
from collections.abc import Callable

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from sequencer.board.profiles import HOST
from sequencer.rig.drive import Fade, Play, SetLevel
from sequencer.schedule.plan import Moment, ticks_of
from sequencer.schedule.tables import level_of
from sequencer.steps import Machine, Program
from sequencer.steps.flow import flow_of
from tests.schedule.oracle import PINS, Oracle, chance_scripts, sure_scripts, tick
from tests.schedule.yard import CLIPS, Made, Ran, lunge, run, without_limits

QUICK = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def ready(lines: list[str]) -> tuple[Made, Program]:
    made = lunge(*lines)
    assume(made.fine and made.first.longest_us < 1_000_000_000)
    compiled = made.compiled()
    assume(not compiled.findings)
    return made, without_limits(compiled.program)


@given(sure_scripts())
@QUICK
def test_every_edge_falls_on_the_tick_that_a_naive_reading_says(lines: list[str]) -> None:
    made, program = ready(lines)
    oracle = Oracle(made.show)
    done = oracle.block(made.show.routines[0].cues, 0)
    ran = run(program, 1_100_000)
    names = made.compiled().names.outputs
    for name, pin in PINS.items():
        if name in names and not pin.startswith("pwm"):
            assert ran.of(names.index(name)) == oracle.edges(pin), name
    assert ran.of(names.index("horn")) == oracle.edges("out10")
    assert ran.ended == tick(max(done, *oracle.ends.values()))


@given(sure_scripts())
@QUICK
def test_without_chance_shortest_longest_and_the_board_are_one(lines: list[str]) -> None:
    made, program = ready(lines)
    assert made.first.shortest_us == made.first.longest_us
    assert run(program, 1_100_000).ended == made.first.longest_us // 1000


@given(sure_scripts(depth=0))
@QUICK
def test_every_moment_is_a_write_of_its_tick(lines: list[str]) -> None:
    """The other way round: what the plan lists, and nothing else, comes out."""
    made, program = ready(lines)
    ran = run(program, 1_100_000)
    names, by_pin = made.compiled().names.outputs, outputs_by_pin(made)
    for output, name in enumerate(names):
        if name != "glow":
            allowed = [w for moment in made.first.moments for w in writes_of(moment, by_pin) if w[1] == output]
            seen = ran.of(output)
            for at, level in seen:
                assert any(lo == hi == at and level == said for (lo, hi), _, said in allowed), (name, at, level)


@given(chance_scripts(), st.integers(1, 2**31))
@QUICK
def test_with_chance_every_edge_falls_into_the_window_of_a_moment(
    lines: list[str], seed: int
) -> None:
    made, program = ready(lines)
    ran = run(program, 1_100_000, seed, world=wandering(seed), step=37)
    by_pin = outputs_by_pin(made)
    allowed = [write for moment in made.first.moments for write in writes_of(moment, by_pin)]
    fading = made.compiled().names.outputs.index("glow")
    for edge in ran.edges:
        if edge.output != fading:
            assert any(lo <= edge.tick <= hi and edge.output == output and edge.level == level
                       for (lo, hi), output, level in allowed), edge
    assert ran.ended is not None
    assert made.first.shortest_us // 1000 <= ran.ended <= made.first.longest_us // 1000


@given(chance_scripts())
@QUICK
def test_the_step_tables_take_as_long_as_the_plan_says(lines: list[str]) -> None:
    """Two ways to the same bounds: along the tree, and along the steps that the board runs."""
    made, program = ready(lines)
    planned = (ticks_of(made.first.shortest_us), ticks_of(made.first.longest_us))
    assert flow_of(program.routines[0].steps).takes == planned


@given(chance_scripts(), st.integers(1, 2**31))
@QUICK
def test_a_line_is_never_before_its_earliest_nor_after_its_latest(
    lines: list[str], seed: int
) -> None:
    """A lamp of its own marks the end of the script; it must light within the window of its line."""
    made, program = ready([*lines, "+7 s: mist runs for 2 s"])
    assume(not any("mist" in line for line in lines))
    last = next(moment for moment in made.first.moments if moment.action.who == "mist")
    ran = run(program, 1_100_000, seed, world=wandering(seed), step=53)
    (on, _), (off, _) = ran.of(made.compiled().names.outputs.index("mist"))
    assert ticks_of(last.earliest_us) <= on <= ticks_of(last.latest_us)
    assert off == on + 2_000


def wandering(seed: int) -> Callable[[Machine, int], None]:
    """Somebody walks to and fro on the mat."""
    chance = random.Random(seed)

    def world(machine: Machine, at: int) -> None:
        if chance.random() < 0.05:
            machine.set_input(1, chance.random() < 0.5)

    return world


def outputs_by_pin(made: Made) -> dict[str, int]:
    program = made.compiled().program
    pins = {pin.index: pin.name for pin in HOST.outputs}
    return {pins[output.pin]: number for number, output in enumerate(program.outputs)}


def writes_of(moment: Moment, by_pin: dict[str, int]) -> list[tuple[tuple[int, int], int, int]]:
    """The windows (in ticks), outputs and levels of what one moment can write."""
    lo, hi = ticks_of(moment.earliest_us), ticks_of(moment.latest_us)
    found = []
    for command in moment.commands:
        pin = "out10" if isinstance(command, Play) else command.pin.pin
        lasts = CLIPS[("horn", "bell")] if isinstance(command, Play) else getattr(command, "for_us", 0)
        level = level_of(command.level) if isinstance(command, SetLevel | Fade) else 255
        found.append(((lo, hi), by_pin[pin], level))
        if lasts:
            found.append(((lo + tick(lasts), hi + tick(lasts)), by_pin[pin], 0))
    return found


def test_the_laws_have_teeth() -> None:
    """A board that runs a tick late is seen by the naive reading."""
    made = lunge("100 ms: a on", "then +200 ms: a off")
    ran: Ran = run(made.compiled().program, 2_000)
    late = [(at + 1, level) for at, level in ran.of(made.compiled().names.outputs.index("a"))]
    oracle = Oracle(made.show)
    oracle.block(made.show.routines[0].cues, 0)
    assert late != oracle.edges("out6")
