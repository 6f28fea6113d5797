"""A show and the files it uses -> one run of nodes. Files are read through a function, so tests need no disk."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

from sequencer.findings import Edit, Finding, Label, Mend, Span, closest
from sequencer.language import name_rules as rules
from sequencer.language import tree
from sequencer.language.lines import ENOUGH_TO_REFUSE
from sequencer.language.reader import Document, read_document
from sequencer.memo import Memo

MOST_FILES = 64

ReadFile = Callable[[str], bytes]
"""The bytes of a file by its path relative to the folder of the show. Raises OSError."""


@dataclass(slots=True)
class Loaded:
    """`texts` are the files by the names that spans use; `nodes` stand in the order in which they are read."""

    memo: Memo
    nodes: list[tree.Node] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    texts: dict[str, str] = field(default_factory=dict)
    title: tree.ShowTitle | None = None


class NoFile(FileNotFoundError):
    """There is no file of that name; `near` are names that were likely meant."""

    def __init__(self, name: str, near: tuple[str, ...] = ()) -> None:
        super().__init__(f"there is no file {name}")
        self.near = near


def path_below(root: str, name: str) -> str:
    """The real path of a file below `root` (itself a real path), whatever links say.

    Raises PermissionError for one that lies elsewhere, FileNotFoundError where there is no file of that name.
    """
    try:
        path = os.path.realpath(os.path.join(root, name))
        inside = os.path.commonpath([root, path]) == root
    except ValueError:  # a name that no file can have, or one on another drive
        inside = False
    if not inside:
        raise PermissionError(f"{name} lies outside the folder of the show")
    if os.path.isdir(path):
        raise FileNotFoundError(f"{name} is a folder")
    if not os.path.isfile(path):
        raise NoFile(name, _names_like(path, name))
    return path


def _names_like(path: str, name: str) -> tuple[str, ...]:
    """Names of files in the folder of a missing one that were likely meant, written as `name` is."""
    folder, missing = os.path.split(path)
    try:
        there = sorted(entry.name for entry in os.scandir(folder) if entry.is_file())
    except OSError:
        return ()
    before = name[: len(name) - len(missing)] if name.endswith(missing) else ""
    return tuple(before + near for near in closest(missing, there, 2))


def folder_reader(folder: Path) -> ReadFile:
    """Reads files below a folder, and only there."""
    root = os.path.realpath(folder)

    def read(name: str) -> bytes:
        with open(path_below(root, name), "rb") as file:
            return file.read(ENOUGH_TO_REFUSE)

    return read


def load(data: bytes, name: str, read_file: ReadFile, memo: Memo) -> Loaded:
    """The show `name` with everything it uses. Findings say what could not be read."""
    loaded = Loaded(memo)
    document = read_document(data, name, memo)
    _take_in(loaded, document, "", (name,), read_file)
    loaded.texts[name] = document.text
    return loaded


def _take_in(loaded: Loaded, document: Document, base: str, ring: tuple[str, ...], read_file: ReadFile) -> None:
    loaded.findings += document.findings
    for node in document.nodes:
        if isinstance(node.head, tree.Use):
            _use(loaded, node.head, base, ring, read_file)
        elif isinstance(node.head, tree.ShowTitle):
            _title(loaded, node.head, main=len(ring) == 1)
        else:
            loaded.nodes.append(node)


def _title(loaded: Loaded, head: tree.ShowTitle, main: bool) -> None:
    if loaded.title is not None and main:
        label = Label(loaded.title.span, "named here first")
        loaded.findings.append(rules.TWICE.at(head.span, "The show is named twice.", labels=(label,)))
    elif main:
        loaded.title = head


def _use(loaded: Loaded, use: tree.Use, base: str, ring: tuple[str, ...], read_file: ReadFile) -> None:
    name = _inside(use.path, base)
    if not use.path.strip():
        _cannot(loaded, use.span, "The name of a file is missing between the quotes.")
    elif name is None:
        _cannot(loaded, use.span, f"`{use.path}` leads out of the folder of the show; "
                                  "put the file beside the show or deeper.")
    elif name in ring:
        names = ", and that uses ".join((*ring[ring.index(name) + 1 :], name))
        _cannot(loaded, use.span, f"A ring of files: {name} uses {names}.")
    elif name in loaded.texts:
        return
    elif len(loaded.texts) >= MOST_FILES:
        _cannot(loaded, use.span, f"A show takes in at most {MOST_FILES} files.")
    else:
        try:
            data = read_file(name)
        except (OSError, ValueError) as why:
            reason = why.strerror if isinstance(why, OSError) and why.strerror else str(why)
            mends = [Mend(f'write "{near}"', (Edit(use.span, f'"{_beside(near, base)}"'),))
                     for near in getattr(why, "near", ())]
            _cannot(loaded, use.span, f"`{use.path}` cannot be read: {reason}.", mends)
            return
        document = read_document(data, name, loaded.memo)
        loaded.texts[name] = document.text
        below = str(PurePosixPath(name).parent)
        _take_in(loaded, document, "" if below == "." else below, (*ring, name), read_file)


def _cannot(loaded: Loaded, span: Span, message: str, mends: Iterable[Mend] = ()) -> None:
    loaded.findings.append(rules.USE.at(span, message, mends=mends))


def _beside(name: str, base: str) -> str:
    """A path from the folder of the show as one from the folder of the file that names it."""
    return name.removeprefix(f"{base}/") if base else name


def _inside(path: str, base: str) -> str | None:
    """The path from the folder of the show, or None where it leads out of it or is no plain relative path."""
    plain = path.replace("\\", "/")
    if not plain or plain.startswith("/") or ":" in plain or "\0" in plain or len(plain) > 400:
        return None
    parts: list[str] = base.split("/") if base else []
    for part in plain.split("/"):
        if part == "..":
            if not parts:
                return None
            parts.pop()
        elif part not in ("", "."):
            parts.append(part)
    return "/".join(parts) or None
