"""Generic parts that `like` takes values from, one file a kind; a file is loaded when a part of it is asked
for.

No part here is any maker's: each value says whether it stands in a standard or is what is commonly met.
What the author writes goes before what the shelf says.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib import import_module
from types import MappingProxyType

from sequencer.rig.shelf.shape import ShelfPart

STOCKED = (
    "board", "compressor", "cylinder", "fogger", "lamp", "line", "motor", "pump", "sensor", "supply", "valve",
)
"""The kinds that have a file on the shelf; the file has the name of the kind."""


@cache
def stock() -> Mapping[str, ShelfPart]:
    """The whole shelf by name."""
    return MappingProxyType({part.name: part for kind in STOCKED for part in _of(kind)})


def find(name: str) -> ShelfPart | None:
    """The part of that exact name, or None."""
    return stock().get(name)


def names(kind: str | None = None) -> tuple[str, ...]:
    """The names on the shelf, of one kind or of all, in the order of the files."""
    if kind is None:
        return tuple(stock())
    return tuple(part.name for part in _of(kind)) if kind in STOCKED else ()


def _of(kind: str) -> tuple[ShelfPart, ...]:
    return import_module(f"{__name__}.{kind}").PARTS


def __getattr__(name: str) -> Mapping[str, ShelfPart]:
    """`SHELF` is the whole shelf, loaded at its first use."""
    if name == "SHELF":
        return stock()
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


__all__ = ["SHELF", "STOCKED", "ShelfPart", "find", "names", "stock"]
