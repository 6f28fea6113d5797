"""Programs as people read them."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from dataclasses import replace

import pytest

from sequencer.steps import (
    BadProgram,
    Clip,
    Edge,
    Input,
    InputKind,
    Limits,
    Output,
    Program,
    Routine,
    Start,
    Step,
    WhileRunning,
    encode,
    step,
)
from sequencer.steps.listing import Names, disassembly, listing, sentence
from sequencer.steps.random_program import random_program
from sequencer.steps.table import ROWS

TABLE = ("  output ", "  input ", "  clip ")
STEP = re.compile(r"  [0-9a-f]{4}  ")
NAMES = Names(("eyes", "ram", "throat"), ("doormat", "lid"), ("lunge", "breathing"), ("growl",))


@pytest.fixture
def lunge() -> Program:
    """The drowned signalman: eyes, growl, ram, and a rattle as often as the lid stays shut."""
    steps = (
        step("fade", 0, 255, 400),
        step("play", 0),
        step("until", 1200),
        step("set", 1, 1),
        step("await_end", 1, 1, 900),
        step("set", 1, 0),
        step("chance", 3, 4, 4),
        step("repeat", 4),
        step("pulse", 1, 120),
        step("until", 250),
        step("again"),
        step("fade", 0, 0, 1000),
        step("end"),
    )
    starts = (Start(0), Start(1, Edge.CLEARS))
    scare = Routine(steps, starts, (90000, 150000), False, 3, WhileRunning.ONCE_MORE, 25000, 2, 1)
    idle = Routine((step("flicker", 0, 51, 204, 3000), step("wait", 3000), step("end")), idle=True, group=3)
    outputs = (Output(3, fades=True), Output(4), Output(5))
    return Program(1, 0xCAFE, outputs, (Input(1), Input(2)), (scare, idle), (Clip(2, 1500),), 2000)


def test_a_listing_shows_place_bytes_time_and_sentence(lunge: Program) -> None:
    lines = listing(lunge, NAMES).splitlines()
    lines = [line for line in lines if not line.startswith(TABLE)]
    assert lines[0] == (
        "program 0000cafe for a board of kind 1: 3 outputs, 2 inputs, 2 scares, 1 clip; "
        "asks for a heartbeat every 2.000 s"
    )
    assert lines[2] == (
        "scare 0, lunge: on doormat trips or lid clears or every 90.000 s to 150.000 s; "
        "runs once more if started while it runs; rests 25.000 s; not again while lid is tripped; "
        "of the prop number 3; rank 2; a run takes 1.200 s to 3.100 s"
    )
    assert [" ".join(line.split()) for line in lines[3:12]] == [
        "004f 20 ff 08 0.000 s eyes to 100 % over 0.400 s",
        "0052 1c 0.000 s play growl",
        "0053 02 18 0.000 s until 1.200 s since this block began",
        "0055 c1 1.200 s ram on",
        "0056 05 81 12 1.200 s wait until lid is tripped, a fault after 0.900 s",
        "0059 81 1.200 to 2.100 s ram off",
        "005a 1a 23 09 1.200 to 2.100 s 3 times in 4 go on, else skip to 0066",
        "005d 0f 04 1.200 to 2.100 s repeat 4 times:",
        "005f 08 01 80 78 ~ ram on for 0.120 s",
    ]
    idle = "scare 1, breathing: idle, while no scare of its prop runs; ignores starts while it runs; "
    assert f"{idle}of the prop number 3; rank 0; a round takes 3.000 s" in lines


def test_a_listing_begins_with_what_is_wired_and_its_limits(lunge: Program) -> None:
    outputs = (Output(3, True, True, 255, 51), Output(4, False, False, 0, 0, 2500, 20, 40, 2), Output(5))
    inputs = (Input(1, False, InputKind.STOP), Input(2, True, InputKind.TRIGGER, 20, 45000))
    text = listing(replace(lunge, outputs=outputs, inputs=inputs), NAMES)
    assert text.splitlines()[1:7] == [
        "  output 0: eyes, pin 3, safe 100 %, alarm 20 %, fades, active low",
        "  output 1: ram, pin 4, safe 0 %, alarm 0 %, on for 2.500 s at most, on for 0.020 s at least, "
        "off for 0.040 s at least, never on with others of group 2",
        "  output 2: throat, pin 5, safe 0 %, alarm 0 %",
        "  input 0: doormat, pin 1, stop, high when tripped",
        "  input 1: lid, pin 2, trigger, low when tripped, settles in 0.020 s, ready after 45.000 s",
        "  clip 0: growl, on throat, 1.500 s",
    ]


def test_a_listing_says_where_things_are_wired_as_the_author_does(lunge: Program) -> None:
    pins = {"output_pins": ("box pwm3", "box out0", "box out1"), "input_pins": ("box in1", "box in2")}
    names = replace(NAMES, routines=("gate.lunge", "gate.idles"), board="avr328", **pins)
    text = listing(lunge, names)
    assert text.startswith("program 0000cafe for avr328: ")
    assert "  output 1: ram, on box out0, safe" in text
    assert "  input 0: doormat, on box in1, trigger" in text
    assert "of the prop gate; rank 2" in text


@pytest.mark.parametrize("width", [60, 80, 100])
def test_a_listing_is_folded_without_losing_a_word(lunge: Program, width: int) -> None:
    source = tuple(tuple((10 + i, "a cue of some length") for i in range(len(one.steps))) for one in lunge.routines)
    whole, folded = listing(lunge, NAMES, source), listing(lunge, NAMES, source, width)
    assert max(len(line) for line in folded.splitlines()) <= width
    assert folded.split() == whole.split()


def test_a_skip_in_a_listing_names_a_line_that_is_there(lunge: Program) -> None:
    text = listing(lunge, NAMES)
    targets = [line.rpartition("skip to ")[2] for line in text.splitlines() if "skip to " in line]
    places = [line[2:6] for line in text.splitlines() if STEP.match(line)]
    assert targets
    assert set(targets) <= set(places)


def test_a_listing_shows_the_authors_lines_beside(lunge: Program) -> None:
    source = tuple(
        tuple((10 + i, f"cue {i}") for i in range(len(routine.steps))) for routine in lunge.routines
    )
    lines = listing(lunge, NAMES, source).splitlines()
    assert sum(line.endswith("# line 10: cue 0") for line in lines) == 2
    assert lines[-1].endswith("# line 12: cue 2")


def test_an_image_is_listed_without_names(lunge: Program) -> None:
    text = disassembly(encode(lunge))
    assert "output 1 on" in text
    assert "play clip 0" in text
    bytes_alone = [line[:30] for line in text.splitlines() if STEP.match(line)]
    assert bytes_alone == [line[:30] for line in listing(lunge, NAMES).splitlines() if STEP.match(line)]
    with pytest.raises(BadProgram):
        disassembly(b"no program")


def test_every_step_of_the_table_has_a_sentence_with_all_its_words(
    program: Callable[..., Program], routine: Callable[..., Routine]
) -> None:
    for row in ROWS:
        made = Step(row.name, tuple(max(field.kind.least, 1) for field in row.fields))
        said = sentence(made, NAMES)
        assert said
        assert "{" not in said
        assert sum("{" + field.name + "}" in row.listing for field in row.fields) == len(row.fields)


def test_a_sentence_of_a_step_by_itself_counts_what_it_skips() -> None:
    assert sentence(step("jump", 3), NAMES) == "skip 3 steps"
    assert sentence(step("skip_unless", 0, 0, 1), NAMES) == "unless doormat is clear, skip 1 step"
    with pytest.raises(ValueError, match="no step called"):
        sentence(Step("leap"), NAMES)


def test_a_name_that_is_missing_falls_back_to_the_number() -> None:
    assert sentence(step("set", 7, 1), NAMES) == "output 7 on"


def test_a_time_that_differs_from_run_to_run_has_both_ends_and_none_in_a_loop(
    program: Callable[..., Program], routine: Callable[..., Routine]
) -> None:
    steps = routine("wait 100", "set 0 1", "wait_random 5 5", "set 0 0", "until 200", "repeat 2", "wait 7", "again")
    text = listing(program(steps))
    times = [line[30:46].strip() for line in text.splitlines() if STEP.match(line)]
    assert times == ["0.000 s", "0.100 s", "0.100 s", "0.105 to 0.110 s", "0.105 to 0.110 s",
                     "0.200 s", "~", "~", "0.214 s"]
    assert "a run takes 0.214 s" in text


@pytest.mark.parametrize("seed", range(8))
def test_any_program_can_be_listed(seed: int) -> None:
    program = random_program(random.Random(seed), Limits(program_bytes=1500))
    text = listing(program)
    assert len([line for line in text.splitlines() if STEP.match(line)]) == sum(
        len(routine.steps) for routine in program.routines
    )
