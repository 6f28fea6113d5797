"""What each form of a step costs on a board, in cycles: of the step itself, and of what its output does with it."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.steps.costs import StepCosts
from sequencer.steps.encode import step_bytes
from sequencer.steps.table import BY_FIRST_BYTE, LOOPS, WRITERS, step
from tests.firmware.bench.meter import GO, MET, Line, Meter

TIMES = (50, 51, 40_000, 3_000_000)
COUNTS = (1, 200, 20_000, 3_000_000)
SKIPS = (1, 130)


def measured_steps(meter: Meter) -> tuple[tuple[int, StepCosts], ...]:
    """By the first byte of a form, by its bytes in all: the most that any of its arguments costs."""
    bare = meter.at_go(MET)
    found: dict[int, dict[int, tuple[int, int]]] = {}
    for line in _lines(meter):
        form, count = _form(line)
        own, wish = _cost(meter, line, bare)
        was = found.setdefault(form, {}).get(count, (0, 0))
        found[form][count] = (max(was[0], own), max(was[1], wish))
    return tuple(
        (form, tuple((count, *cost) for count, cost in sorted(by_bytes.items())))
        for form, by_bytes in sorted(found.items())
    )


def _form(line: Line) -> tuple[int, int]:
    """The first byte of the line's form with its low bits clear, and its bytes."""
    op, *args = line
    made = step(str(op), *map(int, args))
    distance = args[-1] if op in _SKIPPERS else 0
    data = step_bytes(made, int(distance))
    return BY_FIRST_BYTE[data[0]][1].base, len(data)


_SKIPPERS = {"chance", "skip_unless", "skip_but_nth", "jump"}


def _lines(meter: Meter) -> Iterator[Line]:
    """Every step but again, unmark and end, in every length, going on and skipping."""
    for ticks in TIMES:
        yield "wait", ticks
        yield "until", ticks
        yield "wait_random", ticks, ticks
        yield "repeat_for", ticks
        yield "repeat_until", 1, 1, ticks
        for wanted in (0, 1):
            yield "await_input", 1, wanted, ticks
            yield "await_end", 1, wanted, ticks
    yield from (("wait", ticks) for ticks in (100, 1000))
    yield from (("repeat", count) for count in COUNTS)
    for skip in SKIPS:
        yield "jump", skip
        yield from (("chance", k, of, skip) for k, of in ((1, 1), (1, 16), (200, 200), (1, 200)))
        yield from (("skip_unless", 1, wanted, skip) for wanted in (0, 1))
        yield from (("skip_but_nth", n, skip) for n in (1, 200))
    yield from (("mark",), ("start", 1), ("stop", 1), ("play", 0))
    for output in meter.ends:
        yield from _writes(output, meter.profile.outputs[output].fades)


def _writes(output: int, fades: bool) -> Iterator[Line]:
    yield "set", output, 0
    yield "set", output, 1
    yield "silence", output
    for ticks in TIMES:
        yield "pulse", output, ticks
        yield "flash", output, ticks, ticks
    if fades:
        yield "level", output, 120
        for ticks in TIMES:
            yield from (("fade", output, level, ticks) for level in (0, 200))
            yield from (("fade_then", output, level, ticks) for level in (0, 200))
            yield "flicker", output, 10, 200, ticks


def _cost(meter: Meter, line: Line, bare: int) -> tuple[int, int]:
    op = str(line[0])
    if op in WRITERS or op == "play":
        return _write_cost(meter, line, bare)
    if op == "jump":  # what it passes over must be reached in some way
        way = ("skip_but_nth", 1, 1)
        return max(0, meter.at_go(way, line, *[MET] * int(line[-1]), MET) - meter.at_go(way, MET, MET)), 0
    if op in _SKIPPERS:
        there = meter.at_go(line, *[MET] * int(line[-1]), MET)
    elif op in LOOPS:
        there = meter.at_go(line, MET, ("again",))
    elif op in ("wait", "until", "wait_random"):
        there = meter.at_go(line)
    elif op.startswith("await") and line[2] == 1:  # never so: looked at, and over when the bound has come
        over = meter.at_go((op, 1, 1, 2), MET, tick=GO + 2)
        there = max(meter.at_go(line, MET), over)
    elif op == "mark":
        there = meter.at_go(line, MET, ("unmark",))
    else:
        there = meter.at_go(line, MET)
    return max(0, there - bare), 0


def _write_cost(meter: Meter, line: Line, bare: int) -> tuple[int, int]:
    """Once, and twice to the same output, whose second wish takes the place of the first."""
    output = int(line[1]) if line[0] != "play" else 0
    waits = line[0] == "fade_then"
    own = whole = 0
    fading = [("fade", output, 255, 4_000)] if meter.rows()[output].fades else []
    lit = meter.at_go(MET, before=[("set", output, 1)])
    for before, nothing in (([], bare), ([("set", output, 1)], lit), (fading, lit if fading else bare)):
        once = meter.at_go(*([line] if waits else [line, MET]), before=before) - nothing
        whole = max(whole, once)
        if not waits:
            own = max(own, meter.at_go(line, line, MET, before=before) - nothing - once)
    return (whole, 0) if waits else (max(0, own), max(0, whole - own))


def measured_closings(meter: Meter) -> dict[str, int]:
    """The steps that close a block: an again that goes back or not, and an unmark; a run beside its steps."""
    def bare(after: int) -> int:
        """A run that takes one wait, so many ticks after GO: outputs cost more in every other one."""
        return meter.at_go(("wait", after), MET, tick=GO + after) if after else meter.at_go(MET)

    again = 0
    for loop in (("repeat", 3), ("repeat_for", 3), ("repeat_until", 1, 1, 3)):
        for after in (1, 2, 3):
            again = max(again, meter.at_go(loop, ("wait", 1), ("again",), MET, tick=GO + after) - bare(after))
    unmark = meter.at_go(("mark",), ("wait", 1), ("unmark",), MET, tick=GO + 1) - bare(1)
    at_rest = meter.at_go(MET, tick=GO - 2)
    return {"again": again, "unmark": max(0, unmark), "run": max(0, bare(0) - at_rest)}
