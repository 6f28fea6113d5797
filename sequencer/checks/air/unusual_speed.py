"""A cylinder that is slower or faster than cylinders are made to run."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from sequencer.air.limits import Cause
from sequencer.air.stroke import Stroke
from sequencer.checks.examples import LUNGE, changed
from sequencer.checks.saying import listed
from sequencer.checks.strokes import Moved, moved, say_speed, way_word
from sequencer.checks.wires import Yard
from sequencer.findings import Finding, Rule, Severity
from sequencer.sizing.judge import USUAL_SPEED_M_S
from sequencer.units import Quantity

RULE = Rule(
    "A005", "a speed that cylinders are not made for",
    "Below about 2 inches a second the seals stick and slip, so the prop jerks and its times wander; above about "
    "3 feet a second seals and ends wear fast.",
    failing=changed(LUNGE, ("measured out 0.4 s", "measured out 9 s"), ("2 s: ram", "12 s: ram"), ("4 s:", "20 s:")),
    mended=LUNGE, severity=Severity.NOTE,
    source="speeds that catalogues give: 50 to 500, at most 1000 mm/s (from memory)",
)

EASES: dict[Cause, str] = {
    "needle": "open its needle", "flow control": "take a flow control that passes more",
    "tube": "take a wider or a shorter tube", "valve": "take a valve that passes more",
    "supply": "give it more pressure", "mass": "let it move less", "friction": "ease what rubs",
}


def find_among(yard: Yard) -> Iterator[Finding]:
    for one in moved(yard):
        speeds = {way_word(toward): _mean_m_s(stroke) for toward, stroke in one.strokes.items() if stroke.arrives}
        like = one.part.bore
        low, high = USUAL_SPEED_M_S
        slow = {way: speed for way, speed in speeds.items() if speed < low}
        fast = {way: speed for way, speed in speeds.items() if speed > high}
        if slow:
            message = (f"`{one.part.name}` goes {_said(slow, like)}, and below {say_speed(low, like)} seals stick "
                       f"and slip; {_eased(one, slow)}, or take a smaller bore or a cylinder made for slow work.")
            yield RULE.at(one.placed.span, message)
        if fast:
            message = (f"`{one.part.name}` goes {_said(fast, like)}, and few cylinders are made for more than "
                       f"{say_speed(high, like)}; "
                       "close its needle, or see that yours is.")
            yield RULE.at(one.placed.span, message)


def _eased(one: Moved, slow: Mapping[str, float]) -> str:
    """What to change of the part that holds the slowest way back the most."""
    slowest = min(slow, key=lambda way: slow[way])
    limits = next(stroke.limits() for toward, stroke in one.strokes.items() if way_word(toward) == slowest)
    return EASES[limits[0].cause] if limits else EASES["needle"]


def _mean_m_s(stroke: Stroke) -> float:
    low, high = stroke.trace.cylinder.ends_m
    return (high - low) / (stroke.travel_us / 1e6)


def _said(speeds: dict[str, float], like: Quantity) -> str:
    return listed([f"{way} at {say_speed(speed, like)}" for way, speed in speeds.items()])
