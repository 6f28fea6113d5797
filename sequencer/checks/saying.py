"""A routine -> what its lines ask of whom, however deep they stand; and the small change of sentences."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from sequencer.frozen import frozen
from sequencer.rig.drive import Motion, Play, StartRoutine
from sequencer.show import Action, After, Branch, Cue, IfSensor, PickOne, Repeat, Routine, WhenSensor


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


@frozen
class Said:
    """What the lines of one routine ask for. `moves` are cylinders, `plays` clips, `starts` other routines.

    `hears` are the sensors that it starts on or looks at; `then` says that a line waits for what the one above began.
    """

    parts: frozenset[str]
    moves: frozenset[str]
    plays: frozenset[tuple[str, str]]
    starts: frozenset[str]
    hears: frozenset[str]
    then: bool


def said_by(routine: Routine) -> Said:
    """All that in one walk through its lines."""
    cues = list(cues_of(routine.cues))
    actions = [action for cue in cues for action in cue.actions]
    drives = [drive for action in actions for drive in action.drives]
    hears = {edge.sensor for edge in routine.starts} | {name for cue in cues for name in _heard_by(cue)}
    return Said(
        frozenset(action.who for action in actions),
        frozenset(drive.cylinder for drive in drives if isinstance(drive, Motion)),
        frozenset((drive.speaker, drive.clip) for drive in drives if isinstance(drive, Play)),
        frozenset(drive.routine for drive in drives if isinstance(drive, StartRoutine)),
        frozenset(hears if routine.blocked_while is None else {*hears, routine.blocked_while}),
        any(isinstance(cue.when, After) and cue.when.then for cue in cues),
    )


def _heard_by(cue: Cue) -> Iterator[str]:
    if isinstance(cue.when, WhenSensor):
        yield cue.when.edge.sensor
    match cue.block:
        case Repeat(until=edge) if edge is not None:
            yield edge.sensor
        case Branch(test=IfSensor(sensor=sensor)):
            yield sensor


def listed(words: Sequence[str], joint: str = "and") -> str:
    """`a, b and c`."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {joint} {words[-1]}"


def counted(number: int, word: str) -> str:
    """`1 clip`, `3 clips`."""
    return f"{number:,} {word}{'' if number == 1 else 's'}"
