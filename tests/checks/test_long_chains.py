"""Names that lean on one another for as long as a file has room: found out in bounded time, and never a crash."""

from __future__ import annotations

import pytest

from sequencer.checks import check_bytes
from sequencer.checks.clips import ClipFile
from sequencer.checks.pipeline import Checked

LONG = 2_000
RIG = """show "Marrow Lane"
board box: is host
sensor step like mat: on box in1
lamp eyes: on box pwm0, draws 3 W
"""


def checked(text: str) -> Checked:
    def no_file(name: str) -> bytes:
        raise FileNotFoundError(name)

    return check_bytes(text.encode(), "it.show", no_file, lambda name: ClipFile(name, 1_000_000, 1_000_000))


def lamps(like: str) -> str:
    return RIG + "".join(
        f"lamp l{n} like {like.format(before=f'l{n - 1}' if n else 'eyes', after=f'l{(n + 1) % LONG}')}: on box pwm1\n"
        for n in range(LONG))


def test_a_part_is_like_one_that_is_like_one_and_so_on() -> None:
    show = checked(lamps("{before}")).show
    assert show.parts[f"l{LONG - 1}"].part.draws == show.parts["eyes"].part.draws  # type: ignore[attr-defined]


def test_a_long_ring_of_likes_is_one_short_finding() -> None:
    rings = [found for found in checked(lamps("{after}")).findings if found.code == "N016"]
    assert len(rings) == 1
    assert rings[0].message.startswith("A ring: l0 is like l1 ") and "(1,993 more)" in rings[0].message
    assert len(rings[0].message) < 200


@pytest.mark.parametrize("deep", [6, 7, LONG])
def test_gestures_in_gestures_are_told_as_too_deep_not_as_a_ring(deep: int) -> None:
    gestures = "gesture g0 of who:\n    0 s: who on\n    1 s: who off\n" + "".join(
        f"gesture g{n} of who:\n    0 s: g{n - 1} of who\n" for n in range(1, deep))
    found = checked(f"{RIG}{gestures}scare glow on step trips:\n    0 s: g{deep - 1} of eyes\n").findings
    messages = [one.message for one in found if one.code == "N017"]
    assert messages == ([] if deep == 6 else [
        f"With `g{deep - 7}` gestures stand 7 deep in one another; 6 is the most."])


@pytest.mark.parametrize("count", [253, 254, 400])
def test_more_scares_than_a_step_can_name_are_a_finding(count: int) -> None:
    scares = "".join(f"scare s{n} on step trips:\n    0 s: s{n + 1} starts\n" for n in range(count))
    got = checked(f"{RIG}{scares}scare s{count} on step trips:\n    0 s: eyes on\n    1 s: eyes off\n")
    assert got.compiled is None and not got.fine
    assert ("C015" in [one.code for one in got.findings]) == (count + 1 > 254)


@pytest.mark.parametrize("count", [255, 256, 400])
def test_more_clips_than_a_step_can_name_are_a_finding(count: int) -> None:
    clips = "".join(f'    clip c{n} "c{n}.wav"\n' for n in range(count))
    cues = "".join(f"    {3 * n} s: horn plays c{n}\n" for n in range(count))
    got = checked(f"{RIG}speaker horn: on box out5\n{clips}scare cry on step trips:\n{cues}")
    found = [one.message for one in got.findings if one.code == "C015"]
    assert found == ([] if count == 255 else [
        f"Cues play {count} different clips, and step tables can name 255."])


def test_a_file_of_commas_ends_soon() -> None:
    """Each row goes on: nothing may be read again for each row that comes after it."""
    found = checked("a,\n" * 5_000).findings
    assert found and {one.code for one in found} == {"L008"}


@pytest.mark.parametrize("digit", ["\u0967", "\u0664", "\uff11"])
def test_digits_of_other_scripts_are_no_numbers(digit: str) -> None:
    found = checked(f"{RIG}scare glow on step trips:\n    {digit} s: eyes on\n    2 s: eyes off\n").findings
    assert any(one.code.startswith("L") and one.span.line == 6 for one in found)
