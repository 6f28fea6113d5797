"""The boards' pins and room."""

from __future__ import annotations

import subprocess
import sys

import pytest

from sequencer.board.profiles import AVR328, AVR2560, PROFILES, find_pin, profile_by_kind, profile_by_name


@pytest.mark.parametrize("profile", PROFILES, ids=lambda p: p.name)
def test_the_room_of_a_slot_is_what_the_memory_leaves_and_what_the_limits_say(profile):
    assert profile.slot_bytes == profile.limits.program_bytes


@pytest.mark.parametrize("profile", PROFILES, ids=lambda p: p.name)
def test_the_pins_are_as_many_as_the_limits_say_and_numbered_in_order(profile):
    assert [pin.index for pin in profile.outputs] == list(range(profile.limits.outputs))
    assert [pin.index for pin in profile.inputs] == list(range(profile.limits.inputs))


@pytest.mark.parametrize("profile", PROFILES, ids=lambda p: p.name)
def test_a_board_is_found_by_its_name_and_by_its_kind(profile):
    assert profile_by_name(profile.name) is profile
    assert profile_by_kind(profile.kind) is profile


def test_no_two_boards_share_a_kind_and_no_two_pins_a_name():
    assert len({profile.kind for profile in PROFILES}) == len(PROFILES)
    for profile in PROFILES:
        assert len({pin.name for pin in profile.pins}) == len(profile.pins)


@pytest.mark.parametrize(
    ("profile", "outputs", "fading", "inputs", "memory"),
    [(AVR328, 12, 6, 6, 1024), (AVR2560, 40, 12, 14, 4096)],
    ids=["avr328", "avr2560"],
)
def test_the_avr_boards_have_the_pins_and_the_memory_of_their_chips(profile, outputs, fading, inputs, memory):
    """EEPROM sizes: ATmega328P and ATmega2560 data sheets, front page. Pins are the design's own choice."""
    assert (len(profile.outputs), len(profile.inputs)) == (outputs, inputs)
    assert sum(pin.fades for pin in profile.outputs) == fading
    assert profile.eeprom_bytes == memory


def test_a_pin_knows_what_it_can_do():
    assert find_pin(AVR328, "pwm2").fades and not find_pin(AVR328, "pwm2").is_input
    assert not find_pin(AVR328, "out0").fades
    assert find_pin(AVR328, "in0").is_input


def test_an_unknown_pin_or_board_is_none_and_never_a_neighbour():
    assert find_pin(AVR328, "pwm6") is None
    assert find_pin(AVR328, "PWM0") is None
    assert profile_by_name("avr32") is None
    assert profile_by_kind(0) is None


def test_the_profiles_are_had_without_the_serial_library():
    look = "import sys, sequencer.board.profiles; sys.exit('serial' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", look], check=False).returncode == 0
