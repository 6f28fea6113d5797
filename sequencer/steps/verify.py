"""Whether a board of given limits may run a program: every reason why not, as a sentence.

The compiler asks before it sends, the board before it commits, and a machine before it runs. What is only
unwise is not said here; how many routines can meet (which costs starts, not safety) is `running_at_once`.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from sequencer.frozen import frozen
from sequencer.memo import Memo, noted
from sequencer.steps.encode import CannotEncode, encode
from sequencer.steps.listing_tables import seconds
from sequencer.steps.program import ON, WHOLE_YARD, InputKind, Limits, Output, Program, Routine, Step
from sequencer.steps.table import BY_NAME, LOOPS, NEED_FADES, Kind, argument_fault, output_written

ROUTINE_BYTES, CLOCK_BYTES, FRAME_BYTES = 7, 4, 11
"""Working memory of a board for each routine, each clock of its own, and each block that can be open at once, in bytes:
the structures `standing`, its clock, and `frame` of the firmware, where nothing is padded."""


@frozen
class Problem:
    """Why a program may not run: a sentence, and the routine and step it concerns, if it is one."""

    text: str
    routine: int | None = None
    step: int | None = None


def verify(program: Program, limits: Limits) -> tuple[Problem, ...]:
    """All reasons why a board with these limits must not run the program; none if it may."""
    problems = [*verify_tables(program, limits)]
    for number in range(len(program.routines)):
        problems += verify_routine(program, number, limits)
    return tuple(problems)


def verify_tables(program: Program, limits: Limits, memo: Memo | None = None) -> tuple[Problem, ...]:
    """What is wrong with the size and the tables of a program. `memo` keeps what comes of one routine."""
    return (*_sizes(program, limits, memo or Memo()), *_outputs(program), *_clips(program))


def work_bytes(program: Program, size: int, limits: Limits, memo: Memo) -> int:
    """Bytes of a board's working memory that a program of `size` bytes takes.

    It plays from a copy of the image, to whole four bytes; beside that stands what is remembered of each routine,
    and of each block that is open: no more than the deepest routines open, as many as run at once.
    """
    clocks = sum(routine.every is not None for routine in program.routines)
    depths = (noted(memo.about(routine), "depth", partial(depth_of, routine.steps)) for routine in program.routines)
    frames = sum(sorted(depths, reverse=True)[: limits.routines_running])
    image = -(-size // 4) * 4
    return image + ROUTINE_BYTES * len(program.routines) + CLOCK_BYTES * clocks + FRAME_BYTES * frames


def depth_of(steps: tuple[Step, ...]) -> int:
    """How many loops and marks stand in one another at most, in the order of the steps."""
    deepest = depth = 0
    for made in steps:
        depth += (made.op in LOOPS or made.op == "mark") - (made.op in ("again", "unmark"))
        deepest = max(deepest, depth)
    return deepest


def verify_routine(
    program: Program, number: int, limits: Limits, memo: Memo | None = None
) -> tuple[Problem, ...]:
    """What is wrong with one routine; it hangs on the routine, the tables and the limits alone."""
    routine = program.routines[number]
    return (*_routine(program, number, routine), *_steps(program, number, limits, memo or Memo()))


def running_at_once(program: Program) -> int:
    """The most routines that the program can have running in one tick; above `routines_running` starts are
    lost.

    Either some scare runs, or the idles of the whole yard do; within a prop, either its scares or its idles.
    """
    scares: dict[int, int] = {}
    idles: dict[int, int] = {}
    for routine in program.routines:
        counts = idles if routine.idle else scares
        counts[routine.group] = counts.get(routine.group, 0) + 1
    props = (scares.keys() | idles.keys()) - {WHOLE_YARD}
    mixed = sum(max(scares.get(prop, 0), idles.get(prop, 0)) for prop in props)
    return max(sum(scares.values()), sum(idles.values()), mixed)


def _sizes(program: Program, limits: Limits, memo: Memo) -> Iterator[Problem]:
    for what, most in (("outputs", limits.outputs), ("inputs", limits.inputs), ("routines", limits.routines)):
        count = len(getattr(program, what))
        if count > most:
            yield Problem(f"the program has {count} {what}, and the board takes {most}")
    try:
        size = len(encode(program, memo))
    except CannotEncode as fault:
        yield Problem(str(fault))
    else:
        if size > limits.program_bytes:
            yield Problem(
                f"the program takes {size} bytes, and the board has room for {limits.program_bytes}"
            )
        work = work_bytes(program, size, limits, memo)
        if work > limits.work_bytes:
            yield Problem(
                f"the program needs {work} bytes of working memory, and the board has {limits.work_bytes}: "
                "fewer scares, or fewer blocks in one another, need less"
            )


def _outputs(program: Program) -> Iterator[Problem]:
    pins = [output.pin for output in program.outputs]
    for number, output in enumerate(program.outputs):
        if output.pin in pins[:number]:
            yield Problem(f"output {number} is on pin {output.pin}, as another output is")
        for what, level in (("safe", output.safe), ("alarm", output.alarm)):
            yield from _state_of_rest(program, number, what, level)
        if 0 < output.longest_on < output.shortest_on:
            yield Problem(
                f"output {number} may be on for {seconds(output.longest_on)} at the longest, and must be for "
                f"{seconds(output.shortest_on)}"
            )
    sensor_pins = [sensor.pin for sensor in program.inputs]
    for number, pin in enumerate(sensor_pins):
        if pin in sensor_pins[:number]:
            yield Problem(f"input {number} is on pin {pin}, as another input is")


def _state_of_rest(program: Program, number: int, what: str, level: int) -> Iterator[Problem]:
    output = program.outputs[number]
    if level and output.longest_on:
        yield Problem(
            f"output {number} is on in its {what} state, and may be on for {seconds(output.longest_on)}"
        )
    if level not in (0, ON) and not output.fades:
        yield Problem(f"output {number} has the {what} level {level}, and is only off (0) or on (255)")
    if (
        level
        and output.exclusion
        and any(_on_too(other, what, output.exclusion) for other in program.outputs[:number])
    ):
        yield Problem(
            f"output {number} is on in its {what} state, as another output of group {output.exclusion} is"
        )


def _on_too(other: Output, what: str, group: int) -> bool:
    return other.exclusion == group and bool(other.safe if what == "safe" else other.alarm)


def _clips(program: Program) -> Iterator[Problem]:
    for number, clip in enumerate(program.clips):
        if clip.output >= len(program.outputs):
            yield Problem(
                f"clip {number} plays on output {clip.output}, and there are {len(program.outputs)}"
            )


def _routine(program: Program, number: int, routine: Routine) -> Iterator[Problem]:
    count = len(program.inputs)
    for index in {start.input for start in routine.starts} | {routine.blocked_while} - {None}:
        if index is not None and index >= count:
            yield Problem(f"the routine names input {index}, and there are {count}", number)
    for start in routine.starts:
        if start.input < count and program.inputs[start.input].kind in (InputKind.STOP, InputKind.ALARM):
            yield Problem(f"the routine is started by input {start.input}, which stops the board", number)
    if routine.every is not None and not 1 <= routine.every[0] <= routine.every[1]:
        yield Problem(
            f"the routine starts every {routine.every[0]} to {routine.every[1]} ticks, which is no span of "
            "at least a tick",
            number,
        )
    if routine.idle and (routine.starts or routine.every is not None or routine.at_arming):
        yield Problem(
            "the routine is an idle, which runs whenever nothing else does, and has starts of its own", number
        )


def _steps(program: Program, number: int, limits: Limits, memo: Memo) -> Iterator[Problem]:
    from sequencer.steps.flow import flow_of  # 4 ms to load, and most commands verify nothing

    sound, routine = True, program.routines[number]
    counts = tuple(len(getattr(program, table)) for _, table in _NAMED)
    for i, made in enumerate(routine.steps):
        fault = argument_fault(made) or _index_fault(counts, made) or _fade_fault(program, made)
        if fault:
            sound = False
            yield Problem(fault, number, i)
    if sound:
        flow = noted(memo.about(routine), "flow", partial(flow_of, routine.steps))
        yield from (Problem(flaw.text, number, flaw.step) for flaw in flow.flaws)
        if not flow.flaws:
            yield from _room(flow.depth, flow.most_steps_in_a_tick, number, limits)


_NAMED = ((Kind.OUTPUT, "outputs"), (Kind.INPUT, "inputs"), (Kind.CLIP, "clips"), (Kind.ROUTINE, "routines"))
"""What a step can name by its number, and the table of a program that it stands in."""
_NAMES_AT = {
    row.name: tuple((at, number) for at, field in enumerate(row.fields)
                    for number, (kind, _) in enumerate(_NAMED) if field.kind is kind)
    for row in BY_NAME.values()
}
"""By step: which of its arguments name something, and which of those."""


def _index_fault(counts: tuple[int, ...], made: Step) -> str | None:
    for at, number in _NAMES_AT[made.op]:
        if made.args[at] >= counts[number]:
            word = _NAMED[number][0].word
            return f"the step {made.op} names {word} {made.args[at]}, and there are {counts[number]}"
    return None


def _fade_fault(program: Program, made: Step) -> str | None:
    output = output_written(made, program.clips)
    if made.op in NEED_FADES and output is not None and not program.outputs[output].fades:
        return f"the step {made.op} needs levels between off and on, and output {output} has none"
    return None


def _room(depth: int, most_steps: int, number: int, limits: Limits) -> Iterator[Problem]:
    if depth > limits.frames:
        yield Problem(
            f"loops and blocks stand {depth} deep in one another, and the board takes {limits.frames}",
            number,
        )
    if most_steps > limits.steps_per_tick:
        yield Problem(
            f"{most_steps} steps can fall into a tick, of {limits.steps_per_tick} at most",
            number,
        )
