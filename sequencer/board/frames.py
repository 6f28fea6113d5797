"""Requests and answers to packets and back, by the table in `protocol`.

A request is header, body, check. The header is the type times 8 plus the sequence number. The check of an
answer is taken over the two check bytes of its request, then its own header and body: so an answer belongs to
one request and no other, and an answer that says only `done` needs no header on the line, its check says all.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sequencer.board.framing import CHECK_BYTES, MOST_DECODED_BYTES, crc16_x25
from sequencer.board.protocol import FRAMES, REFUSAL_FIELDS, REFUSED, SEQUENCES, Field, FrameSpec

Value = int | bytes
MOST_BODY_BYTES = MOST_DECODED_BYTES - 1 - CHECK_BYTES
"""57: bytes of body beside header and check."""
_SIZES = {"u8": 1, "u16": 2, "u32": 4}


class BrokenFrame(Exception):
    """A packet that is not a frame of ours. Never leaves this package: the line is at fault, so ask again."""


@dataclass(frozen=True, slots=True)
class Request:
    """A request as the board read it; `check` tells it from every other."""

    number: int
    sequence: int
    body: bytes
    check: bytes


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer as the host read it: `refused`, and the body."""

    refused: bool
    body: bytes


def fixed_size(fields: tuple[Field, ...]) -> int:
    """Bytes of the fields that have a size; what `rest` takes comes on top."""
    return sum(_SIZES.get(field.kind, 0) for field in fields)


def pack(fields: tuple[Field, ...], values: Mapping[str, Value]) -> bytes:
    """The body that holds these values; ValueError names the field whose value does not fit or is missing."""
    if unknown := set(values) - {field.name for field in fields}:
        raise ValueError(f"no field is named {sorted(unknown)[0]!r}")
    out = bytearray()
    for field in fields:
        if field.name not in values:
            raise ValueError(f"field {field.name!r} is missing")
        out += _packed(field, values[field.name])
    if len(out) > MOST_BODY_BYTES:
        raise ValueError(f"a body of {len(out)} bytes is longer than {MOST_BODY_BYTES}")
    return bytes(out)


def _packed(field: Field, value: Value) -> bytes:
    if field.kind == "rest":
        if not isinstance(value, bytes):
            raise ValueError(f"field {field.name!r} takes bytes")
        return value
    size = _SIZES[field.kind]
    if not isinstance(value, int) or not 0 <= value < 1 << 8 * size:
        raise ValueError(f"field {field.name!r} takes 0 to {(1 << 8 * size) - 1}, not {value!r}")
    return value.to_bytes(size, "little")


def unpack(fields: tuple[Field, ...], body: bytes) -> dict[str, Value]:
    """The values a body holds; BrokenFrame where its length is not that of the fields."""
    values: dict[str, Value] = {}
    position = 0
    for field in fields:
        end = len(body) if field.kind == "rest" else position + _SIZES[field.kind]
        part = body[position:end]
        if len(part) != end - position:
            raise BrokenFrame(f"field {field.name!r} is cut off")
        values[field.name] = part if field.kind == "rest" else int.from_bytes(part, "little")
        position = end
    if position != len(body):
        raise BrokenFrame(f"{len(body) - position} bytes too many")
    return values


def spec_of(number: int) -> FrameSpec | None:
    """The row of the table with that type, or None."""
    return next((spec for spec in FRAMES if spec.number == number), None)


def _header(number: int, sequence: int) -> bytes:
    assert 0 <= number < 32 and 0 <= sequence < SEQUENCES
    return bytes([number << 3 | sequence])


def _check(data: bytes) -> bytes:
    return crc16_x25(data).to_bytes(CHECK_BYTES, "little")


def encode_request(spec: FrameSpec, sequence: int, values: Mapping[str, Value]) -> bytes:
    """The packet of a request, check included, before COBS."""
    head_and_body = _header(spec.number, sequence) + pack(spec.request, values)
    return head_and_body + _check(head_and_body)


def decode_request(packet: bytes) -> Request:
    """What the board reads out of a packet; BrokenFrame where the check is wrong."""
    if len(packet) < 1 + CHECK_BYTES:
        raise BrokenFrame("too short")
    content, check = packet[:-CHECK_BYTES], packet[-CHECK_BYTES:]
    if _check(content) != check:
        raise BrokenFrame("check")
    return Request(content[0] >> 3, content[0] & 7, content[1:], check)


def encode_answer(request: Request, body: bytes) -> bytes:
    """The packet that says `done` to a request; where it has no body, the check alone."""
    header = _header(request.number, request.sequence)
    check = _check(request.check + header + body)
    return header + body + check if body else check


def encode_refusal(request: Request, code: int, detail: int = 0) -> bytes:
    """The packet that says no to a request."""
    content = _header(REFUSED, request.sequence)
    content += pack(REFUSAL_FIELDS, {"code": code, "detail": min(detail, 0xFFFF)})
    return content + _check(request.check + content)


def decode_answer(request: Request, packet: bytes) -> Answer:
    """What the host reads out of an answer to this very request; BrokenFrame where it is none."""
    if len(packet) < CHECK_BYTES:
        raise BrokenFrame("too short")
    content, check = packet[:-CHECK_BYTES], packet[-CHECK_BYTES:]
    own = _header(request.number, request.sequence)
    if _check(request.check + (content or own)) != check:
        raise BrokenFrame("check")
    if content[:1] == _header(REFUSED, request.sequence):
        return Answer(True, content[1:])
    if content and content[:1] != own:
        raise BrokenFrame("answer to another request")
    return Answer(False, content[1:])
