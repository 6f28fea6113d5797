"""Whether the bytes of an image are a program that this kind of board can run.

Asked by the host before it sends and by the board before it commits. Decoding and the rules of a program are
`steps`'; here the board's own pins, room and kind come in.
"""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.board.profiles import Profile, profile_by_kind
from sequencer.steps import BadProgram, Program, decode, verify


@dataclass(frozen=True, slots=True)
class Unfit:
    """Why an image is not for a board: the name of a refusal, its detail, and a sentence."""

    refusal: str
    detail: int
    sentence: str


def fit_program(image: bytes, profile: Profile) -> Program | Unfit:
    """The program in the image, where this kind of board can run it; else the first reason why not."""
    if len(image) > profile.slot_bytes:
        room = profile.slot_bytes
        return Unfit("too long", room, f"it takes {len(image)} bytes and {profile.name} has room for {room}")
    try:
        program = decode(image)
    except BadProgram as bad:
        return Unfit("not a program", bad.offset, str(bad))
    if program.board != profile.kind:
        meant = profile_by_kind(program.board)
        name = meant.name if meant else f"a board of kind {program.board}"
        return Unfit("wrong kind", profile.kind, f"it is for {name} and this is {profile.name}")
    problems = verify(program, profile.limits)
    if problems:
        return Unfit("beyond limits", len(problems), problems[0].text)
    return _pins_unfit(program, profile) or program


def _pins_unfit(program: Program, profile: Profile) -> Unfit | None:
    fading = {pin.index for pin in profile.outputs if pin.fades}
    for number, output in enumerate(program.outputs):
        if output.pin >= len(profile.outputs) or (output.fades and output.pin not in fading):
            what = "there is no such pin" if output.pin >= len(profile.outputs) else "that pin cannot fade"
            return Unfit("beyond limits", 1, f"output {number} is on pin {output.pin} and {what} on {profile.name}")
    for number, entry in enumerate(program.inputs):
        if entry.pin >= len(profile.inputs):
            sentence = f"input {number} is on pin {entry.pin} and there is no such pin on {profile.name}"
            return Unfit("beyond limits", 1, sentence)
    return None
