"""Lines and manifolds that feed each other and no compressor feeds."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Rule
from sequencer.show import Placed

_LINE = changed(LUNGE, ("manifold bench on shed: ports 4\n",
                        "line yard from shed: tube 3/8 in, length 50 ft\nmanifold bench on yard: ports 4\n"))

RULE = Rule(
    "R019", "air that goes in a ring",
    "Air comes from a compressor over lines and manifolds. Where they feed each other no compressor is at the end, "
    "and there is no pressure to reckon with.",
    failing=changed(_LINE, ("yard from shed", "yard from bench")), mended=_LINE,
)


def find_among(yard: Yard) -> Iterator[Finding]:
    places = {name: number for number, name in enumerate(yard.parts)}
    for ring in _rings(yard.parts):
        first = ring.index(min(ring, key=lambda name: places[name]))
        round_ = [f"`{name}`" for name in (*ring[first:], *ring[: first + 1])]
        message = f"{round_[0]} is fed by {', that by '.join(round_[1:])}: a ring without a compressor."
        yield RULE.at(yard.parts[ring[first]].at("source"), message)


def _rings(parts: Mapping[str, Placed]) -> Iterator[list[str]]:
    """Each ring once: the names of its parts, each fed by the next and the last by the first."""
    seen: set[str] = set()
    for name in parts:
        path: dict[str, int] = {}
        here: str | None = name
        while here in parts and here not in seen and here not in path:
            path[here] = len(path)
            here = getattr(parts[here].part, "source", None)
        if here in path:
            yield list(path)[path[here]:]
        seen.update(path)
