"""What a cue asks of a part, in levels 0 to 1 and whole microseconds."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic_core import PydanticCustomError

from sequencer.phrases import PinName
from sequencer.rig.drive import Fade, Flash, Flicker, Motion, Play, Pulse, SetLevel, Silence, ValveTo

PWM, OUT = PinName("box", "pwm1"), PinName("box", "out3")

LAMP_ASKS = [
    ("on", SetLevel(PWM, 1.0)),
    ("off", SetLevel(PWM, 0.0)),
    ("to 60 %", SetLevel(PWM, 0.6)),
    ("to 60 % over 2 s", Fade(PWM, 0.6, 2_000_000)),
    ("flickers 20 % to 80 % for 3 s", Flicker(PWM, 0.2, 0.8, 3_000_000)),
    ("flashes 2 Hz for 2 s", Flash(PWM, 250_000, 2_000_000)),
]
RAM_ASKS = [
    ("extends", Motion("window.ram", "out")),
    ("retracts", Motion("window.ram", "home")),
    ("extends for 120 ms", Motion("window.ram", "out", for_us=120_000)),
    ("retracts for 1.5 s", Motion("window.ram", "home", for_us=1_500_000)),
    ("lands out", Motion("window.ram", "out", lands=True)),
    ("lands home", Motion("window.ram", "home", lands=True)),
    ("lands at 60 %", Motion("window.ram", "between", lands=True, fraction=0.6)),
]


@pytest.mark.parametrize(("words", "drive"), LAMP_ASKS)
def test_a_lamp_does_as_asked(make: Any, ask: Any, words: str, drive: Any) -> None:
    assert ask(make("lamp", "on box pwm1, draws 3 W"), words) == (drive,)


@pytest.mark.parametrize(("words", "drive"), RAM_ASKS)
def test_a_cylinder_moves_as_asked(make: Any, ask: Any, words: str, drive: Motion) -> None:
    ram = make("cylinder", "on shove, bore 40 mm, rod 16 mm, stroke 300 mm", name="window.ram")
    assert ask(ram, words) == (drive,)


@pytest.mark.parametrize("kind", ["motor", "pump", "fogger"])
def test_machines_run_stop_and_run_for_a_time(make: Any, ask: Any, kind: str) -> None:
    machine = make(kind, "on box out3, draws 40 W, on for at most 10 s")
    assert ask(machine, "runs") == (SetLevel(OUT, 1.0),)
    assert ask(machine, "stops") == (SetLevel(OUT, 0.0),)
    assert ask(machine, "runs for 2 s") == (Pulse(OUT, 2_000_000),)


def test_a_valve_opens_closes_and_opens_for_a_time(make: Any, ask: Any) -> None:
    valve = make("valve", "on box out3, kind 2/2, without power closed", name="spit")
    assert ask(valve, "opens") == (ValveTo("spit", "open"),)
    assert ask(valve, "closes") == (ValveTo("spit", "closed"),)
    assert ask(valve, "opens for 80 ms") == (ValveTo("spit", "open", 80_000),)


def test_a_speaker_plays_and_falls_silent(make: Any, ask: Any) -> None:
    throat = make("speaker", 'on box out3, clip growl "growl.wav"', name="window.throat")
    assert ask(throat, "plays growl") == (Play("window.throat", "growl"),)
    assert ask(throat, "falls silent") == (Silence("window.throat"),)


@pytest.mark.parametrize(
    ("words", "field"),
    [
        ("to 101 %", "level"),
        ("to -1 %", "level"),
        ("to 50 % over 0 s", "over"),
        ("to 50 % over 2 h", "over"),
        ("flashes 0 Hz for 2 s", "rate"),
        ("flashes 80 Hz for 2 s", "rate"),
        ("flickers 20 % to 180 % for 1 s", "high"),
        ("flickers 80 % to 20 % for 1 s", "low"),
    ],
)
def test_a_level_rate_or_time_that_cannot_be_is_refused(make: Any, ask: Any, words: str, field: str) -> None:
    with pytest.raises(PydanticCustomError) as refused:
        ask(make("lamp", "on box pwm1"), words)
    assert refused.value.context is not None and refused.value.context["field"] == field


def test_a_cylinder_cannot_land_beyond_its_stroke(make: Any, ask: Any) -> None:
    with pytest.raises(PydanticCustomError):
        ask(make("cylinder", "on shove, bore 40 mm, rod 16 mm, stroke 300 mm"), "lands at 120 %")
