"""Where files are: the grammar and the shows that travel with the package, and a place of the user's for what is
worked out anew if it is lost."""

from __future__ import annotations

import os
import sys
from pathlib import Path


def folder(name: str) -> Path:
    """`grammar` or `shows`. In a wheel they lie inside the package, in a checkout beside it."""
    package = Path(__file__).parent
    packed = package / "_data" / name
    return packed if packed.is_dir() else package.parent / name


def cache_file(name: str) -> str | None:
    """A file in the user's own cache folder, made private to the user; None where there can be none."""
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA")
    elif sys.platform == "darwin":
        base = os.path.expanduser("~/Library/Caches")
    else:
        base = os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")
    if not base or base.startswith("~"):
        return None
    place = os.path.join(base, "prop-sequencer")
    try:
        os.makedirs(place, mode=0o700, exist_ok=True)
        if not os.access(place, os.W_OK) or (hasattr(os, "getuid") and os.stat(place).st_uid != os.getuid()):
            return None
    except OSError:
        return None
    return os.path.join(place, name)
