"""How long a processor is at most busy in one tick of a program, in cycles: a bound, from what each thing costs.

It is a bound over whatever the program can do: everything that could fall into one tick does, however unlikely, and the
link is busy. What things cost is measured on the firmware (`Costs`); nothing here knows how.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial

from sequencer.frozen import frozen
from sequencer.memo import Memo, noted
from sequencer.steps.costs import Costs, StepCosts
from sequencer.steps.encode import encode_steps
from sequencer.steps.flow import Flow, flow_of
from sequencer.steps.program import (
    MOST_BEGINNING,
    ON,
    Edge,
    InputKind,
    Limits,
    Program,
    Routine,
    Start,
    Step,
    WhileRunning,
)
from sequencer.steps.table import BY_FIRST_BYTE, FORMS, LOOPS, WAITS, output_written, skip_of
from sequencer.steps.verify import running_at_once

Parts = tuple[tuple[str, int], ...]
"""What a tick goes into, in words, and cycles."""


@frozen
class Bound:
    """The most cycles that a tick of a program takes, of those that a tick has, and what they go into."""

    cycles: int
    per_tick: int
    parts: Parts

    @property
    def share(self) -> float:
        """Of a tick."""
        return self.cycles / self.per_tick


@frozen
class _Busy:
    """Of one routine in one tick, in cycles: its start, its first steps, its steps in any other tick; and how many
    outputs it then writes."""

    start: int
    first: int
    later: int
    writes: int

    @property
    def most(self) -> int:
        """Where it does not take its first steps."""
        return max(self.start, self.later)

    @property
    def more(self) -> int:
        """What its first steps add to that."""
        return max(0, self.start + self.first - self.most)


def worst_tick(program: Program, limits: Limits, costs: Costs, memo: Memo | None = None) -> Bound:
    """The bound for a program that verifies against the limits. `memo` keeps what comes of one routine."""
    yard = _Yard(program, limits, costs, memo or Memo())
    ways = (yard.playing(), yard.arming(), yard.halting())
    parts = max(ways, key=lambda parts: sum(cycles for _, cycles in parts))
    return yard.bound(parts, asks=parts[0][0] not in yard.asked_for)


@frozen
class Together:
    """What one change of an input starts, and the most cycles of that tick while nothing else is due."""

    start: Start
    routines: tuple[int, ...]
    bound: Bound


def started_together(
    program: Program, limits: Limits, costs: Costs, memo: Memo | None = None
) -> tuple[Together, ...]:
    """For each change of an input that starts anything, the bound of its tick."""
    yard = _Yard(program, limits, costs, memo or Memo())
    by_start: dict[Start, list[int]] = {}
    for number, routine in enumerate(program.routines):
        for start in dict.fromkeys(routine.starts):
            by_start.setdefault(start, []).append(number)
    return tuple(
        Together(start, tuple(numbers), yard.bound(yard.beginning(numbers), asks=True))
        for start, numbers in by_start.items()
    )


@dataclass(slots=True)
class _Yard:
    program: Program
    limits: Limits
    costs: Costs
    memo: Memo
    slots: int = field(init=False)
    busy: list[_Busy] = field(init=False)
    weights: _Weights = field(init=False)
    _started_by_steps: frozenset[int] = field(init=False)

    def __post_init__(self) -> None:
        rows = self.program.routines
        self._started_by_steps = frozenset(made.args[0] for row in rows for made in row.steps if made.op == "start")
        self.slots = min(running_at_once(self.program), self.limits.routines_running)
        self.weights = _Weights(self.program, self.costs)
        self.busy = [self._busy(number, routine) for number, routine in enumerate(rows)]

    @property
    def asked_for(self) -> tuple[str, ...]:
        """What comes by a request of the link, so that no other is done in that tick."""
        guards = any(sensor.kind in (InputKind.STOP, InputKind.ALARM) for sensor in self.program.inputs)
        return ("arming",) if guards or self.program.heartbeat else ("arming", "the stop")

    @property
    def way(self) -> int:
        """What a start or an end of a scare costs where there are idles to give way."""
        rows = self.program.routines
        return self.costs.idle_row * len(rows) if any(row.idle for row in rows) else 0

    def end(self, routine: Routine) -> int:
        owned = self.costs.end_output * len(self.program.outputs)
        return self.costs.end + (0 if routine.idle else owned + self.way)

    def kill(self, routine: Routine) -> int:
        return self.costs.kill + self.costs.end_output * len(self.program.outputs) + (0 if routine.idle else self.way)

    @property
    def bound_outputs(self) -> int:
        """What the limits of outputs cost beside what turns."""
        bound = sum(bool(row.longest_on or row.exclusion) for row in self.program.outputs)
        return self.costs.bound * bound + self.costs.turn_all * len(self.program.outputs) * bool(bound)

    def bound(self, parts: Parts, asks: bool) -> Bound:
        """With what every tick has, and the link; `asks` where a request may be done in that tick beside."""
        costs = self.costs
        fixed = costs.tick + costs.input * len(self.program.inputs) + costs.slot * self.slots
        fixed += costs.output * len(self.program.outputs) + self.bound_outputs
        work = fixed + sum(cycles for _, cycles in parts)
        # Either the computer asks, and waits for its answer, or it is sending: bytes come while the tick runs, and
        # take their time, in which more come.
        share = costs.byte_every - costs.byte_of_link
        link = max(-(-work * costs.byte_every // share) + costs.byte_of_link - work, costs.request if asks else 0)
        return Bound(work + link, costs.per_tick, (("the tick itself", fixed), *parts, ("the link", link)))

    def beginning(self, numbers: Sequence[int]) -> Parts:
        """These start, by one change of an input."""
        begun = [self.busy[number] for number in numbers]
        idles = sum(row.idle for row in self.program.routines)
        looking = self.costs.change + self._looking + idles * self.costs.kill
        writes = sum(_largest([one.writes for one in begun], MOST_BEGINNING))
        wishes = sum(_largest(list(self.weights.wishes.values()), writes))
        return ("looking for starts", looking), ("starts and steps", self._at_work(begun)), ("outputs", wishes)

    @property
    def _looking(self) -> int:
        """Every routine is looked at, whether it starts."""
        rows, costs = self.program.routines, self.costs
        cycles = costs.row * len(rows) + costs.row_start * sum(max(len(row.starts) - 1, 0) for row in rows)
        return cycles + sum(row.idle for row in rows) * (costs.idle + costs.idle_slot * self.slots)

    def playing(self) -> Parts:
        """Every input changes, all that can start does, and all that runs has something to do."""
        changes = sum(sensor.kind not in (InputKind.STOP, InputKind.ALARM) for sensor in self.program.inputs)
        looking = self.costs.change * changes + self._looking
        return (
            ("looking for starts", looking),
            ("starts and steps", self._at_work(self._not_both_ways()) + self._others()),
            ("outputs", self._outputs(sum(_largest([one.writes for one in self.busy], self._most)))),
        )

    def arming(self) -> Parts:
        """The tick of arming, in which idles and what starts at arming do."""
        rows, costs = self.program.routines, self.costs
        begins = [one for one, row in zip(self.busy, rows, strict=True) if row.at_arming or row.idle]
        idles = sum(row.idle for row in rows)
        clocks = sum(row.every is not None for row in rows)
        return (
            ("arming", costs.arm + costs.arm_row * len(rows) + costs.draw * clocks
             + idles * (costs.idle + costs.idle_slot * self.slots)),
            ("starts and steps", self._at_work(begins)),
            ("outputs", self._outputs(sum(one.writes for one in begins))
             + costs.rest_quiet * len(self.program.outputs) + costs.rest),
        )  # fmt: skip

    def halting(self) -> Parts:
        """A stop or an alarm."""
        return (
            ("the stop", self.costs.halt + self.costs.halt_run * self.slots + self.costs.change),
            ("outputs", self._outputs(0) + self._to_rest),
        )

    @property
    def _most(self) -> int:
        """How many routines take part in a tick: as many as run at once, and more only where steps start them."""
        rows = self.program.routines
        return len(rows) if any(made.op == "start" for row in rows for made in row.steps) else self.slots

    def _at_work(self, busy: Sequence[_Busy]) -> int:
        """Of those that run, the costliest; of those that begin, as many as may."""
        at_once = sum(_largest([one.most for one in busy], self._most))
        return at_once + sum(_largest([one.more for one in busy], MOST_BEGINNING))

    def _others(self) -> int:
        """Runs that end, or give way, so that others can start: more than run at once."""
        rows = self.program.routines
        idles = [row for row in rows if row.idle and any(not other.idle for other in rows)]
        waiting = max(0, len(rows) - len(idles) - self.slots)
        ending = [self.end(row) for row in rows if not row.idle]
        return sum(_largest(ending, waiting)) + sum(_largest([self.kill(row) for row in idles], self.slots))

    def _not_both_ways(self) -> list[_Busy]:
        """What each routine does where an input trips or clears, as it cannot do both in one tick: of those that only
        the one or the other starts, the less costly do not start."""
        busy = list(self.busy)
        for number in range(len(self.program.inputs)):
            sides = [[n for n in range(len(busy)) if self._only_by(n, number, edge)] for edge in Edge]
            lesser = min(sides, key=lambda side: sum(busy[n].start + busy[n].first for n in side))
            for n in lesser:
                busy[n] = _Busy(0, 0, busy[n].later, busy[n].writes)
        return busy

    def _only_by(self, n: int, number: int, edge: Edge) -> bool:
        row = self.program.routines[n]
        kept = row.while_running is WhileRunning.ONCE_MORE
        return (not (kept or row.idle or row.every is not None) and n not in self._started_by_steps
                and {(start.input, start.edge) for start in row.starts} == {(number, edge)})

    def _outputs(self, writes: int) -> int:
        """What they do by themselves, and as many wishes in its place as can come."""
        effects, wishes = self.weights.effects, self.weights.wishes
        more = [max(0, wishes[output] - effects[output]) for output in wishes]
        return sum(effects.values()) + sum(_largest(more, writes))

    @property
    def _to_rest(self) -> int:
        """All outputs to rest; those that a step writes may be elsewhere, and may be written at once."""
        effects, wishes = self.weights.effects, self.weights.wishes
        written = sum(max(0, self.costs.rest - effects[n], wishes[n] - effects[n]) for n in wishes)
        return written + self.costs.rest_quiet * (len(self.program.outputs) - len(wishes))

    def _busy(self, number: int, routine: Routine) -> _Busy:
        made = noted(self.memo.about(routine), ("busy", self.costs.tick), partial(self._of_steps, routine))
        first, later, writes = made
        start = self.costs.start + (0 if routine.idle else self.way)
        start += self.costs.draw if routine.every is not None else 0
        before = self.end(routine) if _ends_before_starts(routine) else 0
        if routine.while_running is WhileRunning.RESTART:
            before = max(before, self.kill(routine))
        start += before
        return _Busy(start if self._can_start(number) else 0, self.costs.run + first, self.costs.run + later, writes)

    def _can_start(self, number: int) -> bool:
        row = self.program.routines[number]
        return bool(row.starts or row.every or row.at_arming or row.idle or number in self._started_by_steps)

    def _of_steps(self, routine: Routine) -> tuple[int, int, int]:
        cycles = [self.weights.of(made, data, self.end(routine))
                  for made, data in zip(routine.steps, encode_steps(routine.steps), strict=True)]
        flow = noted(self.memo.about(routine), "flow", partial(flow_of, routine.steps))
        first, later = _busiest(routine.steps, flow, cycles)
        clips = self.program.clips
        writes = max(_busiest(routine.steps, flow, [output_written(made, clips) is not None for made in routine.steps]))
        return first, later, writes


def _ends_before_starts(routine: Routine) -> bool:
    """Whether it can start in the tick of its end: it then has nothing left but its end when that tick comes."""
    pairs = zip(routine.steps, routine.steps[1:], strict=False)
    waits = any(made.op in WAITS and then.op == "end" for made, then in pairs)
    return waits and not routine.rest and not routine.idle


def _largest(values: Sequence[int], count: int) -> list[int]:
    return sorted(values, reverse=True)[: max(0, count)]


@dataclass(slots=True)
class _Weights:
    """What the steps of a program cost, and its outputs: by themselves, and where they are written."""

    program: Program
    costs: Costs
    effects: dict[int, int] = field(default_factory=dict)
    wishes: dict[int, int] = field(default_factory=dict)
    _by_form: dict[int, StepCosts] = field(init=False)

    def __post_init__(self) -> None:
        self._by_form = dict(self.costs.steps)
        for routine in self.program.routines:
            for made, data in zip(routine.steps, encode_steps(routine.steps), strict=True):
                output = output_written(made, self.program.clips)
                if output is not None:
                    limit, log = self._limits(output), self.costs.clip - self.costs.pulse
                    wish = self._cost(made, data)[1] + limit[1] + log * (made.op == "play")
                    self.wishes[output] = max(self.wishes.get(output, 0), wish)
                    self.effects[output] = max(self.effects.get(output, 0), self._effect(made), limit[0])

    def _limits(self, output: int) -> tuple[int, int]:
        """What the limits of an output cost where it is on for too long, and where it turns."""
        row, costs = self.program.outputs[output], self.costs
        turns = costs.turn_bound if row.longest_on or row.exclusion else 0
        turns += costs.excludes * len(self.program.outputs) if row.exclusion else 0
        return costs.over if row.longest_on else 0, turns

    def of(self, made: Step, data: bytes, end: int) -> int:
        """The step itself."""
        named = {"end": end, "again": self.costs.again, "unmark": self.costs.unmark}
        return named[made.op] if made.op in named else self._cost(made, data)[0]

    def _cost(self, made: Step, data: bytes) -> tuple[int, int]:
        """Of the step and of its output; a form that was not measured costs what the costliest of that step does."""
        found = self._by_form.get(BY_FIRST_BYTE[data[0]][1].base)
        if found is None:
            found = tuple(cost for form in FORMS[made.op] for cost in self._by_form.get(form.base, ()))
        fitting = [cost for cost in found if cost[0] >= len(data)] or found
        return max(own for _, own, _ in fitting[:1] or found), max(wish for *_, wish in fitting[:1] or found)

    def _effect(self, made: Step) -> int:
        """What it makes of the output in each tick after, at most."""
        costs = self.costs
        if made.op in ("fade", "fade_then"):
            return costs.fade + costs.level * max(0, -(-ON // made.args[2]) - 1)
        effects = {"pulse": costs.pulse, "play": costs.clip, "flash": costs.flash, "flicker": costs.flicker}
        return effects.get(made.op, 0)


def _busiest(steps: Sequence[Step], flow: Flow, weights: Sequence[int]) -> tuple[int, int]:
    """The most that the steps of one tick weigh: in the tick of the start, and in any.

    Steps only lead on, but for loops, of which each round takes a tick at least: so what comes before a round weighs
    nothing in the next but one, and to go through all steps twice is enough.
    """
    first: list[int | None] = [0] + [None] * len(steps)
    any_tick = [0] * (len(steps) + 1)
    most_first = most = 0
    for _ in range(2):
        opened: list[int] = []
        for i, made in enumerate(steps):
            begun = first[i]
            here, begun = any_tick[i] + weights[i], None if begun is None else begun + weights[i]
            most, most_first = max(most, here), max(most_first, begun or 0)
            if made.op in LOOPS:
                opened.append(i)
            elif made.op == "again":
                back = opened.pop() + 1
                any_tick[back] = max(any_tick[back], here)
            waits = _surely_waits(made, flow, i)
            for target in _ways(made, i, len(steps)):
                any_tick[target] = max(any_tick[target], 0 if waits else here)
                if begun is not None and not waits:
                    first[target] = max(first[target] or 0, begun)
    return most_first, most


def _ways(made: Step, i: int, count: int) -> tuple[int, ...]:
    if made.op == "end":
        return ()
    skip = skip_of(made)
    onward = (i + 1,) if made.op != "jump" else ()
    return (*onward, *(() if skip is None else (min(i + 1 + skip, count),)))


def _surely_waits(made: Step, flow: Flow, i: int) -> bool:
    """Whether the step is the last that a run takes in a tick."""
    if made.op == "until":
        return made.args[0] > flow.steps[i].since_base[1]
    return made.op in ("wait", "fade_then", "wait_random") and made.args[-1 if made.op == "fade_then" else 0] > 0
