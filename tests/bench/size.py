"""How many bytes the steps of each show in `shows/` take, by cue line and by step.

Run: `python tests/bench/size.py`. A cue line counts at every place where it is written in, so a gesture's lines count
once a use; a step counts if it takes a byte, which the last end of a routine does not. `steps` are the bytes of the
steps alone; `bodies` have what starts each routine too, `image` is everything that goes to the board.
Demand: at most 4 bytes of steps a cue line on Marrow Lane, at most 2.5 bytes a step.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from sequencer.checks import check_file
from sequencer.data import folder
from sequencer.schedule.blocks import bodies
from sequencer.show.model import Cue
from sequencer.steps import Program, encode, layout
from sequencer.steps.encode import encode_steps

A_LINE, A_STEP = 4.0, 2.5
HEAD = f"{'show':32}{'lines':>6}{'written':>9}{'steps':>8}{'bodies':>8}{'image':>8}{'a line':>9}{'a step':>9}"


@dataclass(frozen=True, slots=True)
class Size:
    """Bytes, cue lines and written steps of one show."""

    steps_bytes: int
    bodies_bytes: int
    image_bytes: int
    lines: int
    steps: int

    def row(self) -> str:
        """The figures under HEAD."""
        return (
            f"{self.lines:6}{self.steps:9}{self.steps_bytes:8}{self.bodies_bytes:8}{self.image_bytes:8}"
            f"{self.steps_bytes / self.lines:9.2f}{self.steps_bytes / self.steps:9.2f}"
        )


def size_of(path: Path) -> Size | None:
    """The size of a show on disk, or None where it does not compile."""
    checked = check_file(path)
    if not checked.fine or checked.compiled is None:
        return None
    program, image = checked.compiled.program, encode(checked.compiled.program)
    chunks = [chunk for routine in program.routines for chunk in encode_steps(routine.steps) if chunk]
    return Size(
        sum(map(len, chunks)),
        len(image) - _tables(program),
        len(image),
        sum(lines_in(routine.cues) for routine in checked.show.routines),
        len(chunks),
    )


def lines_in(cues: Sequence[Cue]) -> int:
    """Cue lines with those that nest in them."""
    return sum(1 + sum(map(lines_in, bodies(cue))) for cue in cues)


def _tables(program: Program) -> int:
    rows = (
        (layout.OUTPUT_ROW, program.outputs), (layout.INPUT_ROW, program.inputs),
        (layout.ROUTINE_ROW, program.routines), (layout.CLIP_ROW, program.clips),
    )  # fmt: skip
    return layout.HEADER_SIZE + sum(layout.size_of(row) * len(items) for row, items in rows)


def main() -> None:
    place = Path(folder("shows"))
    print(HEAD)
    for path in sorted(place.rglob("*.show")):
        if path.name.endswith(".rig.show"):
            continue
        size = size_of(path)
        print(f"{path.relative_to(place)!s:32}{'  does not compile' if size is None else size.row()}")
    print(f"demand on Marrow Lane: at most {A_LINE} bytes of steps a cue line, {A_STEP} a step")


if __name__ == "__main__":
    main()
