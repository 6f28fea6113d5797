"""What each form of a time means, in the plan and on the board's own rules."""

from __future__ import annotations

from typing import Any

import pytest

from sequencer.steps import Machine
from tests.schedule.yard import Made, lunge, planned, run, scare, without_limits

LEAD = 420_000
"""`measured out 0.42 s`: from the command to the arrival."""


def times(made: Made) -> list[tuple[int, int]]:
    """Earliest and latest of each moment, in milliseconds."""
    return [(m.earliest_us // 1000, m.latest_us // 1000) for m in made.first.moments]


def edges(made: Made, output: str, **how: Any) -> list[tuple[int, int]]:
    compiled = made.compiled()
    assert compiled.findings == ()
    ran = run(without_limits(compiled.program), 60_000, **how)
    return ran.of(compiled.names.outputs.index(output))


def test_a_plain_time_counts_from_the_start_of_the_block() -> None:
    made = lunge("1.2 s: a on", "2 s: repeat 2 times every 500 ms:", "    100 ms: b on", "    200 ms: b off")
    assert times(made) == [(1200, 1200), (2100, 2100), (2200, 2200), (2600, 2600), (2700, 2700)]
    assert edges(made, "b") == [(2100, 255), (2200, 0), (2600, 255), (2700, 0)]


def test_plus_counts_from_the_line_above_and_not_from_its_end() -> None:
    made = lunge("1 s: glow to 100 % over 2 s", "+800 ms: a on")
    assert times(made) == [(1000, 1000), (1800, 1800)]


def test_then_waits_for_a_fade_a_clip_and_a_pulse() -> None:
    made = lunge("1 s: glow to 40 % over 2 s", "then: horn plays bell", "then +100 ms: mist runs for 300 ms",
                 "then: a on")
    assert times(made) == [(1000, 1000), (3000, 3000), (3800, 3800), (4100, 4100)]
    assert edges(made, "mist") == [(3800, 255), (4100, 0)]


def test_then_waits_for_the_slowest_arrival_of_a_motion() -> None:
    made = lunge("1 s: ram extends", "then: a on")
    slowest = made.first.moments[0].travels[0].stroke.slowest_us  # type: ignore[union-attr]
    assert slowest > LEAD
    assert made.first.moments[1].earliest_us == 1_000_000 + slowest


def test_then_asks_the_end_of_travel_sensor_where_there_is_one() -> None:
    made = lunge("1 s: riser extends", "then: a on")
    early, late = made.first.moments[1].earliest_us, made.first.moments[1].latest_us
    assert early == 1_000_000
    assert late >= 1_000_000 + made.first.moments[0].travels[0].arrives_us[1] - 1_000_000 + 200_000

    def at_the_top(machine: Machine, tick: int) -> None:
        machine.set_input(2, tick < 1500)

    seen = edges(made, "a", world=at_the_top, step=1)
    assert seen[0] == (1500 - 20, 255)
    assert edges(made, "a")[0] == (late // 1000, 255)


def test_a_random_wait_is_drawn_within_its_ends() -> None:
    made = lunge("0 s: a on", "+300 ms to 900 ms: a off", "2 s: b on")
    assert times(made) == [(0, 0), (300, 900), (2000, 2000)]
    seen = {edges(made, "a", seed=seed)[1][0] for seed in range(1, 40)}
    assert len(seen) > 20
    assert min(seen) >= 300 and max(seen) <= 900
    assert all(edges(made, "b", seed=seed) == [(2000, 255)] for seed in (1, 7, 9))


def test_when_goes_on_with_the_sensor_or_at_the_bound() -> None:
    made = lunge("0.5 s: a on", "when mat trips, or after 2 s: b on", "+1 s: c on")
    assert times(made) == [(500, 500), (500, 2500), (1500, 3500)]

    def trodden_on(machine: Machine, tick: int) -> None:
        machine.set_input(1, tick < 1220)

    assert edges(made, "b", world=trodden_on, step=1) == [(1200, 255)]
    assert edges(made, "c", world=trodden_on, step=1) == [(2200, 255)]
    assert edges(made, "b") == [(2500, 255)]


def test_plus_after_a_block_counts_from_its_start_and_then_from_its_end() -> None:
    block = ("1 s: repeat 3 times every 400 ms:", "    0 s: a on", "    100 ms: a off")
    assert times(lunge(*block, "+2 s: b on"))[-1] == (3000, 3000)
    assert times(lunge(*block, "then: b on"))[-1] == (2200, 2200)
    assert lunge(*block, "+1 s: b on").codes == ["C001"]


def test_a_block_of_varying_length_is_waited_for_and_times_after_it_hold() -> None:
    made = lunge("0.2 s: a on", "+100 ms to 200 ms: if mat tripped:", "    0 s: b on", "    500 ms: b off",
                 "otherwise:", "    0 s: c on", "+1 s: a off", "3 s: c off")
    assert times(made)[-2:] == [(1300, 1400), (3000, 3000)]
    assert edges(made, "c", seed=5)[-1] == (3000, 0)
    offs = {edges(made, "a", seed=seed)[-1][0] for seed in range(1, 30)}
    ons = {edges(made, "c", seed=seed)[0][0] for seed in range(1, 30)}
    assert {on + 1000 for on in ons} == offs


def test_a_repeat_without_a_period_waits_for_what_its_lines_started() -> None:
    made = lunge("0 s: repeat 3 times:", "    0 s: mist runs for 200 ms", "    300 ms: horn plays bell")
    assert made.first.longest_us == 3_000_000
    assert edges(made, "horn") == [(300, 255), (1000, 0), (1300, 255), (2000, 0), (2300, 255), (3000, 0)]


def test_repeat_for_starts_no_round_after_its_time() -> None:
    made = lunge("0 s: repeat for 1 s every 300 ms:", "    0 s: a on", "    150 ms: a off", "then: b on")
    assert edges(made, "a")[-1] == (1050, 0)
    assert edges(made, "b") == [(1200, 255)]


def test_repeat_until_ends_with_the_round_in_which_the_sensor_says_so() -> None:
    made = lunge("0 s: repeat until mat trips, at most 2 s every 300 ms:", "    0 s: a on", "    150 ms: a off",
                 "then: b on")
    assert times(made)[-1] == (300, 2100)

    def trodden_on(machine: Machine, tick: int) -> None:
        machine.set_input(1, tick < 700)

    assert edges(made, "b", world=trodden_on, step=1) == [(900, 255)]
    assert edges(made, "b") == [(2100, 255)]


def test_each_arm_of_pick_one_comes_as_often_as_its_weight_says() -> None:
    made = lunge("0 s: pick one:", "    2 of 4: a on", "    1 of 4: b on", "    1 of 4: c on", "then +1 s: mist runs")
    compiled = made.compiled()
    counts = {"a": 0, "b": 0, "c": 0}
    for seed in range(1, 401):
        ran = run(compiled.program, 3_000, seed)
        drawn = [name for name in counts if ran.of(compiled.names.outputs.index(name))]
        assert len(drawn) == 1
        counts[drawn[0]] += 1
    # Four standard deviations of a binomial count: a test that fails once in some ten thousand generators.
    for name, share in (("a", 0.5), ("b", 0.25), ("c", 0.25)):
        assert abs(counts[name] - 400 * share) < 4 * (400 * share * (1 - share)) ** 0.5


def test_every_third_run_takes_the_other_way() -> None:
    made = lunge("0 s: every 3rd run:", "    0 s: a on", "otherwise:", "    0 s: b on", "then +100 ms: a off, b off")
    compiled = made.compiled()

    def again_and_again(machine: Machine, tick: int) -> None:
        machine.set_input(0, tick // 500 % 2 == 0)

    ran = run(compiled.program, 6_600, world=again_and_again, step=100)
    on = sorted((tick, name) for name in ("a", "b")
                for tick, level in ran.of(compiled.names.outputs.index(name)) if level)
    assert [name for _, name in on][:6] == ["b", "b", "a", "b", "b", "a"]


def test_a_scare_ends_when_all_that_it_started_has_ended() -> None:
    made = lunge("0 s: glow to 100 % over 3 s", "1 s: a on")
    assert (made.first.shortest_us, made.first.longest_us) == (3_000_000, 3_000_000)
    assert run(made.compiled().program, 9_000).ended == 3_000


def test_what_a_later_line_cuts_short_is_not_waited_for() -> None:
    assert lunge("0 s: glow to 100 % over 3 s", "1 s: glow off").first.longest_us == 1_000_000


def test_a_gesture_takes_its_lines_and_nothing_more() -> None:
    text = RIG_WITH_GESTURE + "scare lunge on go trips:\n    1 s: blink of a\n    +300 ms: b on\n"
    assert [time for time in times(planned(text))] == [(1000, 1000), (1200, 1200), (1300, 1300)]


RIG_WITH_GESTURE = scare("0 s: c on").split("scare lunge")[0] + (
    "gesture blink of who:\n    0 s: who on\n    200 ms: who off\n")


def test_an_idle_has_the_moments_of_a_second_run() -> None:
    made = planned(scare("0 s: a on", "1 s: a off", "then +500 ms: b on", head="idle breathing:"))
    assert [(m.earliest_us, m.again) for m in made.first.moments] == [
        (0, False), (1_000_000, False), (1_500_000, False),
        (1_500_000, True), (2_500_000, True), (3_000_000, True),
    ]


@pytest.mark.parametrize("beat", ["461.5 ms", "462.5 ms", "333.3 ms"])
def test_many_lines_on_a_beat_do_not_drift(beat: str) -> None:
    """Absolute times are rounded once: the hundredth line is as near to its time as the first."""
    us = round(float(beat.split()[0]) * 1000)
    made = lunge("0 s: a on", *(f"+{beat}: {'a on' if n % 2 else 'a off'}" for n in range(100)))
    ticks = [tick for tick, _ in edges(made, "a")]
    assert all(abs(tick * 1000 - n * us) <= 500 for n, tick in enumerate(ticks))
    assert len(ticks) == 101


def test_a_wait_for_a_sensor_begins_at_a_time_that_a_random_wait_led_up_to() -> None:
    made = lunge("0 s: b on", "+300 ms to 800 ms: b off", "5 s: mist runs for 200 ms",
                 "when mat trips, or after 2 s: a on")
    assert times(made)[-1] == (5000, 7000)
    assert edges(made, "mist") == [(5000, 255), (5200, 0)]
    assert edges(made, "a") == [(7000, 255)]


def test_plus_counts_from_the_start_of_a_varying_block_behind_a_random_wait() -> None:
    made = lunge("0 s: a on", "+100 ms to 900 ms: a off", "+200 ms: if mat tripped:", "    0 s: b on",
                 "    500 ms: b off", "otherwise:", "    0 s: c on", "+1 s: mist runs for 100 ms")
    for seed in (1, 2, 3, 4):
        lit, dark = edges(made, "c", seed=seed)[0][0], edges(made, "a", seed=seed)[1][0]
        assert lit - dark == 200
        assert edges(made, "mist", seed=seed)[0][0] - lit == 1000


def test_then_with_a_sensor_waits_for_what_takes_longer_too() -> None:
    made = lunge("1 s: riser extends, glow to 100 % over 6 s", "then: a on")
    assert times(made)[-1] == (7000, 7000)

    def at_the_top(machine: Machine, tick: int) -> None:
        machine.set_input(2, tick < 2000)

    assert edges(made, "a", world=at_the_top, step=1) == [(7000, 255)]


def test_behind_an_end_of_travel_report_the_cylinder_stands_there() -> None:
    made = lunge("1 s: riser extends", "then: riser retracts")
    assert made.first.moments[1].travels[0].before == "out"


def test_the_second_round_finds_what_the_first_one_left() -> None:
    made = lunge("0 s: repeat 3 times every 1 s:", "    0 s: ram extends", "    600 ms: ram retracts")
    assert [(m.again, m.travels[0].before) for m in made.first.moments] == [
        (False, "home"), (False, "out"), (True, "moving"), (True, "out")]
    left_out = lunge("0 s: repeat 3 times every 2 s:", "    0 s: ram extends", "then: ram retracts")
    assert [m.travels[0].before for m in left_out.first.moments] == ["home", "out", "out"]
