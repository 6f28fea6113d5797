"""The one table of requests, answers and refusals. Encoder, decoder and PROTOCOL.md all follow from it.

A request and its answer carry the same header byte; a refusal carries the type REFUSED. How a packet travels
is in `framing`, how one is written and read in `frames`.
"""

from __future__ import annotations

from dataclasses import dataclass

PROTOCOL_VERSION = 1
"""Raised when a board of the old kind would misread a frame. The identify frame itself never changes."""
RATES_BAUD = (115_200, 38_400)
"""Line rates, the first tried first. An ATmega at 16 MHz makes them +2.1 % and +0.2 % right."""
REFUSED = 31
"""Type of an answer that says no; its body is a code and a detail."""
SEQUENCES = 8
"""Sequence numbers there are: three bits of the header."""


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a body: u8, u16 or u32, low byte first, or `rest`, all bytes to the end."""

    name: str
    kind: str
    doc: str


@dataclass(frozen=True, slots=True)
class FrameSpec:
    """One request with its answer. `writes` is how many bytes of lasting memory it may write, data apart."""

    number: int
    name: str
    request: tuple[Field, ...]
    answer: tuple[Field, ...]
    writes: int
    doc: str


@dataclass(frozen=True, slots=True)
class Refusal:
    """One reason for a no. The sentence goes on after `the board refused: `; `{kind}` is a board's name."""

    code: int
    name: str
    sentence: str


IDENTIFY = FrameSpec(
    1,
    "identify",
    (
        Field("conversation", "u16", "a number the host draws; a new one starts a new conversation"),
        Field("version", "u8", "protocol version of the host"),
    ),
    (
        Field("version", "u8", "protocol version of the board; this field is first in every version"),
        Field("kind", "u8", "kind of board, as in the profiles"),
        Field("firmware_major", "u8", "firmware version, before the dot"),
        Field("firmware_minor", "u8", "firmware version, after the dot"),
        Field("format_version", "u8", "version of the step tables that the board reads"),
        Field("free_slots", "u8", "stored programs that an upload may overwrite: 1, or 2 where none is live"),
        Field("program_bytes", "u16", "bytes of the longest program"),
        Field("routines_running", "u8", "routines that run at once"),
        Field("frames", "u8", "depth of loops in a routine"),
        Field("steps_per_tick", "u8", "steps of one routine in one tick"),
        Field("outputs", "u8", "outputs there are"),
        Field("inputs", "u8", "inputs there are"),
        Field("routines", "u8", "routines in a program"),
        Field("work_bytes", "u16", "bytes of working memory that a program plays from"),
    ),
    0,
    "Says who the board is. A new conversation number forgets the last request and closes an open upload; "
    "any other request before the first identify is refused.",
)
OPEN_UPLOAD = FrameSpec(
    2,
    "open upload",
    (
        Field("kind", "u8", "kind of board the program is for"),
        Field("length", "u16", "bytes of the program"),
        Field("crc", "u32", "CRC-32/ISO-HDLC over all of its bytes"),
    ),
    (),
    1,
    "Takes back the commit of the slot that is not live and makes it ready for pieces. Refused while armed.",
)
PIECE = FrameSpec(
    3,
    "piece",
    (Field("data", "rest", "the next bytes of the program, 1 to 57; where they belong follows from the order"),),
    (),
    0,
    "Writes the next bytes of the program; only bytes that differ are written.",
)
CLOSE_UPLOAD = FrameSpec(
    4,
    "close and verify",
    (),
    (),
    0,
    "Reads the stored bytes back, checks length and CRC-32, decodes and verifies. Makes nothing live.",
)
COMMIT = FrameSpec(
    5,
    "commit",
    (),
    (),
    16,
    "Writes the slot's header and, last, its commit byte. The board starts anew on the program, on trial.",
)
CONFIRM = FrameSpec(6, "confirm", (), (), 1, "Ends the trial: the program stays even if the watchdog bites.")
READ_BACK = FrameSpec(
    7,
    "read back",
    (
        Field("which", "u8", "0 the live program, 1 the upload that is open"),
        Field("offset", "u16", "first byte wanted"),
        Field("count", "u8", "bytes wanted, 1 to 57"),
    ),
    (Field("data", "rest", "the bytes; fewer than wanted at the end of the program"),),
    0,
    "Reads stored bytes from the memory itself, not from RAM.",
)
ARM = FrameSpec(8, "arm", (), (), 0, "Lets inputs start routines. Refused while a stop is tripped or an alarm latched.")
DISARM = FrameSpec(9, "disarm", (), (), 0, "Ends every routine and puts every output to its safe level.")
STATE = FrameSpec(
    10,
    "state",
    (),
    (
        Field("mode", "u8", "0 disarmed, 1 armed, 2 stopped, 3 alarm"),
        Field("tick", "u32", "milliseconds since the board started"),
        Field("length", "u16", "bytes of the live program, 0 where there is none"),
        Field("crc", "u32", "CRC-32/ISO-HDLC over all bytes of the live program"),
        Field("show", "u32", "show id of the live program"),
        Field("generation", "u16", "count of commits, of the live program"),
        Field("standing", "u8", "0 no program, 1 confirmed, 2 on trial"),
        Field("uploading", "u8", "1 while an upload is open"),
        Field("tripped", "u16", "inputs that are tripped, input 0 the lowest bit"),
        Field("fault", "u8", "code of the latest fault since the start, 0 where there was none"),
        Field("log_next", "u16", "number the next log entry will carry"),
        Field("random", "u32", "state of the generator of random waits"),
    ),
    0,
    "Says what the board is doing. Changes nothing.",
)
LEVELS = FrameSpec(
    11,
    "levels",
    (Field("first", "u8", "output to begin with"),),
    (Field("levels", "rest", "levels now, 0 to 255, of up to 57 outputs from the first"),),
    0,
    "Says what the outputs are doing. Changes nothing.",
)
TRIP = FrameSpec(
    12,
    "trip",
    (Field("input", "u8", "input of the live program"), Field("ticks", "u16", "how long it is held, in ms")),
    (),
    0,
    "Trips an input by hand. It ends by itself.",
)
DRIVE = FrameSpec(
    13,
    "drive",
    (
        Field("output", "u8", "output of the live program"),
        Field("level", "u8", "level, 0 to 255"),
        Field("ticks", "u16", "how long, in ms, at most 500; ask again to go on"),
    ),
    (),
    0,
    "Drives one output by hand. Ends by itself unless renewed. Refused while armed or stopped.",
)
RESET_ALARM = FrameSpec(
    14, "reset alarm", (), (), 0,
    "Clears a latched house alarm whose input is clear, once a stop was worked at the board. Does not arm.",
)
HEARTBEAT = FrameSpec(15, "heartbeat", (), (), 0, "Says that the host is there, where the show asks for it.")
READ_LOG = FrameSpec(
    16,
    "read log",
    (Field("first", "u16", "number of the first entry wanted"),),
    (
        Field(
            "first",
            "u16",
            "number of the first entry that follows: later than asked where older ones are gone",
        ),
        Field("next", "u16", "number the next entry will carry"),
        Field("entries", "rest", "up to 6 entries of 8 bytes: tick u32, kind u8, subject u8, value u16"),
    ),
    0,
    "Reads the log, oldest first. Changes nothing.",
)
TRIM = FrameSpec(
    17,
    "trim",
    (
        Field("keep", "u8", "1: keep this trim, and go by it from now on; 0: change nothing"),
        Field("trim", "u16", "what is added to a tick, in units of 2^-20 of it, two's complement; at most 16384"),
    ),
    (
        Field("tick", "u32", "milliseconds since the board started, as of this answer"),
        Field("trim", "u16", "the trim it goes by"),
        Field("kept", "u8", "1 where that is from its memory, 0 where none was ever kept"),
    ),
    8,
    "Says by which trim of its clock the board goes, or gives it another. Refused while armed if it is to keep one.",
)
FRAMES: tuple[FrameSpec, ...] = (
    IDENTIFY, OPEN_UPLOAD, PIECE, CLOSE_UPLOAD, COMMIT, CONFIRM, READ_BACK, ARM, DISARM, STATE, LEVELS, TRIP,
    DRIVE, RESET_ALARM, HEARTBEAT, READ_LOG, TRIM,
)  # fmt: skip
"""Types 18 to 23 are kept for the supply; 0 and 24 to 30 are unused."""

REFUSAL_FIELDS = (
    Field("code", "u8", "why"),
    Field("detail", "u16", "more, where the reason says so; else 0"),
)

REFUSALS: tuple[Refusal, ...] = (
    Refusal(1, "unknown request", "it does not know how; its firmware may be older than this tool"),
    Refusal(2, "no conversation", "it has restarted meanwhile; give the command again"),
    Refusal(3, "bad value", "a value is out of range"),
    Refusal(4, "armed", "it is armed; disarm it first, with `sequencer disarm`"),
    Refusal(5, "no upload", "the loading of a show was not begun; load it again from its start"),
    Refusal(6, "upload open", "a show is half loaded; load it again, to its end"),
    Refusal(7, "too long", "the program is too long; there is room for {detail} bytes"),
    Refusal(8, "wrong kind", "the program is for another kind of board; this one is {kind}"),
    Refusal(9, "incomplete", "only {detail} bytes of the program have arrived; load it again"),
    Refusal(10, "crc differs", "what it has stored is not what was sent; load it again"),
    Refusal(11, "not a program", "what it has stored is no program, as byte {detail} shows; load it again"),
    Refusal(12, "beyond limits", "the program goes beyond what this kind of board can do, in {detail} places"),
    Refusal(13, "not verified", "the program has not been proved yet; load it again"),
    Refusal(14, "memory", "its memory does not keep what is written, at byte {detail}; the memory may be worn out"),
    Refusal(15, "no trial", "no program is on trial"),
    Refusal(16, "no program", "it holds no program; load a show first, with `sequencer flash`"),
    Refusal(17, "stop tripped", "a stop input is tripped; clear it at the prop first"),
    Refusal(18, "alarm latched", "the house alarm is latched; see to its cause, work the stop at the board, then "
            "`sequencer reset-alarm`"),
    Refusal(19, "alarm tripped", "the alarm input is still tripped"),
    Refusal(20, "not now", "it cannot do that now; `sequencer state` says what it is doing"),
    Refusal(21, "no such input", "its program has no input {detail}"),
    Refusal(22, "no such output", "its program has no output {detail}"),
    Refusal(23, "stopped", "it is stopped; see why, mend it, then arm it"),
    Refusal(24, "no alarm", "no house alarm is latched"),
    Refusal(25, "on or off only", "output {detail} cannot fade, so it is on or off and nothing in between"),
    Refusal(26, "stop not worked", "nobody has worked its stop since the house alarm ended: press it and let it go, at "
            "the board; a board that has no stop is switched off and on"),
)


def refusal_named(name: str) -> Refusal:
    """The refusal of that name; KeyError is a fault of ours."""
    return {refusal.name: refusal for refusal in REFUSALS}[name]


def refusal_sentence(code: int, detail: int, kind: str | None = None) -> str:
    """Why the board said no, in words; a code this tool does not know says so.

    `kind` is the name of the kind of board that `detail` numbers, where it is known.
    """
    found = next((refusal for refusal in REFUSALS if refusal.code == code), None)
    if found is None:
        return f"it gave the reason {code}, which this tool does not know"
    return found.sentence.format(detail=detail, kind=kind or f"of kind {detail}")
