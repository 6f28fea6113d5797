"""Short ways to a board with a program on it, for the tests of the step tables."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import pytest

from sequencer.steps import (
    Clip,
    Event,
    Input,
    Limits,
    Machine,
    Output,
    OutputEdge,
    Program,
    Routine,
    Step,
    step,
)

ROOMY = Limits(program_bytes=4000, outputs=40, inputs=14)


def made(text: str) -> Step:
    """`"fade 0 255 400"` as a step."""
    op, *args = text.split()
    return step(op, *map(int, args))


@pytest.fixture
def routine() -> Callable[..., Routine]:
    """A routine from lines of steps, its end added."""

    def build(*lines: str, **facts: object) -> Routine:
        return Routine((*map(made, lines), step("end")), **facts)  # type: ignore[arg-type]

    return build


@pytest.fixture
def program() -> Callable[..., Program]:
    """A program around some routines: four outputs that fade, four inputs low when tripped, a clip."""

    def build(*routines: Routine, **facts: object) -> Program:
        parts: dict[str, object] = {
            "outputs": tuple(Output(pin, fades=True) for pin in range(4)),
            "inputs": tuple(Input(pin) for pin in range(4)),
            "clips": (Clip(2, 150),),
        }
        return Program(1, 99, routines=routines, **(parts | facts))  # type: ignore[arg-type]

    return build


@pytest.fixture
def yard(program: Callable[..., Program]) -> Callable[..., Machine]:
    """An armed board at tick 0, all inputs clear."""

    def build(
        *routines: Routine, limits: Limits = ROOMY, seed: int = 1, armed: bool = True, **facts: object
    ) -> Machine:
        built = program(*routines, **facts)
        machine = Machine(built, limits, seed)
        for index, sensor in enumerate(built.inputs):
            machine.set_input(index, sensor.low_when_tripped)
        if armed:
            assert machine.arm() is None
        return machine

    return build


@pytest.fixture
def edges() -> Callable[..., list[tuple[int, ...]]]:
    """The edges of one output: (tick, level), or (tick, level, over) for a fade."""

    def pick(events: Iterable[Event], output: int) -> list[tuple[int, ...]]:
        mine = [event for event in events if isinstance(event, OutputEdge) and event.output == output]
        return [(edge.tick, edge.level, edge.over) if edge.over else (edge.tick, edge.level) for edge in mine]

    return pick
