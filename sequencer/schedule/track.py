"""Steps put one behind the other in time: where the track of a block stands, and how it goes on.

Times count from an anchor: the start of the block, or a point that only the run itself fixes (the end of a random
wait, of a wait for a sensor, of a block whose length varies). Within a stretch with one anchor every time is fixed,
and steps are put in the order of their times; each is rounded to a tick by itself, so that gaps cannot drift.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from sequencer.schedule.laid import Takes
from sequencer.schedule.nodes import Do, Framed, Node, Until, Wait, WaitRandom
from sequencer.schedule.plan import US_PER_TICK, ticks_of
from sequencer.schedule.standing import Standing, State, forgotten, shifted
from sequencer.show.model import Cue

Pending = Mapping[object, int]
"""By output, cylinder or speaker, when what was started there has ended, in microseconds."""


@dataclass(slots=True)
class Opening:
    """A random wait that begins the stretch; leads of landings behind it may still be taken out of it."""

    lo: int
    span: int
    cue: Cue


@dataclass(slots=True)
class Track:
    """The track of one block while it is laid out. Offsets (`off`, `floor`, ...) count from the anchor.

    `off` is the time of the line above, at the latest; at the earliest it is up to `spread` before. No step may
    stand before `floor`. `due` (ticks) is where the nodes so far have come to, None after a block of varying length,
    which then ended at `ended`. `pending` says by output, cylinder or speaker when what was started there ends;
    `block_pending` the same of such a block, counted from its end.
    """

    state: dict[str, Standing]
    base: Takes = field(default_factory=Takes)
    at_base: bool = True
    off: int = 0
    spread: int = 0
    floor: int = 0
    floor_why: tuple[str, ...] = ()
    due: int | None = 0
    ended: Takes = field(default_factory=Takes)
    end_state: State = field(default_factory=dict)
    pending: dict[object, int] = field(default_factory=dict)
    block_pending: dict[object, int] = field(default_factory=dict)
    nodes: list[Node] = field(default_factory=list)
    framed: bool = False
    opening: Opening | None = None
    _waiting: list[tuple[int, int, Do]] = field(default_factory=list)
    _mark: tuple[int, int] = (0, 0)

    def window(self, off: int) -> tuple[int, int]:
        """The earliest and latest of an offset, counted from the start of the block."""
        return self.base.lo + off, self.base.hi + off

    def go_to(self, off: int) -> None:
        """The time of the next line."""
        self.off, self.spread = off, 0

    def ready(self) -> int:
        """The first offset at which the next line may be due."""
        return max(self.off, self.floor)

    def put(self, at: int, do: Do) -> None:
        """Notes a step for later; steps come out in the order of their ticks."""
        self._waiting.append((ticks_of(at), len(self._waiting), do))

    def beyond(self, at: int) -> list[tuple[int, Do]]:
        """The noted steps that would come only after that offset."""
        return [(tick, do) for tick, _, do in self._waiting if tick > ticks_of(at)]

    def settle(self, at: int) -> None:
        """Puts out every noted step and brings the track to that offset; steps beyond it come then."""
        self._put_out(ticks_of(at))
        self._advance(ticks_of(at))

    def finish(self) -> None:
        """Puts out every noted step and goes to the time of the last line."""
        self._put_out(None)
        if self.due is not None or ticks_of(self.off) > ticks_of(self.floor):
            self._advance(max(ticks_of(self.off), self.due or 0))

    def to_base(self) -> None:
        """Counts from the start of the block again, which is where `At` counts from."""
        if self.at_base:
            return
        self._put_out(None)
        hi = self.base.hi
        done = self.floor if self.due is None else max(self.due * US_PER_TICK, self.floor)
        lo_hi = self.ended if self.due is None else Takes(done, done)
        self.ended = Takes(self.base.lo + lo_hi.lo, hi + lo_hi.hi)
        self.end_state = self._after(lo_hi.lo)
        self.block_pending = _latest(self.block_pending if self.due is None else {}, _later(self.pending, -lo_hi.lo))
        self.floor_why = self.base.why + (self.floor_why if self.due is None else ())
        self.spread = hi - self.base.lo
        self.off, self.floor, self.pending = self.off + hi, done + hi, _later(self.pending, hi)
        sure = self.base.lo == hi and lo_hi.lo == lo_hi.hi
        self.state = shifted(self.state if sure else forgotten(self.state), -hi)
        self.base, self.at_base, self.due, self.opening = Takes(), True, None, None

    def new_anchor(self, window: tuple[int, int], why: tuple[str, ...]) -> None:
        """From now on times count from a point that comes within that window of offsets."""
        lo, hi = window
        self.state = dict(self._after(lo)) if lo == hi else forgotten(self._after(lo))
        rest = self.block_pending if self.due is None else {}
        self.pending, self.block_pending = _latest(_later(self.pending, -lo), rest), {}
        more = self.floor_why if self.due is None else ()
        self.base = self.base.then(lo, hi, (*more, *why))
        self.go_to(0)
        self.at_base, self.floor, self.floor_why, self.due = False, 0, (), 0

    def from_block_end(self) -> None:
        """Counts from the end of a block of varying length."""
        assert self.due is None
        self.new_anchor((self.ended.lo, self.ended.hi), ())

    def random(self, begin: int, least: int, most: int, cue: Cue) -> None:
        """A wait that the board draws, from `begin` on, up to a point between the offsets `least` and `most`."""
        self.settle(begin)
        start = ticks_of(begin)
        lo = max(ticks_of(least) - start, 0)
        span = max(ticks_of(most) - start - lo, 0)
        window = ((start + lo) * US_PER_TICK, (start + lo + span) * US_PER_TICK)
        longest = f"when the wait in line {cue.span.line} is drawn at its longest"
        self.new_anchor(window, (longest,) if span else ())
        self.floor = -lo * US_PER_TICK
        self.opening, self.due = Opening(lo, span, cue), -lo

    def add_block(self, nodes: tuple[Node, ...], takes: Takes, state: State, pending: Pending) -> None:
        """Appends the nodes of a block that begins now, at `off`; the track is settled there."""
        start = ticks_of(self.off)
        self._mark = (len(self.nodes), start)
        self.nodes += nodes
        begin = start * US_PER_TICK
        self.floor, self.floor_why = begin + takes.hi, takes.why
        self.ended = Takes(begin + takes.lo, begin + takes.hi)
        state = state if takes.fixed else forgotten(state)
        self.state = shifted(state, -self.floor)
        if takes.fixed:
            self.due = ticks_of(self.floor)
            self.pending = _latest(self.pending, _later(pending, self.floor))
        else:
            self.due, self.end_state, self.block_pending = None, state, dict(pending)

    def rest(self) -> dict[object, int]:
        """What may go on after the track's end, and for how long at most; call it when finished."""
        if self.due is None:
            left = _latest(self.block_pending, _later(self.pending, -self.ended.lo))
        else:
            left = _later(self.pending, -self.due * US_PER_TICK)
        return {what: us for what, us in left.items() if us > 0}

    def takes(self) -> Takes:
        """How long the block takes up to where the track has come; call it when finished."""
        if self.due is None:
            return self.base.then(self.ended.lo, self.ended.hi, self.floor_why)
        end = self.due * US_PER_TICK
        return self.base.then(end, end)

    def state_at_end(self) -> State:
        """Where cylinders stand, counted from the end; call it when finished."""
        return self._after(self.ended.lo if self.due is None else self.due * US_PER_TICK)

    def wait_out(self) -> None:
        """Waits until all that was started has ended; call it when finished."""
        rest = longest(self.rest())
        if self.due is None:
            if not rest:
                return
            self.from_block_end()
        assert self.due is not None
        self._advance(self.due + -(-rest // US_PER_TICK))

    def until(self, period_us: int) -> None:
        """Goes to that time after the start of the block; call it when finished."""
        self.to_base()
        self._advance(ticks_of(period_us))

    def _after(self, lo: int) -> State:
        return self.end_state if self.due is None else shifted(self.state, lo)

    def _put_out(self, no_later_than: int | None) -> None:
        ordered = sorted(self._waiting, key=lambda one: one[:2])
        self._open(ordered[0][0] if ordered else 0)
        for tick, _, do in ordered:
            self._advance(tick if no_later_than is None else min(tick, no_later_than))
            self.nodes.append(do)
        self._waiting.clear()

    def _open(self, first: int) -> None:
        """Puts out the random wait that begins the stretch, shortened by what must happen before its end."""
        if self.opening is None:
            return
        sooner = min(max(-first, 0), self.opening.lo)
        lo, span = self.opening.lo - sooner, self.opening.span
        if lo or span:
            self.nodes.append(WaitRandom(lo, span, self.opening.cue) if span else Wait(lo, self.opening.cue))
        self.due, self.opening = -sooner, None

    def _advance(self, tick: int) -> None:
        if self.due is None:
            self._advance_from_block(tick)
        elif tick > self.due:
            self.nodes.append(Wait(tick - self.due))
            self.due = tick

    def _advance_from_block(self, tick: int) -> None:
        """After a block of varying length only a time since something earlier can be waited for."""
        self.pending = _latest(self.pending, _later(self.block_pending, self.floor))
        self.due, self.block_pending = tick, {}
        if self.at_base:
            self.nodes.append(Until(tick))
            self.framed = True
            return
        at, start = self._mark
        inner = (*self.nodes[at:], Until(tick - start))
        self.nodes[at:] = [Framed(inner, _cue_of(inner[0]))]


def longest(pending: Pending) -> int:
    """How long until the last of it has ended; 0 where there is nothing."""
    return max(pending.values(), default=0)


def _later(pending: Pending, by: int) -> dict[object, int]:
    return {what: us + by for what, us in pending.items()}


def _latest(one: Pending, other: Pending) -> dict[object, int]:
    return {what: max(one.get(what, other.get(what, 0)), other.get(what, one.get(what, 0)))
            for what in (*one, *other)}


def _cue_of(node: Node) -> Cue:
    cue = node.cue
    assert cue is not None
    return cue
