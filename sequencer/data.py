"""Where the files that travel with the package are: the grammar and the shows, in a wheel or in a checkout."""

from __future__ import annotations

from pathlib import Path


def folder(name: str) -> Path:
    """`grammar` or `shows`. In a wheel they lie inside the package, in a checkout beside it."""
    package = Path(__file__).parent
    packed = package / "_data" / name
    return packed if packed.is_dir() else package.parent / name
