"""`lands`: the valve is switched as much earlier as the motion needs, and what cannot be made in time is said."""

from __future__ import annotations

from sequencer.air.stroke import predict_stroke
from sequencer.schedule.supply import request_for
from tests.schedule.yard import Made, lunge, planned, run, scare, without_limits

OUT, HOME = 420, 900
"""`measured out 0.42 s, back 0.9 s`, in ticks."""


def valve(made: Made, seed: int = 1, output: str = "shove") -> list[tuple[int, int]]:
    compiled = made.compiled()
    assert compiled.findings == ()
    return run(without_limits(compiled.program), 30_000, seed).of(compiled.names.outputs.index(output))


def test_the_valve_opens_the_lead_before_the_line() -> None:
    assert valve(lunge("1.2 s: ram lands out", "4 s: ram lands home")) == [(1200 - OUT, 255), (4000 - HOME, 0)]


def test_the_valve_may_open_before_the_line_above() -> None:
    made = lunge("1 s: a on", "+100 ms: ram lands out", "4 s: ram retracts")
    assert valve(made)[0] == (1100 - OUT, 255)
    assert made.fine
    assert valve(lunge("1 s: a on", "1.1 s: ram lands out", "4 s: ram retracts"))[0] == (1100 - OUT, 255)


def test_a_landing_cannot_open_before_the_scare_starts_and_the_earliest_is_named() -> None:
    made = lunge("200 ms: ram lands out", "4 s: ram retracts")
    assert made.codes == ["C003"]
    assert "420 ms" in made.findings[0].message
    assert made.findings[0].mends[0].edits[0].text == "420 ms"
    assert lunge("0.2 s: ram lands out", "4 s: ram retracts").findings[0].mends[0].edits[0].text == "0.42 s"
    assert lunge("420 ms: ram lands out", "4 s: ram retracts").fine


def test_after_a_random_wait_the_lead_is_taken_out_of_the_drawn_wait() -> None:
    made = lunge("0 s: a on", "+1 s to 2 s: ram lands out, b on", "+3 s: ram retracts, b off")
    compiled = made.compiled()
    drawn = set()
    for seed in range(1, 30):
        ran = run(compiled.program, 30_000, seed)
        opens, lands = (ran.of(compiled.names.outputs.index(name))[0][0] for name in ("shove", "b"))
        assert lands - opens == OUT
        assert 1000 <= lands <= 2000
        drawn.add(lands)
    assert len(drawn) > 15


def test_a_random_wait_shorter_than_the_lead_is_too_short() -> None:
    made = lunge("0 s: a on", "+300 ms to 900 ms: ram lands out", "4 s: ram retracts")
    assert made.codes == ["C003"]
    assert "120 ms too early" in made.findings[0].message


def test_after_a_sensor_nothing_can_be_foreseen() -> None:
    made = lunge("0 s: a on", "when mat trips, or after 2 s: b on", "+400 ms: ram lands out", "then +2 s: ram retracts")
    assert made.codes == ["C003"]
    assert made.findings[0].mends[0].edits[0].text == "+420 ms"
    assert lunge("0 s: a on", "when mat trips, or after 2 s: b on", "+420 ms: ram lands out",
                 "then +2 s: ram retracts").fine


def test_two_landings_too_close_name_the_least_distance() -> None:
    """Less than the 0.9 s from rest: where it has just landed its air has not all built up yet."""
    made = lunge("1 s: ram lands out", "+500 ms: ram lands home")
    assert made.codes == ["C004"]
    least = made.findings[0].mends[0].edits[0].text
    assert f"the least distance is {least.removeprefix('+')}" in made.findings[0].message
    milliseconds = int(least.removeprefix("+").removesuffix(" ms"))
    assert HOME - 200 <= milliseconds < HOME
    assert lunge("1 s: ram lands out", f"+{milliseconds} ms: ram lands home").fine
    assert lunge("1 s: ram lands out", f"+{milliseconds - 2} ms: ram lands home").codes == ["C004"]


def test_a_landing_in_the_rounds_of_a_repeat_must_fit_every_round() -> None:
    lines = ("    500 ms: ram lands out", "    +900 ms: ram lands home")
    assert lunge("0 s: repeat 3 times every 2 s:", *lines).fine
    tight = lunge("0 s: repeat 3 times every 1.4 s:", *lines)
    assert tight.fine
    (first, _), (back, _), (second, _), (again, _) = valve(tight)[:4]
    assert (first, second) == (500 - OUT, 1900 - OUT)
    assert 1400 - HOME < back < 1400 - HOME + 100
    assert back == again - 1400


def test_at_a_fraction_the_rod_passes_it_at_that_time_on_its_way_to_the_far_end() -> None:
    made = lunge("1 s: ram lands at 60 %", "4 s: ram lands at 60 %")
    request = request_for(made.show.parts, "ram", 0.0, "out")
    assert request is not None
    lead = predict_stroke(request).arrival_us(0.6)
    assert 0 < lead < OUT * 1000
    (opens, level), (closes, _) = valve(made)
    assert (opens, level) == (1000 - round(lead / 1000), 255)
    # From out, 60 % of the stroke is 40 % of the way home.
    assert 4000 - HOME < closes < 4000 - HOME * 0.4
    assert made.first.leaves == {"ram": "home"}


def test_where_a_cylinder_stands_depends_on_the_path() -> None:
    made = lunge("0 s: if mat tripped:", "    0 s: ram extends", "3 s: ram lands out", "6 s: ram retracts")
    out = made.first.moments[1]
    assert out.travels[0].before == "either"
    assert out.earliest_us == 3_000_000 - OUT * 1000


def test_a_scare_that_leaves_a_cylinder_out_is_met_by_the_next() -> None:
    text = scare("0 s: ram extends") + "scare back on mat trips:\n    2 s: ram lands home\n"
    made = planned(text)
    assert made.plan.routines[0].leaves == {"ram": "out"}
    back = made.plan.routines[1].moments[0]
    assert back.travels[0].before == "either"
    assert back.earliest_us == 2_000_000 - HOME * 1000


def test_a_cylinder_still_on_its_way_is_taken_to_be_far() -> None:
    made = lunge("0 s: ram extends", "3 s: ram retracts", "+1.3 s: ram lands out", "8 s: ram retracts")
    last = made.first.moments[2]
    assert last.travels[0].before == "moving"
    # It comes home at 3.9 s, as the valve is switched: what that has let out of the other end helps a little.
    assert 0 < last.earliest_us - (4_300_000 - OUT * 1000) < 20_000


def test_a_landing_at_the_end_that_it_is_still_on_its_way_to() -> None:
    """It may still be far, so the whole stroke is what the landing needs; and the command before leaves less."""
    assert lunge("0 s: ram extends", "+300 ms: ram lands out", "4 s: ram retracts").codes == ["C004"]


def test_where_it_is_behind_a_random_wait_counts_with_the_longest() -> None:
    made = lunge("0 s: a on", "+1 s to 2 s: ram extends", "3 s: ram lands home")
    home = made.first.moments[2]
    assert home.earliest_us == home.latest_us == 3_000_000 - HOME * 1000
    assert home.travels[0].before == "moving"
    later = lunge("0 s: a on", "+1 s to 2 s: ram extends", "3.4 s: ram lands home")
    assert later.first.moments[2].travels[0].before == "out"


def test_a_scare_that_may_restart_finds_its_cylinder_on_the_way() -> None:
    plain = lunge("0.6 s: ram lands out", "3 s: ram retracts")
    again = planned(scare("while running restart", "0.6 s: ram lands out", "3 s: ram retracts"))
    assert plain.first.moments[0].travels[0].before == "home"
    assert again.first.moments[0].travels[0].before == "moving"


def test_a_double_valve_is_pulsed_and_goes_back_by_a_step_of_its_own() -> None:
    made = lunge("0 s: lever extends for 500 ms", "2 s: a on")
    assert valve(made, output="kick") == [(0, 255), (200, 0)]
    assert valve(made, output="kick back") == [(500, 255), (700, 0)]
    assert [moment.goes_back for moment in made.first.moments] == [False, True, False]


def test_a_valve_that_must_be_switched_on_to_retract_is_switched_off_again() -> None:
    made = lunge("0 s: ram extends", "2 s: ram retracts for 300 ms", "5 s: ram retracts")
    assert valve(made) == [(0, 255), (2000, 0), (2300, 255), (5000, 0)]


def test_a_5_3_valve_goes_back_to_its_centre() -> None:
    made = lunge("0 s: riser extends for 300 ms", "3 s: riser retracts for 2 s")
    assert valve(made, output="raise") == [(0, 255), (300, 0)]
    assert valve(made, output="raise back") == [(3000, 255), (5000, 0)]
    assert made.first.moments[2].travels[0].before == "either"


def test_a_cylinder_moves_with_its_valve_too() -> None:
    made = lunge("0 s: shove opens for 1 s", "4 s: a on")
    there, back, _ = made.first.moments
    assert [travel.toward for travel in (*there.travels, *back.travels)] == ["out", "home"]
    assert valve(made) == [(0, 255), (1000, 0)]


SWAYING = """show "Marrow Lane"
board box like host
sensor go: on box in0, low when tripped
prop window:
    valve shove like valve_5_2_quarter: on box out1
    cylinder ram:
        on shove
        bore 1-1/2 in, rod 7/16 in, stroke 12 in
        measured out 0.42 s, back 0.9 s
    idle sway:
        0 s: ram extends
        4 s: ram retracts
    scare lunge on go trips:
        2 s: ram lands out
        5 s: ram retracts
"""


def test_a_scare_that_makes_an_idle_give_way_finds_its_cylinder_on_the_way() -> None:
    """The idle may have left it out; its way home takes up to 0.99 s from the start of the scare."""
    made = planned(SWAYING)
    assert made.fine
    assert made.plan.routines[1].moments[0].travels[0].before == "home"
    soon = planned(SWAYING.replace("2 s: ram lands", "1.2 s: ram lands"))
    assert soon.plan.routines[1].moments[0].travels[0].before == "moving"
    assert soon.plan.routines[1].moments[0].earliest_us == 1_200_000 - OUT * 1000
