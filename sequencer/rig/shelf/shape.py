"""What a part on the shelf is: properties as an author would write them, each with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass

PRACTICE = "common practice, no source"
MEMORY = "from memory"
MEANING = "what the name says"
"""The source of a property that makes the part what its name says, such as `kind 5/2` of a 5/2 valve."""


@dataclass(frozen=True, slots=True)
class ShelfPart:
    """A generic part. `says`: phrases of its kind in the cue language, each with its source."""

    name: str
    kind: str
    about: str
    says: tuple[tuple[str, str], ...]
