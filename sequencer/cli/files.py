"""Bytes and text <-> files, so that a file is written whole or not at all.

Knows nothing of shows. Faults of the disk go up as they are (OSError) and are worded in `trouble`.
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

from sequencer.frozen import frozen

_BOM = b"\xef\xbb\xbf"


class NoFolder(FileNotFoundError):
    """The folder that a file was to be written into is not there; `filename` is the folder."""


@frozen
class TextFile:
    """A text as it stands in a file: without its byte order mark, its line ends as they are."""

    path: Path
    text: str
    bom: bool


def read_text_file(path: Path) -> TextFile:
    """Reads UTF-8 text. Raises OSError, and UnicodeDecodeError where it is none."""
    data = path.read_bytes()
    bom = data.startswith(_BOM)
    return TextFile(path, data.removeprefix(_BOM).decode("utf-8"), bom)


def write_text_file(file: TextFile) -> None:
    """Writes it back with its byte order mark, where it has one, and the mode it had. Raises OSError."""
    write_whole(file.path, (_BOM if file.bom else b"") + file.text.encode("utf-8"))


def write_whole(path: Path, data: bytes) -> None:
    """Puts `data` in the place of the file at `path`, at once: a reader sees the old file or the new one.

    A link is followed, and the mode of a file that is there stays. Raises OSError, the old file then intact.
    """
    target = Path(os.path.realpath(path))
    if not target.parent.exists():
        raise NoFolder(errno.ENOENT, os.strerror(errno.ENOENT), str(path.parent))
    _refuse_what_is_no_file(target)
    mode = stat.S_IMODE(target.stat().st_mode) if target.exists() else None
    if mode is not None and not os.access(target, os.W_OK):
        raise PermissionError(13, os.strerror(13), str(path))
    temporary = target.with_name(f".{target.name[:100]}.{os.getpid()}.part")
    try:
        with open(temporary, "xb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        if mode is not None:
            os.chmod(temporary, mode)
        os.replace(temporary, target)
    except BaseException as fault:
        temporary.unlink(missing_ok=True)
        if isinstance(fault, OSError):
            # Whoever reads of it knows the file, and not the one beside it.
            fault.filename = str(path)
        raise


def _refuse_what_is_no_file(target: Path) -> None:
    """Replacing a device or a pipe would take it away from everyone."""
    if target.exists() and not target.is_file():
        number = 21 if target.is_dir() else 22
        raise OSError(number, os.strerror(number), str(target))
