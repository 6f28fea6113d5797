"""The head of a listing: outputs, inputs and clips with their limits; the words for times, levels, names."""

from __future__ import annotations

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
    """What people call the outputs, inputs, routines and clips, by index."""

    outputs: tuple[str, ...]
    inputs: tuple[str, ...]
    routines: tuple[str, ...]
    clips: tuple[str, ...]

    @staticmethod
    def numbered(program: Program) -> Names:
        """Names for a program of which only the bytes are known: output 0, input 0, ..."""

        def made(word: str, items: tuple[object, ...]) -> tuple[str, ...]:
            return tuple(f"{word} {i}" for i in range(len(items)))

        return Names(
            made("output", program.outputs),
            made("input", program.inputs),
            made("routine", program.routines),
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


def table_lines(program: Program, names: Names) -> list[str]:
    """A line for each output, input and clip."""
    lines = [
        f"  output {i}: {name_of(names.outputs, 'output', i)}, {_output(output)}"
        for i, output in enumerate(program.outputs)
    ]
    lines += [
        f"  input {i}: {name_of(names.inputs, 'input', i)}, {_input(sensor)}"
        for i, sensor in enumerate(program.inputs)
    ]
    return lines + [f"  clip {i}: {_clip(clip, i, names)}" for i, clip in enumerate(program.clips)]


def _output(output: Output) -> str:
    facts = [f"pin {output.pin}", f"safe {percent(output.safe)}", f"alarm {percent(output.alarm)}"]
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
        facts.append(f"exclusion group {output.exclusion}")
    return ", ".join(facts)


def _input(sensor: Input) -> str:
    facts = [
        f"pin {sensor.pin}",
        _KINDS[sensor.kind],
        f"{'low' if sensor.low_when_tripped else 'high'} when tripped",
    ]
    if sensor.settle:
        facts.append(f"settles in {seconds(sensor.settle)}")
    if sensor.warm_up:
        facts.append(f"ready after {seconds(sensor.warm_up)}")
    return ", ".join(facts)


def _clip(clip: Clip, number: int, names: Names) -> str:
    return (
        f"{name_of(names.clips, 'clip', number)}, on {name_of(names.outputs, 'output', clip.output)}, "
        f"{seconds(clip.length)}"
    )
