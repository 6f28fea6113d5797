"""A regulator that is set higher than what comes to it."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Label, Rule, Severity
from sequencer.rig.compressor import Compressor
from sequencer.schedule.supply import fed_by

RULE = Rule(
    "R028", "a regulator set above what feeds it",
    "A regulator only takes pressure away. Set above what comes to it, it stands fully open, its prop has less than "
    "its gauge is said to show, and every time that is reckoned for that pressure is too short. A pressure counted "
    "from nothing, as `absolute` ones are, ends here too: a gauge shows 14.7 psi less.",
    failing=changed(LUNGE, ("regulator 60 psi", "regulator 140 psi")), mended=LUNGE, severity=Severity.WARNING,
    source="how a pressure regulator works: it has no way to raise its inlet",
)


def find_among(yard: Yard) -> Iterator[Finding]:
    for placed in (*yard.of_kind("prop"), *yard.of_kind("manifold")):
        own = getattr(placed.part, "regulator", None)
        source = None if own is None else fed_by(yard.parts, placed.part)
        if own is None or source is None:
            continue
        feeds = source.part
        if isinstance(feeds, Compressor):
            if own.si <= feeds.cut_in.si:
                continue
            above = own.si > feeds.cut_out.si
            field = "cut_out" if above else "cut_in"
            text = (f"`{feeds.name}` cuts out at {feeds.cut_out}" if above
                    else f"`{feeds.name}` lets its tank fall to {feeds.cut_in} before it cuts in")
        else:
            limit = feeds.regulator  # type: ignore[attr-defined]
            if own.si <= limit.si:
                continue
            above, field = True, "regulator"
            text = f"the regulator of `{feeds.name}` lets no more than {limit} through"
        message = (f"The regulator of `{placed.part.name}` is set to {own}, and {text}; "
                   f"set it to that or less{'' if above else ', or let the compressor cut in earlier'}.")
        label = Label(source.at(field), "what comes to it")
        yield RULE.at(placed.at("regulator"), message, labels=(label,),
                      severity=Severity.WARNING if above else Severity.NOTE)
