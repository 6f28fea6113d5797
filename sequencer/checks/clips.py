"""Sound files -> their lengths. Reads each file once; what is wrong with it is worded by a check.

The length is read by tinytag (WAV, MP3, OGG). A WAV header may claim more than the file holds (a recording that
was cut off, or streamed), so its length is clamped to the bytes that are really there.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass

from sequencer.rig.speaker import Speaker
from sequencer.show import Show

KINDS = (".wav", ".mp3", ".ogg")
LONGEST_S = 4 * 3600.0

SoundLength = Callable[[str], "ClipFile"]


@dataclass(frozen=True, slots=True)
class ClipFile:
    """One clip's file. `length_us` is 0 where `trouble` says why there is none; `claimed_us` is the header's word."""

    file: str
    length_us: int = 0
    claimed_us: int = 0
    trouble: str | None = None


def measure_clips(show: Show, sound_length: SoundLength) -> dict[tuple[str, str], ClipFile]:
    """The length of every clip of the show, by (speaker, clip)."""
    found: dict[tuple[str, str], ClipFile] = {}
    for placed in show.of_kind("speaker"):
        assert isinstance(placed.part, Speaker)
        for clip in placed.part.clips:
            found[placed.part.name, clip.name] = sound_length(clip.file)
    return found
