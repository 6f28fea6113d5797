"""Lengths of sounds, from files that are whole, cut off, lying, or no sounds at all.

`bell.ogg` and `bell.mp3` are 1.5 s of a 220 Hz tone at 22,050 Hz, written by libsndfile 1.2 (Vorbis) and by LAME;
libsndfile reads the second as 1.5746 s, as LAME fills up the last frame and leads in with one.
"""

from __future__ import annotations

import os
import shutil
import struct
import wave
from pathlib import Path

import pytest

from sequencer.checks.clips import LARGEST_BYTES, ClipFile, sounds_in

SOUNDS = Path(__file__).parent / "sounds"
RATE = 8000


def write_wav(path: Path, seconds: float) -> Path:
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(b"\0\0" * round(seconds * RATE))
    return path


def measured(path: Path) -> ClipFile:
    return sounds_in(path.parent)(path.name)


def claim_bytes(path: Path, size: int) -> None:
    """Writes another size of the sound into the header of a WAV file of the standard library (44 bytes)."""
    data = path.read_bytes()
    assert data[36:40] == b"data"
    path.write_bytes(data[:40] + struct.pack("<I", size) + data[44:])


def test_a_wav_is_as_long_as_the_standard_library_says(tmp_path: Path) -> None:
    path = write_wav(tmp_path / "bell.wav", 2.5)
    with wave.open(str(path)) as file:
        length_s = file.getnframes() / file.getframerate()
    found = measured(path)
    assert (found.length_us, found.claimed_us, found.trouble) == (round(length_s * 1e6), round(length_s * 1e6), None)


def test_a_wav_that_was_cut_off_is_as_long_as_what_is_left(tmp_path: Path) -> None:
    path = write_wav(tmp_path / "bell.wav", 4.0)
    path.write_bytes(path.read_bytes()[: 44 + RATE * 2])
    found = measured(path)
    assert (found.length_us, found.claimed_us) == (1_000_000, 4_000_000)


@pytest.mark.parametrize("claimed", [0xFFFFFFFF, 0x7FFFFFFF, 100_000_000])
def test_a_streamed_wav_is_as_long_as_the_file(tmp_path: Path, claimed: int) -> None:
    path = write_wav(tmp_path / "bell.wav", 3.0)
    claim_bytes(path, claimed)
    found = measured(path)
    assert found.length_us == pytest.approx(3_000_000, abs=1)
    assert found.claimed_us > 1_000_000_000


def test_chunks_behind_the_sound_are_no_sound(tmp_path: Path) -> None:
    path = write_wav(tmp_path / "bell.wav", 1.0)
    path.write_bytes(path.read_bytes() + b"LIST" + struct.pack("<I", 4000) + b"INFO" + bytes(3996))
    assert measured(path).length_us == 1_000_000


def test_an_ogg_is_as_long_as_its_encoder_was_given() -> None:
    found = measured(SOUNDS / "bell.ogg")
    assert found.length_us == pytest.approx(1_500_000, abs=1000)
    assert found.claimed_us == found.length_us


def test_an_ogg_whose_only_page_of_sound_was_cut_off_has_none(tmp_path: Path) -> None:
    data = (SOUNDS / "bell.ogg").read_bytes()
    path = tmp_path / "bell.ogg"
    path.write_bytes(data[: len(data) * 2 // 3])
    assert measured(path).trouble == "has no sound in it"


def test_an_mp3_is_as_long_as_another_decoder_says() -> None:
    # A frame is 576 samples at this rate (ISO/IEC 13818-3, from memory): 26 ms either way.
    assert measured(SOUNDS / "bell.mp3").length_us == pytest.approx(1_574_603, abs=27_000)


def test_an_mp3_that_was_cut_off_is_about_as_long_as_what_is_left(tmp_path: Path) -> None:
    data = (SOUNDS / "bell.mp3").read_bytes()
    path = tmp_path / "bell.mp3"
    path.write_bytes(data[: len(data) // 2])
    found = measured(path)
    assert found.length_us == pytest.approx(790_000, rel=0.1)


@pytest.mark.parametrize(("name", "data"), [
    ("words.wav", b"Dear signalman,\n" * 400),
    ("empty.wav", b""),
    ("empty.mp3", b""),
    ("zeros.mp3", bytes(100_000)),
    ("noise.mp3", b"\xff\xe0" * 50_000),
    ("half.ogg", b"OggS\0"),
    ("riff.wav", b"RIFF\xff\xff\xff\xffWAVEfmt \xff\xff\xff\xff"),
    ("junk.ogg", b"OggS" + bytes(range(256)) * 40),
])
def test_what_is_no_sound_has_no_length(tmp_path: Path, name: str, data: bytes) -> None:
    path = tmp_path / name
    path.write_bytes(data)
    found = measured(path)
    assert found.length_us == 0
    assert found.trouble


def test_a_silent_header_is_no_sound(tmp_path: Path) -> None:
    assert measured(write_wav(tmp_path / "bell.wav", 0.0)).trouble == "has no sound in it"


def test_another_kind_of_file_is_refused_by_its_name(tmp_path: Path) -> None:
    shutil.copy(SOUNDS / "bell.ogg", tmp_path / "bell.txt")
    assert "by its name" in (measured(tmp_path / "bell.txt").trouble or "")


def test_a_missing_file_names_its_neighbours(tmp_path: Path) -> None:
    write_wav(tmp_path / "growl.wav", 0.1)
    assert sounds_in(tmp_path)("grwol.wav") == ClipFile("grwol.wav", trouble="is missing", near=("growl.wav",))
    assert sounds_in(tmp_path)("growl.mp3").near == ("growl.wav",)
    assert sounds_in(tmp_path)("whistle.wav").near == ()


@pytest.mark.parametrize("name", ["../bell.wav", "/etc/hostname", "a/../../bell.wav", "bell\0.wav"])
def test_nothing_is_read_outside_the_folder(tmp_path: Path, name: str) -> None:
    write_wav(tmp_path / "bell.wav", 1.0)
    inside = tmp_path / "show"
    inside.mkdir()
    assert sounds_in(inside)(name).trouble == "lies outside the folder of the show"


def test_a_link_that_leads_outside_is_not_followed(tmp_path: Path) -> None:
    write_wav(tmp_path / "bell.wav", 1.0)
    inside = tmp_path / "show"
    inside.mkdir()
    os.symlink(tmp_path / "bell.wav", inside / "bell.wav")
    assert sounds_in(inside)("bell.wav").trouble == "lies outside the folder of the show"


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "bell.wav")
    assert sounds_in(tmp_path)("bell.wav").trouble == "is missing"


def test_a_folder_is_no_sound(tmp_path: Path) -> None:
    (tmp_path / "bell.wav").mkdir()
    assert sounds_in(tmp_path)("bell.wav").trouble == "is missing"


def test_a_file_beyond_the_bound_is_not_opened(tmp_path: Path) -> None:
    path = write_wav(tmp_path / "bell.wav", 0.1)
    os.truncate(path, LARGEST_BYTES + 1)  # a hole: it takes no room on the disk
    assert "MB" in (measured(path).trouble or "")


def test_a_sound_of_many_hours_has_no_length(tmp_path: Path) -> None:
    path = write_wav(tmp_path / "bell.wav", 0.1)
    data = bytearray(path.read_bytes())
    data[24:28] = struct.pack("<I", 1)  # one sample a second
    path.write_bytes(bytes(data))
    os.truncate(path, 200_000)
    claim_bytes(path, 199_956)
    assert measured(path).trouble == "would play for more than 4 h"


def test_each_file_is_read_once(tmp_path: Path) -> None:
    path = write_wav(tmp_path / "bell.wav", 1.0)
    length = sounds_in(tmp_path)
    first = length("bell.wav")
    path.unlink()
    assert length("bell.wav") is first
