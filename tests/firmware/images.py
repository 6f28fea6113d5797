"""Images for the proof of programs: random ones on the pins of a board, and such with a few bytes wrong."""

from __future__ import annotations

import random
from dataclasses import replace

from sequencer.board.profiles import Profile
from sequencer.steps import Output, Program, encode, layout
from sequencer.steps.random_program import random_program

_TELLING = (0x00, 0x0F, 0x12, 0x13, 0x16, 0x17, 0x18, 0x50)
"""First bytes of steps that open, close and skip, which chance hardly ever writes where a step begins."""


def image_for(draws: random.Random, profile: Profile) -> bytes:
    """An image that fits the board's slot: for one in three nothing is wrong with it, for the others something may be,
    mostly deep inside, as the checksum is made to fit again."""
    while True:
        image = bytearray(encode(_program(draws, profile)))
        for _ in range(draws.choice((0, 0, 1, 1, 1, 2, 4))):
            _damage(draws, image)
        if draws.random() < 0.97:
            image[layout.CRC_AT : layout.HEADER_SIZE] = layout.image_crc(bytes(image)).to_bytes(4, "little")
        if len(image) <= profile.slot_bytes:
            return bytes(image)


def _program(draws: random.Random, profile: Profile) -> Program:
    """A program for the board, at times beyond its limits by a little."""
    limits = replace(
        profile.limits,
        steps_per_tick=profile.limits.steps_per_tick + draws.choice((0, 0, 4)),
        frames=profile.limits.frames + draws.choice((0, 0, 1)),
        program_bytes=min(profile.limits.program_bytes, 2000),
    )
    program = random_program(draws, limits)
    if draws.random() < 0.1:
        return program
    pins = draws.sample(range(len(profile.inputs)), len(program.inputs))
    inputs = tuple(replace(entry, pin=pin) for entry, pin in zip(program.inputs, pins, strict=True))
    return replace(program, board=profile.kind, inputs=inputs, outputs=_on_pins(draws, program.outputs, profile))


def _on_pins(draws: random.Random, outputs: tuple[Output, ...], profile: Profile) -> tuple[Output, ...]:
    """The outputs on pins of the board, at times without regard to which can fade."""
    fading = [pin.index for pin in profile.outputs if pin.fades]
    plain = [pin.index for pin in profile.outputs if not pin.fades]
    draws.shuffle(fading)
    draws.shuffle(plain)
    fitting = sum(output.fades for output in outputs)
    if fitting <= len(fading) and len(outputs) - fitting <= len(plain) and draws.random() < 0.8:
        return tuple(replace(output, pin=(fading if output.fades else plain).pop()) for output in outputs)
    pins = draws.sample(range(len(profile.outputs)), len(outputs))
    return tuple(replace(output, pin=pin) for output, pin in zip(outputs, pins, strict=True))


def _damage(draws: random.Random, image: bytearray) -> None:
    """Makes a byte another, takes it out, or puts one in."""
    at = draws.randrange(layout.HEADER_SIZE if draws.random() < 0.95 else 0, len(image))
    chance = draws.random()
    if chance < 0.6:
        image[at] = draws.choice((draws.randrange(256), image[at] ^ 1 << draws.randrange(8), draws.choice(_TELLING)))
    else:
        if chance < 0.8:
            del image[at]
        else:
            image.insert(at, draws.choice((*_TELLING, draws.randrange(256))))
        image[8:10] = len(image).to_bytes(2, "little")
