"""Triggers: the words `step@2s` and `mat@3.5s..4s` -> which sensor is tripped, from which tick to which.

Knows names and times only. What a trip starts is for the step tables; what an input makes of a trip that is
shorter than it takes to settle is for the board's rules.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sequencer.findings import closest
from sequencer.steps.program import TICKS_PER_SECOND
from sequencer.units import NUMBER, read_quantity, units_of

DEFAULT_TRIP = 200
"""How long a trip without an end lasts, in ticks: a foot on a mat, a walk through a beam (common practice, no
source). It must be longer than the sensor's settle time to count."""

LONGEST_RUN = 6 * 3600 * TICKS_PER_SECOND
"""The longest dry run, in ticks: six hours, as long as the longest scare may take."""

_SHAPE = re.compile(r"(?P<sensor>[^@\s]+)\s*@\s*(?P<begins>.+?)(?:\s*\.\.\s*(?P<ends>.*))?")
_TIME = re.compile(rf"(?P<number>{NUMBER})\s*(?P<unit>[A-Za-z%]*)", re.ASCII)


@dataclass(frozen=True, slots=True)
class Trigger:
    """A sensor is tripped from tick `begins` up to, not including, tick `ends`."""

    sensor: str
    begins: int
    ends: int


@dataclass(frozen=True, slots=True)
class Slip:
    """What is wrong with a word on the command line, as one sentence that says what to write instead."""

    sentence: str


def read_trigger(word: str, sensors: Sequence[str], default: int = DEFAULT_TRIP) -> Trigger | Slip:
    """One trigger. `sensors` are whole names; the last part of a name does where only one sensor has it.

    >>> read_trigger("step@2s", ["step", "mat"])
    Trigger(sensor='step', begins=2000, ends=2200)
    >>> read_trigger("mat@3.5s..4s", ["step", "mat"])
    Trigger(sensor='mat', begins=3500, ends=4000)
    """
    shape = _SHAPE.fullmatch(word.strip())
    if shape is None:
        return Slip(f"`{word}` does not say who trips when; write a sensor, @ and a time, such as `step@2s`")
    sensor = find_sensor(shape["sensor"], sensors)
    if isinstance(sensor, Slip):
        return sensor
    begins = read_ticks(shape["begins"], word)
    if isinstance(begins, Slip):
        return begins
    if shape["ends"] is None:
        return Trigger(sensor, begins, begins + default)
    ends = read_ticks(shape["ends"], word)
    if isinstance(ends, Slip):
        return ends
    if ends <= begins:
        return Slip(
            f"`{word}` ends at {shape['ends']}, which is not after {shape['begins']}; "
            f"the later time stands behind the dots"
        )
    return Trigger(sensor, begins, ends)


def find_sensor(name: str, sensors: Sequence[str]) -> str | Slip:
    """The whole name of a sensor; a Slip with the nearest names where there is no such sensor."""
    if name in sensors:
        return name
    ending = [whole for whole in sensors if whole.rpartition(".")[2] == name]
    if len(ending) == 1:
        return ending[0]
    if ending:
        return Slip(f"more than one sensor is called {name}: write {_either(ending)}")
    if not sensors:
        return Slip(f"there is no sensor {name}: this show has no sensors")
    near = closest(name, [*sensors, *(whole.rpartition(".")[2] for whole in sensors)], most=2)
    hint = f"did you mean {_either(near)}?" if near else f"the sensors are {', '.join(sensors)}"
    return Slip(f"there is no sensor {name}; {hint}")


def read_ticks(text: str, word: str | None = None) -> int | Slip:
    """A time with its unit, in ticks of 1 ms, rounded once. `word` is quoted where it stands in a longer one.

    >>> read_ticks("1.5 min"), read_ticks("250ms")
    (90000, 250)
    """
    said = f" in `{word}`" if word else ""
    shape = _TIME.fullmatch(text.strip())
    if shape is None:
        return Slip(
            f"`{text.strip()}`{said} is not a time; write a number and a unit, such as `2s` or `250ms`"
        )
    number, unit = shape["number"], shape["unit"]
    if not unit:
        return Slip(f"`{number}`{said} has no unit; write {number}s or {number}ms")
    if unit not in units_of("time"):
        return Slip(f"`{unit}`{said} is not a unit of time; use {_either(units_of('time'))}")
    try:
        ticks = round(read_quantity(f"{number} {unit}").si * TICKS_PER_SECOND)
    except ValueError as fault:
        return Slip(f"`{text.strip()}`{said} is not a time: {fault}")
    if ticks > LONGEST_RUN:
        return Slip(f"`{text.strip()}`{said} is beyond 6 h, the longest dry run")
    return ticks


def read_triggers(
    words: Iterable[str], sensors: Sequence[str]
) -> tuple[tuple[Trigger, ...], tuple[Slip, ...]]:
    """All triggers, in the order of their times, and every slip."""
    read = [read_trigger(word, sensors) for word in words]
    triggers = [one for one in read if isinstance(one, Trigger)]
    return (
        tuple(sorted(triggers, key=lambda t: (t.begins, t.ends, t.sensor))),
        tuple(one for one in read if isinstance(one, Slip)),
    )


def _either(names: Sequence[str]) -> str:
    return " or ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)
