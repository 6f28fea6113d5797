"""Several cylinders on one supply, and when their valves are told what -> how they move and what the supply does.

Time goes in windows. In each, every cylinder that moves is carried on by itself against the pressure before its
valve, which goes straight from its value now to a guess; what all of them drew gives the pressure at the end, and the
window is done again with that until it moves by less than `CLOSE` (waveform relaxation, Lelarasmee, Ruehli and
Sangiovanni-Vincentelli 1982, on short windows). Nothing later than the window is looked at, so commands may come as
time goes on: `SharedAir` is what a dry run drives, `shared_run` the same for commands that are known beforehand.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from sequencer.air.compressor import TankRun
from sequencer.air.cylinder import faults_of
from sequencer.air.manifold import Cells
from sequencer.air.mover import Mover
from sequencer.air.nozzle import Nozzle
from sequencer.air.recordings import Recordings
from sequencer.air.spool import Command
from sequencer.air.standing import Standing
from sequencer.air.supply import NozzleAir, PropAir, SupplyAir, faults_of_supply

WINDOW_S = 0.02
"""Windows begin at whole multiples of it, so that what happens again falls into the same windows. Half as long: twice
the time, a third less error of what is left (0.2 to 0.8 % of an arrival). Half of it where a valve is shared."""
IDLE_S = 0.5
"""The longest window in which nothing moves."""
CLOSE = 2e-3
"""A window is agreed upon when no pressure moves by more than this share of it between two rounds."""
MOST_ROUNDS = 12
CLOSE_SHARE, MOST_SHARINGS = 2e-3, 5
"""A valve's parts are agreed on when none moves by more; after so many rounds they may stay as they are, since where
hardly anything flows they mean nothing."""
LEAST_SHARE = 0.02
"""A cylinder that shares a valve keeps at least so much of it, else it could never begin to draw."""


@dataclass(frozen=True, slots=True)
class Moment:
    """The end of a window: pressures of the nodes and of the tank, and who drew what within it, by number, in kg.

    Nozzles are numbered on after the props.
    """

    at_s: float
    nodes_pa: tuple[float, ...]
    tank_pa: float
    drawn_kg: tuple[tuple[int, float], ...]


@dataclass(slots=True)
class _Present:
    """What a window has come to so far."""

    after_pa: list[float]
    drawn_kg: list[float] = field(default_factory=list)
    by: list[tuple[int, float]] = field(default_factory=list)


class SharedAir:
    """All cylinders on a supply, from 0 s, where the tank is as told and every rod has rested long.

    `moments` is what the supply did, `movers` and `nozzles` what they did, `unsettled` when a window ended unsettled.
    Raises ValueError for parts that cannot be; `advance` raises `integrate.NotSettling`.
    """

    def __init__(self, props: Sequence[PropAir], supply: SupplyAir, nozzles: Sequence[NozzleAir] = (),
                 recordings: Recordings | None = None) -> None:
        _check(props, supply, nozzles)
        self.supply = supply
        self.tank = TankRun(supply.tank)
        self.cells = Cells(supply.nodes, self.tank.pressure_pa)
        count = self.cells.count
        self.standing = [Standing(self.cells.cells[count + at], self.cells.cells[at]) for at in range(count)]
        recordings = recordings or Recordings()
        self.movers = [Mover(at, prop, recordings) for at, prop in enumerate(props)]
        self.nozzles = [Nozzle(nozzle) for nozzle in nozzles]
        self.now_s = 0.0
        self.unsettled: list[float] = []
        self.rounds = self.windows = 0
        for mover in self.movers:
            node = mover.prop.node
            mover.settle_down(self.cells.node_pa(node), self.standing[node])
        self.moments = [self._moment(())]
        self._keeps = False
        self._idle_s = WINDOW_S
        self._pairs = _sharers(self.movers)

    def keep_pressures(self) -> None:
        """From now on every cylinder keeps the pressures of its chambers (`Mover.chambers`)."""
        self._keeps = True
        for mover in self.movers:
            mover.keep_pressures(self.standing[mover.prop.node])

    def command(self, number: int, command: Command) -> None:
        """The valve of a prop is told something. Cylinders that share a valve are each told it.

        Raises ValueError where the valve would have answered before now.
        """
        part = self.movers[number] if number < len(self.movers) else self.nozzles[number - len(self.movers)]
        answers = part.spool.on_s if command.energise else part.spool.off_s
        if command.at_s + answers < self.now_s - 1e-9:
            raise ValueError(f"it is {self.now_s} s; nothing can be told at {command.at_s} s")
        part.command(command)

    def tell(self, number: int, command: Command) -> None:
        """Carry on to the last whole window before the command, and tell the valve."""
        begun = math.floor(command.at_s / WINDOW_S + 1e-6) * WINDOW_S
        if begun > self.now_s:
            self.advance(begun)
        self.command(number, command)

    def advance(self, until_s: float) -> None:
        """Carry everything on to a moment."""
        while self.now_s < until_s - 1e-9:
            width = WINDOW_S / 2 if any(one.sleep is None for pair in self._pairs for one in pair) else WINDOW_S
            ends = min((math.floor(self.now_s / width + 1e-6) + 1) * width, until_s)
            awake = self._rouse(ends)
            busy = awake or any(nozzle.next_s() < ends for nozzle in self.nozzles)
            if busy:
                self._idle_s = WINDOW_S
            else:
                ends = self._idle_until(until_s)
            self._window(ends, awake)

    def held_kg(self) -> float:
        """All air in tank, nodes, tubes and cylinders: less what came in, plus what went out, it stays the same."""
        return self.tank.mass_kg + self.cells.held_kg() + sum(mover.held_kg() for mover in self.movers)

    def _idle_until(self, until_s: float) -> float:
        """Nothing moves until the next valve does; the windows grow while the supply comes to rest."""
        nexts = [mover.pieces[0].until_s for mover in self.movers] + [nozzle.next_s() for nozzle in self.nozzles]
        nexts = [math.floor(at / WINDOW_S + 1e-6) * WINDOW_S for at in nexts if at < math.inf]
        ends = min([self.now_s + self._idle_s, until_s, *(at for at in nexts if at > self.now_s + 1e-6)])
        self._idle_s = min(self._idle_s * 2, IDLE_S)
        return ends

    def _rouse(self, until_s: float) -> list[Mover]:
        """Who moves in the window: whose valve does, and whose rod the pressure no longer holds."""
        beyond = {number for standing in self.standing for number in standing.beyond()}
        awake = [mover for mover in self.movers if mover.due(until_s) or id(mover) in beyond]
        for mover in awake:
            if mover.sleep is not None:
                mover.wake(self.now_s, self.standing[mover.prop.node])
        return awake

    def _window(self, until_s: float, awake: list[Mover]) -> None:
        length = until_s - self.now_s
        after, drawn, by = self._agree(until_s, awake)
        self.windows += 1
        given = self.cells.accept(length, after, drawn)
        self.tank.advance(length, given)
        for mover in awake:
            mover.accept(until_s, self.standing[mover.prop.node])
        for at, nozzle in enumerate(self.nozzles, len(self.movers)):
            nozzle.accept(until_s, by.get(at, 0.0))
        self.now_s = until_s
        for mover in self.movers if self._keeps else ():
            mover.stands(until_s, self.standing[mover.prop.node])
        self.moments.append(self._moment(tuple((number, kg) for number, kg in by.items() if kg)))

    def _agree(self, until_s: float, awake: list[Mover]) -> tuple[list[float], list[float], dict[int, float]]:
        """Rounds of guessing and drawing until the pressures stay: these, what is drawn from each node and by whom."""
        length, tank_pa = until_s - self.now_s, self.tank.pressure_pa
        by = {mover.number: mover.likely_kg(until_s, self.cells.node_pa(mover.prop.node)) for mover in awake}
        drawn = self._from_nodes(by)
        watched = sorted({mover.prop.node for mover in awake} | {one.nozzle.node for one in self.nozzles})
        found = self.cells.step(length, tank_pa, drawn)
        guesses: list[tuple[list[float], list[float]]] = []
        for turn in range(MOST_ROUNDS):
            self.rounds += 1
            guess = _nearer(guesses) if turn > 1 else found
            self._draw(until_s, awake, guess, by, guesses[-1][0] if turn else None)
            before, drawn = drawn, self._from_nodes(by)
            found = guess if drawn == before and turn == 0 else self.cells.step(length, tank_pa, drawn, again=True)
            guesses.append((guess, found))
            moved = max((abs(found[node] - guess[node]) / found[node] for node in watched), default=0.0)
            if (self._share_out(damped=turn > 1) and moved < CLOSE) or (moved < CLOSE and turn > MOST_SHARINGS):
                return found, drawn, by
        self.unsettled.append(self.now_s)
        return found, drawn, by

    def _draw(self, until_s: float, awake: list[Mover], after: Sequence[float], by: dict[int, float],
              done: Sequence[float] | None) -> None:
        """One round: who draws what while the pressures go to `after`; nobody anew whose pressure goes where it did."""
        for mover in awake:
            node = mover.prop.node
            if done is None or mover.prop.valve is not None or abs(after[node] - done[node]) > CLOSE / 4 * after[node]:
                by[mover.number] = mover.window(until_s, self.cells.node_pa(node), after[node], done is not None)
        for at, nozzle in enumerate(self.nozzles, len(self.movers)):
            node = nozzle.nozzle.node
            by[at] = nozzle.window(self.now_s, until_s, self.cells.node_pa(node), after[node])

    def _from_nodes(self, by: dict[int, float]) -> list[float]:
        drawn = [0.0] * self.cells.count
        for number, kg in by.items():
            count = len(self.movers)
            node = self.movers[number].prop.node if number < count else self.nozzles[number - count].nozzle.node
            drawn[node] += kg
        return drawn

    def _share_out(self, damped: bool) -> bool:
        """Divide valves among the cylinders that share them, by what came through; whether little changed."""
        settled = True
        for pair in self._pairs:
            if not any(mover.sleep is None for mover in pair):
                continue
            wanted = [_share_of([mover.flows_kg[end] if mover.sleep is None else 0.0 for mover in pair])
                      for end in (0, 1)]
            for at, mover in enumerate(pair):
                share = (wanted[0][at], wanted[1][at])
                moved = max(abs(new - old) for new, old in zip(share, mover.share, strict=True))
                settled = settled and moved < CLOSE_SHARE
                if damped:
                    share = (share[0] + mover.share[0]) / 2, (share[1] + mover.share[1]) / 2
                mover.share = share
        return settled

    def _moment(self, by: tuple[tuple[int, float], ...]) -> Moment:
        nodes = tuple(self.cells.node_pa(at) for at in range(self.cells.count))
        return Moment(self.now_s, nodes, self.tank.pressure_pa, by)


def _nearer(guesses: Sequence[tuple[Sequence[float], Sequence[float]]]) -> list[float]:
    """The next guess from the last two and what came of them: where the line through both meets itself (secant)."""
    (old, came), (new, comes) = guesses[-2:]
    found = []
    for one, two, three, four in zip(old, came, new, comes, strict=True):
        slope = (four - two) / (three - one) if abs(three - one) > 1e-6 * three else 0.0
        slope = min(max(slope, -4.0), 0.5)
        found.append(three + (four - three) / (1 - slope))
    return found


def _share_of(flows: list[float]) -> list[float]:
    """Parts of a valve by what came through each, none below the least; even where nothing did."""
    size = [abs(flow) for flow in flows]
    whole = sum(size)
    if whole < 1e-9:
        return [1 / len(flows)] * len(flows)
    held = [max(one / whole, LEAST_SHARE) for one in size]
    return [one / sum(held) for one in held]


def _sharers(movers: Sequence[Mover]) -> list[list[Mover]]:
    groups: dict[str, list[Mover]] = {}
    for mover in movers:
        if mover.prop.valve is not None:
            groups.setdefault(mover.prop.valve, []).append(mover)
    shared = [group for group in groups.values() if len(group) > 1]
    for group in shared:
        for mover in group:
            mover.share = (1 / len(group), 1 / len(group))
    return shared


def _check(props: Sequence[PropAir], supply: SupplyAir, nozzles: Sequence[NozzleAir]) -> None:
    faults = list(faults_of_supply(supply))
    for prop in props:
        faults += [f"{prop.name}: {fault}" for fault in faults_of(prop.cylinder)]
    faults += [f"{one.name} is on no node of the supply" for one in (*props, *nozzles)
               if not 0 <= one.node < len(supply.nodes)]
    if faults:
        raise ValueError("; ".join(faults))
