"""The head of a listing: outputs, inputs and clips with their limits; the words for times, levels, names.

Pins go by the names that the author gives them, where the caller knows those; a program has only their numbers.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from sequencer.steps.program import ON, TICKS_PER_SECOND, Clip, Input, InputKind, Output, Program

_KINDS = {
    InputKind.TRIGGER: "trigger",
    InputKind.END_OF_TRAVEL: "end of travel",
    InputKind.STOP: "stop",
    InputKind.ALARM: "house alarm",
}


@dataclass(frozen=True, slots=True)
class Names:
    """What people call the outputs, inputs, routines and clips, by index.

    `board` is the kind of board; `output_pins` and `input_pins` are where each is wired, such as `box out0`.
    """

    outputs: tuple[str, ...]
    inputs: tuple[str, ...]
    routines: tuple[str, ...]
    clips: tuple[str, ...]
    board: str = ""
    output_pins: tuple[str, ...] = ()
    input_pins: tuple[str, ...] = ()

    @staticmethod
    def numbered(program: Program) -> Names:
        """Names for a program of which only the bytes are known: output 0, input 0, ..."""

        def made(word: str, items: tuple[object, ...]) -> tuple[str, ...]:
            return tuple(f"{word} {i}" for i in range(len(items)))

        return Names(
            made("output", program.outputs),
            made("input", program.inputs),
            made("scare", program.routines),
            made("clip", program.clips),
        )


def seconds(ticks: int) -> str:
    """Ticks as seconds with all their digits.

    >>> seconds(400)
    '0.400 s'
    """
    return f"{ticks // TICKS_PER_SECOND}.{ticks % TICKS_PER_SECOND:03d} s"


def percent(level: int) -> str:
    """A level as the share of full on.

    >>> percent(51)
    '20 %'
    """
    return f"{level * 100 / ON:.0f} %"


def name_of(names: tuple[str, ...], word: str, index: int) -> str:
    """The name at an index, or the word and the number where there is none."""
    return names[index] if index < len(names) else f"{word} {index}"


_NUMBERED = re.compile(r"\b(output|input|scare|clip) (\d+)\b", re.IGNORECASE)


def spoken(text: str, names: Names) -> str:
    """A sentence about a program with the author's names in the place of numbers, as far as there are names.

    >>> spoken("output 1 is on out2, as output 7 is", Names(("eyes", "ram"), (), (), ()))
    '`ram` is on out2, as output 7 is'
    """
    tables = {"output": names.outputs, "input": names.inputs, "scare": names.routines, "clip": names.clips}

    def name(found: re.Match[str]) -> str:
        known, index = tables[found[1].lower()], int(found[2])
        return f"`{known[index]}`" if index < len(known) and known[index] != found[0].lower() else found[0]

    return _NUMBERED.sub(name, text)


def table_lines(program: Program, names: Names) -> list[str]:
    """A line for each output, input and clip."""
    outputs = [
        _row("output", number, names.outputs, [_pin(names.output_pins, number, output.pin), *_output(output)])
        for number, output in enumerate(program.outputs)
    ]
    inputs = [
        _row("input", number, names.inputs, [_pin(names.input_pins, number, sensor.pin), *_input(sensor)])
        for number, sensor in enumerate(program.inputs)
    ]
    clips = [_row("clip", number, names.clips, _clip(clip, names)) for number, clip in enumerate(program.clips)]
    return outputs + inputs + clips


def titled(word: str, number: int, names: tuple[str, ...]) -> str:
    """What stands at the head of a line: the number in the program, and the name where there is one.

    >>> titled("output", 1, ("eyes", "ram")), titled("output", 1, ())
    ('output 1: ram', 'output 1')
    """
    counted = f"{word} {number}"
    name = name_of(names, word, number)
    return counted if name == counted else f"{counted}: {name}"


def _row(word: str, number: int, names: tuple[str, ...], facts: list[str]) -> str:
    head = titled(word, number, names)
    return f"  {head}{', ' if ':' in head else ': '}{', '.join(facts)}"


def _pin(known: tuple[str, ...], number: int, pin: int) -> str:
    return f"on {known[number]}" if number < len(known) else f"pin {pin}"


def _output(output: Output) -> list[str]:
    facts = [f"safe {percent(output.safe)}", f"alarm {percent(output.alarm)}"]
    if output.fades:
        facts.append("fades")
    if output.active_low:
        facts.append("active low")
    if output.longest_on:
        facts.append(f"on for {seconds(output.longest_on)} at most")
    if output.shortest_on:
        facts.append(f"on for {seconds(output.shortest_on)} at least")
    if output.shortest_off:
        facts.append(f"off for {seconds(output.shortest_off)} at least")
    if output.exclusion:
        facts.append(f"never on with others of group {output.exclusion}")
    return facts


def _input(sensor: Input) -> list[str]:
    facts = [_KINDS[sensor.kind], f"{'low' if sensor.low_when_tripped else 'high'} when tripped"]
    if sensor.settle:
        facts.append(f"settles in {seconds(sensor.settle)}")
    if sensor.warm_up:
        facts.append(f"ready after {seconds(sensor.warm_up)}")
    return facts


def _clip(clip: Clip, names: Names) -> list[str]:
    return [f"on {name_of(names.outputs, 'output', clip.output)}", seconds(clip.length)]
