"""A compiled show -> what its outputs drive and its inputs see: lanes, valves, rods, strokes to ask for.

Outputs and inputs are found by the pins that the parts are on. How a stroke comes about is the air room's.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from sequencer.air.carrying import Carrying, carrying_of
from sequencer.air.course import Course, course_at_rest
from sequencer.air.from_rig import Toward, mechanism_on
from sequencer.air.request import described_by
from sequencer.board.profiles import Profile, profile_by_kind
from sequencer.dryrun.air_yard import air_yards
from sequencer.dryrun.current import fed_by_supplies
from sequencer.dryrun.motion import Gauge, RodPlan
from sequencer.dryrun.session import Setup
from sequencer.dryrun.spool import Spool, SpoolPlan
from sequencer.dryrun.timeline import ClipInfo, Device, InputInfo, OutputInfo, RoutineInfo, Yard
from sequencer.phrases import PinName
from sequencer.rig.base import Part
from sequencer.rig.cylinder import Cylinder, starts_at
from sequencer.rig.prop import Prop
from sequencer.rig.sensor import Sensor
from sequencer.rig.speaker import Speaker
from sequencer.rig.valve import Valve
from sequencer.schedule.compile import Compiled
from sequencer.schedule.supply import cylinders_on, pressure_told, request_for
from sequencer.show.model import Show
from sequencer.steps.program import Program

_LIKE_A_LAMP = "lamp"


def set_up(compiled: Compiled, show: Show) -> Setup:
    """Everything that a dry run of the show needs.

    The program must be for a kind of board that has a profile, and the show the one it was compiled from.
    """
    profile = profile_by_kind(compiled.program.board)
    assert profile is not None
    outputs = _outputs(show, compiled.program, profile)
    inputs = _inputs(show, compiled.program, profile)
    yard = Yard(show.title, outputs, inputs, _routines(compiled), _clips(compiled))
    spools = tuple(_spools(show, outputs))
    air = air_yards(show.parts, {plan.name: Spool(plan).way for plan in spools})
    rods = tuple(_rods(show, spools, inputs, {name for one in air for name in one.cylinders}))
    return Setup(compiled.program, profile.limits, yard, spools, rods, air, fed_by_supplies(show, outputs))


def sensor_names(show: Show) -> tuple[str, ...]:
    """Whole names of the sensors of a show, in the order of the text."""
    return tuple(placed.part.name for placed in show.of_kind("sensor"))


def _pin_numbers(profile: Profile, program: Program) -> tuple[Mapping[str, int], Mapping[str, int]]:
    """Index in the program's tables of outputs and of inputs, by the name of the pin."""
    outputs = {output.pin: index for index, output in enumerate(program.outputs)}
    inputs = {one.pin: index for index, one in enumerate(program.inputs)}
    return (
        {pin.name: outputs[pin.index] for pin in profile.outputs if pin.index in outputs},
        {pin.name: inputs[pin.index] for pin in profile.inputs if pin.index in inputs},
    )


def _outputs(show: Show, program: Program, profile: Profile) -> tuple[OutputInfo, ...]:
    numbers, _ = _pin_numbers(profile, program)
    found: dict[int, OutputInfo] = {}
    for placed in show.parts.values():
        part = placed.part
        for role, pin in _drives(part):
            index = numbers.get(pin.pin)
            if index is not None and index not in found:
                name = f"{part.name} ({role})" if role != "only" else part.name
                found[index] = OutputInfo(
                    index, name, part.name, _device(part), role, pin.pin, program.outputs[index].safe
                )
    names = {index: name for name, index in numbers.items()}
    return tuple(
        found.get(index)
        or OutputInfo(index, names[index], names[index], Device.SWITCHED, "only", names[index], output.safe)
        for index, output in enumerate(program.outputs)
    )


def _drives(part: Part) -> Iterator[tuple[str, PinName]]:
    """The outputs of a part, each with what tells it from the others of the part."""
    if isinstance(part, Sensor):
        return
    if isinstance(part, Valve) and part.back_pin is not None:
        yield from (("on", part.pin), ("back on", part.back_pin))
    elif isinstance(part, Speaker):
        yield from ((f"clip {clip.name}" if clip.pin else "only", part.pin_of(clip)) for clip in part.clips)
    else:
        yield from (("only", pin) for _, pin in part.pins())


def _device(part: Part) -> Device:
    if isinstance(part, Valve):
        return Device.COIL
    if isinstance(part, Speaker):
        return Device.SPEAKER
    return Device.LAMP if part.kind == _LIKE_A_LAMP else Device.SWITCHED


def _inputs(show: Show, program: Program, profile: Profile) -> tuple[InputInfo, ...]:
    _, numbers = _pin_numbers(profile, program)
    found = {}
    for placed in show.of_kind("sensor"):
        sensor = placed.part
        assert isinstance(sensor, Sensor)
        index = numbers.get(sensor.pin.pin)
        if index is not None:
            one = program.inputs[index]
            turned = one.low_when_tripped != (sensor.tripped == "low")
            found[index] = InputInfo(index, sensor.name, one.kind, sensor.sees, sensor.end, turned)
    names = {index: name for name, index in numbers.items()}
    return tuple(
        found.get(index) or InputInfo(index, names[index], one.kind)
        for index, one in enumerate(program.inputs)
    )


def _routines(compiled: Compiled) -> tuple[RoutineInfo, ...]:
    return tuple(
        RoutineInfo(index, compiled.names.routines[index], routine.idle)
        for index, routine in enumerate(compiled.program.routines)
    )


def _clips(compiled: Compiled) -> tuple[ClipInfo, ...]:
    """The clips of the program, which calls them `speaker clip`."""
    found = []
    for index, (clip, name) in enumerate(zip(compiled.program.clips, compiled.names.clips, strict=True)):
        speaker, _, word = name.rpartition(" ")
        found.append(ClipInfo(index, speaker, word, clip.output, clip.length))
    return tuple(found)


def _spools(show: Show, outputs: tuple[OutputInfo, ...]) -> Iterator[SpoolPlan]:
    for placed in show.of_kind("valve"):
        valve = placed.part
        assert isinstance(valve, Valve)
        coils = {one.role: one.index for one in outputs if one.device == valve.name}
        coil = coils.get("on", coils.get("only"))
        if coil is None:
            continue
        moved = [show.parts[name].part for name in cylinders_on(show.parts, valve.name)]
        starts = starts_at(moved[0], valve) if moved else "home"
        yield SpoolPlan(valve.name, valve, coil, coils.get("back on"), starts)


def _rods(
    show: Show, spools: tuple[SpoolPlan, ...], inputs: tuple[InputInfo, ...], on_supply: set[str]
) -> Iterator[RodPlan]:
    for spool in spools:
        for name in cylinders_on(show.parts, spool.name):
            cylinder = show.parts[name].part
            assert isinstance(cylinder, Cylinder)
            starts = starts_at(cylinder, spool.valve)
            yield RodPlan(
                name=name,
                valve=spool.name,
                starts=starts,
                going=None if name in on_supply else _at_rest(show, name, starts),
                ends=tuple((one.index, one.end == "out") for one in inputs if one.sees == name),
                weight_brings_home=cylinder.acting == "single",
                carrying=_carrying(show, name),
                gauge=_gauge(show, cylinder),
            )


def _gauge(show: Show, cylinder: Cylinder) -> Gauge:
    prop = show.parts[cylinder.prop].part if cylinder.prop in show.parts else None
    told = pressure_told(show.parts, prop if isinstance(prop, Prop) else None)
    both = cylinder.acting == "double"
    if told is None:
        return Gauge("bar" if cylinder.measured_at is None else cylinder.measured_at.unit.symbol, both=both)
    return Gauge(told[1].unit.symbol, ((told[0], told[1].si),), both)


def _carrying(show: Show, name: str) -> Carrying:
    request = request_for(show.parts, name, 0.0, "out")
    assert request is not None
    return carrying_of(request.cylinder, request.drives, mechanism_on(described_by(request)))


def _at_rest(show: Show, name: str, starts: Toward) -> Course:
    """How the rod stands before the first command."""
    request = request_for(show.parts, name, 1.0 if starts == "out" else 0.0, starts)
    assert request is not None
    return course_at_rest(request, starts)
