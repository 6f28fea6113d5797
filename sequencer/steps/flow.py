"""What can be said of a routine's steps without running them: which frames are open where, and how long
things take.

Two passes. The first follows every path once, in step order (skips only go forward), and gives each step its
open frames; the second gives the least and most time and the most steps that can fall into one tick.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from sequencer.frozen import frozen
from sequencer.steps.program import Step
from sequencer.steps.table import LOOPS, skip_of

Span = tuple[int, int]
"""The least and the most, in ticks."""

MOST_SKIPS_OPEN = 10
"""How many steps that are skipped to may lie ahead at once: a board that proves a program keeps a note of each."""


@frozen
class Flaw:
    """What is wrong with the build of a routine: the step, and a sentence."""

    step: int
    text: str


@frozen
class StepFlow:
    """Of one step, when it is first reached: time since the start of the routine and of its innermost frame.

    `looped` says that it stands in a loop, so that later rounds reach it later; `depth` counts open frames.
    """

    since_start: Span
    since_base: Span
    looped: bool
    depth: int


@frozen
class Flow:
    """Of a whole routine: flaws first; the rest means something only where there are none."""

    flaws: tuple[Flaw, ...]
    steps: tuple[StepFlow, ...] = ()
    takes: Span = (0, 0)
    most_steps_in_a_tick: int = 0
    depth: int = 0


def flow_of(steps: tuple[Step, ...]) -> Flow:
    """The flow of a routine whose steps are each in order by themselves."""
    frames, closes, flaws = _frames(steps)
    if flaws:
        return Flow(tuple(flaws))
    walk = _Walk(steps, frames, closes)
    walk.stretch(0, len(steps), _Reach(((0, 0),), 0))
    ends = walk.ends or [(0, 0)]
    return Flow(
        tuple(walk.flaws),
        tuple(walk.seen[i] for i in range(len(steps))),
        (min(lo for lo, _ in ends), max(hi for _, hi in ends)),
        walk.most_run,
        max(
            (len(stack) + (steps[i].op in LOOPS or steps[i].op == "mark") for i, stack in enumerate(frames)),
            default=0,
        ),
    )


def _frames(steps: tuple[Step, ...]) -> tuple[list[tuple[int, ...]], dict[int, int], list[Flaw]]:
    """The open frames (by the steps that opened them) before each step, and the `again` of each loop."""
    before: list[tuple[int, ...] | None] = [None] * len(steps)
    closes: dict[int, int] = {}
    if not steps or steps[-1].op != "end":
        return [], {}, [Flaw(max(len(steps) - 1, 0), "the last step of a routine is an end")]
    before[0] = ()
    ahead: set[int] = set()
    for i, (made, as_written) in enumerate(zip(steps, _as_written(steps), strict=True)):
        stack = before[i]
        ahead.discard(i)
        if stack is None:
            return [], {}, [Flaw(i, "no path leads to this step")]
        after = _after(made, i, stack, steps, closes)
        if isinstance(after, Flaw):
            return [], {}, [after]
        if stack != as_written:
            return [], {}, [Flaw(i, "the steps in front of this one open and close other blocks than the way here")]
        for target in _next(made, i):
            if target >= len(steps):
                return [], {}, [Flaw(i, f"the step {made.op} skips past the end of its routine")]
            if before[target] not in (None, after):
                return [], {}, [Flaw(i, f"the step {made.op} skips into or out of a loop or a mark")]
            before[target] = after
        if skip_of(made) is not None:
            ahead.add(_next(made, i)[-1])
        if len(ahead) > MOST_SKIPS_OPEN:
            return [], {}, [Flaw(i, f"more than {MOST_SKIPS_OPEN} steps that are skipped to lie ahead")]
    open_loops = [i for i, made in enumerate(steps) if made.op in LOOPS and i not in closes]
    return (
        [stack for stack in before if stack is not None],
        closes,
        [Flaw(i, "the loop has no again") for i in open_loops],
    )


def _as_written(steps: tuple[Step, ...]) -> list[tuple[int, ...]]:
    """The frames that the steps in front of each one have opened and not closed, in the order in which they stand."""
    stack: tuple[int, ...] = ()
    before = []
    for i, made in enumerate(steps):
        before.append(stack)
        if made.op in LOOPS or made.op == "mark":
            stack = (*stack, i)
        elif made.op in ("again", "unmark"):
            stack = stack[:-1]
    return before


def _after(
    made: Step, i: int, stack: tuple[int, ...], steps: tuple[Step, ...], closes: dict[int, int]
) -> tuple[int, ...] | Flaw:
    if made.op in LOOPS or made.op == "mark":
        return (*stack, i)
    if made.op == "again":
        if not stack or steps[stack[-1]].op not in LOOPS:
            return Flaw(i, "an again closes no loop")
        closes[stack[-1]] = i
        return stack[:-1]
    if made.op == "unmark":
        if not stack or steps[stack[-1]].op != "mark":
            return Flaw(i, "an unmark closes no mark")
        return stack[:-1]
    return stack


def _next(made: Step, i: int) -> tuple[int, ...]:
    if made.op == "end":
        return ()
    skip = skip_of(made)
    if made.op == "jump":
        return (i + 1 + (skip or 0),)
    return (i + 1,) if skip is None else (i + 1, i + 1 + skip)


@frozen
class _Reach:
    """How a step is reached: per open frame the time in it alone, and the steps so far in this tick."""

    spent: tuple[Span, ...]
    run: int

    def joined(self, other: _Reach | None) -> _Reach:
        if other is None:
            return self
        spent = tuple(
            (min(a[0], b[0]), max(a[1], b[1])) for a, b in zip(self.spent, other.spent, strict=True)
        )
        return _Reach(spent, max(self.run, other.run))

    def total(self) -> Span:
        return sum(lo for lo, _ in self.spent), sum(hi for _, hi in self.spent)

    def later(self, lo: int, hi: int) -> _Reach:
        top = self.spent[-1]
        return _Reach((*self.spent[:-1], (top[0] + lo, top[1] + hi)), 0 if lo else self.run)

    def closed(self, inner: Span) -> _Reach:
        """The innermost frame is gone, and took that long; the steps so far still count."""
        return _Reach(_Reach(self.spent[:-1], 0).later(*inner).spent, self.run)


@dataclass(slots=True)
class _Walk:
    steps: tuple[Step, ...]
    frames: list[tuple[int, ...]]
    closes: dict[int, int]
    seen: dict[int, StepFlow] = field(default_factory=dict)
    ends: list[Span] = field(default_factory=list)
    flaws: list[Flaw] = field(default_factory=list)
    most_run: int = 0

    def stretch(self, first: int, stop: int, entry: _Reach) -> _Reach | None:
        """From `first` to `stop`, which no path of the stretch passes; how `stop` is reached."""
        reached: dict[int, _Reach] = {first: entry}
        i = first
        while i < stop:
            here = reached.pop(i, None)
            if here is None:
                i += 1
                continue
            i = self._step(i, here, reached)
        return reached.get(stop)

    def _step(self, i: int, here: _Reach, reached: dict[int, _Reach]) -> int:
        """Takes the step (a whole loop at its head), hands on to what follows, and says where to go on."""
        made = self.steps[i]
        here = self._noted(i, here)
        targets, onward = _next(made, i), i + 1
        if made.op in LOOPS:
            closing = self.closes[i]
            after: _Reach | None = self._loop(i, closing, here)
            targets, onward = (closing + 1,), closing + 1
        else:
            after = self._passed(made, here)
        for target in targets:
            if after is not None:
                reached[target] = after.joined(reached.get(target))
        return onward

    def _noted(self, i: int, here: _Reach) -> _Reach:
        here = _Reach(here.spent, here.run + 1)
        self.most_run = max(self.most_run, here.run)
        if i not in self.seen:
            looped = any(self.steps[opener].op in LOOPS for opener in self.frames[i])
            self.seen[i] = StepFlow(here.total(), here.spent[-1], looped, len(self.frames[i]))
        return here

    def _loop(self, i: int, closing: int, entry: _Reach) -> _Reach | None:
        """Walks the rounds twice, as a tick can hold the tail of one round and the head of the next."""
        at_end = None
        run = entry.run
        for _ in range(2):
            at_end = self.stretch(i + 1, closing, _Reach((*entry.spent, (0, 0)), run))
            if at_end is None:
                return None
            at_end = self._noted(closing, at_end)
            run = max(entry.run, at_end.run)
        assert at_end is not None
        round_takes = at_end.spent[-1]
        if round_takes[0] < 1 and not any(flaw.step == closing for flaw in self.flaws):
            self.flaws.append(Flaw(closing, "a round of the loop can take no time at all"))
        return _Reach(at_end.spent, at_end.run).closed(_rounds(self.steps[i], round_takes))

    def _passed(self, made: Step, here: _Reach) -> _Reach:
        match made.op:
            case "wait" | "fade_then":
                return here.later(made.args[-1], made.args[-1])
            case "wait_random":
                return here.later(made.args[0], made.args[0] + made.args[1])
            case "until":
                lo, hi = here.spent[-1]
                target = made.args[0]
                spent = (*here.spent[:-1], (max(lo, target), max(hi, target)))
                return _Reach(spent, 0 if target > hi else here.run)
            case "await_input" | "await_end":
                return here.later(0, made.args[2])
            case "mark":
                return _Reach((*here.spent, (0, 0)), here.run)
            case "unmark":
                return here.closed(here.spent[-1])
            case "end":
                self.ends.append(here.total())
        return here


def _rounds(loop: Step, takes: Span) -> Span:
    """How long all the rounds take, of which each takes that long."""
    lo, hi = takes
    if loop.op == "repeat":
        return loop.args[0] * lo, loop.args[0] * hi
    bound = loop.args[-1]
    last = -(-bound // hi) * hi if lo == hi and lo > 0 else bound - 1 + max(hi, 1)
    if loop.op == "repeat_until":
        return lo, last
    return (last if lo == hi and lo > 0 else max(lo, bound)), last
