"""A program as people read it: for every routine its shortest and longest time, for every step its place, its
bytes, its time and a sentence.

Works on any program, so also as the disassembly of an image. Where the author's lines are known, they stand
beside; in a narrow window below.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable

from sequencer.steps.decode import decode
from sequencer.steps.encode import step_places
from sequencer.steps.flow import Flow, flow_of
from sequencer.steps.listing_tables import Names, name_of, percent, seconds, table_lines, titled
from sequencer.steps.program import WHOLE_YARD, Edge, Program, Routine, Step, WhileRunning
from sequencer.steps.table import BY_NAME, Kind, argument_fault

SourceMap = tuple[tuple[tuple[int, str], ...], ...]
"""For each routine, for each step: the author's line, and what it says there."""

_POLICIES = {
    WhileRunning.IGNORE: "ignores starts while it runs",
    WhileRunning.RESTART: "begins again if started while it runs",
    WhileRunning.ONCE_MORE: "runs once more if started while it runs",
}

_BYTES_COLUMN = 20
_TIME_COLUMN = 10
_NOTE_COLUMN = 86
"""Where the author's lines begin, a gap of two columns before them."""


def listing(
    program: Program, names: Names | None = None, source: SourceMap | None = None, width: int | None = None
) -> str:
    """The program as text, with lines folded at `width` columns if given.

    Raises CannotEncode for a program that has no bytes.
    """
    names = names or Names.numbered(program)
    places = step_places(program)
    heads = [_head(program, names), *table_lines(program, names)]
    blocks = ["\n".join(row for line in heads for row in _folded(line, width))]
    for number, routine in enumerate(program.routines):
        lines = _folded(_routine_head(routine, number, names), width)
        lines += _routine_lines(routine, places[number], names, source[number] if source else None, width)
        blocks.append("\n".join(lines))
    return "\n\n".join(blocks) + "\n"


def disassembly(image: bytes, names: Names | None = None, width: int | None = None) -> str:
    """The listing of an image. Raises BadProgram for bytes that are none."""
    return listing(decode(image), names, None, width)


def _folded(line: str, width: int | None, indent: str = "      ") -> list[str]:
    """The line, folded between words where it is longer than `width`, and its further rows moved in."""
    if width is None or len(line) <= width:
        return [line]
    return textwrap.wrap(line, width, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False)


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


def _head(program: Program, names: Names) -> str:
    asks = f"; asks for a heartbeat every {seconds(program.heartbeat)}" if program.heartbeat else ""
    tables = (
        (program.outputs, "output"),
        (program.inputs, "input"),
        (program.routines, "scare"),
        (program.clips, "clip"),
    )
    counts = ", ".join(f"{len(items)} {word}{'' if len(items) == 1 else 's'}" for items, word in tables)
    board = names.board or f"a board of kind {program.board}"
    return f"program {program.show_id:08x} for {board}: {counts}{asks}"


def _routine_head(routine: Routine, number: int, names: Names) -> str:
    facts = [_starts(routine, names), _POLICIES[routine.while_running]]
    if routine.rest:
        facts.append(f"rests {seconds(routine.rest)}")
    if routine.blocked_while is not None:
        facts.append(f"not again while {name_of(names.inputs, 'input', routine.blocked_while)} is tripped")
    facts += [_prop(routine, number, names), f"rank {routine.rank}", *_takes(routine)]
    return f"{titled('scare', number, names.routines).replace(': ', ', ')}: {'; '.join(facts)}"


def _takes(routine: Routine) -> list[str]:
    """Its shortest and its longest run; nothing for a routine whose frames do not close."""
    flow = flow_of(routine.steps)
    if flow.flaws:
        return []
    least, most = flow.takes
    ends = seconds(least) if least == most else f"{seconds(least)} to {seconds(most)}"
    return [f"{'a round' if routine.idle else 'a run'} takes {ends}"]


def _prop(routine: Routine, number: int, names: Names) -> str:
    """Of which prop it is; a scare's whole name begins with its prop's."""
    if routine.group == WHOLE_YARD:
        return "of the whole yard"
    name = names.routines[number] if number < len(names.routines) else ""
    return f"of the prop {name.rpartition('.')[0] or f'number {routine.group}'}"


def _starts(routine: Routine, names: Names) -> str:
    if routine.idle:
        return "idle, while no scare of its prop runs"
    causes = ["arming"] if routine.at_arming else []
    causes += [
        f"{name_of(names.inputs, 'input', start.input)} {'trips' if start.edge is Edge.TRIPS else 'clears'}"
        for start in routine.starts
    ]
    if routine.every is not None:
        causes.append(f"every {seconds(routine.every[0])} to {seconds(routine.every[1])}")
    return "on " + " or ".join(causes) if causes else "started by other scares only"


def _routine_lines(
    routine: Routine,
    places: tuple[tuple[int, bytes], ...],
    names: Names,
    source: tuple[tuple[int, str], ...] | None,
    width: int | None,
) -> list[str]:
    flow = flow_of(routine.steps)
    lines = []
    # Where lines are folded, the column of bytes takes no more than it needs.
    wide = _BYTES_COLUMN if width is None else max((len(chunk.hex(" ")) for _, chunk in places), default=0)
    times = [_time(flow, i) for i in range(len(routine.steps))]
    long = max(_TIME_COLUMN, *map(len, times))
    for i, (made, (at, chunk)) in enumerate(zip(routine.steps, places, strict=True)):
        skip_to = None
        if BY_NAME[made.op].index(Kind.SKIP) is not None:
            skip_to = f"{places[i + 1 + made.args[-1]][0]:04x}"
        said = "  " * _depth(flow, i, made) + sentence(made, names, skip_to)
        line = f"  {at:04x}  {chunk.hex(' '):<{wide}}  {times[i]:>{long}}  {said}"
        lines += _with_note(line, _note(*source[i]) if source else "", width, len(line) - len(said))
    return lines


def _note(number: int, said: str) -> str:
    return f"# line {number}: {said}" if said else f"# line {number}"


def _with_note(line: str, note: str, width: int | None, indent: int) -> list[str]:
    """The step with the author's line beside it, or below it where there is no room beside."""
    beside = f"{line:<{_NOTE_COLUMN}}  {note}".rstrip()
    if width is None or len(beside) <= width:
        return [beside]
    below = _folded(" " * 8 + note, width, " " * 10) if note else []
    return [*_folded(line, width, " " * indent), *below]


def _depth(flow: Flow, i: int, made: Step) -> int:
    if flow.flaws:
        return 0
    return flow.steps[i].depth - (made.op in ("again", "unmark"))


def _time(flow: Flow, i: int) -> str:
    """The time since the start, both ends where it differs from run to run; a tilde in a loop, as it then depends
    on the round."""
    if flow.flaws or flow.steps[i].looped:
        return "~"
    least, most = flow.steps[i].since_start
    return seconds(least) if least == most else f"{seconds(least).removesuffix(' s')} to {seconds(most)}"
