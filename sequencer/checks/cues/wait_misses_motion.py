"""A line that waits for a cylinder's end, or repeats until it is there, and a motion too slow or too fast for that."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.moments import exclusive, on_path, sides_of
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Label, Rule, Severity, Span
from sequencer.frozen import frozen
from sequencer.rig.sensor import Sensor
from sequencer.schedule.faults import by_needle
from sequencer.schedule.plan import Line, Moment, PlannedRoutine, Travel, Window
from sequencer.show import Repeat, SensorEdge, WhenSensor
from sequencer.units import say_time

SEES = 0.01
"""An end sensor loses the rod about so far from its end, as a share of the stroke (assumed, as in the dry run)."""
SEEN = changed(LUNGE, ("    lamp eyes: on box pwm0\n", """    lamp eyes: on box pwm0
    sensor ram_out like reed_switch: on box in2, sees ram out
"""), ("measured out 0.4 s", "measured out 1.4 s"),
               ("        4 s: eyes off", "        6 s: eyes off"), ("        2 s: ram", "        4 s: ram"),
               ("ram extends, eyes on\n", "ram extends\n        when ram_out trips, or after WAIT: eyes on\n"))
RULE = Rule(
    "T015", "a motion too slow or too fast for its cue",
    "A line can wait for the sensor at the end of a motion, or repeat until it trips, with a bound. A motion that "
    "takes longer than the bound is never waited for: the line comes at its bound, with the prop still under way. One "
    "that is long over when the wait begins is not waited for either: the line comes at once.",
    failing=changed(SEEN, ("WAIT", "1 s")), mended=changed(SEEN, ("WAIT", "2 s")),
    severity=Severity.WARNING, source="the travel times of the air model, or those measured on the prop",
)
NEEDS = ("plan",)


def find_in(yard: Yard, routine: PlannedRoutine) -> Iterator[Finding]:
    for line in routine.lines:
        wait = None if line.again else _wait(line)
        if wait is None:
            continue
        placed = yard.parts.get(wait.edge.sensor)
        sensor = None if placed is None else placed.part
        if isinstance(sensor, Sensor) and sensor.sees is not None:
            last = _last(routine, line, sensor.sees)
            if last is not None and not (wait.rounds and _moves_meanwhile(routine, line, sensor.sees)):
                yield from _told(wait, sensor, *last)


@frozen
class _Wait:
    """What a line waits for and how long at most; it `begins_us` within a window. `rounds`: a repeat, which looks at
    the end of each of its rounds."""

    edge: SensorEdge
    bound_us: int
    begins_us: Window
    span: Span
    rounds: bool

    @property
    def name(self) -> str:
        return f"repeat until `{self.edge.sensor}`" if self.rounds else f"wait for `{self.edge.sensor}`"


def _wait(line: Line) -> _Wait | None:
    when, block = line.cue.when, line.cue.block
    if isinstance(when, WhenSensor):
        begins = line.starts_us[0], line.starts_us[1] - when.bound_us
        return _Wait(when.edge, when.bound_us, begins, line.cue.when_span, False)
    if isinstance(block, Repeat) and block.until is not None:
        # The round that runs when the bound comes is finished, and the sensor looked at once more.
        return _Wait(block.until, line.ends_us[1] - line.starts_us[1], line.starts_us, line.cue.span, True)
    return None


def _moves_meanwhile(routine: PlannedRoutine, line: Line, cylinder: str) -> bool:
    """Whether the rounds of a repeat move the cylinder themselves: then it is theirs that the repeat waits for."""
    return any(travel.cylinder == cylinder for moment in routine.moments for travel in moment.travels
               if moment.cue.span.line > line.cue.span.line and moment.earliest_us < line.ends_us[1])


def _last(routine: PlannedRoutine, line: Line, cylinder: str) -> tuple[Moment, Travel] | None:
    """The last motion of the cylinder before the wait begins, if it surely comes before it on every run."""
    sides = sides_of(routine.routine.cues)
    own = sides.get(id(line.cue), frozenset())
    before = [(moment, travel) for moment in routine.moments for travel in moment.travels
              if travel.cylinder == cylinder and moment.cue.span.line < line.cue.span.line and not moment.goes_back
              and not exclusive(sides.get(id(moment.cue), frozenset()), own)]
    if not before:
        return None
    moment, travel = max(before, key=lambda one: (one[0].earliest_us, one[0].latest_us))
    return (moment, travel) if sides.get(id(moment.cue), frozenset()) <= own else None


def _told(wait: _Wait, sensor: Sensor, moment: Moment, travel: Travel) -> Iterator[Finding]:
    end = sensor.end or "out"
    goes_there = travel.toward == end
    if travel.stroke is None or not travel.stroke.arrives or travel.before == travel.toward:
        return
    if travel.toward == "stops" or goes_there != wait.edge.trips:
        return
    needs = _needs(moment, travel, leaves=not goes_there)
    least = wait.begins_us[0] - moment.earliest_us
    most = max(wait.begins_us[1] - moment.latest_us, least)
    does = "to arrive" if goes_there else f"to leave its end {'home' if end == 'home' else 'out'}"
    takes = f"`{travel.cylinder}` takes {_said(needs)} {does}"
    labels = (Label(moment.span, "this motion"),)
    if least + wait.bound_us < needs[1]:
        certain = most + wait.bound_us < needs[0]
        opened = by_needle(travel.stroke, least + wait.bound_us) if certain and goes_there else ""
        at = "with its last round" if wait.rounds else "at its bound"
        message = (f"This {wait.name} {'ends' if certain else 'can end'} {at}, "
                   f"{say_time(least + wait.bound_us)} after the command, and {takes}{opened}{on_path(moment)}.")
        yield RULE.at(wait.span, message, labels=labels,
                      severity=Severity.WARNING if certain else Severity.NOTE)
    elif least > needs[1]:
        over = "after its first round" if wait.rounds else "at once"
        message = (f"This {wait.name} begins {say_time(least)} after the command and is over {over}: "
                   f"{takes}{on_path(moment)}.")
        yield RULE.at(wait.span, message, labels=labels, severity=Severity.NOTE)


def _needs(moment: Moment, travel: Travel, leaves: bool) -> Window:
    """From the command until the sensor changes, at the soonest and at the latest."""
    soonest, latest = travel.arrives_us[0] - moment.earliest_us, travel.arrives_us[1] - moment.latest_us
    assert travel.stroke is not None
    if not leaves or travel.stroke.end_us <= 0:
        return soonest, latest
    gone = travel.stroke.arrival_us(1 - SEES if travel.toward == "home" else SEES) / travel.stroke.end_us
    return round(soonest * gone), round(latest * gone)


def _said(needs: Window) -> str:
    return say_time(needs[0]) if needs[0] == needs[1] else f"{say_time(needs[0])} to {say_time(needs[1])}"
