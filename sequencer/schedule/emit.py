"""The nodes of a routine -> its steps, and for each step where it comes from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import gcd

from sequencer.findings import Span
from sequencer.frozen import frozen
from sequencer.rig.drive import (
    Drive,
    Fade,
    Flash,
    Flicker,
    Play,
    Pulse,
    SetLevel,
    Silence,
    StartRoutine,
    StopRoutine,
)
from sequencer.schedule.nodes import (
    Await,
    Choose,
    Do,
    Framed,
    Loop,
    Node,
    Pick,
    Until,
    Wait,
    WaitRandom,
)
from sequencer.schedule.plan import ticks_of
from sequencer.schedule.tables import Numbers, level_of
from sequencer.show.model import IfSensor
from sequencer.steps.program import ON, Step
from sequencer.steps.table import step


@frozen
class StepSource:
    """Where a step comes from: the place in the text and what to say beside it."""

    span: Span
    note: str


Sourced = tuple[Step, StepSource]


def emit(nodes: Sequence[Node], numbers: Numbers, end: Span) -> tuple[Sourced, ...]:
    """All steps of a routine; `end` is the place that stands for its end."""
    return (*_all(nodes, numbers, end), (step("end"), StepSource(end, "")))


def _all(nodes: Sequence[Node], numbers: Numbers, place: Span) -> list[Sourced]:
    """A wait belongs to the line that it waits for, which is the next one with a line.

    Skips lead to the head of a node list and to what follows a block, so never between a `Do` and the wait behind it.
    """
    found: list[Sourced] = []
    after_do = False
    for node, due in zip(nodes, _places(nodes, place), strict=True):
        made = _one(node, numbers, due)
        if after_do and isinstance(node, Wait) and made and _waits_for(found[-1][0], made[0][0]):
            found[-1] = _joined(found[-1], made[0])
        else:
            found += made
        after_do = isinstance(node, Do) if made else after_do
    return found


def _waits_for(fade: Step, wait: Step) -> bool:
    return fade.op == "fade" and fade.args[-1] == wait.args[0]


def _joined(fade: Sourced, wait: Sourced) -> Sourced:
    """A fade and the wait for it in one step, which stands for both their lines."""
    (made, source), (_, waits) = fade, wait
    note = source.note
    if waits.span.line != source.span.line:
        note = f"{note}; then line {waits.span.line}" if note else f"then line {waits.span.line}"
    return Step("fade_then", made.args), StepSource(source.span, note)


def _places(nodes: Sequence[Node], before: Span) -> list[Span]:
    """For each node the line that comes next, its own or a later one; behind the last line, that line."""
    last = next((node.cue.span for node in reversed(nodes) if node.cue is not None), before)
    found: list[Span] = []
    for node in reversed(nodes):
        last = node.cue.span if node.cue is not None else last
        found.append(last)
    return found[::-1]


def _one(node: Node, numbers: Numbers, place: Span) -> list[Sourced]:
    match node:
        case Wait(ticks=0):
            return []
        case Wait(ticks=ticks):
            return [(step("wait", ticks), StepSource(place, ""))]
        case Until(ticks=ticks):
            return [(step("until", ticks), StepSource(place, ""))]
        case WaitRandom(lo=lo, span=span):
            return [(step("wait_random", lo, span), StepSource(place, ""))]
        case Await(sensor=sensor, tripped=tripped, bound=bound, fault=fault):
            op = "await_end" if fault else "await_input"
            return [(step(op, *numbers.state(sensor, tripped), bound), StepSource(place, ""))]
        case Do(commands=commands, action=action, note=note):
            source = StepSource(action.span, note)
            return [(made, source) for command in commands for made in _command(command, numbers)]
        case Framed(nodes=nodes):
            source = StepSource(place, "")
            return [(step("mark"), source), *_all(nodes, numbers, place), (step("unmark"), source)]
        case Loop():
            return _loop(node, numbers)
        case Pick():
            return _pick(node, numbers)
        case Choose():
            return _choose(node, numbers)


def _loop(node: Loop, numbers: Numbers) -> list[Sourced]:
    source = StepSource(node.cue.span, "")
    if node.times is not None:
        head = step("repeat", node.times)
    elif node.for_ticks is not None:
        head = step("repeat_for", node.for_ticks)
    else:
        assert node.until is not None and node.bound is not None
        head = step("repeat_until", *numbers.state(node.until.sensor, node.until.trips), node.bound)
    return [(head, source), *_all(node.nodes, numbers, node.cue.span), (step("again"), source)]


def _pick(node: Pick, numbers: Numbers) -> list[Sourced]:
    """Each arm is drawn out of what is left by those before it; the last needs no draw."""
    source = StepSource(node.cue.span, "")
    arms = [(weight, _all(nodes, numbers, node.cue.span)) for weight, nodes in node.arms]
    found = arms[-1][1]
    left = arms[-1][0]
    for weight, steps in reversed(arms[:-1]):
        left += weight
        common = gcd(weight, left)
        chosen = [*steps, (step("jump", len(found)), source)] if found else steps
        draw = step("chance", weight // common, left // common, len(chosen))
        found = [(draw, source), *chosen, *found]
    return found


def _choose(node: Choose, numbers: Numbers) -> list[Sourced]:
    source = StepSource(node.cue.span, "")
    yes, no = _all(node.yes, numbers, node.cue.span), _all(node.no, numbers, node.cue.span)
    if no:
        yes = [*yes, (step("jump", len(no)), source)]
    if isinstance(node.test, IfSensor):
        head = step("skip_unless", *numbers.state(node.test.sensor, node.test.tripped), len(yes))
    else:
        head = step("skip_but_nth", node.test.n, len(yes))
    return [(head, source), *yes, *no]


def _command(command: Drive, numbers: Numbers) -> Iterator[Step]:
    match command:
        case SetLevel(pin=pin, level=level):
            yield _level(numbers.outputs[pin], level_of(level))
        case Fade(pin=pin, level=level, over_us=over):
            yield step("fade", numbers.outputs[pin], level_of(level), _some(over))
        case Pulse(pin=pin, for_us=lasts):
            yield step("pulse", numbers.outputs[pin], _some(lasts))
        case Flash(pin=pin, half_period_us=half, for_us=lasts):
            yield step("flash", numbers.outputs[pin], _some(half), _some(lasts))
        case Flicker(pin=pin, low=low, high=high, for_us=lasts):
            yield step("flicker", numbers.outputs[pin], level_of(low), level_of(high), _some(lasts))
        case Play(speaker=speaker, clip=clip):
            yield step("play", numbers.clips[(speaker, clip)])
        case Silence(speaker=speaker):
            yield from (step("silence", output) for output in numbers.speakers[speaker])
        case StartRoutine(routine=routine):
            yield step("start", numbers.routines[routine])
        case StopRoutine(routine=routine):
            yield step("stop", numbers.routines[routine])
        case _:
            raise AssertionError(f"{command} is left over from the schedule")


def _level(output: int, level: int) -> Step:
    return step("set", output, int(level == ON)) if level in (0, ON) else step("level", output, level)


def _some(us: int) -> int:
    return max(ticks_of(us), 1)


def plays_in(nodes: Sequence[Node]) -> Iterator[Play]:
    """Every clip that is played somewhere in the nodes, in order."""
    for node in nodes:
        match node:
            case Do(commands=commands):
                yield from (command for command in commands if isinstance(command, Play))
            case Framed(nodes=inner) | Loop(nodes=inner):
                yield from plays_in(inner)
            case Pick(arms=arms):
                for _, inner in arms:
                    yield from plays_in(inner)
            case Choose(yes=yes, no=no):
                yield from plays_in((*yes, *no))

