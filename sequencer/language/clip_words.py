"""A clip asked for in other words: by its file, or as if it were a part."""

from __future__ import annotations

from collections.abc import Mapping

from sequencer.findings import Edit, Mend
from sequencer.language.book import Book
from sequencer.phrases import Atom
from sequencer.show.model import Placed


def speaker_of(clip: str, book: Book, parts: Mapping[str, Placed], prop: str | None) -> str | None:
    """The speaker with a clip of that name, where nothing else has it."""
    if book.find(clip, prop) is not None:
        return None
    return next((name for name, placed in parts.items() if clip in placed.part.declared("clip")), None)


def clips_of_file(who: str, file: Atom, book: Book, parts: Mapping[str, Placed], prop: str | None) -> tuple[Mend, ...]:
    """The clips of a speaker that are the file which a cue names, as in `plays "growl.wav"`."""
    declared = book.find(who, prop)
    placed = parts.get(declared.name) if declared is not None else None
    clips = getattr(placed.part, "clips", ()) if placed is not None else ()
    names = [clip.name for clip in clips if clip.file == file.value]
    return tuple(Mend(f"write `{name}`", (Edit(file.span, name),)) for name in names)
