"""A show with findings -> the show with its safe mends made, until a check finds none more to make.

All rounds are made in memory, so that what is written, once and whole, has been checked before. Mends that
are not safe are never made here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from sequencer.cli.edits import apply_edits, chosen
from sequencer.cli.files import TextFile, read_text_file, write_text_file
from sequencer.cli.trouble import WrongUse
from sequencer.findings import Finding, Mend, Severity

if TYPE_CHECKING:
    from sequencer.checks import Checked

MOST_ROUNDS = 5


@dataclass(frozen=True, slots=True)
class Mended:
    """Each file that would change, before and after; the show as it then is; the mends that were made."""

    changes: tuple[tuple[TextFile, TextFile], ...]
    checked: Checked
    made: tuple[Mend, ...]


def mend_show(path: Path, checked: Checked) -> Mended:
    """Makes the safe mends of `checked`, which is the show at `path`, and of what a new check then finds.

    A round after which there would be more errors than before is left out, and ends it.
    """
    files = _files(path.parent, checked)
    texts = {name: file.text for name, file in files.items()}
    made: list[Mend] = []
    for _ in range(MOST_ROUNDS):
        mends = safe_mends(checked.findings, texts)
        if not mends:
            break
        tried = with_mends(texts, mends)
        again = _check(path, tried, files)
        if _errors(again) > _errors(checked):
            break
        made += mends
        texts, checked = tried, again
    changes = tuple(
        (file, TextFile(file.path, texts[name], file.bom))
        for name, file in files.items()
        if texts[name] != file.text
    )
    return Mended(changes, checked, tuple(made))


def safe_mends(findings: Iterable[Finding], texts: Mapping[str, str]) -> tuple[Mend, ...]:
    """The first safe mend of each finding, but for those that meet an earlier one or are in no known file."""
    first = (next((mend for mend in finding.mends if mend.safe), None) for finding in findings)
    return chosen(mend for mend in first if mend and all(edit.span.file in texts for edit in mend.edits))


def with_mends(texts: Mapping[str, str], mends: Iterable[Mend]) -> dict[str, str]:
    """The texts with all edits of `mends`, which must not overlap."""
    edits = [edit for mend in mends for edit in mend.edits]
    return {
        name: apply_edits(text, [edit for edit in edits if edit.span.file == name])
        for name, text in texts.items()
    }


def write_mended(mended: Mended) -> None:
    """Writes what changed, each file whole. Raises OSError, and WrongUse where a file changed meanwhile."""
    for before, _ in mended.changes:
        if read_text_file(before.path) != before:
            raise WrongUse(f"{before.path} was changed while it was checked; nothing was written. Try again.")
    for _, after in mended.changes:
        write_text_file(after)


def _files(folder: Path, checked: Checked) -> dict[str, TextFile]:
    """The files of the show that are text; one that is not has findings and no mends."""
    files = {}
    for name in checked.texts:
        try:
            files[name] = read_text_file(folder / name)
        except UnicodeDecodeError:
            continue
    return files


def _check(path: Path, texts: Mapping[str, str], files: Mapping[str, TextFile]) -> Checked:
    """The show as it would be with these texts."""
    from sequencer.checks import check_bytes
    from sequencer.checks.clips import sounds_in
    from sequencer.language.load import folder_reader

    on_disk = folder_reader(path.parent)

    def read(name: str) -> bytes:
        return _bytes(texts[name], files[name].bom) if name in texts else on_disk(name)

    return check_bytes(read(path.name), path.name, read, sounds_in(path.parent))


def _bytes(text: str, bom: bool) -> bytes:
    return text.encode("utf-8-sig" if bom else "utf-8")


def _errors(checked: Checked) -> int:
    return sum(finding.severity is Severity.ERROR for finding in checked.findings)
