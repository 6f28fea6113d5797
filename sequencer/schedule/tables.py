"""Parts of a show -> the tables of a board program: outputs with their limits and states of rest, inputs, clips.

What a table cannot hold is a finding. That every pin is one of the board, and of the right kind, has been seen to
before.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from sequencer.board.profiles import Profile
from sequencer.findings import Edit, Finding, Mend
from sequencer.frozen import frozen
from sequencer.phrases import PinName
from sequencer.rig.base import Part
from sequencer.rig.drive import Drive, Motion, Play, Pulse, SetLevel, Silence, ValveTo
from sequencer.rig.sensor import Sensor
from sequencer.rig.speaker import Speaker
from sequencer.rig.valve import Valve, coils, pulses
from sequencer.schedule import rules
from sequencer.schedule.plan import ticks_of
from sequencer.schedule.supply import valve_of
from sequencer.show.model import Action, Placed, SensorEdge, Show
from sequencer.steps.program import (
    LONGEST_ON_UNIT,
    ON,
    SHORTEST_UNIT,
    WARM_UP_UNIT,
    Clip,
    Edge,
    Input,
    InputKind,
    Output,
    Start,
)
from sequencer.units import Quantity

MOST_STORED = 255
MOST_GROUPS = 15
DRIVERS = ("valve", "lamp", "motor", "pump", "fogger", "speaker")
"""The kinds of part that sit on outputs."""


@frozen
class Numbers:
    """What the board calls things: outputs by pin, inputs and whether their sense is turned round, clips."""

    outputs: Mapping[PinName, int]
    inputs: Mapping[str, tuple[int, bool]]
    routines: Mapping[str, int]
    clips: Mapping[tuple[str, str], int]
    speakers: Mapping[str, tuple[int, ...]]

    def state(self, sensor: str, tripped: bool) -> tuple[int, int]:
        """An input, and the state of it that means that the sensor is tripped or not."""
        index, turned = self.inputs[sensor]
        return index, int(tripped != turned)

    def start(self, edge: SensorEdge) -> Start:
        index, tripped = self.state(edge.sensor, edge.trips)
        return Start(index, Edge.TRIPS if tripped else Edge.CLEARS)


@frozen
class Seat:
    """One output of one part: its pin, what people call it, and the part."""

    pin: PinName
    name: str
    placed: Placed


def seats(show: Show) -> tuple[Seat, ...]:
    """Every output that a part sits on, in the order of the text; the first part on a pin gives it its name."""
    found: dict[PinName, Seat] = {}
    for placed in show.of_kind(*DRIVERS):
        for name, pin in _named_pins(placed.part):
            found.setdefault(pin, Seat(pin, name, placed))
    return tuple(found.values())


def _named_pins(part: Part) -> Iterator[tuple[str, PinName]]:
    if isinstance(part, Speaker):
        if part.pin is not None:
            yield part.name, part.pin
        yield from ((f"{part.name} {clip.name}", clip.pin) for clip in part.clips if clip.pin is not None)
        return
    for field, pin in part.pins():
        yield (f"{part.name} back" if field == "back_pin" else part.name), pin


def output_table(
    show: Show, profile: Profile, findings: list[Finding]
) -> tuple[tuple[Output, ...], tuple[str, ...], dict[PinName, int]]:
    """The outputs in the order of their pins on the board, their names, and their numbers by pin."""
    ranked = sorted(((profile.find_pin(seat.pin.pin), seat) for seat in seats(show)),
                    key=lambda pair: pair[0].index if pair[0] is not None else 0)
    safe = _levels(show, "stop", findings)
    alarm = {**safe, **_levels(show, "alarm", findings)}
    groups = _groups(show, findings)
    outputs = []
    for pin, seat in ranked:
        assert pin is not None, f"{seat.pin.pin} is no pin of {profile.name}"
        output = _limited(Output(pin.index, pin.fades, exclusion=groups.get(seat.pin, 0)), seat, findings)
        outputs.append(_rested(output, seat, safe.get(seat.pin, 0), alarm.get(seat.pin, 0), findings))
    names = tuple(seat.name for _, seat in ranked)
    return tuple(outputs), names, {seat.pin: number for number, (_, seat) in enumerate(ranked)}


def _limited(output: Output, seat: Seat, findings: list[Finding]) -> Output:
    """Adds the limits: what the author says, and for coils what the valve itself needs to shift."""
    part = seat.placed.part
    asked = getattr(part, "longest_on", None)
    if asked is not None:
        output = replace(output, longest_on=_longest_on(asked, seat, findings))
    if isinstance(part, Valve):
        if asked is None and pulses(part):
            # A coil that is only ever pulsed should never be found on for longer than two pulses.
            output = replace(output, longest_on=_up(2 * part.pulse.us, LONGEST_ON_UNIT))
        output = replace(
            output, shortest_on=_up(part.responds.us + part.shift.us, SHORTEST_UNIT),
            shortest_off=_up(part.releases.us + part.shift.us, SHORTEST_UNIT),
        )
    return output


def _up(us: int, unit: int) -> int:
    """A time in ticks, rounded up to a unit in which it is stored, at most what can be stored."""
    return min(-(-ticks_of(us) // unit), MOST_STORED) * unit


def _longest_on(asked: Quantity, seat: Seat, findings: list[Finding]) -> int:
    stored = ticks_of(asked.us) // LONGEST_ON_UNIT
    if 1 <= stored <= MOST_STORED:
        return stored * LONGEST_ON_UNIT
    least, most = f"{LONGEST_ON_UNIT / 1000:g} s", f"{MOST_STORED * LONGEST_ON_UNIT / 1000:g} s"
    message = (f"`on for at most {asked}` of {seat.name} cannot be kept by the board, which keeps a longest time on of "
               f"{least} to {most}.")
    kept = f"on for at most {least if stored < 1 else most}"
    findings.append(_not_kept(seat.placed, "longest_on", message, kept))
    return 0


def _not_kept(placed: Placed, field: str, message: str, kept: str) -> Finding:
    """A limit beyond what is stored, and what could be written: of a part that has it from another, beside its name."""
    if field in placed.where:
        mends = (Mend(f"write `{kept}`", (Edit(placed.at(field), kept),)),)
        return rules.LIMIT_NOT_KEPT.at(placed.at(field), message, mends=mends)
    return rules.LIMIT_NOT_KEPT.at(placed.span, f"{message} It has this from another part; say `{kept}` here.")


def _rested(output: Output, seat: Seat, safe: int, alarm: int, findings: list[Finding]) -> Output:
    """Adds the states of rest. A limit of the show forbids to hold an output on; one of ours gives way."""
    if (safe or alarm) and output.longest_on:
        if getattr(seat.placed.part, "longest_on", None) is not None:
            message = (f"{seat.name} is on in the safe state, which can last all night, and has a longest time on of "
                       f"{output.longest_on / 1000:g} s; take one of the two away.")
            findings.append(rules.UNSAFE_STATE.at(seat.placed.at("longest_on"), message))
        output = replace(output, longest_on=0)
    return replace(output, safe=safe, alarm=alarm)


def _groups(show: Show, findings: list[Finding]) -> dict[PinName, int]:
    """The two coils of a valve exclude each other."""
    groups: dict[PinName, int] = {}
    valves = [placed for placed in show.of_kind("valve") if len(placed.part.pins()) == 2]
    for number, placed in enumerate(valves, 1):
        if number > MOST_GROUPS:
            message = (f"The board can keep {MOST_GROUPS} pairs of coils from being on together, and "
                       f"{placed.part.name} is number {number}.")
            findings.append(rules.LIMIT_NOT_KEPT.at(placed.span, message))
            continue
        groups.update({pin: number for _, pin in placed.part.pins()})
    return groups


# States of rest


def _levels(show: Show, word: str, findings: list[Finding]) -> dict[PinName, int]:
    """The level of each output that `stop:` or `alarm:` names."""
    levels: dict[PinName, int] = {}
    for safe in show.safes:
        if safe.word == word:
            for action in safe.actions:
                levels.update(_level_of(show, action, findings))
    return levels


def _level_of(show: Show, action: Action, findings: list[Finding]) -> dict[PinName, int]:
    levels: dict[PinName, int] = {}
    for drive in action.drives:
        held = _held(show, drive)
        if held is None:
            message = (f"The safe state holds every output at a level, so `{action.who}` can go one way, or on, off "
                       "or to a level, and nothing that takes its time.")
            findings.append(rules.UNSAFE_STATE.at(action.span, message, mends=_held_instead(action, drive)))
        else:
            levels.update(held)
    return levels


def _held_instead(action: Action, drive: Drive) -> tuple[Mend, ...]:
    """A motion that comes to the same end and can be held."""
    if not isinstance(drive, Motion) or drive.fraction is not None or drive.for_us:
        return ()
    held = f"{action.who} {'extends' if drive.toward == 'out' else 'retracts'}"
    return (Mend(f"write `{held}`", (Edit(action.span, held),)),)


def _held(show: Show, drive: Drive) -> dict[PinName, int] | None:
    """What a drive comes to when it is held; None for one that cannot be held."""
    match drive:
        case SetLevel(pin=pin, level=level):
            return {pin: level_of(level)}
        case Silence(speaker=speaker):
            return {pin: 0 for pin in _speaker_pins(show.parts[speaker].part)}
        case Motion(cylinder=cylinder, toward=("out" | "home") as toward, lands=False, for_us=None):
            valve = valve_of(show.parts, cylinder)
            return None if valve is None else _held_coils(coils(valve, toward))
        case ValveTo(valve=name, way=way, for_us=None):
            valve = show.parts[name].part
            assert isinstance(valve, Valve)
            return _held_coils(coils(valve, way))
    return None


def _held_coils(commands: Iterable[Drive]) -> dict[PinName, int]:
    """A coil that is else pulsed is held on, so that nobody can shift the valve back by hand meanwhile."""
    levels: dict[PinName, int] = {}
    for command in commands:
        if isinstance(command, SetLevel):
            levels[command.pin] = level_of(command.level)
        elif isinstance(command, Pulse):
            levels[command.pin] = ON
    return levels


def level_of(share: float) -> int:
    """A level of 0 to 1 as the board counts it.

    >>> level_of(0.5), level_of(1.0)
    (128, 255)
    """
    return int(share * ON + 0.5)


# Inputs, clips, speakers


def input_table(
    show: Show, profile: Profile, findings: list[Finding]
) -> tuple[tuple[Input, ...], dict[str, tuple[int, bool]]]:
    """The inputs in the order of the text, and by sensor the number and whether its sense is turned round.

    `stop on loop clears` is an input that counts as tripped when the loop is clear.
    """
    asked = {edge.sensor: (safe.word, edge) for safe in show.safes for edge in safe.edges}
    inputs, numbers = [], {}
    for number, placed in enumerate(show.of_kind("sensor")):
        sensor = placed.part
        assert isinstance(sensor, Sensor)
        pin = profile.find_pin(sensor.pin.pin)
        assert pin is not None, f"{sensor.pin.pin} is no pin of {profile.name}"
        word, edge = asked.get(sensor.name, (sensor.role, None))
        turned = edge is not None and not edge.trips
        kind = {"stop": InputKind.STOP, "alarm": InputKind.ALARM}.get(
            word, InputKind.END_OF_TRAVEL if sensor.is_end_of_travel else InputKind.TRIGGER)
        inputs.append(Input(pin.index, (sensor.tripped == "low") != turned, kind, ticks_of(sensor.settle.us),
                            _warm_up(placed, sensor, findings)))
        numbers[sensor.name] = (number, turned)
    return tuple(inputs), numbers


def _warm_up(placed: Placed, sensor: Sensor, findings: list[Finding]) -> int:
    stored = -(-ticks_of(sensor.warm_up.us) // WARM_UP_UNIT)
    if stored <= MOST_STORED:
        return stored * WARM_UP_UNIT
    message = (f"`ready after {sensor.warm_up}` of {sensor.name} cannot be kept by the board, which keeps a warm-up "
               f"of up to {MOST_STORED} s.")
    findings.append(_not_kept(placed, "warm_up", message, f"ready after {MOST_STORED} s"))
    return MOST_STORED * WARM_UP_UNIT


def clip_table(
    show: Show, played: Iterable[Play], clip_us: Mapping[tuple[str, str], int], outputs: Mapping[PinName, int]
) -> tuple[tuple[Clip, ...], tuple[str, ...], dict[tuple[str, str], int]]:
    """The clips that some cue plays, each once. One whose length is not known counts as a single tick."""
    clips, names, numbers = [], [], {}
    for play in played:
        key = (play.speaker, play.clip)
        if key in numbers:
            continue
        speaker = show.parts[play.speaker].part
        assert isinstance(speaker, Speaker)
        clip = speaker.clip(play.clip)
        assert clip is not None
        numbers[key] = len(clips)
        clips.append(Clip(outputs[speaker.pin_of(clip)], max(ticks_of(clip_us.get(key, 0)), 1)))
        names.append(f"{play.speaker} {play.clip}")
    return tuple(clips), tuple(names), numbers


def speaker_outputs(show: Show, outputs: Mapping[PinName, int]) -> dict[str, tuple[int, ...]]:
    """The outputs that make each speaker play, each once."""
    return {
        placed.part.name: tuple(outputs[pin] for pin in _speaker_pins(placed.part))
        for placed in show.of_kind("speaker")
    }


def _speaker_pins(part: Part) -> tuple[PinName, ...]:
    return tuple(dict.fromkeys(pin for _, pin in _named_pins(part)))
