"""Whatever the lines say, a check ends with findings that lie inside their file."""

from __future__ import annotations

import random
import re
from pathlib import Path

import pytest

from sequencer.checks import check_bytes
from sequencer.checks.clips import ClipFile

ROOT = Path(__file__).parent.parent.parent
CASES = ROOT / "tests" / "cases"
YARD = (CASES / "yard.rig.show").read_text(encoding="utf-8")
TEXTS = [path.read_text(encoding="utf-8").replace('use "yard.rig.show"', YARD)
         for path in sorted(CASES.glob("*.show")) if not path.name.endswith(".rig.show")]


def spoilt(text: str, rng: random.Random) -> str:
    lines = text.split("\n")
    for _ in range(rng.randint(1, 4)):
        at = rng.randrange(len(lines))
        match rng.randrange(6):
            case 0 if len(lines) > 1:
                del lines[at]
            case 1:
                lines.insert(at, rng.choice(lines))
            case 2:
                words = lines[at].split(" ")
                words[rng.randrange(len(words))] = rng.choice(rng.choice(lines).split(" "))
                lines[at] = " ".join(words)
            case 3:
                other = rng.randrange(len(lines))
                lines[at], lines[other] = lines[other], lines[at]
            case 4:
                lines[at] = re.sub(r"\d+", lambda _: str(rng.choice((0, 1, 2, 9, 100, 99_999))), lines[at])
            case _:
                lines[at] = rng.choice(("    ", "")) + lines[at].strip()
    return "\n".join(lines)


@pytest.mark.parametrize("seed", range(100))
def test_a_spoilt_show_is_checked_to_its_end(seed: int) -> None:
    rng = random.Random(seed)
    text = spoilt(rng.choice(TEXTS), rng)

    def no_file(name: str) -> bytes:
        raise FileNotFoundError(name)

    found = check_bytes(text.encode(), "it.show", no_file, lambda name: ClipFile(name, 1_500_000, 2_000_000))
    lines = text.split("\n")
    for finding in found.findings:
        for span in (finding.span, *(label.span for label in finding.labels)):
            assert 1 <= span.line <= span.end_line <= len(lines)
            assert 1 <= span.column <= len(lines[span.line - 1]) + 1
            assert 1 <= span.end_column <= len(lines[span.end_line - 1]) + 1
