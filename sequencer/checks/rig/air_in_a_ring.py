"""Lines and manifolds that feed each other and no compressor feeds."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.facts import Facts
from sequencer.findings import Finding, Rule
from sequencer.show import Show

_LINE = changed(LUNGE, ("manifold bench on shed: ports 4\n",
                        "line yard from shed: tube 3/8 in, length 50 ft\nmanifold bench on yard: ports 4\n"))

RULE = Rule(
    "R019", "air that goes in a ring",
    "Air comes from a compressor over lines and manifolds. Where they feed each other no compressor is at the end, "
    "and there is no pressure to reckon with.",
    failing=changed(_LINE, ("yard from shed", "yard from bench")), mended=_LINE,
)


def find(facts: Facts) -> Iterator[Finding]:
    said: set[str] = set()
    for placed in facts.show.of_kind("line", "manifold"):
        ring = _ring(facts.show, placed.part.name)
        if ring and not said & set(ring):
            said |= set(ring)
            names = " is fed by ".join(f"`{name}`" for name in (*ring, ring[0]))
            yield RULE.at(placed.at("source"), f"{names}: a ring without a compressor.")


def _ring(show: Show, name: str) -> tuple[str, ...]:
    """The names from this one on until it comes again; empty where it does not."""
    seen: list[str] = []
    here: str | None = name
    while here is not None and here not in seen and here in show.parts:
        seen.append(here)
        here = getattr(show.parts[here].part, "source", None)
    return tuple(seen) if here == name else ()
