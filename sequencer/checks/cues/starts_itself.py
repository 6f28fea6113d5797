"""A scare that starts itself: by a line of its own, or by a motion that its own sensor sees."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.facts import Facts
from sequencer.checks.saying import actions_of
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Label, Rule, Severity
from sequencer.rig.drive import Motion, StartRoutine
from sequencer.rig.sensor import Sensor
from sequencer.show import Action, Routine, SensorEdge

_SAYS = {
    "ignore": "it is still running then, so nothing happens",
    "restart": "it begins anew there each time and never comes to its end",
    "once more": "it runs again each time and never ends",
}

RULE = Rule(
    "T009", "a scare that starts itself",
    "Once begun it goes on for ever, or the line does nothing. What is to happen over and over is an `idle`, or a "
    "`repeat` with its bound.",
    failing=changed(LUNGE, ("4 s: eyes off", "4 s: eyes off, lunge starts")), mended=LUNGE, severity=Severity.WARNING,
)
NEEDS = ("whole",)


def find(facts: Facts) -> Iterator[Finding]:
    for _, found in facts.of_each(_starts_itself):
        yield from found


def _starts_itself(yard: Yard, routine: Routine) -> tuple[Finding, ...]:
    found = []
    for action in actions_of(routine):
        if any(isinstance(drive, StartRoutine) and drive.routine == routine.name for drive in action.drives):
            says = "an idle starts by itself" if routine.idle else _SAYS[routine.while_running]
            found.append(RULE.at(action.span, f"`{routine.name}` starts itself here; {says}."))
    for edge in routine.starts:
        found += _by_motion(yard, routine, edge)
    return tuple(found)


def _by_motion(yard: Yard, routine: Routine, edge: SensorEdge) -> Iterator[Finding]:
    placed = yard.parts.get(edge.sensor)
    if placed is None or not isinstance(placed.part, Sensor) or placed.part.sees is None:
        return
    sensor = placed.part
    toward = sensor.end if edge.trips else ("home" if sensor.end == "out" else "out")
    action = next((action for action in actions_of(routine) if _goes(action, sensor.sees, toward)), None)
    if action is not None:
        does = "trips" if edge.trips else "clears"
        message = (f"`{routine.name}` starts when {sensor.name} {does}, and here it moves `{sensor.sees}` so that it "
                   "does; once begun it goes on for ever.")
        yield RULE.at(action.span, message, labels=(Label(edge.span, "the start"),))


def _goes(action: Action, cylinder: str | None, toward: str | None) -> bool:
    return any(isinstance(drive, Motion) and drive.cylinder == cylinder and drive.toward == toward
               for drive in action.drives)
