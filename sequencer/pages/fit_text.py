"""Cylinders fitted to their times -> a table for a terminal, sentences, and plain values."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from sequencer.air.fit import FRICTIONS
from sequencer.air.from_rig import NO_NEEDLE, Toward, Unknowns
from sequencer.air.needle import share_of_open
from sequencer.air.stroke import Stroke
from sequencer.pages.measures import digits, time_said, trimmed
from sequencer.sizing.fitted import Fitted, FittedWay

WORDS: dict[Toward, str] = {"out": "out", "home": "back"}
WIDTHS = (7, 10, 31, 31)


def fit_rows(found: Fitted) -> list[str]:
    """The table of one cylinder: a way a line."""
    rows = [found.cylinder, _row("", "measured", "as described", "as fitted")]
    rows += [_row(f"  {WORDS[way.toward]}", time_said(way.measured_s), _with_band(way.before), _with_band(way.after))
             for way in found.ways]
    rows += [f"  {words}" for words in changes(found)]
    return rows


def changes(found: Fitted) -> list[str]:
    """What the fit has set, beside what was said."""
    said, now = found.said, found.set_to
    rows = []
    for name, before, after in (("needle out", said.needle_out, now.needle_out),
                                ("needle back", said.needle_back, now.needle_back)):
        if needle_words(before) != needle_words(after):
            rows.append(f"{name}: {needle_words(before)} as described, {needle_words(after)} as fitted")
    if now.friction != said.friction:
        rows.append(f"friction: {trimmed(digits(now.friction, 2))} times as much as described")
    return rows or ["nothing had to be changed"]


def needle_words(setting: float) -> str:
    """A setting; above 1 a flow control that passes so many times what is assumed of an open one.

    >>> needle_words(0.434), needle_words(1.0), needle_words(2.0), needle_words(NO_NEEDLE)
    ('43 %', '100 %', 'open and 2.8 times as wide as usual', 'none')
    """
    if setting >= NO_NEEDLE:
        return "none"
    return f"{setting * 100:.0f} %" if setting <= 1 else f"open and {share_of_open(setting):.2g} times as wide as usual"


def cannot_be(found: Fitted, way: FittedWay) -> str:
    """Why the measured prop is not what is described, in one sentence."""
    low, high = FRICTIONS
    bounds = f"however its needle is set and with {low:g} to {high:g} times the friction"
    takes = way.after.end_us / 1e6
    if not way.after.arrives:
        comes = "it never arrives"
    elif takes > way.measured_s:
        comes = f"it takes {time_said(takes)} at the least"
    else:
        comes = f"it takes {time_said(takes)} at the most"
    return (f"{found.cylinder} was timed at {time_said(way.measured_s)} {WORDS[way.toward]} and cannot be what is "
            f"described: {bounds} {comes}. Look at bore, stroke, load, lift, tube, valve and pressure.")


def line_for_show(seconds: Iterable[tuple[Toward, float]]) -> str:
    """The property to write for times that a log has given.

    >>> line_for_show([("out", 0.4123), ("home", 0.9)])
    'measured out 0.412 s, back 0.9 s'
    """
    said = {toward: f"{trimmed(f'{taken:.3f}')} s" for toward, taken in seconds}
    parts = [f"out {said['out']}"] if "out" in said else []
    parts += [f"back {said['home']}"] if "home" in said else []
    return f"measured {', '.join(parts)}"


def fitted_value(found: Fitted) -> dict[str, Any]:
    """The same for a program."""
    ways = [{"toward": way.toward, "measured_s": way.measured_s, "reached": way.reached,
             "before": None if way.before is None else stroke_value(way.before), "after": stroke_value(way.after),
             "text": None if way.reached else cannot_be(found, way)} for way in found.ways]
    return {"cylinder": found.cylinder, "ways": ways, "described": unknowns_value(found.said),
            "fitted": unknowns_value(found.set_to)}


def stroke_value(stroke: Stroke) -> dict[str, Any]:
    """Arrival and band, `null` where it never arrives."""
    times = (stroke.end_us, stroke.fastest_us, stroke.slowest_us) if stroke.arrives else (None, None, None)
    return dict(zip(("arrives_s", "fastest_s", "slowest_s"), (us / 1e6 if us is not None else None for us in times),
                    strict=True))


def unknowns_value(unknowns: Unknowns) -> dict[str, Any]:
    return {"needle_out": unknowns.needle_out, "needle_back": unknowns.needle_back, "friction": unknowns.friction}


def _with_band(stroke: Stroke | None) -> str:
    if stroke is None:
        return "pressure not known"
    if not stroke.arrives:
        return "never arrives"
    low, high = (f"{us / 1e6:.3f}" for us in (stroke.fastest_us, stroke.slowest_us))
    return f"{stroke.end_us / 1e6:.3f} s ({low} to {high} s)"


def _row(*cells: str) -> str:
    first, *rest = cells
    return f"{first:<{WIDTHS[0]}}" + "".join(f"{cell:>{width}}" for cell, width in zip(rest, WIDTHS[1:], strict=True))
