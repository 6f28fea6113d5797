"""A program into the bytes that a board stores; `decode` is the way back, LAYOUT.md the document.

Only what cannot be written is refused here; whether a board may run the program is for `verify`.
"""

from __future__ import annotations

from functools import lru_cache, partial

from sequencer.memo import Memo, noted
from sequencer.steps import layout
from sequencer.steps.forms import shortest
from sequencer.steps.program import (
    LONGEST_ON_UNIT,
    SHORTEST_UNIT,
    WARM_UP_UNIT,
    Clip,
    Input,
    Output,
    Program,
    Routine,
    Step,
)
from sequencer.steps.table import BY_NAME, FORMS, INDEX_MOST, Kind, argument_fault, skip_of
from sequencer.steps.varint import write_varint


class CannotEncode(ValueError):
    """A value has no place in the format; the message says which and why."""


def encode(program: Program, memo: Memo | None = None) -> bytes:
    """The image of a program. Raises CannotEncode, with a sentence, where a value does not fit the format.

    `memo` keeps what comes of one routine.
    """
    tables, bodies = _tables_and_bodies(program, memo or Memo())
    image = _header(program, len(tables) + sum(map(len, bodies))) + tables + b"".join(bodies)
    crc = layout.image_crc(image).to_bytes(4, "little")
    return image[: layout.CRC_AT] + crc + image[layout.HEADER_SIZE :]


def step_places(program: Program) -> tuple[tuple[tuple[int, bytes], ...], ...]:
    """For each routine and step, its offset in the image and its bytes. Raises CannotEncode."""
    at = _bodies_at(program)
    places = []
    for number, routine in enumerate(program.routines):
        head, chunks = _body(routine, number)
        at += len(head)
        row = []
        for chunk in chunks:
            row.append((at, chunk))
            at += len(chunk)
        places.append(tuple(row))
    return tuple(places)


def encode_steps(steps: tuple[Step, ...]) -> tuple[bytes, ...]:
    """The bytes of each step; the last one is an end, and has none. Raises CannotEncode.

    Skips become distances, so the steps are written from the last to the first.
    """
    chunks: list[bytes] = [b""] * len(steps)
    for i in range(len(steps) - 1, -1, -1):
        made = steps[i]
        fault = argument_fault(made)
        if fault:
            raise CannotEncode(f"step {i}: {fault}")
        skip = skip_of(made)
        if skip is not None and i + 1 + skip >= len(steps):
            raise CannotEncode(f"step {i}: the step {made.op} skips past the end of its routine")
        if i + 1 < len(steps) or made.op != "end":
            chunks[i] = step_bytes(made, sum(map(len, chunks[i + 1 : i + 1 + (skip or 0)])))
    if not steps or chunks[-1]:
        raise CannotEncode("the last step of a routine is an end")
    return tuple(chunks)


@lru_cache(maxsize=16_384)
def step_bytes(made: Step, distance: int = 0) -> bytes:
    """The bytes of one step that is in order by itself; a skip goes that many bytes on from its end."""
    values = {
        field.name: distance if field.kind is Kind.SKIP else value
        for field, value in zip(BY_NAME[made.op].fields, made.args, strict=True)
    }
    return shortest(FORMS[made.op], values)


def _header(program: Program, rest: int) -> bytes:
    counts = {
        "outputs": layout.MOST_PINS,
        "inputs": layout.MOST_PINS,
        "routines": layout.MOST_ROUTINES,
        "clips": layout.MOST_CLIPS,
    }
    values = {
        "magic": layout.MAGIC,
        "version": layout.FORMAT_VERSION,
        "board": program.board,
        "show_id": program.show_id,
        "length": layout.HEADER_SIZE + rest,
        "heartbeat": program.heartbeat,
        "crc": 0,
    }
    for name, most in counts.items():
        values[name] = len(getattr(program, name))
        if values[name] > most:
            raise CannotEncode(f"the program has {values[name]} {name}, and the format holds {most}")
    return _packed(layout.HEADER, values, "the header")


def _bodies_at(program: Program) -> int:
    rows = (
        (layout.OUTPUT_ROW, program.outputs),
        (layout.INPUT_ROW, program.inputs),
        (layout.ROUTINE_ROW, program.routines),
        (layout.CLIP_ROW, program.clips),
    )
    return layout.HEADER_SIZE + sum(layout.size_of(row) * len(items) for row, items in rows)


def _tables_and_bodies(program: Program, memo: Memo) -> tuple[bytes, list[bytes]]:
    notes = [memo.about(routine) for routine in program.routines]
    bodies = [noted(found, ("body", number), partial(_whole_body, routine, number))
              for number, (found, routine) in enumerate(zip(notes, program.routines, strict=True))]
    at, routine_rows = _bodies_at(program), []
    for number, (routine, body) in enumerate(zip(program.routines, bodies, strict=True)):
        routine_rows.append(noted(notes[number], ("row", number, at), partial(_routine, routine, number, at)))
        at += len(body)
    tables = b"".join(
        [
            *(_output(output, i) for i, output in enumerate(program.outputs)),
            *(_input(sensor, i) for i, sensor in enumerate(program.inputs)),
            *routine_rows,
            *(_clip(clip, i) for i, clip in enumerate(program.clips)),
        ]
    )
    return tables, bodies


def _whole_body(routine: Routine, number: int) -> bytes:
    head, chunks = _body(routine, number)
    return head + b"".join(chunks)


def _body(routine: Routine, number: int) -> tuple[bytes, tuple[bytes, ...]]:
    head = bytearray()
    for start in routine.starts:
        _within(start.input, INDEX_MOST, f"an input that starts routine {number}")
        head.append(start.edge << 7 | start.input)
    try:
        for bound in routine.every or ():
            head += write_varint(bound)
        return bytes(head), encode_steps(routine.steps)
    except ValueError as fault:
        raise CannotEncode(f"routine {number}: {fault}") from None


def _output(output: Output, number: int) -> bytes:
    where = f"output {number}"
    _within(output.pin, INDEX_MOST, f"the pin of {where}")
    _within(output.exclusion, 15, f"the exclusion group of {where}")
    return _packed(
        layout.OUTPUT_ROW,
        {
            "pin": output.pin | output.fades * layout.FADES_BIT | output.active_low * layout.HIGH_BIT,
            "safe": output.safe,
            "alarm": output.alarm,
            "exclusion": output.exclusion,
            "longest_on": _units(output.longest_on, LONGEST_ON_UNIT, f"the longest on-time of {where}"),
            "shortest_on": _units(output.shortest_on, SHORTEST_UNIT, f"the shortest on-time of {where}"),
            "shortest_off": _units(output.shortest_off, SHORTEST_UNIT, f"the shortest off-time of {where}"),
        },
        where,
    )


def _input(sensor: Input, number: int) -> bytes:
    where = f"input {number}"
    _within(sensor.pin, INDEX_MOST, f"the pin of {where}")
    _within(sensor.settle, layout.MOST_SETTLE, f"the settle time of {where}")
    return _packed(
        layout.INPUT_ROW,
        {
            "pin": sensor.pin | sensor.low_when_tripped * layout.HIGH_BIT,
            "settle": sensor.settle | sensor.kind << 14,
            "warm_up": _units(sensor.warm_up, WARM_UP_UNIT, f"the warm-up of {where}"),
        },
        where,
    )


def _routine(routine: Routine, number: int, at: int) -> bytes:
    where = f"routine {number}"
    _within(routine.rank, 15, f"the rank of {where}")
    _within(len(routine.starts), layout.MOST_STARTS, f"the number of starts of {where}")
    if routine.blocked_while is not None:
        _within(routine.blocked_while, INDEX_MOST, f"the input that blocks {where}")
    return _packed(
        layout.ROUTINE_ROW,
        {
            "policy": (
                routine.while_running
                | routine.idle * layout.IDLE_BIT
                | (routine.every is not None) * layout.EVERY_BIT
                | routine.rank << 4
            ),
            "group": routine.group,
            "rest": routine.rest,
            "starts": len(routine.starts) | routine.at_arming * layout.HIGH_BIT,
            "body": at,
            "blocked": layout.NONE if routine.blocked_while is None else routine.blocked_while,
        },
        where,
    )


def _clip(clip: Clip, number: int) -> bytes:
    if clip.length < 1:
        raise CannotEncode(f"clip {number} has no length")
    _within(clip.output, INDEX_MOST, f"the output of clip {number}")
    return _packed(layout.CLIP_ROW, {"output": clip.output, "length": clip.length}, f"clip {number}")


def _packed(parts: tuple[layout.Part, ...], values: dict[str, int], where: str) -> bytes:
    try:
        return layout.pack(parts, values)
    except ValueError as fault:
        raise CannotEncode(f"{where}: {fault}") from None


def _within(value: int, most: int, what: str) -> None:
    if not 0 <= value <= most:
        raise CannotEncode(f"{what} is {value}, and must lie in 0 to {most}")


def _units(ticks: int, unit: int, what: str) -> int:
    if ticks % unit:
        raise CannotEncode(f"{what} is {ticks} ticks, and is stored in units of {unit}")
    _within(ticks, 255 * unit, what)
    return ticks // unit
