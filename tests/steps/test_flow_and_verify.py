"""What can be said of steps without running them, and why a board refuses a program."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace

import pytest

from sequencer.steps import (
    Clip,
    Input,
    InputKind,
    Limits,
    Output,
    Program,
    Routine,
    Start,
    Step,
    encode,
    running_at_once,
    step,
    verify,
)
from sequencer.steps.flow import Flow, flow_of
from sequencer.steps.random_program import random_program

ROOMY = Limits(program_bytes=4000, outputs=40, inputs=14)
Build = Callable[..., Program]
Make = Callable[..., Routine]


def flow(routine: Routine) -> Flow:
    return flow_of(routine.steps)


@pytest.mark.parametrize(
    ("lines", "takes"),
    [
        (("wait 5", "wait 7"), (12, 12)),
        (("wait 5", "until 100"), (100, 100)),
        (("fade_then 0 9 30", "until 20", "fade_then 0 0 5"), (35, 35)),
        (("repeat_for 100", "fade_then 0 9 30", "again"), (120, 120)),
        (("wait 150", "until 100"), (150, 150)),
        (("wait_random 10 40",), (10, 50)),
        (("await_input 0 1 300",), (0, 300)),
        (("await_input 0 1 300", "until 200"), (200, 300)),
        (("repeat 4", "wait 10", "again"), (40, 40)),
        (("repeat 3", "wait_random 10 5", "again"), (30, 45)),
        (("repeat_for 100", "wait 30", "again"), (120, 120)),
        (("repeat_for 100", "wait_random 30 20", "again"), (100, 149)),
        (("repeat_until 0 1 100", "wait 30", "again"), (30, 120)),
        (("wait 50", "mark", "wait 5", "until 20", "unmark", "until 60"), (70, 70)),
        (("repeat 2", "wait 3", "until 10", "again", "until 15"), (20, 20)),
        (("chance 1 2 1", "wait 100", "wait 1"), (1, 101)),
        (("skip_unless 0 1 2", "wait 100", "jump 1", "wait 40"), (40, 100)),
    ],
)
def test_the_shortest_and_longest_time_of_a_routine_are_known(
    routine: Make, lines: tuple[str, ...], takes: tuple[int, int]
) -> None:
    assert flow(routine(*lines)).takes == takes


@pytest.mark.parametrize(
    ("lines", "step_at", "text"),
    [
        (("repeat 3", "set 0 1", "again"), 2, "no time at all"),
        (("repeat 3", "await_input 0 1 50", "again"), 2, "no time at all"),
        (("repeat 3", "chance 1 2 1", "wait 5", "again"), 3, "no time at all"),
        (("repeat 3", "wait 5"), 0, "has no again"),
        (("wait 5", "again"), 1, "closes no loop"),
        (("mark", "wait 5", "again"), 2, "closes no loop"),
        (("repeat 2", "wait 1", "unmark"), 2, "closes no mark"),
        (("skip_unless 0 1 1", "repeat 3", "wait 5", "again"), 1, "into or out of a loop"),
        (("repeat 3", "wait 5", "skip_unless 0 1 1", "again"), 3, "into or out of a loop"),
        (("jump 1", "wait 5"), 1, "no path leads"),
        (
            ("repeat 2", "skip_unless 0 1 3", "wait 1", "again", "jump 2", "wait 1", "again"),
            5,
            "open and close other blocks than the way here",
        ),
        (("skip_unless 0 1 2", "mark", "jump 1", "end", "unmark"), 3, "other blocks than the way here"),
        (("skip_unless 0 1 11",) * 11 + ("set 0 1",) * 12, 10, "10 steps that are skipped to"),
    ],
)
def test_steps_that_do_not_hang_together_are_refused(
    program: Build, routine: Make, lines: tuple[str, ...], step_at: int, text: str
) -> None:
    problems = verify(program(routine(*lines)), ROOMY)
    assert any(text in problem.text and problem.step == step_at for problem in problems), problems


def test_a_routine_that_runs_past_its_last_step_is_refused(program: Build) -> None:
    for steps in ((), (step("wait", 5),)):
        assert any("is an end" in problem.text for problem in verify(program(Routine(steps)), ROOMY))


@pytest.mark.parametrize(
    ("lines", "most"),
    [
        (("set 0 1", "set 1 1", "wait 5", "set 0 0"), 3),
        (("repeat 9", "set 0 1", "wait 5", "set 0 0", "again"), 4),
        (("set 0 1", "await_input 0 1 50", "set 1 1"), 4),
        (("set 0 1", "wait 1", "until 1", "set 0 0"), 3),
        (("set 0 1", "until 1", "set 0 0"), 2),
        (("set 0 1", "set 1 1", "fade_then 2 0 1", "set 0 0"), 3),
    ],
)
def test_the_most_steps_in_one_tick_are_counted(routine: Make, lines: tuple[str, ...], most: int) -> None:
    assert flow(routine(*lines)).most_steps_in_a_tick == most


def test_too_many_steps_in_a_tick_or_frames_are_refused(program: Build, routine: Make) -> None:
    many = program(routine(*["set 0 1"] * 16))
    assert [problem.text for problem in verify(many, ROOMY)] == [
        "17 steps can fall into a tick, of 16 at most"
    ]
    deep = program(routine(*["mark"] * 5, "wait 1", *["unmark"] * 5))
    assert "stand 5 deep" in verify(deep, ROOMY)[0].text


@pytest.mark.parametrize(
    ("change", "text"),
    [
        ({"outputs": (Output(1), Output(1))}, "as another output is"),
        ({"outputs": (Output(1, safe=255, longest_on=500),)}, "on in its safe state"),
        ({"outputs": (Output(1, alarm=255, longest_on=500),)}, "on in its alarm state"),
        ({"outputs": (Output(1, safe=90),)}, "only off"),
        ({"outputs": (Output(1, safe=255, exclusion=1), Output(2, safe=255, exclusion=1))}, "of group 1 is"),
        ({"outputs": (Output(1, longest_on=500, shortest_on=510),)}, "510"),
        ({"inputs": (Input(1), Input(1))}, "as another input is"),
        ({"clips": (Clip(4, 10),)}, "plays on output 4"),
        ({"inputs": tuple(Input(pin) for pin in range(15))}, "15 inputs"),
    ],
)
def test_tables_at_odds_with_themselves_or_the_board_are_refused(
    program: Build, change: dict[str, object], text: str
) -> None:
    problems = verify(program(**change), ROOMY)
    assert any(text in problem.text for problem in problems), problems


@pytest.mark.parametrize(
    ("line", "text"),
    [
        ("set 4 1", "output 4"),
        ("await_input 4 1 9", "input 4"),
        ("start 1", "routine 1"),
        ("play 1", "clip 1"),
        ("fade 3 1 9", "needs levels"),
    ],
)
def test_a_step_that_names_what_is_not_there_is_refused(
    program: Build, routine: Make, line: str, text: str
) -> None:
    outputs = (*(Output(pin, fades=True) for pin in range(3)), Output(3))
    problems = verify(program(routine(line), outputs=outputs), ROOMY)
    assert [(problem.routine, problem.step) for problem in problems] == [(0, 0)]
    assert text in problems[0].text


def test_starts_at_odds_with_the_inputs_are_refused(program: Build, routine: Make) -> None:
    stop = (Input(0, kind=InputKind.STOP),)
    assert "stops the board" in verify(program(routine(starts=(Start(0),)), inputs=stop), ROOMY)[0].text
    assert "names input 9" in verify(program(routine(starts=(Start(9),))), ROOMY)[0].text
    assert "names input 9" in verify(program(routine(blocked_while=9)), ROOMY)[0].text
    assert "no span" in verify(program(routine(every=(9, 3))), ROOMY)[0].text
    assert "is an idle" in verify(program(routine("wait 1", idle=True, every=(3, 9))), ROOMY)[0].text


def test_a_step_with_wrong_arguments_is_refused_before_the_flow_is_followed(program: Build) -> None:
    problems = verify(program(Routine((Step("wait", ()), step("end")))), ROOMY)
    assert any("takes 1 arguments" in problem.text for problem in problems)


def test_a_program_too_big_for_its_slot_is_refused(program: Build, routine: Make) -> None:
    big = program(*(routine(*["set 0 1", "wait 9"] * 20) for _ in range(9)))
    assert any("has room for 480" in problem.text for problem in verify(big, Limits()))
    assert not verify(big, ROOMY)


def test_the_routines_that_can_run_at_once_are_counted(program: Build, routine: Make) -> None:
    scare, idle = routine("wait 1"), routine("wait 1", idle=True)
    props = [replace(one, group=prop) for prop in range(3) for one in (scare, scare, idle)]
    assert running_at_once(program(*props)) == 6
    assert running_at_once(program(*(replace(idle, group=prop) for prop in range(5)), scare)) == 5


@pytest.mark.parametrize("seed", range(60))
def test_random_programs_verify(seed: int) -> None:
    limits = Limits(routines_running=random.Random(seed).choice((2, 8)))
    assert verify(random_program(random.Random(seed), limits), limits) == ()


def test_a_program_that_needs_more_working_memory_than_there_is_is_refused() -> None:
    """Each number of the rule by itself: the image, a routine, its clock, and the deepest routines that meet."""
    nested = (step("mark"), step("mark"), step("wait", 5), step("unmark"), step("unmark"), step("end"))
    flat = (step("wait", 5), step("end"))
    routines = (Routine(nested), Routine(nested), Routine(flat, every=(5, 9)))
    program = Program(1, 7, (), (), routines)
    size = len(encode(program))
    for running, frames in ((1, 2), (2, 4), (8, 4)):
        needed = (size + 3) // 4 * 4 + 3 * 7 + 4 + frames * 11
        room = replace(ROOMY, routines_running=running, work_bytes=needed)
        assert verify(program, room) == ()
        tight = verify(program, replace(room, work_bytes=needed - 1))
        assert f"needs {needed} bytes of working memory" in tight[0].text
