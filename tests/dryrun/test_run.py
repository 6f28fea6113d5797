"""How long a dry run goes on, what it says of that, and what it keeps."""

from __future__ import annotations

from sequencer.dryrun.run import CAP, UNASKED, Asked, run
from sequencer.dryrun.triggers import Trigger
from sequencer.steps import step
from sequencer.steps.events import Ended
from tests.dryrun.yards import LUNGE, lunge, setup_of

STEP = Trigger("step", 2000, 2200)


def test_without_a_length_it_runs_until_all_that_was_started_has_ended() -> None:
    timeline = run(setup_of(LUNGE), Asked([STEP], 7))
    ended = [event.tick for event in timeline.events if isinstance(event, Ended)]
    assert len(ended) == 1
    assert ended[0] + 1000 <= timeline.ticks < ended[0] + 3000
    assert timeline.ticks % 1000 == 0
    assert f"ends at {timeline.ticks // 1000} s" in timeline.notes[-1]


def test_a_motion_a_fade_and_a_clip_that_outlast_the_scare_are_waited_for() -> None:
    starter = lunge(step("set", 1, 1), step("wait", 600), step("set", 1, 0), step("fade", 0, 255, 4000))
    timeline = run(setup_of(starter), Asked([STEP], 7))
    assert timeline.ticks >= 2020 + 600 + 4000
    assert timeline.tracks[0].movements[-1].ends < timeline.ticks


def test_a_scare_that_never_ends_is_left_at_the_cap_and_said() -> None:
    endless = lunge(step("repeat", 100_000), step("wait", 1000), step("again"))
    timeline = run(setup_of(endless), Asked([STEP], 7))
    assert timeline.ticks == CAP
    assert "not all that was started has ended" in timeline.notes[-1]


def test_without_trips_a_show_that_starts_by_itself_runs_a_minute() -> None:
    idle = lunge(step("wait", 500))
    idle = type(idle)(idle.steps, idle=True, group=0)
    timeline = run(setup_of(idle), Asked(seed=7))
    assert timeline.ticks == UNASKED
    assert "Nothing was tripped" in timeline.notes[-1]


def test_the_length_asked_for_is_kept_to_the_tick() -> None:
    assert run(setup_of(LUNGE), Asked([STEP], 7, 2345)).ticks == 2345


def test_warm_sensors_are_said_and_cold_ones_are_not_called_warm() -> None:
    assert any("45 s" in note for note in run(setup_of(LUNGE), Asked([STEP], 7)).notes)
    assert not any("warm" in note for note in run(setup_of(LUNGE), Asked([STEP], 7, 9000, cold=True)).notes)


def test_a_stop_that_is_tripped_at_power_up_keeps_the_board_from_being_armed_and_is_said() -> None:
    timeline = run(setup_of(LUNGE), Asked([Trigger("mushroom", 0, 1000)], 7, 2000))
    assert timeline.edges == ()
    assert any("armed" in note or "stop" in note for note in timeline.notes) or any(
        "armed" in met.sentence for met in timeline.met
    )


def test_the_same_seed_gives_the_same_run_and_another_one_other_draws() -> None:
    chancy = lunge(
        *(step(*words) for words in (("wait_random", 0, 5000), ("set", 1, 1), ("wait", 300), ("set", 1, 0)))
    )
    runs = [run(setup_of(chancy), Asked([STEP], seed)) for seed in (7, 7, 2_718_281_828)]
    assert runs[0] == runs[1]
    assert runs[0].edges != runs[2].edges
    assert runs[0].random_state == runs[1].random_state


def test_the_trail_holds_every_step_taken_only_where_it_is_asked_for() -> None:
    setup = setup_of(LUNGE)
    triggers = [Trigger("step", 2000, 2200)]
    told = run(setup, Asked(triggers, 7, trail=True))
    started = next(event.tick for event in told.events if type(event).__name__ == "Started")
    steps = setup.program.routines[0].steps
    done = [(tick, steps[at].op) for tick, _, at in told.trail if steps[at].op in ("fade", "play", "set")]
    assert done[:3] == [(started, "fade"), (started, "play"), (started + 740, "set")]
    assert next(edge.tick for edge in told.edges if edge.output == 1) == started + 740
    assert run(setup, Asked(triggers, 7)).trail == ()


def test_where_a_valve_is_sent_is_told_from_the_start_on() -> None:
    told = run(setup_of(LUNGE), Asked([Trigger("step", 2000, 2200)], 7))
    moved = [movement for track in told.tracks for movement in track.movements]
    assert [(one.tick, one.way) for one in told.sent] == [
        (0, "home"), *((one.commanded, one.toward) for one in moved)
    ]  # fmt: skip
