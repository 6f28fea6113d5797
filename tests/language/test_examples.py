"""What a message offers as an example of a missing property can be written as it stands."""

from __future__ import annotations

import pytest

from sequencer.checks import check_bytes
from sequencer.checks.clips import ClipFile
from sequencer.findings import Finding
from sequencer.rig import KINDS

AROUND = '''show "Marrow Lane"
board box like avr2560
compressor shed like compressor_20_gal
manifold bench on shed: ports 4
valve shove like valve_5_2_quarter: on box out9
cylinder ram like cylinder_round_2_in: on shove, stroke 12 in
'''
MISSING = "N011"


def found(text: str) -> tuple[Finding, ...]:
    def no_file(name: str) -> bytes:
        raise FileNotFoundError(name)

    return check_bytes(text.encode(), "it.show", no_file, lambda name: ClipFile(name, 1_000_000, 1_000_000)).findings


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind not in ("prop", "speaker")])
def test_a_part_made_of_the_examples_lacks_nothing(kind: str) -> None:
    around = AROUND.replace("board box like avr2560\n", "") if kind == "board" else AROUND
    said: list[str] = []
    for _ in range(12):
        text = f"{around}{kind} it:\n    {', '.join(said)}\n"
        findings = [one for one in found(text) if one.span.line >= text.count("\n") - 1]
        missing = [one for one in findings if one.code == MISSING]
        if not missing:
            break
        said.append(missing[0].message.split("`")[1])
    # What a valve does without power has no example: a wrong one would send a prop the wrong way.
    wrong = [one for one in findings if one.code[0] == "N" and (one.code, kind) != ("N012", "valve")]
    assert not wrong, said
