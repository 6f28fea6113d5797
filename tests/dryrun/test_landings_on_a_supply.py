"""What `lands` says of rods on a shared supply is what the dry run shows of them."""

from __future__ import annotations

from pathlib import Path

import pytest

from sequencer.checks import Checked, check_file
from sequencer.dryrun.run import Asked, run
from sequencer.dryrun.timeline import Timeline
from sequencer.dryrun.triggers import Trigger
from sequencer.dryrun.wiring import set_up
from sequencer.rig.drive import Motion

HEAD = """show "Signal box"
compressor shed: delivers 5.1 scfm at 90 psi, tank 20 gal, cuts in at 95 psi, cuts out at 125 psi
line yard from shed: tube LINE
manifold bench on yard: ports 8, regulator 90 psi
board box like avr328
sensor step like push_button: on box in0
"""
PROP = """
prop PROP:
    air from bench port PORT, tube 1/4 in, length 6 ft
    reach none
    valve shove: kind 5/2, without power retracts, on box outPORT
    cylinder ram like cylinder_round_2_in: on shove, stroke 12 in, moves 9 lb
"""
STARTS_MS = 1020
"""The button is pressed at 1 s and counts after 20 ms."""
SMALL = "1/4 in, length 100 ft"


def shown(tmp_path: Path, props: str, line: str, *cues: str, gesture: str = "") -> tuple[Checked, Timeline]:
    text = HEAD.replace("LINE", line)
    for port, name in enumerate(props, 1):
        text += PROP.replace("PROP", name).replace("PORT", str(port))
    path = tmp_path / "box.show"
    scare = "scare lunge on step trips:\n" + "".join(f"    {cue}\n" for cue in cues)
    path.write_text(text + gesture + scare, encoding="utf-8")
    checked = check_file(path)
    assert checked.compiled is not None, [finding.message for finding in checked.findings]
    return checked, run(set_up(checked.compiled, checked.show), Asked((Trigger("step", 1000, 1200),), 1, 9000))


def lands_in_time(checked: Checked, timeline: Timeline) -> int:
    """How many landings there are, each within its band, and within 1 % of the motion or 5 ms of its line."""
    count = 0
    assert checked.plan is not None
    for moment in checked.plan.routines[0].moments:
        for travel in moment.travels:
            if not isinstance(moment.drive, Motion) or not moment.drive.lands:
                continue
            track = next(one for one in timeline.tracks if one.cylinder == travel.cylinder)
            told = STARTS_MS + moment.earliest_us / 1000
            there = next(one.ends for one in track.movements if one.ends > told)
            low, high = (STARTS_MS + us / 1000 for us in travel.arrives_us)
            assert low - 1 <= there <= high + 1
            assert there - STARTS_MS - moment.written_us[0] / 1000 == pytest.approx(
                0, abs=max(5, 0.01 * (there - told))), (travel.cylinder, moment.written_us)
            count += 1
    return count


def test_two_opened_at_once_on_a_small_line_land_when_they_say(tmp_path: Path) -> None:
    checked, timeline = shown(tmp_path, "ab", SMALL, "2 s: a.ram lands out, b.ram lands out",
                              "5 s: a.ram retracts, b.ram retracts")
    assert lands_in_time(checked, timeline) == 2
    assert checked.plan is not None
    first = checked.plan.routines[0].moments[0].travels[0]
    assert first.later_us > 50_000, "on a line like this they come a good deal later than alone"


def test_a_landing_a_second_and_a_half_after_another_lands_when_it_says(tmp_path: Path) -> None:
    checked, timeline = shown(tmp_path, "a", "3/8 in, length 50 ft", "1.5 s: a.ram lands out", "3 s: a.ram lands home",
                              "4.5 s: a.ram lands out")
    assert lands_in_time(checked, timeline) == 3


def test_landings_into_what_others_draw_land_when_they_say(tmp_path: Path) -> None:
    checked, timeline = shown(tmp_path, "ab", SMALL, "1.5 s: a.ram lands out", "3 s: a.ram lands home, b.ram lands out",
                              "4.5 s: a.ram lands out")
    assert lands_in_time(checked, timeline) == 4


STRIKE = """gesture strike of who:
    1.5 s: who lands out
    3 s: who lands home
gesture twice of who and other:
    0 s: strike of who
    4 s: other extends
    4 s: strike of who
"""


@pytest.mark.parametrize("cues", [
    ["0 s: strike of a.ram", "4 s: b.ram extends", "4 s: strike of a.ram", "10 s: b.ram retracts"],
    ["0 s: twice of a.ram and b.ram", "10 s: b.ram retracts"],
])
def test_each_use_of_a_gesture_lands_when_it_says(tmp_path: Path, cues: list[str]) -> None:
    """One strike goes out by itself, the other while another rod draws from the same small line."""
    checked, timeline = shown(tmp_path, "ab", SMALL, *cues, gesture=STRIKE)
    assert lands_in_time(checked, timeline) == 4
    assert checked.plan is not None
    later = [travel.later_us for moment in checked.plan.routines[0].moments for travel in moment.travels
             if travel.cylinder == "a.ram" and travel.toward == "out"]
    assert later[1] > later[0] + 20_000, "beside another rod it needs longer than alone"


def test_a_wide_supply_changes_nothing_of_the_plan(tmp_path: Path) -> None:
    text = HEAD.replace("LINE", "1/2 in, length 10 ft").replace("regulator 90 psi", "regulator 110 psi")
    own = PROP.replace("PROP", "a").replace("PORT", "1").replace("length 6 ft", "length 6 ft, regulator 60 psi")
    path = tmp_path / "box.show"
    path.write_text(text + own + "scare lunge on step trips:\n    1.5 s: a.ram lands out\n", encoding="utf-8")
    checked = check_file(path)
    assert checked.plan is not None
    assert [one.later_us for moment in checked.plan.routines[0].moments for one in moment.travels] == [0]
