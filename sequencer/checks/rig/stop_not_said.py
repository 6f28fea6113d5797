"""What a stop does is left to the valves."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.facts import Facts
from sequencer.checks.saying import listed
from sequencer.findings import Finding, Rule, Severity
from sequencer.rig.cylinder import Cylinder
from sequencer.rig.valve import Valve, power_off_way
from sequencer.show import Show

MOST_NAMED = 4
_WAYS = {"home": "goes home", "out": "goes out", "stays": "stays where it is", "free": "is free to move"}

RULE = Rule(
    "R013", "what a stop does is not said",
    "On a stop, when a heartbeat is lost, when it is disarmed and whenever it starts, also after it hung, the board "
    "goes to the one safe state, which `stop` says. Where it is not said every output goes off, and each cylinder goes "
    "where its valve leaves it without power.",
    failing=changed(LUNGE, ("stop on mushroom trips: window.ram retracts\n", "")), mended=LUNGE, severity=Severity.NOTE,
)
NEEDS = ("whole",)


def find(facts: Facts) -> Iterator[Finding]:
    show = facts.show
    if any(safe.word == "stop" for safe in show.safes):
        return
    goes = list(_goes(show))
    if goes:
        more = f" and {len(goes) - MOST_NAMED} more" if len(goes) > MOST_NAMED else ""
        ways = listed(goes[:MOST_NAMED]) if not more else ", ".join(goes[:MOST_NAMED])
        message = f"There is no `stop`, so on a stop every output goes off: {ways}{more}; say what is safe."
        yield RULE.at(show.title_span, message)


def _goes(show: Show) -> Iterator[str]:
    for placed in show.of_kind("cylinder"):
        assert isinstance(placed.part, Cylinder)
        valve = show.parts.get(placed.part.valve)
        if valve is not None and isinstance(valve.part, Valve):
            yield f"`{placed.part.name}` {_WAYS[power_off_way(valve.part)]}"
