"""Two props on one port of a manifold, or a port that it does not have."""

from __future__ import annotations

from collections.abc import Container, Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.wires import Yard
from sequencer.findings import Edit, Finding, Label, Mend, Rule
from sequencer.rig.manifold import Manifold
from sequencer.rig.prop import Prop
from sequencer.show import Placed

_TWO = LUNGE + "prop hatch: air from bench port 2\n"

RULE = Rule(
    "R018", "a port of a manifold that is taken or not there",
    "Each port of a manifold feeds one tube. Two props on one port cannot both be as they are written, so tube, "
    "pressure and time of one of them would be wrong.",
    failing=changed(_TWO, ("port 2", "port 1")), mended=_TWO,
)


def find_among(yard: Yard) -> Iterator[Finding]:
    taken: dict[tuple[str, int], Placed] = {}
    used = {(getattr(one.part, "source", None), getattr(one.part, "port", None)) for one in yard.of_kind("prop")}
    for placed in yard.of_kind("prop"):
        prop = placed.part
        assert isinstance(prop, Prop)
        source = yard.parts.get(prop.source or "")
        if prop.port is None or source is None or not isinstance(source.part, Manifold):
            continue
        if prop.port > source.part.ports:
            message = f"`{source.part.name}` has {source.part.ports} ports, so there is no port {prop.port}."
            labels = (Label(source.span, "this manifold"),)
            yield RULE.at(placed.at("port"), message, labels=labels, mends=_free(placed, source.part, used))
        first = taken.setdefault((source.part.name, prop.port), placed)
        if first is not placed:
            message = f"`{prop.name}` is on {source.part.name} port {prop.port}, where `{first.part.name}` is already."
            labels = (Label(first.at("port"), f"`{first.part.name}` is here"),)
            yield RULE.at(placed.at("port"), message, labels=labels, mends=_free(placed, source.part, used))


def _free(placed: Placed, manifold: Manifold, used: Container[tuple[str | None, int | None]]) -> tuple[Mend, ...]:
    """The first port that no prop is on."""
    name = manifold.name
    port = next((port for port in range(1, manifold.ports + 1) if (name, port) not in used), None)
    text = f"air from {name} port {port}"
    return (Mend(f"write `port {port}`", (Edit(placed.at("port"), text),)),) if port else ()
