"""Show and plan -> the board's program, with the names and the place in the text of every step.

The show is one in which no error was found: every name, pin and level fits its board. What only shows once the
tables are made (bytes, blocks within blocks, limits that cannot be stored) is found here.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from dataclasses import replace
from functools import partial

from sequencer.board.profiles import Profile
from sequencer.findings import Finding, Span, in_order
from sequencer.frozen import frozen
from sequencer.memo import Memo, Same
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
from sequencer.steps.listing import Names
from sequencer.steps.program import WHOLE_YARD, Limits, Program, Step, WhileRunning
from sequencer.steps.program import Routine as BoardRoutine
from sequencer.steps.verify import Problem, verify_routine, verify_tables

_POLICIES = {
    "ignore": WhileRunning.IGNORE, "restart": WhileRunning.RESTART, "once more": WhileRunning.ONCE_MORE,
}

__all__ = ["Compiled", "StepSource", "compile_plan"]


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
    findings: list[Finding] = []
    outputs, output_names, by_pin = output_table(show, profile, findings)
    inputs, by_sensor = input_table(show, profile, findings)
    played = [play for routine in plan.routines for play in plays_in(routine.nodes)]
    clips, clip_names, by_clip = clip_table(show, played, plan.clip_us, by_pin)
    order = {planned.routine.name: number for number, planned in enumerate(plan.routines)}
    numbers = Numbers(by_pin, by_sensor, order, by_clip, speaker_outputs(show, by_pin))
    emitted = _emitted(plan, numbers, memo)
    groups = {placed.part.name: number for number, placed in enumerate(show.of_kind("prop"))}
    program = Program(
        profile.kind, zlib.crc32(show.title.encode()), outputs, inputs,
        tuple(_routine(planned.routine, steps, numbers, groups)
              for planned, (steps, _) in zip(plan.routines, emitted, strict=True)),
        clips, _heartbeat(show),
    )
    sources = tuple(sources for _, sources in emitted)
    findings += (_finding(show, plan, sources, problem) for problem in _problems(program, profile.limits, memo))
    names = Names(output_names, tuple(by_sensor), tuple(order), clip_names)
    return Compiled(program, names, sources, in_order(findings))


def _emitted(
    plan: Plan, numbers: Numbers, memo: Memo
) -> list[tuple[tuple[Step, ...], tuple[StepSource, ...]]]:
    """The steps of each routine and where they come from; both stay the same objects where nothing changed."""
    names = tuple(tuple(table.items()) for table in (
        numbers.outputs, numbers.inputs, numbers.routines, numbers.clips, numbers.speakers))
    token = memo.of(("numbers", names), object)
    return [memo.of(("emitted", token, Same(planned)), partial(_emit, planned, numbers)) for planned in plan.routines]


def _emit(planned: PlannedRoutine, numbers: Numbers) -> tuple[tuple[Step, ...], tuple[StepSource, ...]]:
    made = emit(planned.nodes, numbers, _end(planned))
    return tuple(step for step, _ in made), tuple(source for _, source in made)


def _problems(program: Program, limits: Limits, memo: Memo) -> list[Problem]:
    """What `verify` says, with what did not change remembered."""
    tables = (limits, program.outputs, program.inputs, program.clips, len(program.routines))
    token = memo.of(("tables", tables), object)
    problems = [*verify_tables(program, limits)]
    for number, routine in enumerate(program.routines):
        key = ("verified", token, number, replace(routine, steps=()), Same(routine.steps))
        problems += memo.of(key, partial(verify_routine, program, number, limits))
    return problems


def _routine(
    routine: Routine, steps: tuple[Step, ...], numbers: Numbers, groups: Mapping[str, int]
) -> BoardRoutine:
    """`groups`: the number of each prop, in the order of the text."""
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
        blocked_while=None if routine.blocked_while is None else numbers.inputs[routine.blocked_while][0],
        at_arming=routine.at_arming,
    )


def _heartbeat(show: Show) -> int:
    boards = [placed.part for placed in show.of_kind("board")]
    asked = boards[0].heartbeat if boards and isinstance(boards[0], Board) else None
    return 0 if asked is None else ticks_of(asked.us)


def _end(planned: PlannedRoutine) -> Span:
    cues = planned.routine.cues
    return cues[-1].span if cues else planned.routine.span


def _finding(
    show: Show, plan: Plan, sources: tuple[tuple[StepSource, ...], ...], problem: Problem
) -> Finding:
    """What the board's own rules say against the program, at the line that it comes from."""
    span, where = show.title_span, ""
    if problem.routine is not None:
        routine = plan.routines[problem.routine].routine
        span, where = routine.span, f"In {routine.word} {routine.name}: "
        if problem.step is not None and problem.step < len(sources[problem.routine]):
            span = sources[problem.routine][problem.step].span
    text = where + problem.text
    return rules.DOES_NOT_FIT.at(span, f"{text[:1].upper()}{text[1:]}.")
