"""Parts that do what is wanted -> a table for a terminal and plain values; or in words, what would do it."""

from __future__ import annotations

from typing import Any

from sequencer.pages.measures import air_reference, air_said, measures_of, share_said, time_said
from sequencer.pages.stroke_json import strokes_value
from sequencer.sizing.driven import words_of
from sequencer.sizing.size import Choice, Nearest, Wanted

WIDTHS = (18, 8, 8, 9, 8, 10, 8, 11)
SIZE_OF = {"valve_5_2_eighth": "1/8 in", "valve_5_2_quarter": "1/4 in"}
"""The thread of a valve, by which it is bought."""


def wanted_words(wanted: Wanted) -> list[str]:
    """What is wanted, in one line; then a line for each part that the rod drives."""
    moves = f"moves {wanted.moves}, " if wanted.moves is not None else ""
    lifts = f"lifts {wanted.lifts}, " if wanted.lifts.si else ""
    back = f", back in {wanted.back}" if wanted.back is not None else ""
    return [f"{moves}{lifts}travels {wanted.travel} in {wanted.time}{back}, regulator {wanted.regulator}, tube length "
            f"{wanted.length}", *words_of(wanted.drives)]


def choice_rows(wanted: Wanted, found: tuple[Choice, ...]) -> list[str]:
    """The table, the set that takes least air first."""
    by = measures_of(wanted.travel, wanted.regulator)
    rows = [_row("cylinder", "tube", "valve", "out, all", "needle", "energy", "least", "free air"),
            _row("of the shelf", "", "5/2", "open", "out", "at end", "margin", "of both")]
    for choice in found:
        stroke = choice.strokes.out
        margin = min(one.force.margin for one in choice.strokes.both)
        hard = "*" if any(remark.kind == "end too hard" for remark in choice.remarks) else ""
        rows.append(_row(choice.parts.cylinder.removeprefix("cylinder_"), str(choice.parts.tube),
                         SIZE_OF[choice.parts.valve], time_said(choice.open_s),
                         str(choice.given.cylinder.needle_out), f"{stroke.end_energy_j or 0:.2f} J{hard or ' '}",
                         share_said(margin), air_said(choice.air_std_l, by)))
    return rows


def choice_notes(wanted: Wanted, found: tuple[Choice, ...]) -> list[str]:
    """What the columns mean, and how to look closer."""
    by = measures_of(wanted.travel, wanted.regulator)
    notes = [f"`out, all open`: when it is out with open needles; `needle out`: the setting for {wanted.time}. "
             f"Free air is that of out and back, {air_reference(by)}.",
             "Each is reckoned, and is in time also with seals twice as tight, 5 % less pressure, a fifth less flow "
             "and a valve a third slower, all at once."]
    if any(remark.kind == "end too hard" for choice in found for remark in choice.remarks):
        notes.append("* out or back, more than the end of that bore takes by itself (from memory): it needs a "
                     "cushion, a stop outside, or more time.")
    return notes


def look_closer(choice: Choice) -> str:
    """The command that shows a choice from nearby."""
    said = choice.given
    words = {"like": choice.parts.cylinder, "stroke": said.cylinder.stroke, "moves": said.cylinder.moves,
             "lifts": said.cylinder.lifts, "regulator": said.regulator, "tube": choice.parts.tube,
             "length": said.tube.length if said.tube else None, "valve": choice.parts.valve,
             "needle-out": said.cylinder.needle_out, "needle-back": said.cylinder.needle_back}
    driven = (f"--{said.replace(': ', ' ', 1)}" for said in said.driven.words)
    return "sequencer stroke " + " ".join(
        [*(f"--{name} {value}" for name, value in words.items() if value is not None), *driven])


def nearest_words(wanted: Wanted, found: Nearest) -> str:
    """What would do, where nothing on the shelf does it as it was wanted."""
    would = []
    if found.time is not None and found.time.si > wanted.time.si:
        would.append(f"{found.time} instead of {wanted.time}")
    if found.moves is not None:
        would.append(f"{found.moves} instead of {wanted.moves}")
    elif found.share is not None:
        would.append(f"{found.share * 100:.0f} % of what it moves and carries")
    if found.regulator is not None:
        would.append(f"{found.regulator} instead of {wanted.regulator}")
    if not would:
        other = "or give the linkage another attachment or a spring" if wanted.drives else "or lift over a lever"
        return ("Nothing on the shelf does this with margin, and neither a longer time, a lighter load nor more "
                f"pressure alone would; change more than one, {other}.")
    return f"Nothing on the shelf does this with margin. It would with {', or with '.join(would)}."


def choices_value(wanted: Wanted, found: tuple[Choice, ...], near: Nearest | None) -> dict[str, Any]:
    """The same for a program."""
    said = {"moves": wanted.moves, "lifts": wanted.lifts, "travel": wanted.travel, "time": wanted.time,
            "back": wanted.back, "regulator": wanted.regulator, "length": wanted.length}
    near_said = None if near is None else {
        "time": near.time, "moves": near.moves, "regulator": near.regulator}
    drives = {"drives": list(words_of(wanted.drives))} if wanted.drives else {}
    return {
        "wanted": {**{name: None if value is None else str(value) for name, value in said.items()},
                   "system": wanted.system, "reach": wanted.reach, **drives},
        "choices": [{"cylinder": one.parts.cylinder, "bore": str(one.parts.bore), "rod": str(one.parts.rod),
                     "tube": str(one.parts.tube), "valve": one.parts.valve, "open_s": one.open_s,
                     "slowest_s": one.slowest_s, "air_std_l": one.air_std_l,
                     "stroke": strokes_value(one.strokes)} for one in found],
        "nearest": None if near is None or near_said is None else {
            "share": near.share, **{name: None if value is None else {"text": str(value), "si": value.si}
                                    for name, value in near_said.items()}},
    }


def _row(*cells: str) -> str:
    first, *rest = cells
    return f"{first:<{WIDTHS[0]}}" + "".join(f"{cell:>{width}}" for cell, width in zip(rest, WIDTHS[1:], strict=True))
