"""Small yards put together by hand, for tests that need no show text: one valve, one rod, its sensors,
a lamp."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from sequencer.dryrun.motion import RodPlan
from sequencer.dryrun.session import Setup
from sequencer.dryrun.spool import SpoolPlan, Way
from sequencer.dryrun.timeline import ClipInfo, Device, InputInfo, OutputInfo, RoutineInfo, Yard
from sequencer.phrases import PinName
from sequencer.rig.valve import Valve
from sequencer.steps import Clip, Input, InputKind, Limits, Output, Program, Routine, Start, Step, step

LEAD_US = 60_000
OUT_US = 400_000
HOME_US = 900_000


@dataclass(frozen=True)
class Even:
    """How a rod goes evenly: whole ways out and home, the lead, and how long the valve takes to answer, in us."""

    out_us: int = OUT_US
    home_us: int = HOME_US
    lead_us: int = LEAD_US
    answers_us: int = 20_000
    vents_home: bool = False
    air_std_l: float = 1.25


@dataclass(frozen=True, eq=False)
class EvenGoing:
    """A rod that goes on as before for the lead, then evenly; a command taken back before the valve has answered is
    none. `before` is what it did, `since` how long that had been going on."""

    even: Even
    way: Way
    before: EvenGoing | None = None
    since: int = 0
    place: float = 0.0

    def _earlier(self, us: float) -> float:
        return self.place if self.before is None else self.before.position(self.since + us)

    @cached_property
    def _end(self) -> float | None:
        if self.way == "vented":
            return 0.0 if self.even.vents_home else None
        return {"out": 1.0, "home": 0.0}.get(self.way)

    @cached_property
    def _turn(self) -> int:
        return self.even.lead_us if self._end is not None else self.even.answers_us

    @cached_property
    def points(self) -> tuple[tuple[int, float], ...]:
        if self.before is None:
            return ((0, self.place),)
        ahead = [(us - self.since, where) for us, where in self.before.points if 0 < us - self.since < self._turn]
        found = [(0, self._earlier(0)), *ahead]
        stand = self._earlier(self._turn)
        if stand != found[-1][1] or self.leaves_us is not None:
            found.append((self._turn, stand))
        if self.leaves_us is not None:
            found.append((self.ends_us, self._end))
        return tuple(found)

    @cached_property
    def stops_us(self) -> int | None:
        if self.before is None or self.before.ends_us <= self.since:
            return None
        under_way = self.before.leaves_us is not None and self.before.leaves_us < self.since + self._turn
        return min(self._turn, self.before.ends_us - self.since) if under_way else None

    @cached_property
    def leaves_us(self) -> int | None:
        if self.before is None or self._end is None or abs(self._earlier(self._turn) - self._end) < 1e-9:
            return None
        return self._turn

    @cached_property
    def ends_us(self) -> int:
        if self.leaves_us is None:
            return self.stops_us or 0
        whole = self.even.out_us if self.toward == "out" else self.even.home_us
        return self._turn + max(round(whole * abs(self._end - self._earlier(self._turn))), 1)

    @cached_property
    def toward(self) -> str:
        return "out" if self._end == 1.0 else "home"

    def position(self, us: float) -> float:
        points = self.points
        for (begin, start), (end, stop) in pairwise(points):
            if begin <= us <= end:
                return start + (stop - start) * (us - begin) / (end - begin)
        return points[-1][1]

    def air_until_std_l(self, us: float) -> float:
        return self.even.air_std_l if self.leaves_us is not None and us >= self.leaves_us else 0.0

    def turned(self, us: int, way: Way) -> EvenGoing:
        if us < self.even.answers_us and self.before is not None and way == self.before.way:
            return EvenGoing(self.even, way, self.before, self.since + us, self.place)
        return EvenGoing(self.even, way, self, us, self.place)


def standing(even: Even = Even(), place: float = 0.0) -> EvenGoing:
    return EvenGoing(even, "out" if place else "home", place=place)


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
        "name": "window.ram", "valve": "window.shove", "starts": "home", "going": standing(),
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
