"""Writes core/protocol.h: the numbers that the board and the computer share, from the Python tables.

    python firmware_stub/tools/protocol_h.py            # writes the file
    python firmware_stub/tools/protocol_h.py --check    # says whether it is as it would be written

Every number has one home, the table it is taken from; the C names follow from the names there.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from enum import IntEnum
from pathlib import Path

from sequencer.board import protocol, settings, store
from sequencer.board.firmware import FIRMWARE_VERSION, LOG_ENTRIES_A_FRAME, LONGEST_DRIVE_TICKS
from sequencer.board.frames import MOST_BODY_BYTES, fixed_size
from sequencer.board.framing import MOST_DECODED_BYTES
from sequencer.board.log import CAUSE_NUMBERS, ENTRY_BYTES, SKIP_NUMBERS, LogKind, StartCause
from sequencer.board.profiles import PROFILES, SETTINGS_BYTES, SLOT_HEADER_BYTES, Profile
from sequencer.steps import layout
from sequencer.steps.effects import FLICKER_PERIOD
from sequencer.steps.events import FaultCode, Mode
from sequencer.steps.flow import MOST_SKIPS_OPEN
from sequencer.steps.forms import Form
from sequencer.steps.program import (
    LONGEST_ON_UNIT,
    MOST_BEGINNING,
    SHORTEST_UNIT,
    WARM_UP_UNIT,
    WHOLE_YARD,
    InputKind,
    WhileRunning,
)
from sequencer.steps.random32 import _INSTEAD_OF_ZERO
from sequencer.steps.table import FADE_MOST, ROWS, Row
from sequencer.steps.varint import TIME_UNIT, VARINT_MOST

FILE = Path(__file__).parent.parent / "core" / "protocol.h"

Line = tuple[str, int]


def text() -> str:
    """The whole header file."""
    parts = [
        "/* Made from the Python tables by tools/protocol_h.py: change those, then run it. */\n\n"
        "#ifndef PROTOCOL_H\n#define PROTOCOL_H\n"
    ]
    for title, lines in sections():
        parts.append(f"\n/* {title} */\n" + "".join(f"#define {name} {_number(value)}\n" for name, value in lines))
    parts.append("\n/* Boards: BOARD_KIND is given by the build; tests build with other limits. */\n")
    for number, profile in enumerate(PROFILES):
        parts.append(f"#{'if' if number == 0 else 'elif'} BOARD_KIND == {profile.kind}\n")
        parts += [f"#ifndef {name}\n#define {name} {_number(value)}\n#endif\n" for name, value in _board(profile)]
    parts.append('#else\n#error "BOARD_KIND is none of the boards there are"\n#endif\n\n#endif\n')
    return "".join(parts)


def sections() -> Iterator[tuple[str, list[Line]]]:
    """Titles and the names and numbers under them."""
    yield "Images: LAYOUT.md", list(_layout())
    yield "First bytes of steps; of a short form the one with its low bits clear", list(_first_bytes())
    yield "Rules: RULES.md", list(_rules())
    yield "Link: PROTOCOL.md", list(_link())
    yield "Refusals", [(f"REFUSAL_{_c(refusal.name)}", refusal.code) for refusal in protocol.REFUSALS]
    yield "Log", list(_log())
    yield "Store: store.py, settings.py", list(_store())


def _c(name: str) -> str:
    return name.upper().replace(" ", "_")


def _number(value: int) -> str:
    return f"{value}UL" if value > 0xFFFF else f"{value}U"


def _layout() -> Iterator[Line]:
    yield "IMAGE_MAGIC", layout.MAGIC
    yield "IMAGE_FORMAT", layout.FORMAT_VERSION
    for title, parts in layout.ROWS.items():
        prefix, at = _c(title), 0
        for part in parts:
            yield f"{prefix}_{_c(part.name)}", at
            at += part.size
        yield f"{prefix}_BYTES", at
    yield "MOST_ROUTINES", layout.MOST_ROUTINES
    yield "MOST_CLIPS", layout.MOST_CLIPS
    yield "MOST_PINS", layout.MOST_PINS
    yield "NO_INPUT", layout.NONE
    yield "PIN_BITS", layout.INDEX_BITS
    yield "FADES_BIT", layout.FADES_BIT
    yield "HIGH_BIT", layout.HIGH_BIT
    yield "IDLE_BIT", layout.IDLE_BIT
    yield "EVERY_BIT", layout.EVERY_BIT
    yield "MOST_STARTS", layout.MOST_STARTS
    yield "MOST_SETTLE", layout.MOST_SETTLE
    yield "VARINT_MOST", VARINT_MOST
    yield "FADE_MOST", FADE_MOST
    yield "TIME_UNIT", TIME_UNIT


def _first_bytes() -> Iterator[Line]:
    for row in ROWS:
        if row.code is not None:
            yield f"STEP_{_c(row.name)}", row.code
        yield from ((f"STEP_{_short_name(row, form)}", form.base) for form in row.short)


def _short_name(row: Row, form: Form) -> str:
    """What sets the form apart: a field that is fixed, or the unit of the low bits, or that there are some."""
    name = _c(row.name)
    if form.fixed:
        field, value = form.fixed[0]
        return f"{name}_{_c(field)}_{value}"
    if form.low is None:
        return f"{name}_SHORT"
    return f"{name}_LOW" if form.low.unit == 1 else f"{name}_X{form.low.unit}"


def _rules() -> Iterator[Line]:
    yield "LONGEST_ON_UNIT", LONGEST_ON_UNIT
    yield "SHORTEST_UNIT", SHORTEST_UNIT
    yield "WARM_UP_UNIT", WARM_UP_UNIT
    yield "WHOLE_YARD", WHOLE_YARD
    yield "MOST_BEGINNING", MOST_BEGINNING
    yield "FLICKER_PERIOD", FLICKER_PERIOD
    yield "MOST_SKIPS_OPEN", MOST_SKIPS_OPEN
    yield "SEED_FOR_ZERO", _INSTEAD_OF_ZERO
    yield "LONGEST_DRIVE", LONGEST_DRIVE_TICKS
    yield from _of_enum("INPUT_KIND", InputKind)
    yield from _of_enum("POLICY", WhileRunning)
    yield from _of_enum("MODE", Mode)
    yield from _of_enum("FAULT", FaultCode)
    yield from ((f"CAUSE_{cause.name}", number) for cause, number in CAUSE_NUMBERS.items())
    yield from ((f"SKIP_{reason.name}", number) for reason, number in SKIP_NUMBERS.items())


def _of_enum(prefix: str, values: type[IntEnum]) -> Iterator[Line]:
    yield from ((f"{prefix}_{value.name}", int(value)) for value in values)


def _link() -> Iterator[Line]:
    yield "PROTOCOL_VERSION", protocol.PROTOCOL_VERSION
    yield "FIRMWARE_MAJOR", FIRMWARE_VERSION[0]
    yield "FIRMWARE_MINOR", FIRMWARE_VERSION[1]
    yield "MOST_PACKET_BYTES", MOST_DECODED_BYTES
    yield "MOST_BODY_BYTES", MOST_BODY_BYTES
    yield "SEQUENCES", protocol.SEQUENCES
    yield "FRAME_REFUSED", protocol.REFUSED
    for frame in protocol.FRAMES:
        yield f"FRAME_{_c(frame.name)}", frame.number
        yield f"FRAME_{_c(frame.name)}_BYTES", fixed_size(frame.request)


def _log() -> Iterator[Line]:
    yield "LOG_ENTRY_BYTES", ENTRY_BYTES
    yield "LOG_ENTRIES_A_FRAME", LOG_ENTRIES_A_FRAME
    yield from _of_enum("LOG", LogKind)
    yield from _of_enum("START", StartCause)


def _store() -> Iterator[Line]:
    yield "SETTINGS_BYTES", SETTINGS_BYTES
    yield "TRIM_COPIES", settings.TRIM_COPIES
    yield "TRIM_COPY_BYTES", settings.TRIM_COPY_BYTES
    yield "MOST_TRIM", settings.MOST_TRIM
    yield "SLOT_HEADER_BYTES", SLOT_HEADER_BYTES
    yield "SLOT_STANDING", store._STANDING_AT
    yield "SLOT_COMMIT", store._COMMIT_AT
    yield "SLOT_COMMITTED", store._COMMITTED
    yield "SLOT_TAKEN_BACK", store._TAKEN_BACK
    yield "SLOT_CONFIRMED", store._CONFIRMED
    yield "SLOT_ON_TRIAL", store._ON_TRIAL
    yield from ((f"STANDING_{standing.name}", int(standing)) for standing in store.Standing)


def _board(profile: Profile) -> Iterator[Line]:
    limits = profile.limits
    yield "BOARD_EEPROM_BYTES", profile.eeprom_bytes
    yield "BOARD_SLOT_BYTES", profile.slot_bytes
    yield "BOARD_LOG_ENTRIES", profile.log_entries
    yield "BOARD_OUTPUT_PINS", len(profile.outputs)
    yield "BOARD_FADING_PINS", sum(pin.fades for pin in profile.outputs)
    yield "BOARD_INPUT_PINS", len(profile.inputs)
    yield from ((f"BOARD_{_c(name)}", getattr(limits, name)) for name in type(limits).__dataclass_fields__)


def main(arguments: list[str]) -> int:
    """Writes the file, or with --check compares it."""
    if arguments == ["--check"]:
        stale = FILE.read_text(encoding="ascii") != text()
        print(f"{FILE.name} is stale" if stale else f"{FILE.name} is as the tables say")
        return int(stale)
    FILE.write_text(text(), encoding="ascii")
    return 0


if __name__ == "__main__":
    sys.path.insert(0, str(FILE.parent.parent.parent))
    sys.exit(main(sys.argv[1:]))
