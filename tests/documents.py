"""Documents that are true: their commands run in their order, in a folder of their own, and print what is shown.

In a `console` block a line after `$ ` is a command and the lines below it are of its output, in their order; `...`
stands for anything. A line that ends in `go on: yes` is a question and its answer, so commands run at a terminal of
their own. `show NAME` is a file to be saved, `show NAME with` a line that takes the place of the one with its start,
`show from NAME` a piece of a show of Marrow Lane.
"""

from __future__ import annotations

import os
import re
import select
import shlex
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from sequencer.data import folder

ROOT = Path(__file__).resolve().parents[1]
LONGEST_S = 60.0
BLOCK = re.compile(r"^```(?P<kind>console|show [^\n]*)\n(?P<text>.*?)^```$", re.MULTILINE | re.DOTALL)
ASKS = "go on: yes"


def blocks(document: str) -> Iterator[tuple[str, str]]:
    """Kind and text of each block, in order."""
    for match in BLOCK.finditer(document):
        yield match["kind"], match["text"]


def commands(block: str) -> Iterator[tuple[str, list[str]]]:
    """Each command of a block with the lines shown below it."""
    for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
        command, *shown = part.rstrip("\n").split("\n")
        yield command, shown


def at_a_terminal(command: str, where: Path, answers: int, columns: int) -> list[str]:
    """Runs a command at a terminal of its own, says yes to as many questions as are due: the lines that came."""
    import pty

    name, *words = shlex.split(command)
    assert name == "sequencer"
    ours, theirs = pty.openpty()
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "XDG_STATE_HOME": str(where / "state"), "HOME": str(where),
                   "COLUMNS": str(columns), "NO_COLOR": "1", "PYTHONIOENCODING": "utf-8"}
    process = subprocess.Popen([sys.executable, "-m", "sequencer", *words], cwd=where, env=environment, stdin=theirs,
                               stdout=theirs, stderr=theirs, start_new_session=True)
    os.close(theirs)
    came, end = b"", time.monotonic() + LONGEST_S
    try:
        while time.monotonic() < end and (piece := _read(ours)) is not None:
            came += piece
            if came.count(b"Type yes to go on: ") > came.count(b"yes\r\n") and answers:
                os.write(ours, b"yes\n")
                answers -= 1
        process.wait(5)
    finally:
        process.kill()
        os.close(ours)
    assert process.returncode is not None
    return re.split(r"[\r\n]+", came.decode("utf-8"))


def _read(terminal: int) -> bytes | None:
    """What has come, perhaps nothing; None at the end."""
    ready, _, _ = select.select([terminal], [], [], 0.2)
    if not ready:
        return b""
    try:
        return os.read(terminal, 65_536) or None
    except OSError:  # what Linux says of a terminal that nobody holds any more
        return None


def not_shown(shown: list[str], came: list[str]) -> str | None:
    """The first line shown that did not come, in its turn and right below its neighbour; None where all came."""
    at, anywhere = 0, False
    for line in shown:
        if not line.strip():
            continue
        if line == "...":
            anywhere = True
            continue
        pattern = re.compile(".*".join(re.escape(piece) for piece in line.rstrip().split("...")))
        reach = came[at:] if anywhere else came[at:at + 1]
        found = next((i for i, one in enumerate(reach) if pattern.fullmatch(one.rstrip())), None)
        if found is None:
            return line
        at, anywhere = at + found + 1, False
    return None


def save(kind: str, text: str, where: Path) -> None:
    """Saves a file, or puts one line into it in the place of the one that does the same thing."""
    name = kind.split()[1]
    path = where / name
    if not kind.endswith(" with"):
        path.write_text(text, encoding="utf-8")
        return
    does = text.split(":", 1)[1].split()[:2]
    lines = path.read_text(encoding="utf-8").split("\n")
    hits = [i for i, line in enumerate(lines) if ":" in line and line.split(":", 1)[1].split()[:2] == does]
    assert len(hits) == 1, f"{text!r} takes the place of {len(hits)} lines"
    lines[hits[0]] = text.rstrip("\n")
    path.write_text("\n".join(lines), encoding="utf-8")


def run_all(document: str, where: Path, columns: int = 100) -> None:
    """Saves what is to be saved and runs every command; fails on the first line that does not come."""
    shutil.copytree(folder("shows"), where / "shows")
    for kind, text in blocks(document):
        if kind != "console":
            if not kind.startswith("show from "):
                save(kind, text, where)
            continue
        for command, shown in commands(text):
            asks = sum(line.endswith(ASKS) for line in shown)
            came = at_a_terminal(command, where, asks, columns)
            missing = not_shown(shown, came)
            assert missing is None, f"$ {command}\nno line {missing!r} in\n" + "\n".join(came)


def pieces_stand_there(document: str) -> None:
    """What is shown of Marrow Lane is in its show, word for word."""
    for kind, text in blocks(document):
        if kind.startswith("show from "):
            whole = (Path(folder("shows")) / "marrow_lane" / kind.split()[2]).read_text(encoding="utf-8")
            assert " ".join(text.split()) in " ".join(whole.split())
