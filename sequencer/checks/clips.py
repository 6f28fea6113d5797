"""Sound files -> their lengths. Reads each file once; what is wrong with it is worded by a check.

The length is read by tinytag (WAV, MP3, OGG). A header may claim more than the file holds (a recording that was
cut off, or streamed), so a length is held against the bytes that are really there.
"""

from __future__ import annotations

import os
import struct
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, BinaryIO

from sequencer.findings import closest
from sequencer.frozen import frozen
from sequencer.language.load import path_below
from sequencer.rig.speaker import Speaker
from sequencer.show import Show

KINDS = (".wav", ".mp3", ".ogg")
LONGEST_S = 4 * 3600.0
LARGEST_BYTES = 200_000_000
"""About 19 minutes of studio WAV; a bound of this tool, so that a wrong file is refused at once."""
MOST_READS = 400_000
"""Reads of a few bytes before a file that gives no length is given up: about a second."""
LARGEST_READ = 1_048_576
"""Bytes at a time; no header is longer, and a header that says so would fill the memory."""

SoundLength = Callable[[str], "ClipFile"]


@frozen
class ClipFile:
    """One clip's file. `length_us` is 0 where `trouble` says why there is none; `claimed_us` is the header's word.

    `trouble` goes on from the name of the file: "is missing". `near` are sound files of nearly that name.
    """

    file: str
    length_us: int = 0
    claimed_us: int = 0
    trouble: str | None = None
    near: tuple[str, ...] = ()


def measure_clips(show: Show, sound_length: SoundLength) -> dict[tuple[str, str], ClipFile]:
    """The length of every clip of the show, by (speaker, clip)."""
    found: dict[tuple[str, str], ClipFile] = {}
    for placed in show.of_kind("speaker"):
        assert isinstance(placed.part, Speaker)
        for clip in placed.part.clips:
            found[placed.part.name, clip.name] = sound_length(clip.file)
    return found


def sounds_in(folder: Path) -> SoundLength:
    """Measures sounds below a folder, and only there; each file once, however many clips it has."""
    root = os.path.realpath(folder)
    known: dict[str, ClipFile] = {}

    def length(name: str) -> ClipFile:
        if name not in known:
            known[name] = _measured(root, name)
        return known[name]

    return length


def _measured(root: str, name: str) -> ClipFile:
    try:
        path = path_below(root, name.replace("\\", "/"))
        if not path.casefold().endswith(KINDS):
            return ClipFile(name, trouble="is no WAV, MP3 or OGG file by its name")
        size = os.path.getsize(path)
        if size > LARGEST_BYTES:
            most = LARGEST_BYTES // 10**6
            return ClipFile(name, trouble=f"has {size // 10**6} MB, more than the {most} MB of a clip")
        with open(path, "rb") as file:
            return _length_of(name, file, size)
    except PermissionError as why:
        outside = why.errno is None
        trouble = "lies outside the folder of the show" if outside else "may not be read by you"
        return ClipFile(name, trouble=trouble)
    except FileNotFoundError:
        return ClipFile(name, trouble="is missing", near=_near(root, name))
    except OSError as why:
        return ClipFile(name, trouble=f"cannot be read: {why.strerror or why}")


def _near(root: str, name: str) -> tuple[str, ...]:
    """Sound files in the folder where the missing one was looked for whose names are near to it."""
    folder, base = os.path.split(name.replace("\\", "/"))
    try:
        beside = [entry for entry in os.listdir(os.path.join(root, folder)) if entry.casefold().endswith(KINDS)]
    except (OSError, ValueError):
        return ()
    stem, _ = os.path.splitext(base)
    same_stem = [entry for entry in beside if os.path.splitext(entry)[0].casefold() == stem.casefold()]
    return tuple(f"{folder}/{entry}" if folder else entry for entry in (same_stem or closest(base, beside, 2))[:2])


def _length_of(name: str, file: BinaryIO, size: int) -> ClipFile:
    # Imported here, since a show without clips has no need of it.
    from tinytag import TinyTag, TinyTagException

    try:
        tag = TinyTag.get(name, file_obj=_Bounded(file), tags=False)  # type: ignore[arg-type]
    except TinyTagException:
        return ClipFile(name, trouble="is no WAV, MP3 or OGG sound")
    if (tag.mime_type or "").partition(";")[0] not in ("audio/wav", "audio/mpeg", "audio/ogg"):
        return ClipFile(name, trouble="is no WAV, MP3 or OGG sound")
    claimed_s = tag.duration or 0.0
    real_s = claimed_s * _share_present(tag, file, size)
    if real_s <= 0.0:
        return ClipFile(name, trouble="has no sound in it")
    if real_s > LONGEST_S:
        return ClipFile(name, trouble=f"would play for more than {LONGEST_S / 3600:.0f} h")
    return ClipFile(name, round(real_s * 1e6), round(min(claimed_s, 1e9) * 1e6))


def _share_present(tag: Any, file: BinaryIO, size: int) -> float:
    """How much of the sound that the header claims is really in the file, 0 to 1."""
    mime = tag.mime_type or ""
    if mime.startswith("audio/wav"):
        for kind, begin, claimed in _chunks(file):
            if kind == b"data" and claimed:
                return max(min(claimed, size - begin), 0) / claimed
    if mime.startswith("audio/ogg") and tag.samplerate and tag.duration:
        return min(_whole_granule(file, size) / tag.samplerate / tag.duration, 1.0)
    if mime.startswith("audio/mpeg"):
        claimed = (tag.bitrate or 0.0) * 125 * (tag.duration or 0.0)
        # Tags beside the sound can only make a file larger; a hundredth is rounding of the frames.
        if size < 0.99 * claimed:
            return size / claimed
    return 1.0


def _chunks(file: BinaryIO) -> Iterator[tuple[bytes, int, int]]:
    """Kind, first byte and claimed size of the chunks of a WAV file.

    Layout: RIFF (Multimedia Programming Interface and Data Specifications 1.0, 1991), from memory.
    """
    place = 12
    for _ in range(1000):
        file.seek(place)
        header = file.read(8)
        if len(header) < 8:
            return
        kind, claimed = struct.unpack("<4sI", header)
        yield kind, place + 8, claimed
        place += 8 + claimed + claimed % 2


def _whole_granule(file: BinaryIO, size: int) -> int:
    """The sample at which the last page ends that is whole in an OGG file.

    Layout: RFC 3533 section 6 (position at byte 6, count of segments at 26, their sizes behind), from memory.
    """
    place, last = 0, 0
    for _ in range(MOST_READS):
        file.seek(place)
        header = file.read(27)
        if len(header) < 27 or not header.startswith(b"OggS"):
            break
        (granule,) = struct.unpack_from("<q", header, 6)
        place += 27 + header[26] + sum(file.read(header[26]))
        if place > size:
            break
        last = max(last, granule)
    return last


class _Bounded:
    """A file that gives up after many reads, and reads no more than a bound at once."""

    def __init__(self, file: BinaryIO) -> None:
        self.file = file
        self.left = MOST_READS

    def read(self, count: int = -1) -> bytes:
        self.left -= 1
        if self.left < 0:
            raise ValueError("no length after many reads")
        return self.file.read(LARGEST_READ if count < 0 else min(count, LARGEST_READ))

    def seek(self, place: int, whence: int = 0) -> int:
        return self.file.seek(place, whence)

    def tell(self) -> int:
        return self.file.tell()
