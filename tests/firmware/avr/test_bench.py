"""The bench itself, proved on a program of ten lines whose every cycle can be told beforehand."""

from __future__ import annotations

import subprocess
from itertools import pairwise

import pytest

from tests.firmware.bench.driver import BUILD, HERE, Bench, locked


@pytest.fixture(scope="module")
def tiny():
    image = BUILD / "tiny.elf"
    with locked():
        words = ["avr-gcc", "-mmcu=atmega328p", "-Os", "-o", str(image), str(HERE / "tiny" / "tiny.c")]
        subprocess.run(words, check=True, timeout=60)
    return image


@pytest.fixture
def bench(tiny):
    with Bench("avr328", tiny) as made:
        yield made


def edges_of(bench: Bench, pin: str) -> list[tuple[int, str]]:
    return [(edge.cycle, edge.value) for edge in bench.edges if edge.pin == pin]


def test_an_output_turns_over_every_16000_cycles_and_no_other(bench):
    bench.power_on()
    bench.run_ms(100)
    cycles = [cycle for cycle, _ in edges_of(bench, "B0")[1:]]
    assert len(cycles) > 95
    assert {later - sooner for sooner, later in pairwise(cycles)} == {16_000}


def test_a_compare_value_is_told_as_the_level_of_its_pin(bench):
    bench.power_on()
    bench.run_ms(3)
    assert [value for _, value in edges_of(bench, "D6")] == ["0", "p100"]


def test_an_input_set_at_a_tick_is_seen_in_that_tick(bench):
    bench.do("pin D2 0")
    bench.power_on()
    bench.do("at 5 pin D2 1")
    bench.do("at 9 pin D2 0")
    bench.until_tick(20)
    (_, low), (rises, high), (falls, _) = edges_of(bench, "B1")
    assert (low, high) == ("0", "1")
    assert abs(falls - rises - 4 * 16_000) <= 2  # the idle loop is an instruction of two cycles
    assert 6 * 16_000 < rises < 6 * 16_000 + 200  # tick 0 is the first interrupt, 16,000 cycles after the start


def test_bytes_go_both_ways_at_the_pace_of_the_line(bench):
    bench.power_on()
    bench.run_ms(2)
    bench.do("send 01020304")
    bench.run_ms(2)
    assert bench.do("take") == "02030405"
    arrivals = [int(line.split()[1]) for line in bench.told if line.startswith("b")]
    assert all(1_380 < later - sooner < 1_400 for sooner, later in pairwise(arrivals))


def test_bytes_at_a_rate_the_board_has_not_set_are_garbled_and_counted(bench):
    bench.power_on()
    bench.run_ms(2)
    bench.do("baud 38400")
    bench.do("send 010203")
    bench.run_ms(5)
    assert bench.do("take") != "020304"
    assert bench.stats()["garbled"] == 3


def test_bytes_that_are_not_fetched_in_time_are_lost_and_counted(bench):
    """A program that waits 3.4 ms inside the interrupt loses all but the three that the UART holds."""
    bench.power_on()
    bench.run_ms(2)
    bench.do("send ee" + "55" * 12)
    bench.run_ms(10)
    assert bench.stats()["overruns"] == 12 - 3
    assert bench.do("take") == "ef" + "56" * 3


def test_a_write_of_the_memory_takes_3400_us(bench):
    bench.power_on()
    bench.run_ms(2)
    before = bench.stats()["now"]
    bench.do("send ee")
    bench.do("until-byte 50")
    took = (bench.stats()["now"] - before) / 16_000
    assert 3.4 < took < 3.4 + 0.3
    assert bench.cells()[5] == 0x5A
    assert bench.stats()["writes"] == 1


@pytest.mark.parametrize(("tear", "left"), [(0, 0x11), (1, 0xFF), (2, 0x11 & 0x5A)])
def test_a_cut_inside_a_write_leaves_the_byte_as_asked_and_every_pin_floating(bench, tear, left):
    bench.do("cell 5 11")
    bench.power_on()
    bench.run_ms(2)
    bench.do(f"cut write 1 {tear}")
    bench.do("send ee")
    bench.run_ms(10)
    assert bench.cells()[5] == left
    assert bench.stats()["power"] == 0
    assert bench.do("pin B0") == "z"
    bench.power_on()
    bench.run_ms(5)
    assert edges_of(bench, "B0")[-1][1] in "01"
    assert bench.cells()[5] == left


def test_a_cut_at_a_cycle_comes_at_that_cycle(bench):
    bench.power_on()
    bench.do("cut cycle 500000 0")
    bench.run_ms(100)
    offs = [line for line in bench.told if line.endswith("power off")]
    assert 500_000 <= int(offs[0].split()[1]) < 500_010


def test_free_stack_is_what_the_program_never_touched(bench):
    bench.power_on()
    bench.run_ms(20)
    assert 1_900 < bench.stats()["free_stack"] < 2_048
