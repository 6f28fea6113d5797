"""A show from its text to its yard: who is on which output, which rod on which valve, what a sensor sees."""

from __future__ import annotations

from pathlib import Path

import pytest

from sequencer.checks import Checked, check_file
from sequencer.dryrun.run import Asked, dry_run, run
from sequencer.dryrun.timeline import Device, MetKind
from sequencer.dryrun.triggers import Trigger
from sequencer.dryrun.wiring import sensor_names, set_up
from sequencer.steps import InputKind
from sequencer.steps.events import ModeChanged, Started

SHOW = """show "Signal box"
compressor shed: delivers 5.1 scfm at 90 psi, tank 20 gal, cuts in at 95 psi, cuts out at 125 psi
line yard from shed: tube 3/8 in, length 50 ft
manifold bench on yard: ports 4
board box like avr328
sensor step like push_button: on box in0
sensor loop: kind alarm, on box in2, low when tripped
lamp glow: on box pwm0
prop window:
    air from bench port 1, tube 3/8 in, length 6 ft, regulator 60 psi
    reach none
    valve shove: kind 5/2, solenoids 2, without power stays, conductance 2.6 dm3/s/bar
        on box out1
        back on box out2
    cylinder ram like cylinder_round_1_1_2_in:
        on shove
        stroke 12 in
        moves 9 lb
        measured out 0.42 s, back 0.9 s at 60 psi
    sensor ram_out like reed_switch: on box in1, sees ram out
    scare lunge on step trips:
        1.2 s: ram lands out
        +1 s: ram retracts
        then: glow on
alarm on loop clears: glow on
"""
MARROW_LANE = Path(__file__).parent.parent.parent / "shows" / "marrow_lane" / "marrow_lane.show"


@pytest.fixture(scope="module")
def checked(tmp_path_factory: pytest.TempPathFactory) -> Checked:
    path = tmp_path_factory.mktemp("shows") / "box.show"
    path.write_text(SHOW, encoding="utf-8")
    found = check_file(path)
    assert found.compiled is not None, found.findings
    return found


def test_every_output_and_input_has_its_device(checked: Checked) -> None:
    assert checked.compiled is not None
    setup = set_up(checked.compiled, checked.show)
    devices = {(one.device, one.role): (one.kind, one.pin) for one in setup.yard.outputs}
    assert devices == {
        ("glow", "only"): (Device.LAMP, "pwm0"),
        ("window.shove", "on"): (Device.COIL, "out1"),
        ("window.shove", "back on"): (Device.COIL, "out2"),
    }
    assert [one.index for one in setup.yard.outputs] == list(range(len(setup.program.outputs)))
    inputs = {one.sensor: one for one in setup.yard.inputs}
    assert (inputs["window.ram_out"].sees, inputs["window.ram_out"].end) == ("window.ram", "out")
    assert inputs["window.ram_out"].kind is InputKind.END_OF_TRAVEL
    assert sensor_names(checked.show) == ("step", "loop", "window.ram_out")


def test_a_double_solenoid_of_a_show_moves_its_rod_by_pulses_and_holds_it_between(checked: Checked) -> None:
    assert checked.compiled is not None
    timeline = dry_run(checked.compiled, checked.show, [Trigger("step", 1000, 1200)], 7, None)
    (track,) = timeline.tracks
    (started,) = [event.tick for event in timeline.events if isinstance(event, Started)]
    assert [(one.toward, one.cut) for one in track.movements] == [("out", False), ("home", False)]
    # The plan reckons with a manifold that holds its pressure; this one gives way a little.
    out = track.movements[0]
    assert -1 <= out.ends - (started + 1200) <= 0.01 * (out.ends - out.commanded)
    assert len([edge for edge in timeline.edges if edge.output != 0]) == 4
    assert not [one for one in timeline.met if one.kind is MetKind.BOTH_COILS]


def test_a_loop_that_rests_closed_gives_its_alarm_when_it_clears(checked: Checked) -> None:
    assert checked.compiled is not None
    setup = set_up(checked.compiled, checked.show)
    assert [one.sensor for one in setup.yard.inputs if one.turned] == ["loop"]
    quiet = run(setup, Asked([], 7, 3000))
    assert len([event for event in quiet.events if isinstance(event, ModeChanged)]) == 1
    alarmed = run(setup, Asked([Trigger("loop", 1000, 2000)], 7, 3000))
    assert [event.mode.name for event in alarmed.events if isinstance(event, ModeChanged)] == [
        "ARMED",
        "ALARMED",
    ]
    assert any("loop" in note for note in alarmed.notes)


def test_marrow_lane_runs_with_every_lane_named_and_every_clip_known() -> None:
    checked = check_file(MARROW_LANE)
    assert checked.compiled is not None, checked.findings
    triggers = [Trigger("step", 2000, 2200), Trigger("cord", 3000, 3200)]
    timeline = dry_run(checked.compiled, checked.show, triggers, 7, None)
    assert {"window.ram", "bunker.lid", "frame.bar", "drain.riser"} <= {
        one.cylinder for one in timeline.tracks
    }
    named = [f"{one.speaker} {one.name}" for one in timeline.yard.clips]
    assert named == list(checked.compiled.names.clips)
    assert [one.name for one in timeline.yard.routines] == list(checked.compiled.names.routines)
    assert timeline.air_std_l and timeline.air_std_l > 0
