"""The instruction table and what derives from it: rules, document, values."""

from __future__ import annotations

import doctest
import importlib
import pkgutil
import subprocess
import sys

import pytest

import sequencer.steps
from sequencer.steps import Clip, Output, Program, Routine, Step, drives, step
from sequencer.steps.document import DOCUMENT, with_tables
from sequencer.steps.interpreter import _RULES
from sequencer.steps.table import ROWS, argument_fault


def test_every_row_has_its_own_name_and_code() -> None:
    assert len({row.name for row in ROWS}) == len(ROWS)
    codes = [row.code for row in ROWS if row.code is not None]
    assert len(set(codes)) == len(codes)
    assert all(0 <= code < 0x20 for code in codes)


def test_every_row_has_a_rule_and_every_rule_a_row() -> None:
    assert set(_RULES) == {row.name for row in ROWS}


def test_the_tables_in_the_layout_document_are_those_of_the_code() -> None:
    text = DOCUMENT.read_text(encoding="utf-8")
    assert with_tables(text) == text


def test_a_document_without_a_place_for_tables_is_refused() -> None:
    with pytest.raises(ValueError, match="no place"):
        with_tables("# Layout")


def test_a_step_is_made_by_position_or_by_name() -> None:
    assert (
        step("fade", 2, 255, 400)
        == step("fade", output=2, level=255, ticks=400)
        == Step("fade", (2, 255, 400))
    )


@pytest.mark.parametrize(
    ("op", "args", "text"),
    [
        ("leap", (), "no step called"),
        ("wait", (), "takes ticks"),
        ("wait", (0,), "1 to 268435455"),
        ("set", (64, 1), "0 to 63"),
        ("level", (1, 256), "0 to 255"),
        ("chance", (5, 4, 0), "more than certain"),
        ("flicker", (0, 9, 3, 10), "backwards"),
        ("wait_random", (1 << 27, 1 << 27 | 1 << 26), "longer than"),
        ("end", (1,), "takes nothing"),
    ],
)
def test_a_step_that_makes_no_sense_is_refused_in_words(op: str, args: tuple[int, ...], text: str) -> None:
    with pytest.raises(ValueError, match=text):
        step(op, *args)


def test_the_number_of_arguments_is_part_of_a_steps_order() -> None:
    assert argument_fault(Step("set", (1,))) == "the step set takes 2 arguments and has 1"


def test_a_routine_drives_what_its_steps_and_clips_write() -> None:
    steps = (step("fade", 3, 9, 9), step("play", 0), step("set", 1, 1), step("start", 0), step("end"))
    program = Program(1, 1, tuple(Output(pin) for pin in range(6)), (), (Routine(steps),), (Clip(5, 9),))
    assert drives(program, 0) == (1, 3, 5)


@pytest.mark.parametrize("module", [info.name for info in pkgutil.iter_modules(sequencer.steps.__path__)])
def test_the_examples_in_the_texts_are_right(module: str) -> None:
    result = doctest.testmod(importlib.import_module(f"sequencer.steps.{module}"))
    assert result.failed == 0


def test_everything_the_package_names_is_there() -> None:
    for name in sequencer.steps.__all__:
        assert getattr(sequencer.steps, name)
    with pytest.raises(AttributeError, match="no attribute"):
        _ = sequencer.steps.nothing


def test_the_values_and_the_codec_come_without_the_rules() -> None:
    look = (
        "import sys, sequencer.steps; print('sequencer.steps.rules' in sys.modules, 'typing' in sys.modules)"
    )
    found = subprocess.run([sys.executable, "-c", look], capture_output=True, text=True, check=True)
    assert found.stdout.split() == ["False", "False"]
