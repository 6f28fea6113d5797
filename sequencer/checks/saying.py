"""A show -> what its lines ask of whom, however deep they stand; and the small change of sentences."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from sequencer.show import Action, Branch, Cue, PickOne, Repeat, Routine, Show


def cues_of(cues: Iterable[Cue]) -> Iterator[Cue]:
    """Every cue line, blocks and what is in them, in the order of the text."""
    for cue in cues:
        yield cue
        for body in bodies_of(cue):
            yield from cues_of(body)


def bodies_of(cue: Cue) -> tuple[tuple[Cue, ...], ...]:
    """The runs of lines that a cue opens: the round of a repeat, the arms of a choice, both sides of a branch."""
    match cue.block:
        case Repeat(body=body):
            return (body,)
        case PickOne(arms=arms):
            return tuple(arm.body for arm in arms)
        case Branch(yes=yes, no=no):
            return (yes, no)
    return ()


def actions_of(routine: Routine) -> Iterator[Action]:
    for cue in cues_of(routine.cues):
        yield from cue.actions


def all_actions(show: Show) -> Iterator[Action]:
    """Of scares and idles, then of `stop` and `alarm`."""
    for routine in show.routines:
        yield from actions_of(routine)
    for safe in show.safes:
        yield from safe.actions


def listed(words: Sequence[str], joint: str = "and") -> str:
    """`a, b and c`."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {joint} {words[-1]}"


def counted(number: int, word: str) -> str:
    """`1 clip`, `3 clips`."""
    return f"{number:,} {word}{'' if number == 1 else 's'}"
