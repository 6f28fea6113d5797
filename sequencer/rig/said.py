"""A phrase that was read -> the fields of the part that it fills.

A template fills the fields its slots name, and those that the part's `sets` adds for it; a template listed in
the part's `many` makes one item of a tuple instead. Reading text into values is left to `phrases`, looking up
names and wording what is said twice to `language/`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sequencer.frozen import frozen
from sequencer.rig.base import Part


@frozen
class Said:
    """One field and its value; `repeats` means: an item that joins the others of this field in a tuple."""

    field: str
    value: Any
    repeats: bool = False


def said_by(kind: type[Part], template: str, values: Mapping[str, Any]) -> tuple[Said, ...]:
    """What one phrase says of a part of this kind.

    `values` holds the slots of the template, by field: quantities and pins as read, names of parts whole.
    """
    many = kind.many.get(template)
    if many is not None:
        return (Said(many.field, many.make(**values), repeats=True),)
    filled = {**values, **kind.sets.get(template, {})}
    return tuple(Said(field, value) for field, value in filled.items())
