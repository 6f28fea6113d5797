"""The cue language read a second time, naively, for shows without chance: what is written when, line by line.

It walks the checked show in absolute microseconds and knows nothing of anchors, segments or step tables, so that
it can contradict the schedule. Random scripts for it, and for laws about chance, are made here too.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from hypothesis import strategies as st

from sequencer.air.request import Told
from sequencer.air.stroke import Stroke, predict_stroke
from sequencer.rig.drive import Fade, Motion, Play, Pulse, SetLevel
from sequencer.rig.valve import coils
from sequencer.schedule.supply import request_for
from sequencer.show.model import After, At, Cue, Repeat, Show
from tests.schedule.yard import CLIPS

PINS = {"shove": "out1", "kick": "out2", "kick back": "out3", "a": "out6", "b": "out7", "c": "out8", "glow": "pwm0",
        "mist": "out9", "horn bell": "out10"}


@dataclass
class Oracle:
    """`writes` are (time, order, pin, level, lasts) with times in microseconds; `lasts` 0: until written again."""

    show: Show
    told: dict[str, list[tuple[int, str]]] = field(default_factory=dict)
    writes: list[tuple[int, int, str, int, int]] = field(default_factory=list)
    ends: dict[object, int] = field(default_factory=dict)

    def block(self, cues: tuple[Cue, ...], start: int) -> int:
        """Plays the lines from `start`; returns when the last one is done."""
        line, ended, done = start, start, start
        for cue in cues:
            match cue.when:
                case At(us=us):
                    line = start + us
                case After(least_us=least, then=then):
                    line = (ended if then else line) + least
            if isinstance(cue.block, Repeat):
                outer, self.ends = self.ends, {}
                done = self.repeat(cue.block, line)
                ended = max([done, *self.ends.values()])
                self.ends = {what: max(outer.get(what, 0), self.ends.get(what, 0)) for what in (*outer, *self.ends)}
            else:
                ended = max([line, *(self.drive(drive, line) for action in cue.actions for drive in action.drives)])
                done = max(done, line)
        return max(done, line)

    def repeat(self, repeat: Repeat, start: int) -> int:
        """What is waited for after a round is what the lines of that round started."""
        assert repeat.times is not None
        for _ in range(repeat.times):
            self.ends = {}
            done = self.block(repeat.body, start)
            if repeat.times == 1 and not repeat.every_us:
                return done
            start = start + repeat.every_us if repeat.every_us else max([done, *self.ends.values()])
        return start

    def drive(self, drive: object, line: int) -> int:
        """Does one thing; returns when it has ended."""
        match drive:
            case SetLevel(pin=pin, level=level):
                self.put(line, pin.pin, round(level * 255), 0)
                return self.until(pin, line)
            case Fade(pin=pin, over_us=over):
                return self.until(pin, line + over)
            case Pulse(pin=pin, for_us=lasts):
                self.put(line, pin.pin, 255, lasts)
                return self.until(pin, line + lasts)
            case Play(speaker=speaker, clip=clip):
                self.put(line, "out10", 255, CLIPS[(speaker, clip)])
                return self.until(speaker, line + CLIPS[(speaker, clip)])
            case Motion():
                return self.motion(drive, line)
        raise AssertionError(drive)

    def motion(self, motion: Motion, line: int) -> int:
        at = line
        if motion.lands:
            for _ in range(8):
                at = line - self.stroke(motion, at).arrival_us(1.0 if motion.toward == "out" else 0.0)
        stroke = self.stroke(motion, at)
        self.told.setdefault(motion.cylinder, []).append((at, motion.toward))
        valve = self.show.parts[self.show.parts[motion.cylinder].part.valve].part
        for command in coils(valve, motion.toward):
            if isinstance(command, Pulse):
                self.put(at, command.pin.pin, 255, command.for_us)
                self.until(command.pin, at + command.for_us)
            else:
                self.put(at, command.pin.pin, round(command.level * 255), 0)
        arrives = at + stroke.slowest_us
        self.until(motion.cylinder, arrives)
        return max(arrives, line)

    def stroke(self, motion: Motion, at: int) -> Stroke:
        """The motion from wherever its earlier commands have brought the cylinder by then; it began at home."""
        told = self.told.get(motion.cylinder, [])
        for number in range(len(told), -1, -1):
            place = 0.0 if number == 0 or told[number - 1][1] == "home" else 1.0
            # Everything before a command that had settled when the next one came counts for nothing.
            until = told[number][0] if number < len(told) else at
            if number == 0 or until - told[number - 1][0] >= self.settled(motion.cylinder, told[:number]):
                return self.asked(motion.cylinder, place, told[number:], motion.toward, at)
        raise AssertionError(told)

    def settled(self, cylinder: str, told: list[tuple[int, str]]) -> int:
        """How long after the last of these commands all has settled."""
        (at, toward), before = told[-1], told[:-1]
        for number in range(len(before), -1, -1):
            place = 0.0 if number == 0 or before[number - 1][1] == "home" else 1.0
            until = before[number][0] if number < len(before) else at
            if number == 0 or until - before[number - 1][0] >= self.settled(cylinder, before[:number]):
                return self.asked(cylinder, place, before[number:], toward, at).settled_us
        raise AssertionError(told)

    def asked(self, cylinder: str, place: float, told: list[tuple[int, str]], toward: str, at: int) -> Stroke:
        request = request_for(self.show.parts, cylinder, place, toward, tuple(Told(at - us, way) for us, way in told))
        return predict_stroke(request)

    def until(self, what: object, us: int) -> int:
        self.ends[what] = us
        return us

    def put(self, at: int, pin: str, level: int, lasts: int) -> None:
        self.writes.append((at, len(self.writes), pin, level, lasts))

    def edges(self, pin: str) -> list[tuple[int, int]]:
        """The edges of a plain output in ticks, from its writes; the newest of a tick counts."""
        ticked = sorted((tick(at), order, level, tick(lasts)) for at, order, where, level, lasts in self.writes
                        if where == pin)
        changes: dict[int, int] = {}
        off: int | None = None
        for at, _, level, lasts in ticked:
            if off is not None and off <= at:
                changes[off] = 0
            changes[at] = level
            off = at + lasts if lasts else None
        if off is not None:
            changes[off] = 0
        found, was = [], 0
        for at, level in sorted(changes.items()):
            if level != was:
                found.append((at, level))
            was = level
        return found


def tick(us: int) -> int:
    return (us + 500) // 1000


# Random scripts

LAMP_ACTIONS = st.sampled_from([
    "a on", "a off", "b on", "b off", "c on", "c off", "a on, b off", "mist runs for 70 ms", "glow to 30 % over 90 ms",
    "horn plays bell",
])
MOVES = {"ram": ("extends", "retracts"), "lever": ("extends", "retracts")}


@st.composite
def lamp_lines(draw: st.DrawFn, most: int = 4) -> list[str]:
    lines = []
    for _ in range(draw(st.integers(1, most))):
        when = draw(st.sampled_from(["+", "then", "then +"]))
        gap = draw(st.integers(0, 400))
        time = "then" if when == "then" else f"{when}{gap} ms"
        lines.append(f"{time}: {draw(LAMP_ACTIONS)}")
    return lines


@st.composite
def at_lines(draw: st.DrawFn, index: int) -> list[str]:
    """Times since the start of the block, late enough for what may stand above; some valves open before a line."""
    start = index * 40 + 12
    landing = [f"{start + 0.1:g} s: lever lands out", f"{start + 1:g} s: c on", f"{start + 1.2:g} s: lever lands home"]
    return [f"{start} s: {draw(LAMP_ACTIONS)}", *draw(st.sampled_from([[], landing]))]


@st.composite
def move_lines(draw: st.DrawFn) -> list[str]:
    """A cylinder goes out and home again, in one of several ways that leave it time enough.

    So much of it that a landing home finds all settled: else its lead hangs on itself, and this reads naively.
    """
    who = draw(st.sampled_from(sorted(MOVES)))
    gap = draw(st.integers(1_600, 2_500))
    out = draw(st.sampled_from([f"+{gap} ms: {who} lands out", f"+{gap} ms: {who} extends"]))
    home = draw(st.sampled_from([f"+{gap} ms: {who} lands home", f"+{gap} ms: {who} retracts",
                                 f"then: {who} retracts", f"then +{gap} ms: {who} lands home"]))
    extra = draw(st.sampled_from([[], ["then: a on"], ["+100 ms: b on"]]))
    return [out, home, *extra, "+1500 ms: c off"]


@st.composite
def sure_scripts(draw: st.DrawFn, depth: int = 2) -> list[str]:
    """Lines without chance: lamps, motions and repeats within repeats."""
    lines: list[str] = []
    for index in range(draw(st.integers(1, 4))):
        kind = draw(st.sampled_from(["at", "lamps", "moves", *(["repeat"] if depth else [])]))
        if kind == "at":
            lines += draw(at_lines(index))
        elif kind == "lamps":
            lines += draw(lamp_lines())
        elif kind == "moves":
            lines += draw(move_lines())
        else:
            times = draw(st.integers(1, 4))
            every = draw(st.sampled_from(["", " every 9 s", " every 30 s"]))
            lines.append(f"then: repeat {times} times{every}:")
            lines += ["    " + line for line in draw(sure_scripts(depth=depth - 1))]
            lines.append("then +50 ms: a off")
    return lines


@st.composite
def chance_scripts(draw: st.DrawFn, depth: int = 2) -> list[str]:
    """Lines with random waits, sensors and choices; every repeat has two rounds at most."""
    lines: list[str] = []
    for index in range(draw(st.integers(1, 3))):
        kinds = ["at", "lamps", "moves", "wait", "when"] + (["if", "pick", "nth", "repeat", "until"] if depth else [])
        kind = draw(st.sampled_from(kinds))
        inner = []
        if kind in ("if", "pick", "nth", "repeat", "until"):
            inner = ["    " + line for line in draw(chance_scripts(depth=depth - 1))]
        match kind:
            case "at":
                lines += draw(at_lines(index))
            case "lamps":
                lines += draw(lamp_lines())
            case "moves":
                lines += draw(move_lines())
            case "wait":
                least = draw(st.integers(0, 500))
                lines.append(f"+{least} ms to {least + draw(st.integers(0, 900))} ms: a on")
            case "when":
                lines.append(f"when mat {draw(st.sampled_from(['trips', 'clears']))}, "
                             f"or after {draw(st.integers(1, 700))} ms: b on")
            case "if":
                lines += ["then: if mat tripped:", *inner, "otherwise:", "    0 s: c on"]
            case "pick":
                lines += ["then: pick one:", "    1 of 3:", *("    " + line for line in inner), "    2 of 3: b off"]
            case "nth":
                lines += ["then: every 2nd run:", *inner, "otherwise:", "    +20 ms: c on"]
            case "repeat":
                lines += ["then: repeat 2 times:", *inner, "    then +30 ms: b on"]
            case "until":
                lines += ["then: repeat until mat trips, at most 1 ms every 40 s:", *inner]
        lines.append("then +40 ms: a off")
    return lines


