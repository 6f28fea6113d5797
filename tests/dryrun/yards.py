"""Small yards put together by hand, for tests that need no show text: one valve, one rod, its sensors,
a lamp."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.dryrun.motion import RodPlan
from sequencer.dryrun.session import Setup
from sequencer.dryrun.spool import SpoolPlan
from sequencer.dryrun.timeline import ClipInfo, Device, InputInfo, OutputInfo, RoutineInfo, Yard
from sequencer.phrases import PinName
from sequencer.rig.valve import Valve
from sequencer.steps import Clip, Input, InputKind, Limits, Output, Program, Routine, Start, Step, step

LEAD_US = 60_000
OUT_US = 400_000
HOME_US = 900_000


@dataclass(frozen=True, slots=True)
class EvenStroke:
    """A lead, then even travel: whole strokes take 0.4 s out and 0.9 s home."""

    start: float
    whole_us: int
    lead_us: int = LEAD_US
    free_air_std_l: float = 1.25

    def arrival_us(self, fraction: float) -> int:
        return self.lead_us + round(abs(fraction - self.start) * self.whole_us)


def even_stroke(start: float, toward: str) -> EvenStroke:
    return EvenStroke(start, OUT_US if toward == "out" else HOME_US)


def valve(ports: str = "5/2", **said: object) -> Valve:
    """A valve on out0 (and out1): `without power retracts` where nothing else is said."""
    base: dict[str, object] = {"name": "window.shove", "pin": PinName("box", "out0"), "ports": ports}
    if said.get("solenoids") == 2:
        base["back_pin"] = PinName("box", "out1")
    if "centre" not in said and "unpowered" not in said:
        base["unpowered"] = "stays" if said.get("solenoids") == 2 else "retracts"
    return Valve(**(base | said))


def rod(**changed: object) -> RodPlan:
    base: dict[str, object] = {
        "name": "window.ram", "valve": "window.shove", "starts": 0.0, "answers_us": 20_000,
        "stroke": even_stroke,
    }  # fmt: skip
    return RodPlan(**(base | changed))  # type: ignore[arg-type]


def lunge(*steps: Step, **said: object) -> Routine:
    return Routine((*steps, step("end")), starts=(Start(0),), **said)  # type: ignore[arg-type]


OUTPUTS = (
    OutputInfo(0, "window.eyes", "window.eyes", Device.LAMP, "only", "pwm0", 0),
    OutputInfo(1, "window.shove", "window.shove", Device.COIL, "only", "out0", 0),
    OutputInfo(2, "window.throat", "window.throat", Device.SPEAKER, "only", "out1", 0),
)
INPUTS = (
    InputInfo(0, "step", InputKind.TRIGGER),
    InputInfo(1, "window.ram_out", InputKind.END_OF_TRAVEL, "window.ram", "out"),
    InputInfo(2, "window.ram_home", InputKind.END_OF_TRAVEL, "window.ram", "home"),
    InputInfo(3, "mushroom", InputKind.STOP),
)


def yard_of(routines: tuple[Routine, ...]) -> Yard:
    names = ("window.lunge", "window.breathing", "bunker.knock")
    infos = tuple(RoutineInfo(i, names[i], routine.idle) for i, routine in enumerate(routines))
    return Yard(
        "Marrow Lane Signal Box", OUTPUTS, INPUTS, infos, (ClipInfo(0, "window.throat", "growl", 2, 1800),)
    )


def setup_of(
    *routines: Routine, heartbeat: int = 0, longest_on: int = 0, plan: RodPlan | None = None
) -> Setup:
    """A doormat beam (settles in 20 ms), a ram with a sensor at each end (5 ms), eyes, a throat, a stop."""
    program = Program(
        board=1,
        show_id=7,
        outputs=(Output(0, fades=True), Output(6, longest_on=longest_on), Output(7)),
        inputs=(
            Input(0, settle=20, warm_up=45_000),
            Input(1, settle=5, kind=InputKind.END_OF_TRAVEL),
            Input(2, settle=5, kind=InputKind.END_OF_TRAVEL),
            Input(3, settle=10, kind=InputKind.STOP),
        ),
        routines=routines,
        clips=(Clip(2, 1800),),
        heartbeat=heartbeat,
    )
    plan = plan or rod(ends=((1, True), (2, False)))
    return Setup(program, Limits(), yard_of(routines), (SpoolPlan("window.shove", valve(), 1),), (plan,))


LUNGE = lunge(
    step("fade", 0, 255, 400), step("play", 0), step("wait", 740), step("set", 1, 1),
    step("await_end", 1, 1, 3000),
    step("wait", 800), step("set", 1, 0), step("wait", 500), step("fade", 0, 0, 1000), step("wait", 1000),
)  # fmt: skip
"""Eyes, growl, the ram out 0.74 s later; 0.8 s after its sensor has seen it, home; the eyes fade away."""
