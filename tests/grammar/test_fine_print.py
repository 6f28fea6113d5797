"""What the reference says of times, run: pieces of shows in its yard, dry-run by the board's rules.

The sentences are those of `grammar/REFERENCE.md`; each test says which. Times count from the start of the scare
unless they say otherwise. The dry run is a second way to the same times: it runs the step tables and knows
nothing of the plan.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import pytest

from sequencer.checks.clips import ClipFile
from sequencer.checks.pipeline import check_bytes
from sequencer.dryrun.run import Asked, run
from sequencer.dryrun.timeline import Timeline
from sequencer.dryrun.triggers import Trigger
from sequencer.dryrun.wiring import set_up
from sequencer.steps.events import Ended, Fault, Killed, Skipped, Started
from tests.grammar.test_reference import Example, completed

CLIP_MS = 2_000
TRIP = 1_000


def nothing_else(_: str) -> bytes:
    raise FileNotFoundError


@dataclass(frozen=True)
class Ran:
    line: Timeline

    def start(self, routine: str) -> int:
        """The tick at which it first starts."""
        return self.ticks(Started, routine)[0]

    def ticks(self, kind: type, routine: str) -> list[int]:
        names = [one.name for one in self.line.yard.routines]
        return [event.tick for event in self.line.events
                if isinstance(event, kind) and names[event.routine] == routine]

    def edges(self, output: str, routine: str = "window.example") -> list[tuple[int, int]]:
        """(ms since the start of the routine, level 0 to 255) of an output, from that start on."""
        begins = self.start(routine)
        index = next(one.index for one in self.line.yard.outputs if one.name == output)
        return [(edge.tick - begins, edge.level) for edge in self.line.edges
                if edge.output == index and edge.tick >= begins]

    def arrivals(self, cylinder: str, routine: str = "window.example") -> list[int]:
        track = next(one for one in self.line.tracks if one.cylinder == cylinder)
        return [move.ends - self.start(routine) for move in track.movements]


def played(kind: str, text: str, *trips: Trigger, seed: int = 7, ms: int = 20_000) -> Ran:
    """A piece of a show, run; the beam at the door trips after 1 s unless other trips are given."""
    whole = completed(Example(0, kind, None, text)).encode()
    checked = check_bytes(whole, "example.show", nothing_else, lambda file: ClipFile(file, CLIP_MS * 1000))
    assert checked.compiled is not None, checked.findings
    setup = set_up(checked.compiled, checked.show)
    return Ran(run(setup, Asked(trips or (Trigger("step", TRIP, TRIP + 200),), seed, ms)))


def test_lands_is_the_time_of_the_arrival() -> None:
    # 8 s apart, so that the air of the first has cooled: what is left of it moves a landing by 2 to 4 %.
    ran = played("cues", "1.2 s: ram lands out\n+8 s: ram lands home\n")
    # The plan reckons with a supply that never gives way; in the dry run the regulator droops by 0.05 bar, which
    # moves an arrival by up to 2 % of the motion (0.42 s out, 0.9 s home).
    out, home = ran.arrivals("window.ram")
    assert abs(out - 1_200) <= 0.02 * 420 and abs(home - 9_200) <= 0.02 * 900


def test_plus_counts_from_the_time_of_the_line_above_whether_or_not_it_is_done() -> None:
    ran = played("cues", "0 s: eyes to 100 % over 2 s\n+300 ms: candle on\n+300 ms: candle off\n")
    assert ran.edges("window.candle") == [(300, 255), (600, 0)]


def test_then_waits_for_a_fade_and_for_a_clip() -> None:
    ran = played("cues", "0 s: eyes to 40 % over 700 ms\nthen: throat plays growl\nthen +100 ms: candle on\n")
    assert ran.edges("window.throat")[0] == (700, 255)
    assert ran.edges("window.candle") == [(700 + CLIP_MS + 100, 255)]


def test_then_waits_for_the_slowest_arrival_where_no_sensor_sees_it() -> None:
    ran = played("cues", "0 s: ram extends\nthen: candle on\n")
    [(came, _)] = ran.edges("window.candle")
    assert 1.05 < came / 420 < 1.1, "0.42 s as measured, and what a timed motion may be slower"


def test_then_waits_for_the_sensor_that_sees_the_end() -> None:
    ran = played("cues", "0 s: drain.riser extends\nthen: candle on\n")
    settles = 5
    [(came, _)] = ran.edges("window.candle")
    [arrived] = ran.arrivals("drain.riser")
    assert arrived - 30 <= came <= arrived + settles, "3.4 s as measured; a reed sees the last hundredth of the way"


@pytest.mark.parametrize("held", [Trigger("mat", 0, 9_000), Trigger("mat", TRIP + 500, 9_000)])
def test_a_wait_for_a_sensor_goes_on_as_soon_as_it_is_tripped_also_if_it_is_already(held: Trigger) -> None:
    step = Trigger("step", TRIP, TRIP + 200)
    ran = played("cues", "0 s: eyes on\nwhen mat trips, or after 4 s: candle on\n", held, step)
    settled = max(held.begins + 50 - ran.start("window.example"), 0)
    assert ran.edges("window.candle") == [(settled, 255)]


def test_a_wait_for_a_sensor_ends_at_its_bound() -> None:
    ran = played("cues", "0 s: eyes on\n+1 s: eyes off\nwhen mat trips, or after 4 s: candle on\n")
    assert ran.edges("window.candle") == [(5_000, 255)]


def test_a_landing_after_a_random_wait_lands_within_the_wait_as_written() -> None:
    came = {played("cues", "0 s: eyes on\n+600 ms to 900 ms: ram lands out\n", seed=seed).arrivals("window.ram")[0]
            for seed in range(1, 31)}
    assert all(600 <= one <= 900 for one in came)
    assert len(came) > 10


def test_a_repeat_for_a_time_finishes_the_round_that_is_running() -> None:
    ran = played("cues", "0 s: repeat for 3 s every 700 ms:\n    0 s: eyes on\n    300 ms: eyes off\nthen: candle on\n")
    assert [at for at, level in ran.edges("window.eyes") if level] == [0, 700, 1_400, 2_100, 2_800]
    assert ran.edges("window.candle") == [(3_500, 255)]


def test_a_repeat_until_a_sensor_clears_runs_once_at_least_and_stops_at_its_bound() -> None:
    text = "0 s: repeat until mat clears, at most 2500 ms every 1 s:\n    0 s: eyes on\n    300 ms: eyes off\n"
    step = Trigger("step", TRIP, TRIP + 200)
    for held, rounds in ((None, 1), (Trigger("mat", 0, TRIP + 1_500), 2), (Trigger("mat", 0, 19_000), 3)):
        ran = played("cues", text, *((held,) if held else ()), step)
        assert len([at for at, level in ran.edges("window.eyes") if level]) == rounds


def test_a_round_without_a_period_lasts_until_what_it_started_has_ended() -> None:
    ran = played("cues", "0 s: repeat 3 times:\n    0 s: eyes to 100 %\n    0 s: eyes to 0 % over 400 ms\n"
                 "then: candle on\n")
    assert ran.edges("window.candle") == [(1_200, 255)]


def test_every_third_run_is_the_third_and_the_sixth_since_the_board_was_armed() -> None:
    trips = [Trigger("step", 1_000 * n, 1_000 * n + 200) for n in range(1, 8)]
    ran = played("cues", "0 s: every 3rd run:\n    0 s: eyes on\n    100 ms: eyes off\n", *trips)
    starts = ran.ticks(Started, "window.example")
    assert [at + starts[0] for at, level in ran.edges("window.eyes") if level] == [starts[2], starts[5]]


def test_a_flicker_stays_at_its_lower_level_and_flashes_end_off() -> None:
    ran = played("cues", "0 s: eyes flickers 20 % to 70 % for 1 s, candle flashes 2 Hz for 1 s\n")
    assert ran.edges("window.eyes")[-1] == (1_000, 51)
    assert ran.edges("window.candle") == [(0, 255), (250, 0), (500, 255), (750, 0)]


def test_what_a_scare_left_on_stays_on_when_it_has_ended() -> None:
    ran = played("cues", "0 s: eyes on, candle to 40 %\n1 s: candle off\n")
    assert ran.edges("window.eyes") == [(0, 255)]
    assert ran.ticks(Ended, "window.example") == [ran.start("window.example") + 1_000]


def test_a_scare_that_is_stopped_leaves_its_outputs_in_the_safe_state_in_the_same_tick() -> None:
    ran = played("window", "    scare example on step trips:\n        0 s: eyes on, work off, ram extends\n"
                 "        9 s: eyes off\n    scare ender on mat trips:\n        0 s: example stops\n",
                 Trigger("step", TRIP, TRIP + 200), Trigger("mat", 3_000, 3_200))
    [stopped] = ran.ticks(Killed, "window.example")
    begins = ran.start("window.example")
    for output, level in (("window.eyes", 0), ("work", 255), ("window.shove", 0)):
        assert ran.edges(output)[-1] == (stopped - begins, level)


def test_an_idle_gives_way_at_once_and_comes_back_after_the_scare() -> None:
    ran = played("window", "    idle breathing:\n        0 s: eyes to 100 % over 5 s\n"
                 "    scare example on step trips:\n        1 s: candle on\n        2 s: candle off\n")
    begins, breathes = ran.start("window.example"), ran.ticks(Started, "window.breathing")
    assert ran.ticks(Killed, "window.breathing")[0] == begins
    assert ran.edges("window.eyes")[0] == (0, 0)
    assert breathes[:2] == [0, begins + 2_000 + 1]


def test_an_idle_gives_way_to_scares_of_its_prop_and_of_the_left_edge_only() -> None:
    idle = "    idle breathing:\n        0 s: eyes to 100 % over 5 s\n"
    mat = Trigger("mat", TRIP, 1_300)
    ran = played("window", f"{idle}scare whistling on mat trips:\n    1 s: horn plays whistle\n", mat)
    assert ran.ticks(Killed, "window.breathing") == [ran.start("whistling")]
    other = 'prop mast "The signal mast":\n    lamp red: on box pwm9\n    scare winking on mat trips:\n'
    ran = played("window", f"{idle}{other}        0 s: red on\n        1 s: red off\n", mat)
    assert ran.ticks(Started, "mast.winking")
    assert not ran.ticks(Killed, "window.breathing")


@pytest.mark.parametrize(("policy", "starts"), [("ignore", 1), ("restart", 3), ("once more", 2)])
def test_starts_while_it_runs(policy: str, starts: int) -> None:
    trips = [Trigger("step", at, at + 200) for at in (1_000, 2_000, 3_000)]
    ran = played("window", f"    scare example on step trips:\n        while running {policy}\n"
                 "        0 s: eyes on\n        5 s: eyes off\n", *trips)
    assert len(ran.ticks(Started, "window.example")) == starts


def test_a_kept_start_is_taken_when_the_scare_has_ended_and_rested() -> None:
    trips = [Trigger("step", at, at + 200) for at in (1_000, 2_000)]
    ran = played("window", "    scare example on step trips:\n        while running once more\n        rest 3 s\n"
                 "        0 s: eyes on\n        4 s: eyes off\n", *trips)
    first, second = ran.ticks(Started, "window.example")
    assert second - first == 7_000


def test_a_scare_does_not_start_while_it_rests() -> None:
    trips = [Trigger("step", at, at + 200) for at in (1_000, 3_000, 9_000)]
    ran = played("window", "    scare example on step trips:\n        rest 4 s\n        0 s: eyes on\n"
                 "        1 s: eyes off\n", *trips)
    assert [one // 1_000 for one in ran.ticks(Started, "window.example")] == [1, 9]
    assert [one // 1_000 for one in ran.ticks(Skipped, "window.example")] == [3]


def test_a_scare_that_started_while_a_sensor_was_tripped_waits_until_it_has_cleared() -> None:
    """The mat is tripped from 2.5 s to 7 s; the scare starts in that time at 3 s, so 5 s is too soon."""
    trips = [Trigger("step", at, at + 200) for at in (2_000, 3_000, 5_000, 8_000)]
    ran = played("window", "    scare example on step trips:\n        while mat tripped\n        0 s: eyes on\n"
                 "        500 ms: eyes off\n", *trips, Trigger("mat", 2_500, 7_000))
    assert [one // 1_000 for one in ran.ticks(Started, "window.example")] == [2, 3, 8]
    assert [one // 1_000 for one in ran.ticks(Skipped, "window.example")] == [5]


def test_a_scare_on_arming_starts_once_when_the_board_is_armed() -> None:
    ran = played("window", "    scare example on arming:\n        2 s: work off\n")
    assert ran.ticks(Started, "window.example") == [0]
    assert ran.edges("work")[-1] == (2_000, 0)


def test_a_sensor_that_is_tripped_when_the_board_is_armed_starts_nothing() -> None:
    ran = played("cues", "0 s: eyes on\n1 s: eyes off\n", Trigger("step", 0, 3_000), Trigger("step", 5_000, 5_500))
    assert [5_000 <= one < 5_100 for one in ran.ticks(Started, "window.example")] == [True]


@pytest.mark.parametrize(("first", "second", "level"), [(8, 8, 102), (9, 8, 26), (8, 9, 102)])
def test_a_higher_rank_wins_and_of_one_rank_the_later_in_the_text(first: int, second: int, level: int) -> None:
    ran = played("window", f"    scare example on step trips:\n        rank {first}\n        0 s: eyes to 10 %\n"
                 f"        1 s: candle on\n    scare other on step trips:\n        rank {second}\n"
                 "        0 s: eyes to 40 %\n        1 s: work on\n")
    assert ran.edges("window.eyes")[0] == (0, level)


def test_after_a_stop_nothing_starts_by_itself_and_outputs_are_safe() -> None:
    ran = played("cues", "0 s: eyes on, work off\n5 s: eyes off\n", Trigger("step", TRIP, TRIP + 200),
                 Trigger("mushroom", 2_000, 2_200), Trigger("step", 6_000, 6_200))
    assert ran.ticks(Started, "window.example") == [ran.start("window.example")]
    assert ran.edges("window.eyes")[-1][1] == 0
    assert ran.edges("work")[-1][1] == 255


def test_an_output_is_switched_off_after_its_longest_time_on() -> None:
    ran = played("cues", "0 s: drain.mist runs for 12 s\n")
    assert next(at for at, level in ran.edges("drain.mist") if not level) == 10_000
    assert any(isinstance(event, Fault) for event in ran.line.events)


def test_times_of_a_long_repeat_do_not_drift() -> None:
    ran = played("cues", "0 s: repeat 20 times every 462 ms:\n    0 s: eyes on\n    115.5 ms: eyes off\n")
    on = [at for at, level in ran.edges("window.eyes") if level]
    assert {later - sooner for sooner, later in pairwise(on)} == {462}
