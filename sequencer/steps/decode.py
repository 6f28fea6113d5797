"""Bytes into a program: the exact way back from `encode`, and a plain sentence for every image that is not
one.

An image that decodes encodes again to the same bytes. Whether a board may run it is for `verify`.
"""

from __future__ import annotations

from sequencer.steps import layout
from sequencer.steps.encode import step_bytes
from sequencer.steps.forms import read
from sequencer.steps.program import (
    LONGEST_ON_UNIT,
    SHORTEST_UNIT,
    WARM_UP_UNIT,
    Clip,
    Edge,
    Input,
    InputKind,
    Output,
    Program,
    Routine,
    Start,
    Step,
    WhileRunning,
)
from sequencer.steps.table import BY_FIRST_BYTE, argument_fault, skip_of
from sequencer.steps.varint import read_varint

RowAt = tuple[dict[str, int], int]
"""The values of a row of a table, and the byte at which it begins."""


class BadProgram(Exception):
    """The bytes are not a program: `reason` is a sentence, `offset` the byte at which it showed."""

    def __init__(self, reason: str, offset: int) -> None:
        super().__init__(f"{reason} (at byte {offset})")
        self.reason = reason
        self.offset = offset


def decode(image: bytes) -> Program:
    """The program of an image. Raises BadProgram, and nothing else, for bytes that are not one."""
    image = bytes(image)
    header = _checked_header(image)
    at = layout.HEADER_SIZE
    outputs, at = _rows(image, at, layout.OUTPUT_ROW, header["outputs"])
    inputs, at = _rows(image, at, layout.INPUT_ROW, header["inputs"])
    heads, at = _rows(image, at, layout.ROUTINE_ROW, header["routines"])
    clips, at = _rows(image, at, layout.CLIP_ROW, header["clips"])
    return Program(
        header["board"],
        header["show_id"],
        tuple(_output(*row) for row in outputs),
        tuple(_input(*row) for row in inputs),
        _routines(image, at, heads),
        tuple(_clip(*row) for row in clips),
        header["heartbeat"],
    )


def _checked_header(image: bytes) -> dict[str, int]:
    if len(image) < layout.HEADER_SIZE:
        raise BadProgram(
            f"the image has {len(image)} bytes, and its header alone takes {layout.HEADER_SIZE}", len(image)
        )
    header = layout.unpack(layout.HEADER, image, 0)
    if header["magic"] != layout.MAGIC:
        raise BadProgram("the image does not begin as a program does", 0)
    if header["version"] != layout.FORMAT_VERSION:
        raise BadProgram(
            f"the image has format version {header['version']}; {layout.FORMAT_VERSION} is understood",
            2,
        )
    if header["length"] != len(image):
        raise BadProgram(f"the image says it has {header['length']} bytes, and has {len(image)}", 8)
    if header["crc"] != layout.image_crc(image):
        raise BadProgram("the checksum does not fit the bytes", layout.CRC_AT)
    for name, most in (
        ("outputs", layout.MOST_PINS),
        ("inputs", layout.MOST_PINS),
        ("routines", layout.MOST_ROUTINES),
        ("clips", layout.MOST_CLIPS),
    ):
        if header[name] > most:
            raise BadProgram(f"the image says it has {header[name]} {name}, and the format holds {most}", 10)
    return header


def _rows(image: bytes, at: int, parts: tuple[layout.Part, ...], count: int) -> tuple[list[RowAt], int]:
    """The rows of a table, each with where it begins, and where the table ends."""
    size = layout.size_of(parts)
    if at + size * count > len(image):
        raise BadProgram(f"a table of {count} rows runs past the end of the image", at)
    places = range(at, at + size * count, size)
    return [(layout.unpack(parts, image, place), place) for place in places], at + size * count


def _output(row: dict[str, int], where: int) -> Output:
    if row["exclusion"] > 15:
        raise BadProgram(
            f"an output has the exclusion group {row['exclusion']}, and 15 is the last", where + 6
        )
    return Output(
        row["pin"] & layout.INDEX_BITS,
        bool(row["pin"] & layout.FADES_BIT),
        bool(row["pin"] & layout.HIGH_BIT),
        row["safe"],
        row["alarm"],
        row["longest_on"] * LONGEST_ON_UNIT,
        row["shortest_on"] * SHORTEST_UNIT,
        row["shortest_off"] * SHORTEST_UNIT,
        row["exclusion"],
    )


def _input(row: dict[str, int], where: int) -> Input:
    if row["pin"] & 0x40:
        raise BadProgram("an input has a bit set that means nothing", where)
    return Input(
        row["pin"] & layout.INDEX_BITS,
        bool(row["pin"] & layout.HIGH_BIT),
        InputKind(row["settle"] >> 14),
        row["settle"] & layout.MOST_SETTLE,
        row["warm_up"] * WARM_UP_UNIT,
    )


def _clip(row: dict[str, int], where: int) -> Clip:
    if row["output"] > layout.INDEX_BITS:
        raise BadProgram(f"a clip names the output {row['output']}, and 63 is the last", where)
    if row["length"] == 0:
        raise BadProgram("a clip has no length", where + 1)
    return Clip(row["output"], row["length"])


def _routines(image: bytes, at: int, heads: list[RowAt]) -> tuple[Routine, ...]:
    begins = [row["body"] for row, _ in heads]
    if (begins and begins[0] != at) or (not begins and at != len(image)):
        raise BadProgram("the bytes after the tables belong to no routine", at)
    ends = [*begins[1:], len(image)] if begins else []
    routines = []
    for (row, where), begin, after in zip(heads, begins, ends, strict=True):
        if not begin <= after <= len(image):
            raise BadProgram("a routine begins outside the image or before the one in front of it", where + 7)
        routines.append(_routine(row, where, image[:after], begin))
    return tuple(routines)


def _routine(row: dict[str, int], where: int, image: bytes, at: int) -> Routine:
    """A routine from its row and its body, which goes from `at` to the end of the bytes given."""
    if row["policy"] & 3 > WhileRunning.ONCE_MORE:
        raise BadProgram("a routine has a policy that does not exist", where)
    if layout.INDEX_BITS < row["blocked"] != layout.NONE:
        raise BadProgram(f"a routine is blocked by the input {row['blocked']}, and 63 is the last", where + 2)
    starts, every = [], []
    for _ in range(row["starts"] & layout.MOST_STARTS):
        if at >= len(image):
            raise BadProgram("the list of what starts a routine is cut off", at)
        if image[at] & 0x40:
            raise BadProgram("a start has a bit set that means nothing", at)
        starts.append(Start(image[at] & layout.INDEX_BITS, Edge(image[at] >> 7)))
        at += 1
    for _ in range(2 if row["policy"] & layout.EVERY_BIT else 0):
        bound, at = _varint(image, at)
        every.append(bound)
    return Routine(
        _steps(image, at),
        tuple(starts),
        (every[0], every[1]) if every else None,
        bool(row["policy"] & layout.IDLE_BIT),
        row["group"],
        WhileRunning(row["policy"] & 3),
        row["rest"],
        row["policy"] >> 4,
        None if row["blocked"] == layout.NONE else row["blocked"],
        bool(row["starts"] & layout.HIGH_BIT),
    )


def _steps(image: bytes, at: int) -> tuple[Step, ...]:
    """The steps from `at` to the end of the bytes, where the end of the routine stands unwritten."""
    steps, begins = [], []
    while at < len(image):
        begins.append(at)
        made, at = _step(image, at)
        steps.append(made)
    begins.append(at)
    number = {begin: i for i, begin in enumerate(begins)}
    whole = tuple(_with_skip_in_steps(made, i, begins[i + 1], number) for i, made in enumerate(steps))
    return (*whole, Step("end"))


def _with_skip_in_steps(made: Step, i: int, after: int, number: dict[int, int]) -> Step:
    distance = skip_of(made)
    if distance is not None:
        target = number.get(after + distance)
        if target is None:
            raise BadProgram(
                f"the step {made.op} skips to byte {after + distance}, where no step of its routine begins",
                after - 1,
            )
        made = Step(made.op, (*made.args[:-1], target - i - 1))
    return made


def _step(image: bytes, at: int) -> tuple[Step, int]:
    """The step at `at`, its skip still in bytes, and where the next one begins."""
    if image[at] not in BY_FIRST_BYTE:
        raise BadProgram(f"no step begins with the byte {image[at]}", at)
    row, form = BY_FIRST_BYTE[image[at]]
    try:
        values, after = read(form, image, at)
    except ValueError as fault:
        raise BadProgram(f"in the step {row.name}, {fault}", at) from None
    made = Step(row.name, tuple(values[field.name] for field in row.fields))
    wrong = argument_fault(made)
    if wrong:
        raise BadProgram(wrong, at)
    if step_bytes(made, skip_of(made) or 0) != image[at:after]:
        raise BadProgram(f"the step {row.name} is not in its shortest form", at)
    return made, after


def _varint(image: bytes, at: int) -> tuple[int, int]:
    try:
        return read_varint(image, at)
    except ValueError as fault:
        raise BadProgram(str(fault), at) from None
