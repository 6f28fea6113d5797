"""What the compiler makes of parts, policies and states of rest; and how small."""

from __future__ import annotations

import zlib
from pathlib import Path

import pytest

from sequencer.air.stroke import predict_stroke
from sequencer.board.profiles import AVR2560, HOST
from sequencer.data import folder
from sequencer.language.load import folder_reader
from sequencer.language.resolve import read_show
from sequencer.schedule import compile_plan, plan_show
from sequencer.schedule.blocks import bodies
from sequencer.show import Show
from sequencer.show.model import Cue
from sequencer.steps import Edge, InputKind, Output, Program, Start, WhileRunning, decode, encode
from sequencer.steps.encode import encode_steps
from tests.schedule.yard import Made, lunge, planned, scare


def output(made: Made, name: str) -> Output:
    compiled = made.compiled()
    return compiled.program.outputs[compiled.names.outputs.index(name)]


def ops(made: Made, routine: int = 0) -> list[str]:
    return [made_step.op for made_step in made.compiled().program.routines[routine].steps]


PLAIN = ("0 s: a on", "1 s: a off")


def test_outputs_stand_in_the_order_of_their_pins_with_their_numbers() -> None:
    compiled = lunge(*PLAIN).compiled()
    pins = [one.pin for one in compiled.program.outputs]
    assert pins == sorted(pins)
    assert compiled.names.outputs[0] == "glow"
    assert HOST.find_pin("pwm0").index == pins[0]  # type: ignore[union-attr]
    assert compiled.program.outputs[0].fades and not compiled.program.outputs[1].fades


def test_everything_is_off_at_rest_unless_stop_says_otherwise() -> None:
    assert all(one.safe == one.alarm == 0 for one in lunge(*PLAIN).compiled().program.outputs)
    made = planned(scare(*PLAIN) + "stop on mat trips: ram extends, b on, glow to 40 %\nalarm: b off\n")
    assert (output(made, "shove").safe, output(made, "b").safe, output(made, "glow").safe) == (255, 255, 102)
    assert (output(made, "shove").alarm, output(made, "b").alarm) == (255, 0)
    assert made.compiled().program.inputs[1].kind is InputKind.STOP


def test_a_valve_that_stays_is_held_in_its_safe_state() -> None:
    made = planned(scare(*PLAIN) + "stop: lever retracts\n")
    assert (output(made, "kick").safe, output(made, "kick back").safe) == (0, 255)
    assert output(made, "kick back").longest_on == 0
    assert output(made, "kick").longest_on == 500


def test_the_coils_of_a_valve_exclude_each_other_and_have_its_times() -> None:
    made = lunge(*PLAIN)
    one, other, plain = output(made, "kick"), output(made, "kick back"), output(made, "shove")
    assert one.exclusion == other.exclusion != output(made, "raise").exclusion != 0
    assert plain.exclusion == 0
    # responds in 20 ms, releases in 30 ms, shifts over 6 ms, as the shelf says of this valve
    assert (plain.shortest_on, plain.shortest_off) == (26, 36)


def test_a_longest_time_on_is_kept_in_half_seconds_and_never_longer_than_said() -> None:
    made = planned(scare(*PLAIN).replace("lamp a: on box out6", "lamp a: on box out6, on for at most 10.7 s"))
    assert output(made, "a").longest_on == 10_500


@pytest.mark.parametrize("most", ["400 ms", "128 s", "2 h"])
def test_a_longest_time_on_that_the_board_cannot_keep_is_an_error(most: str) -> None:
    made = planned(scare(*PLAIN).replace("lamp a: on box out6", f"lamp a: on box out6, on for at most {most}"))
    assert [finding.code for finding in made.compiled().findings] == ["C016"]


def test_policies_rests_and_starts_reach_the_routine() -> None:
    text = scare("while running once more", "while mat tripped", "rest 25 s", "rank 3", *PLAIN,
                 head="scare lunge on go trips or mat clears:")
    made = planned(text).compiled().program.routines[0]
    assert made.starts == (Start(0, Edge.TRIPS), Start(1, Edge.CLEARS))
    assert (made.while_running, made.rest, made.rank, made.blocked_while) == (WhileRunning.ONCE_MORE, 25_000, 3, 1)


def test_a_timed_scare_and_an_idle_say_so() -> None:
    text = scare(*PLAIN, head="scare change every 90 s to 150 s:") + "idle still:\n    0 s: b on\n    1 s: b off\n"
    change, idle = planned(text).compiled().program.routines
    assert change.every == (90_000, 150_000) and not change.idle
    assert idle.idle and idle.every is None


def test_a_normally_closed_loop_trips_when_it_clears() -> None:
    made = planned(scare(*PLAIN) + "alarm on mat clears: a on\n")
    loop = made.compiled().program.inputs[1]
    assert loop.kind is InputKind.ALARM
    assert loop.low_when_tripped is False


def test_an_end_of_travel_sensor_is_one() -> None:
    assert lunge(*PLAIN).compiled().program.inputs[2].kind is InputKind.END_OF_TRAVEL


def test_full_and_none_are_the_short_step() -> None:
    assert ops(lunge("0 s: glow to 100 %", "1 s: glow to 40 %", "2 s: glow to 0 %")) == [
        "set", "wait", "level", "wait", "set", "end"]


def test_waits_are_relative_where_the_time_is_fixed() -> None:
    assert "until" not in ops(lunge("0 s: a on", "1 s: repeat 3 times every 500 ms:", "    0 s: b on",
                                    "    100 ms: b off", "5 s: a off"))
    assert "until" in ops(lunge("0 s: a on", "+1 s to 2 s: b on", "5 s: a off"))


def test_only_clips_that_are_played_take_room() -> None:
    assert lunge(*PLAIN).compiled().program.clips == ()
    assert [clip.length for clip in lunge("0 s: horn plays bell").compiled().program.clips] == [700]


def test_every_step_has_its_line() -> None:
    made = lunge("0 s: a on", "1.2 s: ram lands out", "3 s: ram retracts")
    compiled = made.compiled()
    steps, sources = compiled.program.routines[0].steps, compiled.sources[0]
    assert len(steps) == len(sources)
    first = made.show.routines[0].cues[0].span.line
    assert [source.span.line - first for source in sources] == [0, 1, 1, 2, 2, 2, 2]
    assert sources[2].note == "ram lands out at 1.2 s, 1.171 s to 1.231 s"


def test_a_fade_and_the_wait_for_it_are_one_step_that_names_both_lines() -> None:
    made = lunge("0 s: glow to 40 % over 700 ms", "then: a on", "+1 s: glow to 0 % over 300 ms")
    assert ops(made) == ["fade_then", "set", "wait", "fade_then", "end"]
    sources = made.compiled().sources[0]
    first = made.show.routines[0].cues[0].span.line
    assert [source.span.line - first for source in sources] == [0, 1, 2, 2, 2]
    assert sources[0].note == f"glow to; then line {first + 1}"
    assert sources[3].note == "glow to"


def test_only_a_wait_of_exactly_the_fade_and_right_behind_it_is_taken_in() -> None:
    assert ops(lunge("0 s: glow to 40 % over 700 ms", "+701 ms: a on")) == ["fade", "wait", "set", "end"]
    assert ops(lunge("0 s: glow to 40 % over 700 ms, b on", "+700 ms: a on")) == ["fade", "set", "wait", "set", "end"]
    assert ops(lunge("0 s: glow to 40 % over 700 ms", "+700 ms to 900 ms: a on"))[:2] == ["fade", "wait_random"]


def test_a_fade_at_the_end_of_a_block_and_the_wait_behind_the_block_stay_apart() -> None:
    """Where a skip lands between the two, one step in their place would have no place to land on."""
    made = lunge("0 s: every 2nd run:", "    0 s: glow to 40 % over 700 ms", "+700 ms: a on")
    assert ops(made) == ["skip_but_nth", "fade", "wait", "set", "end"]
    made = lunge("0 s: pick one:", "    1 of 2: glow to 40 % over 700 ms", "    1 of 2: b on", "then: a on")
    assert "fade_then" not in ops(made)


def test_the_image_of_a_program_decodes_to_the_same_program() -> None:
    made = lunge("0 s: pick one:", "    1 of 2: a on", "    1 of 2: b on", "then +1 s: a off, b off")
    program = made.compiled().program
    assert decode(encode(program)) == program
    assert program.show_id == zlib.crc32(b"Marrow Lane")
    assert program.board == HOST.kind


def test_draws_of_pick_one_are_in_lowest_terms() -> None:
    made = lunge("0 s: pick one:", "    2 of 8: a on", "    2 of 8: b on", "    4 of 8: c on", "then +1 s: a off")
    chances = [one.args[:2] for one in made.compiled().program.routines[0].steps if one.op == "chance"]
    assert chances == [(1, 4), (1, 3)]


def step_bytes(program: Program) -> int:
    return sum(len(chunk) for routine in program.routines for chunk in encode_steps(routine.steps))


def test_a_rattle_costs_at_most_four_bytes_a_line() -> None:
    made = lunge("0 s: a on", "1 s: ram lands out", "+1 s: ram retracts", "then: repeat 5 times every 400 ms:",
                 "    0 s: lever extends", "    160 ms: lever retracts, b on", "    300 ms: b off",
                 "then +300 ms: horn plays bell", "then: a off")
    assert step_bytes(made.compiled().program) <= 4 * 9


def marrow_lane() -> tuple[Show, Program]:
    place = Path(folder("shows")) / "marrow_lane"
    show = read_show((place / "marrow_lane.show").read_bytes(), "marrow_lane.show", folder_reader(place)).show
    plan, findings = plan_show(show, predict_stroke, {})
    assert findings == ()
    compiled = compile_plan(show, plan, AVR2560)
    assert compiled.findings == ()
    return show, compiled.program


def test_marrow_lane_compiles_and_fits_its_board() -> None:
    _, program = marrow_lane()
    assert len(encode(program)) <= AVR2560.limits.program_bytes


def test_a_cue_line_of_marrow_lane_costs_at_most_four_bytes_and_a_step_two_and_a_half() -> None:
    """The bounds are the design's; a gesture counts with its lines at every place where it is written in."""
    show, program = marrow_lane()
    written = sum(len(routine.steps) - 1 for routine in program.routines)
    assert step_bytes(program) <= 4 * sum(lines_in(routine.cues) for routine in show.routines)
    assert step_bytes(program) <= 2.5 * written


def lines_in(cues: tuple[Cue, ...]) -> int:
    return sum(1 + sum(map(lines_in, bodies(cue))) for cue in cues)
