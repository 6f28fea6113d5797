"""A program as people read it: for every step its place, its bytes, its time where that is fixed, and a
sentence.

Works on any program, so also as the disassembly of an image. Where the author's lines are known, they stand
beside.
"""

from __future__ import annotations

from collections.abc import Callable

from sequencer.steps.decode import decode
from sequencer.steps.encode import step_places
from sequencer.steps.flow import Flow, StepFlow, flow_of
from sequencer.steps.listing_tables import Names, name_of, percent, seconds, table_lines
from sequencer.steps.program import WHOLE_YARD, Edge, Program, Routine, Step, WhileRunning
from sequencer.steps.table import BY_NAME, Kind, argument_fault

SourceMap = tuple[tuple[tuple[int, str], ...], ...]
"""For each routine, for each step: the author's line, and what it says there."""

_POLICIES = {
    WhileRunning.IGNORE: "ignores starts while it runs",
    WhileRunning.RESTART: "restarts while it runs",
    WhileRunning.ONCE_MORE: "runs once more if started while it runs",
}


def listing(program: Program, names: Names | None = None, source: SourceMap | None = None) -> str:
    """The program as text. Raises CannotEncode for one that has no bytes."""
    names = names or Names.numbered(program)
    places = step_places(program)
    blocks = ["\n".join([_head(program), *table_lines(program, names)])]
    for number, routine in enumerate(program.routines):
        lines = _routine_lines(routine, places[number], names, source[number] if source else None)
        blocks.append("\n".join([_routine_head(routine, number, names), *lines]))
    return "\n\n".join(blocks) + "\n"


def disassembly(image: bytes, names: Names | None = None) -> str:
    """The listing of an image. Raises BadProgram for bytes that are none."""
    return listing(decode(image), names)


def sentence(made: Step, names: Names, skip_to: str | None = None) -> str:
    """What the step does, in words; a skip names its target if given, else how many steps it passes over.

    Raises ValueError for a step that is not in order by itself.
    """
    fault = argument_fault(made)
    if fault:
        raise ValueError(fault)
    row = BY_NAME[made.op]
    words = {
        field.name: _word(field.kind, value, names, skip_to)
        for field, value in zip(row.fields, made.args, strict=True)
    }
    return row.listing.format(**words)


def _word(kind: Kind, value: int, names: Names, skip_to: str | None) -> str:
    named = {
        Kind.OUTPUT: names.outputs,
        Kind.INPUT: names.inputs,
        Kind.ROUTINE: names.routines,
        Kind.CLIP: names.clips,
    }
    if kind in named:
        return name_of(named[kind], kind.word, value)
    return _PLAIN_WORDS.get(kind, str)(value) if kind is not Kind.SKIP else f"skip {_target(value, skip_to)}"


_PLAIN_WORDS: dict[Kind, Callable[[int], str]] = {
    Kind.TICKS: seconds,
    Kind.SOME_TICKS: seconds,
    Kind.FADE_TICKS: seconds,
    Kind.LEVEL: percent,
    Kind.ON: lambda on: "on" if on else "off",
    Kind.TRIPPED: lambda tripped: "tripped" if tripped else "clear",
}


def _target(steps: int, skip_to: str | None) -> str:
    if skip_to is not None:
        return f"to {skip_to}"
    return "1 step" if steps == 1 else f"{steps} steps"


def _head(program: Program) -> str:
    asks = (
        f"asks for a heartbeat every {seconds(program.heartbeat)}"
        if program.heartbeat
        else "asks for no heartbeat"
    )
    return (
        f"program {program.show_id:08x} for board kind {program.board}: {len(program.outputs)} outputs, "
        f"{len(program.inputs)} inputs, {len(program.routines)} routines, {len(program.clips)} clips; {asks}"
    )


def _routine_head(routine: Routine, number: int, names: Names) -> str:
    facts = [_starts(routine, names), _POLICIES[routine.while_running]]
    if routine.rest:
        facts.append(f"rests {seconds(routine.rest)}")
    if routine.blocked_while is not None:
        facts.append(f"not again while {name_of(names.inputs, 'input', routine.blocked_while)} is tripped")
    facts.append("whole yard" if routine.group == WHOLE_YARD else f"prop {routine.group}")
    facts.append(f"rank {routine.rank}")
    return f"{name_of(names.routines, 'routine', number)} (routine {number}): {'; '.join(facts)}"


def _starts(routine: Routine, names: Names) -> str:
    if routine.idle:
        return "idle"
    causes = ["arming"] if routine.at_arming else []
    causes += [
        f"{name_of(names.inputs, 'input', start.input)} {'trips' if start.edge is Edge.TRIPS else 'clears'}"
        for start in routine.starts
    ]
    if routine.every is not None:
        causes.append(f"every {seconds(routine.every[0])} to {seconds(routine.every[1])}")
    return "on " + " or ".join(causes) if causes else "started by other routines only"


def _routine_lines(
    routine: Routine,
    places: tuple[tuple[int, bytes], ...],
    names: Names,
    source: tuple[tuple[int, str], ...] | None,
) -> list[str]:
    flow = flow_of(routine.steps)
    lines = []
    for i, (made, (at, chunk)) in enumerate(zip(routine.steps, places, strict=True)):
        skip_to = None
        if BY_NAME[made.op].index(Kind.SKIP) is not None:
            skip_to = f"{places[i + 1 + made.args[-1]][0]:04x}"
        said = "  " * _depth(flow, i, made) + sentence(made, names, skip_to)
        noted = f"  # line {source[i][0]}: {source[i][1]}" if source else ""
        lines.append(f"  {at:04x}  {chunk.hex(' '):<20}  {_time(flow, i):>10}  {said:<44}{noted}".rstrip())
    return lines


def _depth(flow: Flow, i: int, made: Step) -> int:
    if flow.flaws:
        return 0
    return flow.steps[i].depth - (made.op in ("again", "unmark"))


def _time(flow: Flow, i: int) -> str:
    """The time since the start where it is the same on every run and in every round, else a tilde."""
    if flow.flaws or not _is_fixed(flow.steps[i]):
        return "~"
    return seconds(flow.steps[i].since_start[0])


def _is_fixed(reached: StepFlow) -> bool:
    return not reached.looped and reached.since_start[0] == reached.since_start[1]
