"""The instruction table: one row for each step, from which codec, checks, listing, document and random
programs derive.

A row says the name, the fields with their least and most, what the step does, its listing line, and the forms in
which it is written: one of its own with every field behind its code, and short ones for what shows say most.
A new step is one row here, and its rule in `interpreter.py` (and its case in the board's C).
"""

from __future__ import annotations

from enum import Enum
from functools import lru_cache

from sequencer.frozen import frozen
from sequencer.steps.forms import Coding, Form, Low, Part
from sequencer.steps.program import Clip, Program, Step
from sequencer.steps.varint import VARINT_MOST

FADE_MOST = (1 << 24) - 1
"""The longest effect, in ticks (4.6 h): 255 times it fits 32 bits, so the board never divides 64 bits."""

INDEX_MOST = 63
"""Outputs and inputs are numbered in six bits."""


class Kind(Enum):
    """Which values a field takes, and how it is stored behind a code: (word, coding, least, most).

    An input and its wanted state share a byte.
    """

    OUTPUT = ("output", Coding.BYTE, 0, INDEX_MOST)
    INPUT = ("input", Coding.STATE, 0, INDEX_MOST)
    TRIPPED = ("wanted state", None, 0, 1)
    ON = ("on or off", None, 0, 1)
    LEVEL = ("level", Coding.BYTE, 0, 255)
    SMALL = ("number", Coding.BYTE, 1, 255)
    CLIP = ("clip", Coding.BYTE, 0, 254)
    ROUTINE = ("routine", Coding.BYTE, 0, 253)
    TICKS = ("ticks", Coding.TIME, 0, VARINT_MOST)
    SOME_TICKS = ("ticks", Coding.TIME, 1, VARINT_MOST)
    FADE_TICKS = ("ticks", Coding.TIME, 1, FADE_MOST)
    COUNT = ("count", Coding.NUMBER, 1, VARINT_MOST)
    SKIP = ("skip", Coding.NUMBER, 0, VARINT_MOST)

    def __init__(self, word: str, coding: Coding | None, least: int, most: int) -> None:
        self.word = word
        self.coding = coding
        self.least = least
        self.most = most


@frozen
class Field:
    """One argument of a step."""

    name: str
    kind: Kind
    doc: str


@frozen
class Row:
    """One step. `code` is the first byte of its own form, or None if it has only the `short` ones."""

    name: str
    code: int | None
    fields: tuple[Field, ...]
    does: str
    listing: str
    short: tuple[Form, ...] = ()

    def index(self, kind: Kind) -> int | None:
        """Which argument is the first of that kind, or None."""
        return next((i for i, field in enumerate(self.fields) if field.kind is kind), None)

    @property
    def forms(self) -> tuple[Form, ...]:
        """Every way to write the step, the short ones first."""
        return self.short if self.code is None else (*self.short, Form(self.code, self._parts()))

    def _parts(self) -> tuple[Part, ...]:
        parts: list[Part] = []
        for field in self.fields:
            if field.kind.coding is None:
                parts[-1] = (parts[-1][0], (*parts[-1][1], field.name))
            else:
                parts.append((field.kind.coding, (field.name,)))
        return tuple(parts)


_OUT = Field("output", Kind.OUTPUT, "which output")
_IN = Field("input", Kind.INPUT, "which input")
_STATE = Field("tripped", Kind.TRIPPED, "1: tripped is wanted, 0: clear")
_SKIP = Field("skip", Kind.SKIP, "steps to pass over")
_FADE = (_OUT, Field("level", Kind.LEVEL, "the level at the end"), Field("ticks", Kind.FADE_TICKS, "how long"))
_LOW_OUT = Low("output", 4)
_LEVEL_PART = (Coding.BYTE, ("level",))
_TICKS_PART = (Coding.TIME, ("ticks",))

ROWS: tuple[Row, ...] = (
    Row(
        "set",
        None,
        (_OUT, Field("on", Kind.ON, "1 on, 0 off")),
        "The output takes level 255 or 0.",
        "{output} {on}",
        (
            Form(0x80, low=Low("output", 6), fixed=(("on", 0),)),
            Form(0xC0, low=Low("output", 6), fixed=(("on", 1),)),
        ),
    ),
    Row(
        "wait",
        0x01,
        (Field("ticks", Kind.SOME_TICKS, "how long"),),
        "due = due + ticks.",
        "wait {ticks}",
        (
            Form(0x50, low=Low("ticks", 4, unit=100, least=100)),
            Form(0x40, ((Coding.BYTE, ("ticks",)),), Low("ticks", 4, unit=256)),
        ),
    ),
    Row(
        "end",
        0x00,
        (),
        "The routine ends; its outputs stay as they are. As the last step it takes no byte.",
        "end",
    ),
    Row(
        "until",
        0x02,
        (Field("ticks", Kind.TICKS, "time since the base of the innermost frame"),),
        "due = the later of due and base + ticks.",
        "until {ticks} since this block began",
    ),
    Row(
        "wait_random",
        0x03,
        (Field("lo", Kind.TICKS, "the least"), Field("span", Kind.TICKS, "added at most")),
        "due = due + lo + a draw below span + 1.",
        "wait {lo}, and up to {span} more at random",
    ),
    Row(
        "await_input",
        0x04,
        (_IN, _STATE, Field("bound", Kind.TICKS, "the longest wait")),
        "Goes on in the tick in which the input is in the state: due is that tick, or due + bound at most.",
        "wait until {input} is {tripped}, at most {bound}",
    ),
    Row(
        "await_end",
        0x05,
        (_IN, _STATE, Field("bound", Kind.TICKS, "the longest wait")),
        "As await_input, but to pass the bound is logged as the fault END_NOT_REACHED.",
        "wait until {input} is {tripped}, a fault after {bound}",
    ),
    Row(
        "level",
        0x06,
        (_OUT, Field("level", Kind.LEVEL, "the new level")),
        "The output takes the level.",
        "{output} to {level}",
    ),
    Row(
        "fade",
        0x07,
        _FADE,
        "The output goes from the level it has to the new one, evenly over the ticks.",
        "{output} to {level} over {ticks}",
        (
            Form(0x60, (_TICKS_PART,), _LOW_OUT, (("level", 0),)),
            Form(0x20, (_LEVEL_PART, _TICKS_PART), _LOW_OUT),
        ),
    ),
    Row(
        "fade_then",
        0x19,
        _FADE,
        "As fade, and due = due + ticks: a fade and the wait for it.",
        "{output} to {level} over {ticks}, and wait for it",
        (
            Form(0x70, (_TICKS_PART,), _LOW_OUT, (("level", 0),)),
            Form(0x30, (_LEVEL_PART, _TICKS_PART), _LOW_OUT),
        ),
    ),
    Row(
        "pulse",
        0x08,
        (_OUT, Field("ticks", Kind.FADE_TICKS, "how long it is on")),
        "The output is on (255) now and off that many ticks later; the routine goes on at once.",
        "{output} on for {ticks}",
    ),
    Row(
        "flash",
        0x09,
        (
            _OUT,
            Field("half", Kind.FADE_TICKS, "half a period"),
            Field("ticks", Kind.FADE_TICKS, "how long in all"),
        ),
        "On for half, off for half, and so on; off when ticks are over. The routine goes on at once.",
        "{output} flashes, {half} on and {half} off, for {ticks}",
    ),
    Row(
        "flicker",
        0x0A,
        (
            _OUT,
            Field("lo", Kind.LEVEL, "the darkest"),
            Field("hi", Kind.LEVEL, "the brightest"),
            Field("ticks", Kind.FADE_TICKS, "how long"),
        ),
        "Now and every 50 ticks the output takes lo + a draw below hi - lo + 1; lo when ticks are over.",
        "{output} flickers {lo} to {hi} for {ticks}",
    ),
    Row(
        "play",
        0x0B,
        (Field("clip", Kind.CLIP, "which clip"),),
        "The clip's output is on (255) now and off when the clip's length is over.",
        "play {clip}",
        (Form(0x1C, low=Low("clip", 2)),),
    ),
    Row(
        "silence",
        0x0C,
        (_OUT,),
        "The output goes off, and a clip that it plays is silenced.",
        "{output} silent",
    ),
    Row(
        "start",
        0x0D,
        (Field("routine", Kind.ROUTINE, "which routine"),),
        "Asks to start the routine, in this tick, by that routine's own rules.",
        "start {routine}",
    ),
    Row(
        "stop",
        0x0E,
        (Field("routine", Kind.ROUTINE, "which routine"),),
        "Kills the routine; an idle stays stopped until a step starts it or the board is armed anew.",
        "stop {routine}",
    ),
    Row(
        "repeat",
        0x0F,
        (Field("count", Kind.COUNT, "how many rounds"),),
        "Opens a loop frame; again goes back until the rounds are done.",
        "repeat {count} times:",
    ),
    Row(
        "repeat_for",
        0x10,
        (Field("ticks", Kind.SOME_TICKS, "how long"),),
        "Opens a loop frame; the loop ends at the first again whose due is ticks or more after the entry.",
        "repeat for {ticks}:",
    ),
    Row(
        "repeat_until",
        0x11,
        (_IN, _STATE, Field("bound", Kind.SOME_TICKS, "the longest")),
        "Opens a loop frame; the loop ends at an again at which the input is in the state, or with due bound "
        "or more after the entry.",
        "repeat until {input} is {tripped}, at most {bound}:",
    ),
    Row(
        "again",
        0x12,
        (),
        "The end of the loop: goes back with base = due, or closes the frame and goes on.",
        "again",
    ),
    Row(
        "chance",
        0x13,
        (Field("k", Kind.SMALL, "so many"), Field("of", Kind.SMALL, "out of so many"), _SKIP),
        "Goes on if a draw below `of` is below k, else skips.",
        "{k} times in {of} go on, else {skip}",
        (Form(0x1A, ((Coding.PAIR, ("k", "of")), (Coding.NUMBER, ("skip",)))),),
    ),
    Row(
        "skip_unless",
        0x14,
        (_IN, _STATE, _SKIP),
        "Goes on if the input is in the state, else skips.",
        "unless {input} is {tripped}, {skip}",
    ),
    Row(
        "skip_but_nth",
        0x15,
        (Field("n", Kind.SMALL, "every so many runs"), _SKIP),
        "Goes on if the number of this run, from 1 since arming, is a multiple of n, else skips.",
        "but on every run {n}, {skip}",
    ),
    Row("jump", 0x16, (_SKIP,), "Skips.", "{skip}"),
    Row("mark", 0x17, (), "Opens a frame whose base is due.", "times from here:"),
    Row("unmark", 0x18, (), "Closes the frame that a mark opened.", "times as before"),
)

BY_NAME: dict[str, Row] = {row.name: row for row in ROWS}
FORMS: dict[str, tuple[Form, ...]] = {row.name: row.forms for row in ROWS}
BY_FIRST_BYTE: dict[int, tuple[Row, Form]] = {
    first: (row, form) for row in ROWS for form in FORMS[row.name] for first in form.first_bytes
}
"""What a decoder switches on; a first byte that is not here begins no step."""

WAITS = frozenset({"wait", "until", "wait_random", "await_input", "await_end", "fade_then"})
"""The steps after which a later tick may have come."""

LOOPS = frozenset({"repeat", "repeat_for", "repeat_until"})
"""The steps that open a loop frame."""

WRITERS = frozenset(row.name for row in ROWS if row.index(Kind.OUTPUT) is not None)
"""The steps that name the output they write."""

NEED_FADES = frozenset({"level", "fade", "fade_then", "flicker"})
"""The steps that need an output that can take levels between off and on."""


def step(op: str, *args: int, **named: int) -> Step:
    """A step, its arguments in table order or by field name.

    Raises ValueError for an unknown step, a wrong set of arguments, or a value outside the field's range.

    >>> step("fade", output=2, level=255, ticks=400)
    Step(op='fade', args=(2, 255, 400))
    """
    row = BY_NAME.get(op)
    if row is None:
        raise ValueError(f"there is no step called {op!r}")
    if named or len(args) != len(row.fields):
        names = [field.name for field in row.fields]
        values = dict(zip(names, args, strict=False)) | named
        if len(args) + len(named) != len(names) or set(values) != set(names):
            raise ValueError(f"the step {op} takes {', '.join(names) or 'nothing'}")
        args = tuple(values[name] for name in names)
    made = Step(op, tuple(map(int, args)))
    fault = argument_fault(made)
    if fault:
        raise ValueError(fault)
    return made


@lru_cache(maxsize=16_384)
def argument_fault(made: Step) -> str | None:
    """What is wrong with the step taken by itself (name, count, ranges, pairs), as a sentence, or None."""
    row = BY_NAME.get(made.op)
    if row is None:
        return f"there is no step called {made.op!r}"
    if len(made.args) != len(row.fields):
        return f"the step {made.op} takes {len(row.fields)} arguments and has {len(made.args)}"
    for field, value in zip(row.fields, made.args, strict=True):
        if not field.kind.least <= value <= field.kind.most:
            return (
                f"{field.name} of the step {made.op} is {value}, "
                f"and must lie in {field.kind.least} to {field.kind.most}"
            )
    if made.op == "chance" and made.args[0] > made.args[1]:
        return f"a chance of {made.args[0]} in {made.args[1]} is more than certain"
    if made.op == "flicker" and made.args[1] > made.args[2]:
        return f"a flicker from {made.args[1]} to {made.args[2]} runs backwards"
    if made.op == "wait_random" and sum(made.args) > VARINT_MOST:
        return f"a random wait of up to {sum(made.args)} ticks is longer than {VARINT_MOST}"
    return None


_SKIPS_AT: dict[str, int | None] = {row.name: row.index(Kind.SKIP) for row in ROWS}


def skip_of(made: Step) -> int | None:
    """How many steps the step may pass over, or None where it never skips."""
    at = _SKIPS_AT[made.op]
    return None if at is None else made.args[at]


def output_written(made: Step, clips: tuple[Clip, ...]) -> int | None:
    """The output that the step writes, or None."""
    if made.op in WRITERS:
        return made.args[0]
    if made.op == "play" and made.args[0] < len(clips):
        return clips[made.args[0]].output
    return None


def drives(program: Program, routine: int) -> tuple[int, ...]:
    """The indexes, in order, of the outputs that the routine's own steps write."""
    written = (output_written(made, program.clips) for made in program.routines[routine].steps)
    return tuple(sorted({output for output in written if output is not None}))
