"""Whether the bytes of an image are a program that this kind of board can run.

Asked by the host before it sends and by the board before it commits. Decoding and the rules of a program are
`steps`'; here the board's own pins, room and kind come in.
"""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.board.profiles import Profile, profile_by_kind
from sequencer.steps import BadProgram, Program, decode, verify
from sequencer.steps.listing_tables import Names, spoken


@dataclass(frozen=True, slots=True)
class Unfit:
    """Why an image is not for a board: the name of a refusal, its detail, and a sentence."""

    refusal: str
    detail: int
    sentence: str


def fit_program(image: bytes, profile: Profile, names: Names | None = None) -> Program | Unfit:
    """The program in the image, where this kind of board can run it; else the first reason why not.

    With `names` the reason speaks of outputs and inputs as their author does.
    """
    fit = _fit(image, profile)
    if names is None or not isinstance(fit, Unfit):
        return fit
    return Unfit(fit.refusal, fit.detail, spoken(fit.sentence, names))


def _fit(image: bytes, profile: Profile) -> Program | Unfit:
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
    outputs, inputs = len(profile.outputs), len(profile.inputs)
    for number, output in enumerate(program.outputs):
        if output.pin >= outputs:
            sentence = f"output {number} is on output pin number {output.pin + 1}, and {profile.name} has {outputs}"
            return Unfit("beyond limits", 1, sentence)
        if output.fades and output.pin not in fading:
            pin = profile.outputs[output.pin].name
            sentence = f"output {number} fades, and {pin} of {profile.name} is only on or off"
            return Unfit("beyond limits", 1, sentence)
    for number, entry in enumerate(program.inputs):
        if entry.pin >= inputs:
            sentence = f"input {number} is on input pin number {entry.pin + 1}, and {profile.name} has {inputs}"
            return Unfit("beyond limits", 1, sentence)
    return None
