"""The kinds of board there are, one file each; found here by name or by the number they carry.

Imports neither pyserial nor anything that opens a port, so that the checks may use it freely.
"""

from __future__ import annotations

from sequencer.board.profiles.avr328 import AVR328
from sequencer.board.profiles.avr2560 import AVR2560
from sequencer.board.profiles.host import HOST
from sequencer.board.profiles.shape import SETTINGS_BYTES, SLOT_HEADER_BYTES, Pin, Profile

PROFILES: tuple[Profile, ...] = (AVR328, AVR2560, HOST)


def profile_by_name(name: str) -> Profile | None:
    """The profile of that exact name, or None."""
    return next((profile for profile in PROFILES if profile.name == name), None)


def profile_by_kind(kind: int) -> Profile | None:
    """The profile whose boards and programs carry this kind number, or None."""
    return next((profile for profile in PROFILES if profile.kind == kind), None)


def find_pin(profile: Profile, name: str) -> Pin | None:
    """The pin of that exact name on this board, or None; the same as `profile.find_pin(name)`."""
    return profile.find_pin(name)


__all__ = [
    "AVR328",
    "AVR2560",
    "HOST",
    "PROFILES",
    "SETTINGS_BYTES",
    "SLOT_HEADER_BYTES",
    "Pin",
    "Profile",
    "find_pin",
    "profile_by_kind",
    "profile_by_name",
]
