"""Bytes of a show -> everything that is known of it: the show, its plan, its program, its findings."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import lru_cache, partial
from importlib import import_module
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING

from sequencer.board.profiles import Profile, profile_by_name
from sequencer.checks.clips import SoundLength, measure_clips, sounds_in
from sequencer.checks.facts import Facts
from sequencer.checks.uses import with_uses
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Rule, has_errors, in_order
from sequencer.frozen import frozen
from sequencer.language.lines import ENOUGH_TO_REFUSE
from sequencer.language.load import ReadFile, folder_reader
from sequencer.language.resolve import read_show
from sequencer.memo import Memo, noted, uncollected
from sequencer.rig.board import Board
from sequencer.schedule.compile import Compiled, beyond_numbers, compile_plan
from sequencer.schedule.landings import Landing, Taken
from sequencer.schedule.plan import Plan, PlannedRoutine
from sequencer.schedule.planner import plan_show
from sequencer.schedule.rules import DOES_NOT_FIT, NO_AIR
from sequencer.show import Show

if TYPE_CHECKING:
    from sequencer.air.request import StrokeRequest
    from sequencer.air.stroke import Stroke

ROOMS = ("rig", "air", "cues", "board")
AIRY = ("valve", "cylinder")
"""The kinds of part that checks of the room `air` look at."""


@frozen
class Checked:
    """`plan` and `compiled` are None where an error before them left nothing to plan or compile."""

    show: Show
    findings: tuple[Finding, ...]
    plan: Plan | None
    compiled: Compiled | None
    profile: Profile | None

    @property
    def texts(self) -> Mapping[str, str]:
        """The text of every file of the show, by the name that findings use."""
        return self.show.texts

    @property
    def fine(self) -> bool:
        return not has_errors(self.findings)


def check_file(path: Path, memo: Memo | None = None) -> Checked:
    """Checks a show on disk. Raises OSError where the file itself cannot be read."""
    data = _bytes_of(path)
    folder = path.parent
    return check_bytes(data, path.name, folder_reader(folder), sounds_in(folder), memo)


def _bytes_of(path: Path) -> bytes:
    """The file, or so much of it as shows that it is too large."""
    if path.exists() and not path.is_file():
        raise IsADirectoryError(f"`{path}` is not a file")
    with path.open("rb") as file:
        return file.read(ENOUGH_TO_REFUSE)


def check_bytes(
    data: bytes, name: str, read_file: ReadFile, sound_length: SoundLength, memo: Memo | None = None
) -> Checked:
    """Checks a show in memory; files it uses and its sounds come through the two functions.

    `memo` is kept by whoever checks the same show again and again; what an edit has not touched comes from it.
    """
    memo = memo or Memo(lasting=False)
    memo.new_run()
    with uncollected():
        return _checked(data, name, read_file, sound_length, memo)


def _checked(data: bytes, name: str, read_file: ReadFile, sound_length: SoundLength, memo: Memo) -> Checked:
    resolved = read_show(data, name, read_file, memo)
    show = resolved.show
    sure = replace(show, routines=tuple(one for one in show.routines if one.name not in resolved.unsure))
    clips = measure_clips(show, sound_length)
    profile = _profile(show)
    lengths = {key: clip.length_us for key, clip in clips.items()}
    facts = Facts(show, resolved.whole, clips, profile, memo=memo)
    # Of a supply with parts that were not understood it is not known what it does.
    takes = partial(_takes, facts) if resolved.whole and facts.yard.of_kind("compressor") else None
    plan, plan_findings = plan_show(sure, _stroke, lengths, memo, takes)
    if not resolved.whole:
        # The pressure that is missing may stand where a line was not understood.
        plan_findings = tuple(finding for finding in plan_findings if finding.code != NO_AIR.code)
    facts = replace(facts, plan=plan)
    findings = [*resolved.findings, *with_uses((*plan_findings, *_ask(facts, compiled=False)), facts)]
    findings += beyond_numbers(plan)
    if profile is None or not resolved.whole or has_errors(findings):
        return Checked(show, in_order(findings), plan, None, profile)
    compiled = compile_plan(show, plan, profile, memo)
    asked = tuple(_ask(replace(facts, compiled=compiled), compiled=True))
    findings += with_uses((*_unsaid(compiled.findings, asked), *asked), facts)
    return Checked(show, in_order(findings), plan, None if has_errors(findings) else compiled, profile)


def _stroke(request: StrokeRequest) -> Stroke:
    """As the air room says, which is loaded for the first motion that there is."""
    from sequencer.air.stroke import predict_stroke

    return predict_stroke(request)


def _takes(facts: Facts, planned: PlannedRoutine) -> Mapping[Landing, Taken]:
    """How long landings take on the supply that there is."""
    from sequencer.checks.landings import taken

    return taken(facts, planned)


def _unsaid(compiled: tuple[Finding, ...], asked: tuple[Finding, ...]) -> Iterator[Finding]:
    """What the compiler says, less that a program does not fit where the checks of the board say why."""
    for finding in compiled:
        if finding.code != DOES_NOT_FIT.code or not has_errors(asked):
            yield finding


def _profile(show: Show) -> Profile | None:
    boards = show.of_kind("board")
    if len(boards) != 1:
        return None
    assert isinstance(boards[0].part, Board)
    return profile_by_name(boards[0].part.model)


def _ask(facts: Facts, compiled: bool) -> Iterator[Finding]:
    """What the checks see that need a compiled program, or those that do not."""
    # What looks at air is loaded for a show that has some: with the motion of rods it takes as long as a small check.
    rooms = ROOMS if facts.yard.of_kind(*AIRY) else tuple(room for room in ROOMS if room != "air")
    for check in checks(rooms):
        needs = getattr(check, "NEEDS", ())
        if ("compiled" in needs) == compiled and all(getattr(facts, need) for need in needs):
            yield from _found_by(check, facts)


def _found_by(check: ModuleType, facts: Facts) -> Iterator[Finding]:
    """A check that looks at the parts or at one routine alone does not look again at what did not change."""
    if hasattr(check, "find"):
        yield from check.find(facts)
        return
    yard, memo = facts.yard, facts.memo
    if hasattr(check, "find_among"):
        yield from noted(memo.about(yard), check, lambda: tuple(check.find_among(yard)))
        return
    assert facts.plan is not None
    for planned in facts.plan.routines:
        yield from noted(memo.about(yard, planned), check, partial(_found_in, check, yard, planned))


def _found_in(check: ModuleType, yard: Yard, planned: PlannedRoutine) -> tuple[Finding, ...]:
    return tuple(check.find_in(yard, planned))


@lru_cache(maxsize=2)
def checks(rooms: tuple[str, ...] = ROOMS) -> tuple[ModuleType, ...]:
    """Every check of these rooms, found by its file."""
    found: list[ModuleType] = []
    for room in rooms:
        package = import_module(f"sequencer.checks.{room}")
        # Not by pkgutil, whose import alone takes 7 ms.
        names = sorted(file[:-3] for file in os.listdir(package.__path__[0]) if file.endswith(".py") and file[0] != "_")
        found += [import_module(f"{package.__name__}.{name}") for name in names]
    return tuple(module for module in found if hasattr(module, "RULE"))


def catalogue() -> dict[str, Rule]:
    """Every rule of the project by its code, in order."""
    from sequencer.language import name_rules, rules
    from sequencer.schedule import rules as schedule_rules

    listed: list[Rule] = [*rules.ALL, *name_rules.ALL, *schedule_rules.ALL]
    for check in checks():
        listed.append(check.RULE)
    return {rule.code: rule for rule in sorted(listed, key=lambda rule: rule.code)}
