"""Show and plan -> the board's program, with the names and the place in the text of every step.

The show is one in which no error was found: every name, pin and level fits its board. What only shows once the
tables are made (bytes, blocks within blocks, limits that cannot be stored) is found here.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from functools import partial

from sequencer.board.profiles import Profile
from sequencer.findings import Finding, Span, in_order
from sequencer.frozen import frozen
from sequencer.memo import Memo, noted
from sequencer.phrases import PinName
from sequencer.rig.board import Board
from sequencer.schedule import rules
from sequencer.schedule.emit import StepSource, emit, plays_in
from sequencer.schedule.plan import Plan, PlannedRoutine, ticks_of
from sequencer.schedule.tables import (
    Numbers,
    clip_table,
    input_table,
    output_table,
    speaker_outputs,
)
from sequencer.show.model import Routine, Show
from sequencer.steps.layout import MOST_CLIPS, MOST_ROUTINES
from sequencer.steps.listing_tables import Names, spoken
from sequencer.steps.program import WHOLE_YARD, Clip, Input, Limits, Output, Program, Step, WhileRunning
from sequencer.steps.program import Routine as BoardRoutine
from sequencer.steps.verify import Problem, verify_routine, verify_tables

_POLICIES = {
    "ignore": WhileRunning.IGNORE, "restart": WhileRunning.RESTART, "once more": WhileRunning.ONCE_MORE,
}

__all__ = ["Compiled", "StepSource", "beyond_numbers", "compile_plan"]


@frozen
class Compiled:
    """`sources` has one tuple a routine with one item a step; names are in the order of the program's tables."""

    program: Program
    names: Names
    sources: tuple[tuple[StepSource, ...], ...]
    findings: tuple[Finding, ...]


def compile_plan(show: Show, plan: Plan, profile: Profile, memo: Memo | None = None) -> Compiled:
    """The program of a show without errors, for the kind of board that the show has.

    A plan with findings compiles too, to what it then is; nothing of the sort should reach a board.
    """
    memo = memo or Memo()
    about = memo.about(show.parts, profile)
    tables: _Tables = noted(about, ("tables", show.safes), partial(_tables, show, profile))
    numbers, clips = _numbers(show, plan, tables, memo)
    emitted = [noted(memo.about(numbers, planned), "emitted", partial(_emit, planned, numbers, tables.groups))
               for planned in plan.routines]
    program = Program(
        profile.kind, zlib.crc32(show.title.encode()), tables.outputs, tables.inputs,
        tuple(one.routine for one in emitted), clips.clips, tables.heartbeat,
    )
    sources = tuple(one.sources for one in emitted)
    names = Names(tables.output_names, tuple(tables.by_sensor), tuple(numbers.routines), clips.names)
    problems = _problems(program, profile.limits, memo)
    found = (_finding(show, plan, sources, problem, names) for problem in problems)
    return Compiled(program, names, sources, in_order((*tables.findings, *found)))


def beyond_numbers(plan: Plan) -> tuple[Finding, ...]:
    """Where the show has more of something than a step can name; such a plan compiles to nothing."""
    found: list[Finding] = []
    if len(plan.routines) > MOST_ROUTINES:
        message = f"The show has {len(plan.routines):,} scares and idles, and step tables can name {MOST_ROUTINES}."
        found.append(rules.DOES_NOT_FIT.at(plan.routines[MOST_ROUTINES].routine.span, message))
    played: dict[tuple[str, str], Span] = {}
    for planned in plan.routines:
        for play in plays_in(planned.nodes):
            played.setdefault((play.speaker, play.clip), planned.routine.span)
    if len(played) > MOST_CLIPS:
        message = f"Cues play {len(played):,} different clips, and step tables can name {MOST_CLIPS}."
        found.append(rules.DOES_NOT_FIT.at(list(played.values())[MOST_CLIPS], message))
    return tuple(found)


@frozen
class _Tables:
    """All that hangs on the parts and the states of rest. `groups` are the numbers of props, in order."""

    outputs: tuple[Output, ...]
    output_names: tuple[str, ...]
    by_pin: Mapping[PinName, int]
    inputs: tuple[Input, ...]
    by_sensor: Mapping[str, tuple[int, bool]]
    by_speaker: Mapping[str, tuple[int, ...]]
    groups: Mapping[str, int]
    heartbeat: int
    findings: tuple[Finding, ...]


def _tables(show: Show, profile: Profile) -> _Tables:
    findings: list[Finding] = []
    outputs, names, by_pin = output_table(show, profile, findings)
    inputs, by_sensor = input_table(show, profile, findings)
    groups = {placed.part.name: number for number, placed in enumerate(show.of_kind("prop"))}
    return _Tables(outputs, names, by_pin, inputs, by_sensor, speaker_outputs(show, by_pin), groups,
                   _heartbeat(show), tuple(findings))


@frozen
class _Clips:
    """The clips that are played, and their numbers."""

    clips: tuple[Clip, ...]
    names: tuple[str, ...]
    numbers: Mapping[tuple[str, str], int]


def _numbers(show: Show, plan: Plan, tables: _Tables, memo: Memo) -> tuple[Numbers, _Clips]:
    """Both stay the same objects while no part, clip or name of a routine changes."""
    played = dict.fromkeys(
        play for planned in plan.routines
        for play in noted(memo.about(planned), "plays", lambda planned=planned: tuple(plays_in(planned.nodes))))
    order = tuple(planned.routine.name for planned in plan.routines)

    def make() -> tuple[Numbers, _Clips]:
        clips = _Clips(*clip_table(show, played, plan.clip_us, tables.by_pin))
        numbered = {name: number for number, name in enumerate(order)}
        return Numbers(tables.by_pin, tables.by_sensor, numbered, clips.numbers, tables.by_speaker), clips

    return noted(memo.about(tables), (tuple(played), order, tuple(sorted(plan.clip_us.items()))), make)


@frozen
class _Emitted:
    """A routine as the board has it, and where each of its steps comes from."""

    routine: BoardRoutine
    sources: tuple[StepSource, ...]


def _emit(planned: PlannedRoutine, numbers: Numbers, groups: Mapping[str, int]) -> _Emitted:
    made = emit(planned.nodes, numbers, _end(planned))
    steps = tuple(step for step, _ in made)
    return _Emitted(_routine(planned.routine, steps, numbers, groups), tuple(source for _, source in made))


def _problems(program: Program, limits: Limits, memo: Memo) -> list[Problem]:
    """What `verify` says, with what did not change remembered."""
    tables = (limits, program.outputs, program.inputs, program.clips, len(program.routines))
    token = memo.of(("tables", tables), object)
    problems = [*verify_tables(program, limits, memo)]
    for number, routine in enumerate(program.routines):
        about = memo.about(token, routine)
        problems += noted(about, number, partial(verify_routine, program, number, limits, memo))
    return problems


def _routine(
    routine: Routine, steps: tuple[Step, ...], numbers: Numbers, groups: Mapping[str, int]
) -> BoardRoutine:
    every = routine.every_us
    return BoardRoutine(
        steps=steps,
        starts=tuple(numbers.start(edge) for edge in routine.starts),
        every=None if every is None else (max(ticks_of(every[0]), 1), max(ticks_of(every[1]), 1)),
        idle=routine.idle,
        group=WHOLE_YARD if routine.prop is None else groups[routine.prop],
        while_running=_POLICIES[routine.while_running],
        rest=ticks_of(routine.rest_us),
        rank=routine.rank,
        blocked_while=None if routine.blocked_while is None else _blocker(routine.blocked_while, numbers),
        at_arming=routine.at_arming,
    )


def _blocker(sensor: str, numbers: Numbers) -> int:
    index, turned = numbers.inputs[sensor]
    assert not turned, "only a stop or an alarm has its sense turned round, and no line may hang on one"
    return index


def _heartbeat(show: Show) -> int:
    boards = [placed.part for placed in show.of_kind("board")]
    asked = boards[0].heartbeat if boards and isinstance(boards[0], Board) else None
    return 0 if asked is None else ticks_of(asked.us)


def _end(planned: PlannedRoutine) -> Span:
    cues = planned.routine.cues
    return cues[-1].span if cues else planned.routine.span


def _finding(
    show: Show, plan: Plan, sources: tuple[tuple[StepSource, ...], ...], problem: Problem, names: Names
) -> Finding:
    """What the board's own rules say against the program, at the line that it comes from."""
    span, where = show.title_span, ""
    if problem.routine is not None:
        routine = plan.routines[problem.routine].routine
        span, where = routine.span, f"In {routine.word} {routine.name}: "
        if problem.step is not None and problem.step < len(sources[problem.routine]):
            span = sources[problem.routine][problem.step].span
    text = where + spoken(problem.text, names)
    return rules.DOES_NOT_FIT.at(span, f"{text[:1].upper()}{text[1:]}.")
