"""Show and plan -> the board's program, with names and the place in the text of every step."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.board.profiles import Profile
from sequencer.findings import Finding, Span
from sequencer.schedule.plan import Plan
from sequencer.show.model import Show
from sequencer.steps.program import Program


@dataclass(frozen=True, slots=True)
class StepSource:
    """Where a step comes from: the place in the text and what to say beside it."""

    span: Span
    note: str


@dataclass(frozen=True, slots=True)
class Compiled:
    """`sources` has one tuple a routine with one item a step; names are in the order of the program's tables."""

    program: Program
    names: Names  # noqa: F821
    sources: tuple[tuple[StepSource, ...], ...]
    findings: tuple[Finding, ...]


def compile_plan(show: Show, plan: Plan, profile: Profile) -> Compiled:
    """The program for a board of this profile."""
    raise NotImplementedError
