"""One running routine: its due time, its frames, and the rule of every step.

A rule is a function of the world and the run; it moves `due` and `at`, and says whether the run may go on in
this tick. What a start, a stop or a write then does is the world's.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

from sequencer.steps.effects import Effect, Fade, Flash, Flicker, Pulse
from sequencer.steps.events import FaultCode
from sequencer.steps.outputs import Write, hold
from sequencer.steps.program import ON, Clip, Step
from sequencer.steps.random32 import Random32

Taken = tuple[int, int, int]
"""Tick, routine, and place of a step that was taken, or, of one that waits for an input, looked at."""


class World(Protocol):
    """What steps act on."""

    tick: int
    draws: Random32
    clips: tuple[Clip, ...]
    trail: list[Taken] | None

    def tripped(self, index: int) -> bool:
        """The settled state of an input."""

    def write(self, run: Run, output: int, write: Write) -> None:
        """The run writes an output, which is then its own."""

    def start_by_step(self, run: Run, routine: int) -> None:
        """The run asks to start a routine."""

    def stop_by_step(self, routine: int) -> None:
        """A run kills a routine."""

    def finish(self, run: Run) -> None:
        """The run has come to its end."""

    def fault(self, code: FaultCode, subject: int) -> None:
        """Something to log."""


@dataclass(slots=True)
class Frame:
    """A block: `until` counts from its `base`. A loop goes back to `back` while rounds are `left`, or, where
    it is bound by time, until `deadline` or until its input is in its state."""

    base: int
    back: int = -1
    left: int = 0
    deadline: int | None = None
    ends_when: tuple[int, int] | None = None


@dataclass(slots=True)
class Run:
    """A routine at work. `at` is its next step, `due` the tick from which that step's time counts, `number`
    which run it is since arming, `wake` the next tick in which it has something to do by itself."""

    routine: int
    rank: int
    idle: bool
    steps: tuple[Step, ...]
    due: int
    number: int
    at: int = 0
    frames: list[Frame] = field(default_factory=list)
    alive: bool = True
    ran: bool = False
    awaits: bool = False
    wake: int = 0

    def __post_init__(self) -> None:
        self.frames.append(Frame(self.due))
        self.wake = self.due

    def at_end(self, tick: int) -> bool:
        """Whether all that is left to do, and due, is to end."""
        return self.due <= tick and self.steps[self.at].op == "end"


def run_steps(world: World, run: Run, most: int) -> None:
    """Takes every step that is due in this tick."""
    tick, taken, trail = world.tick, 0, world.trail
    run.awaits = False
    while run.alive and run.due <= tick:
        made = run.steps[run.at]
        if trail is not None:
            trail.append((tick, run.routine, run.at))
        taken += 1
        assert taken <= most, "a verified program takes no more steps in a tick than it may"
        if not _RULES[made.op](world, run, made.args):
            return
    run.wake = run.due


Rule = Callable[[World, Run, tuple[int, ...]], bool]


def _end(world: World, run: Run, args: tuple[int, ...]) -> bool:
    world.finish(run)
    return False


def _set(world: World, run: Run, args: tuple[int, ...]) -> bool:
    return _write(world, run, args[0], hold(ON if args[1] else 0))


def _level(world: World, run: Run, args: tuple[int, ...]) -> bool:
    return _write(world, run, args[0], hold(args[1]))


def _silence(world: World, run: Run, args: tuple[int, ...]) -> bool:
    return _write(world, run, args[0], hold(0))


def _fade(world: World, run: Run, args: tuple[int, ...]) -> bool:
    output, level, ticks = args

    def made(tick: int, was: int) -> Effect:
        return Fade(was, level, tick, tick + ticks)

    return _write(world, run, output, Write(made))


def _fade_then(world: World, run: Run, args: tuple[int, ...]) -> bool:
    _fade(world, run, args)
    run.due += args[2]
    return True


def _pulse(world: World, run: Run, args: tuple[int, ...]) -> bool:
    output, ticks = args
    return _write(world, run, output, Write(lambda tick, was: Pulse(ON, tick + ticks)))


def _flash(world: World, run: Run, args: tuple[int, ...]) -> bool:
    output, half, ticks = args
    return _write(world, run, output, Write(lambda tick, was: Flash(half, tick + ticks, tick)))


def _flicker(world: World, run: Run, args: tuple[int, ...]) -> bool:
    output, lo, hi, ticks = args
    return _write(world, run, output, Write(lambda tick, was: Flicker(lo, hi, tick + ticks, tick)))


def _play(world: World, run: Run, args: tuple[int, ...]) -> bool:
    number = args[0]
    clip = world.clips[number]
    return _write(
        world, run, clip.output, Write(lambda tick, was: Pulse(ON, tick + clip.length, clip=number))
    )


def _write(world: World, run: Run, output: int, write: Write) -> bool:
    world.write(run, output, write)
    return _go_on(run)


def _go_on(run: Run, skip: int = 0) -> bool:
    run.at += 1 + skip
    return True


def _wait(world: World, run: Run, args: tuple[int, ...]) -> bool:
    run.due += args[0]
    return _go_on(run)


def _wait_random(world: World, run: Run, args: tuple[int, ...]) -> bool:
    run.due += args[0] + world.draws.below(args[1] + 1)
    return _go_on(run)


def _until(world: World, run: Run, args: tuple[int, ...]) -> bool:
    run.due = max(run.due, run.frames[-1].base + args[0])
    return _go_on(run)


def _await_input(world: World, run: Run, args: tuple[int, ...]) -> bool:
    return _await(world, run, args, logs=False)


def _await_end(world: World, run: Run, args: tuple[int, ...]) -> bool:
    return _await(world, run, args, logs=True)


def _await(world: World, run: Run, args: tuple[int, ...], logs: bool) -> bool:
    index, wanted, bound = args
    if world.tripped(index) == bool(wanted):
        run.due = world.tick
    elif world.tick >= run.due + bound:
        run.due += bound
        if logs:
            world.fault(FaultCode.END_NOT_REACHED, index)
    else:
        run.awaits, run.wake = True, run.due + bound
        return False
    return _go_on(run)


def _start(world: World, run: Run, args: tuple[int, ...]) -> bool:
    _go_on(run)
    world.start_by_step(run, args[0])
    return True


def _stop(world: World, run: Run, args: tuple[int, ...]) -> bool:
    _go_on(run)
    world.stop_by_step(args[0])
    return True


def _repeat(world: World, run: Run, args: tuple[int, ...]) -> bool:
    return _open(run, Frame(run.due, run.at + 1, left=args[0]))


def _repeat_for(world: World, run: Run, args: tuple[int, ...]) -> bool:
    return _open(run, Frame(run.due, run.at + 1, deadline=run.due + args[0]))


def _repeat_until(world: World, run: Run, args: tuple[int, ...]) -> bool:
    index, wanted, bound = args
    return _open(run, Frame(run.due, run.at + 1, deadline=run.due + bound, ends_when=(index, wanted)))


def _mark(world: World, run: Run, args: tuple[int, ...]) -> bool:
    return _open(run, Frame(run.due))


def _open(run: Run, frame: Frame) -> bool:
    run.frames.append(frame)
    return _go_on(run)


def _unmark(world: World, run: Run, args: tuple[int, ...]) -> bool:
    run.frames.pop()
    return _go_on(run)


def _again(world: World, run: Run, args: tuple[int, ...]) -> bool:
    frame = run.frames[-1]
    if _is_over(world, run, frame):
        run.frames.pop()
        return _go_on(run)
    frame.base = run.due
    run.at = frame.back
    return True


def _is_over(world: World, run: Run, frame: Frame) -> bool:
    if frame.deadline is None:
        frame.left -= 1
        return frame.left <= 0
    if run.due >= frame.deadline:
        return True
    return frame.ends_when is not None and world.tripped(frame.ends_when[0]) == bool(frame.ends_when[1])


def _chance(world: World, run: Run, args: tuple[int, ...]) -> bool:
    k, of, skip = args
    return _go_on(run, 0 if world.draws.below(of) < k else skip)


def _skip_unless(world: World, run: Run, args: tuple[int, ...]) -> bool:
    index, wanted, skip = args
    return _go_on(run, 0 if world.tripped(index) == bool(wanted) else skip)


def _skip_but_nth(world: World, run: Run, args: tuple[int, ...]) -> bool:
    n, skip = args
    return _go_on(run, 0 if run.number % n == 0 else skip)


def _jump(world: World, run: Run, args: tuple[int, ...]) -> bool:
    return _go_on(run, args[0])


_RULES: dict[str, Rule] = {
    "end": _end,
    "set": _set,
    "wait": _wait,
    "until": _until,
    "wait_random": _wait_random,
    "await_input": _await_input,
    "await_end": _await_end,
    "level": _level,
    "fade": _fade,
    "fade_then": _fade_then,
    "pulse": _pulse,
    "flash": _flash,
    "flicker": _flicker,
    "play": _play,
    "silence": _silence,
    "start": _start,
    "stop": _stop,
    "repeat": _repeat,
    "repeat_for": _repeat_for,
    "repeat_until": _repeat_until,
    "again": _again,
    "chance": _chance,
    "skip_unless": _skip_unless,
    "skip_but_nth": _skip_but_nth,
    "jump": _jump,
    "mark": _mark,
    "unmark": _unmark,
}
