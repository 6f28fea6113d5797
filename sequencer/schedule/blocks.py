"""What nests in a cue line -> laid out: repeats, `pick one`, `if`, `every nth run`.

Each block begins on a whole tick. The rounds of a repeat run the same steps, so a landing in one is given the lead
that serves every round; its moments are those of the first and of the second round.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from sequencer.schedule import faults
from sequencer.schedule.body import Body
from sequencer.schedule.laid import Laid, Setting, Takes, line_later, moment_later
from sequencer.schedule.nodes import Choose, Framed, Loop, Node, Pick, Wait
from sequencer.schedule.plan import US_PER_TICK, Line, Moment, ticks_of
from sequencer.schedule.rules import LONGEST_TIME_US, MOST_ROUNDS
from sequencer.schedule.standing import State, join
from sequencer.show.model import Branch, Cue, IfSensor, NthRun, PickOne, Repeat

DRIFT_US = 2_000
"""From here on a period that is no whole number of ticks is worth a word: two ticks are where a beat is heard."""
MOST_TRIALS = 6
"""Places a cylinder may set out from only grow from trial to trial, and there are few; two or three do."""


def lay_block(setting: Setting, cue: Cue, state: State) -> Laid:
    """Lays out the block of a cue line; `state` counts from its start."""
    match cue.block:
        case Repeat() as repeat:
            return _repeat(setting, cue, repeat, state)
        case PickOne() as pick:
            return _pick(setting, cue, pick, state)
        case Branch() as branch:
            return _branch(setting, cue, branch, state)
    raise AssertionError("a block that is none of the three")


def bodies(cue: Cue) -> tuple[tuple[Cue, ...], ...]:
    """The lines that nest in a line, block by block."""
    match cue.block:
        case Repeat(body=body):
            return (body,)
        case PickOne(arms=arms):
            return tuple(arm.body for arm in arms)
        case Branch(yes=yes, no=no):
            return yes, no
    return ()


# Repeats


def _repeat(setting: Setting, cue: Cue, repeat: Repeat, state: State) -> Laid:
    if repeat.times == 1 and repeat.every_us is None:
        return _once(setting, cue, repeat, state)
    _check_repeat(setting, cue, repeat)
    trial = setting.quiet()
    first = every = second = _round(trial, cue, repeat, state)
    entry = join([state, first.state])
    if entry != state:
        every, trial = _every_round(setting, cue, repeat, entry)
        second = _round(setting.quiet(), cue, repeat, first.state)
        if first.nodes != every.nodes or second.nodes != every.nodes:
            first = second = every
    setting.findings.extend(trial.findings)
    takes, node = _rounds(setting, cue, repeat, every)
    moments, lines = _both_rounds(repeat, first, second, every.takes)
    return Laid((node,), takes, every.state, every.pending, moments, lines, False)


def _once(setting: Setting, cue: Cue, repeat: Repeat, state: State) -> Laid:
    """A repeat of one round, which is how a gesture is written in: its lines and nothing more."""
    side = _side(setting, state, repeat.body)
    return replace(side, nodes=_own_frame(side, cue), framed=False)


def _every_round(setting: Setting, cue: Cue, repeat: Repeat, entry: State) -> tuple[Laid, Setting]:
    """The round that serves every entry that the rounds before it can leave; and the findings of it."""
    for _ in range(MOST_TRIALS):
        trial = setting.quiet()
        every = _round(trial, cue, repeat, entry)
        wider = join([entry, every.state])
        if wider == entry:
            break
        entry = wider
    return every, trial


def _round(setting: Setting, cue: Cue, repeat: Repeat, state: State) -> Laid:
    body = Body(setting, state, lay_block)
    body.lay(repeat.body)
    if repeat.every_us is None:
        body.track.wait_out()
        return body.laid()
    takes = body.track.takes()
    period = max(ticks_of(repeat.every_us), 1) * US_PER_TICK
    if takes.hi > period:
        setting.findings.append(faults.short_period(cue, repeat.every_us, takes.hi, takes.why))
        period = takes.hi
    body.track.until(period)
    return body.laid()


def _check_repeat(setting: Setting, cue: Cue, repeat: Repeat) -> None:
    for what, us in (("a repeat", repeat.for_us), ("a bound", repeat.bound_us), ("a period", repeat.every_us)):
        if us is not None and us > LONGEST_TIME_US:
            setting.findings.append(faults.too_long(cue, what, us))
    if repeat.times is not None and repeat.times > MOST_ROUNDS:
        setting.findings.append(faults.too_many_rounds(cue, repeat.times))
    if repeat.until is not None and not repeat.bound_us:
        name = repeat.until.sensor
        setting.findings.append(faults.no_bound(cue, name, f"`repeat until {name}`"))
    if repeat.every_us is not None:
        drift = abs(repeat.every_us - ticks_of(repeat.every_us) * US_PER_TICK)
        rounds = repeat.times or (repeat.for_us or repeat.bound_us or 0) // max(repeat.every_us, 1)
        if drift * rounds >= DRIFT_US:
            setting.findings.append(faults.uneven_period(cue, repeat.every_us, drift * rounds))


def _rounds(setting: Setting, cue: Cue, repeat: Repeat, every: Laid) -> tuple[Takes, Loop]:
    """How long all rounds take, and the loop."""
    lo, hi, nodes = every.takes.lo, every.takes.hi, every.nodes
    if lo < US_PER_TICK:
        setting.findings.append(faults.no_length(cue, every.takes.why if hi else ()))
        nodes = (*nodes, Wait(1, cue))
        lo, hi = lo + US_PER_TICK, hi + US_PER_TICK
    if repeat.times is not None:
        times = min(max(repeat.times, 1), MOST_ROUNDS)
        return Takes(lo * times, hi * times, every.takes.why), Loop(nodes, cue, times=times)
    asked = repeat.for_us if repeat.for_us is not None else repeat.bound_us
    bound = max(ticks_of(min(asked or 0, LONGEST_TIME_US)), 1)
    bound_us = bound * US_PER_TICK
    last = -(-bound_us // hi) * hi if lo == hi else bound_us - US_PER_TICK + hi
    if repeat.for_us is not None:
        return Takes(last if lo == hi else max(lo, bound_us), last, every.takes.why), Loop(
            nodes, cue, for_ticks=bound)
    assert repeat.until is not None
    why = f"when {repeat.until.sensor} never {'trips' if repeat.until.trips else 'clears'}"
    return Takes(lo, last, (*every.takes.why, why)), Loop(nodes, cue, until=repeat.until, bound=bound)


def _both_rounds(
    repeat: Repeat, first: Laid, second: Laid, takes: Takes
) -> tuple[tuple[Moment, ...], tuple[Line, ...]]:
    if repeat.times == 1:
        return first.moments, first.lines
    by = (takes.lo, takes.hi)
    return (
        first.moments + tuple(moment_later(one, by, again=True) for one in second.moments),
        first.lines + tuple(line_later(one, by, again=True) for one in second.lines),
    )


# Choices


def _pick(setting: Setting, cue: Cue, pick: PickOne, state: State) -> Laid:
    total = sum(arm.weight for arm in pick.arms)
    words = tuple(
        f"if `pick one` in line {cue.span.line} draws arm {number}, {arm.weight} of {total}"
        for number, arm in enumerate(pick.arms, 1)
    )
    sides = [_side(setting, state, arm.body) for arm in pick.arms]
    arms = tuple((arm.weight, _own_frame(side, cue)) for arm, side in zip(pick.arms, sides, strict=True))
    return _chosen(Pick(arms, cue), sides, words)


def _branch(setting: Setting, cue: Cue, branch: Branch, state: State) -> Laid:
    match branch.test:
        case IfSensor(sensor=sensor, tripped=tripped):
            words = tuple(f"if {sensor} is {'tripped' if side == tripped else 'clear'}" for side in (True, False))
        case NthRun(n=n):
            words = (f"on every run {n}", f"on runs other than every run {n}")
    sides = [_side(setting, state, body) for body in (branch.yes, branch.no)]
    node = Choose(branch.test, _own_frame(sides[0], cue), _own_frame(sides[1], cue), cue)
    return _chosen(node, sides, words)


def _side(setting: Setting, state: State, cues: tuple[Cue, ...]) -> Laid:
    body = Body(setting, state, lay_block)
    body.lay(cues)
    return body.laid()


def _own_frame(side: Laid, cue: Cue) -> tuple[Node, ...]:
    return (Framed(side.nodes, cue),) if side.framed else side.nodes


def _chosen(node: Node, sides: Sequence[Laid], words: Sequence[str]) -> Laid:
    """One of several: all that may be, and by which path."""
    longest = max(range(len(sides)), key=lambda i: sides[i].takes.hi)
    lo = min(side.takes.lo for side in sides)
    hi = sides[longest].takes.hi
    why = () if lo == hi else (words[longest], *sides[longest].takes.why)
    return Laid(
        (node,), Takes(lo, hi, why), join([side.state for side in sides]),
        _longest_of(sides),
        tuple(moment_later(one, (0, 0), (word,)) for side, word in zip(sides, words, strict=True)
              for one in side.moments),
        tuple(line_later(one, (0, 0), (word,)) for side, word in zip(sides, words, strict=True)
              for one in side.lines),
        False,
    )


def _longest_of(sides: Sequence[Laid]) -> dict[object, int]:
    longest: dict[object, int] = {}
    for side in sides:
        for what, us in side.pending.items():
            longest[what] = max(us, longest.get(what, 0))
    return longest
