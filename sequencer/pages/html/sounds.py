"""The clips of a show -> sounds that can be written into a page, each file once, or why one is silent."""

from __future__ import annotations

import base64
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from sequencer.rig.speaker import Speaker
from sequencer.show import Show

MOST_BYTES = 24_000_000
"""Of all sounds in one page: 2 minutes of studio WAV, 25 minutes of MP3. A bound of this tool, so that phones open it.
"""


@dataclass(frozen=True, slots=True)
class Sound:
    """The bytes of one file, or why there are none; `trouble` goes on from the name: "is missing"."""

    data: bytes = b""
    trouble: str | None = None


ReadSound = Callable[[str], Sound]


def sounds_of(show: Show, read: ReadSound | None) -> tuple[list[dict[str, Any]], dict[str, dict[str, int]]]:
    """(sounds, index of the sound by clip, by speaker). Without `read` no sound is taken in, and each says so."""
    sounds: list[dict[str, Any]] = []
    number: dict[str, int] = {}
    clips: dict[str, dict[str, int]] = {}
    room = MOST_BYTES
    for placed in show.of_kind("speaker"):
        speaker = placed.part
        assert isinstance(speaker, Speaker)
        for clip in speaker.clips:
            if clip.file not in number:
                sound = read(clip.file) if read else Sound(trouble="was left out (--no-sound)")
                if sound.trouble is None and len(sound.data) > room:
                    sound = Sound(trouble=f"does not fit into the {MOST_BYTES // 10**6} MB of sound of one page")
                number[clip.file] = len(sounds)
                sounds.append(_value(clip.file, sound))
                room -= len(sound.data)
            clips.setdefault(speaker.name, {})[clip.name] = number[clip.file]
    return sounds, clips


def _value(file: str, sound: Sound) -> dict[str, Any]:
    if sound.trouble is not None:
        return {"file": file, "trouble": sound.trouble}
    return {"file": file, "data": base64.b64encode(sound.data).decode("ascii")}
