"""The parts of the derelict signal box of Marrow Lane, as the language writes them, come out as meant."""

from __future__ import annotations

from typing import Any

import pytest

from sequencer.phrases import PinName
from sequencer.rig.speaker import Clip

INCH_M, FOOT_M, PSI_PA = 0.0254, 0.3048, 6894.757293168  # exact, exact, NIST SP 811 (2008) B.8


def test_the_compressor_and_its_line(make: Any) -> None:
    shed = make(
        "compressor",
        "delivers 5.1 scfm at 90 psi",
        "tank 20 gal",
        "cuts in at 95 psi, cuts out at 125 psi",
        "runs at most 60 % of the time",
    )
    # NIST SP 811 (2008) B.8: 1 US gallon is 3.785412 E-03 m3, 1 psi is 6.894757 E+03 Pa.
    assert shed.tank.si == pytest.approx(20 * 3.785412e-3, rel=1e-6)
    assert [p.si for p in shed.switching] == pytest.approx([95 * PSI_PA, 125 * PSI_PA])
    assert shed.duty.si == pytest.approx(0.6)
    yard = make("line", "from shed", "tube 3/8 in, length 50 ft")
    assert (yard.source, yard.length.si) == ("shed", pytest.approx(50 * FOOT_M))


def test_the_manifold_and_the_prop_on_its_port(make: Any) -> None:
    bench = make("manifold", "on yard", "ports 8", "regulator 90 psi")
    assert (bench.source, bench.ports, bench.regulator.text) == ("yard", 8, "90 psi")
    window = make(
        "prop", "air from bench port 1, tube 1/4 in, length 12 ft, regulator 60 psi", "reach fenced"
    )
    assert (window.source, window.port, window.reach) == ("bench", 1, "fenced")
    assert window.length.si == pytest.approx(12 * FOOT_M)


def test_the_supply_and_the_board_it_feeds(make: Any) -> None:
    brick = make("supply", "gives 12 V, up to 5 A")
    assert brick.power_w == pytest.approx(60)
    box = make("board", "is avr328", "supply brick", "stops without a heartbeat for 2 s")
    assert (box.model, box.supply, box.heartbeat.us) == ("avr328", "brick", 2_000_000)


def test_sensors_for_triggers_stops_and_ends_of_travel(make: Any) -> None:
    step = make("sensor", "on box in1, low when tripped", "settles in 20 ms", "ready after 45 s")
    assert (step.pin, step.tripped, step.settle.us, step.warm_up.si) == (
        PinName("box", "in1"),
        "low",
        20_000,
        45,
    )
    assert step.role == "trigger" and not step.is_end_of_travel
    assert make("sensor", "kind stop, on box in0, high when tripped").role == "stop"
    home = make("sensor", "on box in2, low when tripped, sees ram home")
    assert home.is_end_of_travel and (home.sees, home.end) == ("ram", "home")


def test_the_valve_and_the_ram_of_the_window(make: Any) -> None:
    shove = make(
        "valve",
        "kind 5/2, without power retracts",
        "on box out1",
        "responds in 20 ms, releases in 30 ms",
        "needs at least 30 psi",
        "draws 3 W, on for at most 10 s",
        "critical ratio 30 %",
    )
    assert (shove.ports, shove.solenoids, shove.unpowered, shove.longest_on.si) == ("5/2", 1, "retracts", 10)
    ram = make(
        "cylinder",
        "on shove",
        "bore 1-1/2 in, rod 7/16 in, stroke 12 in",
        "moves 9 lb, lifts 20 deg",
        "needle out 100 %, needle back 35 %",
        "cushioned",
    )
    assert ram.bore.si == pytest.approx(1.5 * INCH_M)
    assert ram.rod.si == pytest.approx(7 / 16 * INCH_M)
    assert ram.moves.si == pytest.approx(9 * 0.45359237)  # NIST SP 811: exact
    assert ram.cushioned and ram.acting == "double" and ram.needle_back.si == pytest.approx(0.35)


@pytest.mark.parametrize(
    "line",
    [
        "measured out 0.42 s, back 0.9 s at 60 psi",
        "measured out 0.42 s at 60 psi, back 0.9 s",
        "measured out 0.42 s, measured back 0.9 s at 60 psi",
    ],
)
def test_times_measured_on_the_real_prop(make: Any, line: str) -> None:
    ram = make("cylinder", "on shove, bore 40 mm, rod 16 mm, stroke 300 mm", line)
    assert (ram.measured_out.us, ram.measured_back.us, ram.measured_at.text) == (420_000, 900_000, "60 psi")


def test_a_speaker_collects_its_clips(make: Any) -> None:
    throat = make("speaker", "on box out7", 'clip growl "growl.wav"', 'clip bell "bell.wav" on box out8')
    growl, bell = throat.clips
    assert growl == Clip("growl", "growl.wav") and throat.pin_of(growl) == PinName("box", "out7")
    assert throat.pin_of(bell) == PinName("box", "out8")
    assert throat.declared("clip") == ("growl", "bell")
    assert throat.pins() == (("pin", PinName("box", "out7")), ("clips 1", PinName("box", "out8")))


def test_a_part_goes_by_its_label_where_it_has_one(make: Any) -> None:
    part = make("motor", "on box out2", name="drum")
    assert part.called == "drum"
    assert part.model_copy(update={"label": "The signal drum"}).called == "The signal drum"
