"""A sound file that is shorter than its header says."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import TUNE, changed
from sequencer.checks.facts import Facts
from sequencer.checks.wires import clips_said
from sequencer.findings import Finding, Rule
from sequencer.rig.speaker import Speaker
from sequencer.units import say_time

LEAST_LIE_US = 50_000
"""Less is the rounding of a last frame (an MP3 frame is 26 ms)."""

RULE = Rule(
    "R009", "a sound file shorter than it claims",
    "A recording that was cut off, or streamed to disk, keeps a header that says how long it was to be. Players differ "
    "in what they believe, so nobody knows when it has played out, and nothing is guessed: open it in any sound editor "
    "and save it anew.",
    failing=TUNE, mended=changed(TUNE, ("growl.wav", "whole.wav")),
    source="the size of the file against its own header",
    companions={"growl.wav": "a sound of 1 s, whose header says 4 s", "whole.wav": "a sound of 4 s"},
)


def find(facts: Facts) -> Iterator[Finding]:
    for placed in facts.show.of_kind("speaker"):
        speaker = placed.part
        assert isinstance(speaker, Speaker)
        for clip, span in clips_said(placed):
            file = facts.clips.get((speaker.name, clip.name))
            if file is None or file.trouble is not None or file.claimed_us - file.length_us < LEAST_LIE_US:
                continue
            message = (f"The header of {file.file} says {say_time(file.claimed_us)}, and the file holds "
                       f"{say_time(file.length_us)}; save the sound anew.")
            yield RULE.at(span, message)
