"""A show -> its pins in use: which part is on which pin of which board, and where that is written."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from sequencer.board.profiles import Pin, Profile, profile_by_name
from sequencer.findings import Edit, Mend, Span
from sequencer.phrases import PinName
from sequencer.rig.board import Board
from sequencer.rig.speaker import Clip, Speaker
from sequencer.show import Placed, Show


@dataclass(frozen=True, slots=True)
class Wire:
    """One part on one pin. `span` is the name of the pin where it was written, else the name of the part."""

    placed: Placed
    pin: PinName
    span: Span
    is_input: bool

    @property
    def who(self) -> str:
        return self.placed.part.name


def wires(show: Show) -> Iterator[Wire]:
    """Every pin in use, in the order of the text; a speaker's pin once, however many clips play by it."""
    for placed in show.parts.values():
        seen: set[PinName] = set()
        for field, pin in placed.part.pins():
            if pin not in seen:
                seen.add(pin)
                yield Wire(placed, pin, _pin_span(show, placed, field, pin), placed.part.kind == "sensor")


def _pin_span(show: Show, placed: Placed, field: str, pin: PinName) -> Span:
    if field == "clips":
        assert isinstance(placed.part, Speaker)
        clip = next(clip for clip in placed.part.clips if clip.pin == pin)
        return last_word(clip_span(show, placed, clip), pin.pin)
    return last_word(placed.at(field), pin.pin) if field in placed.where else placed.span


def last_word(span: Span, word: str) -> Span:
    """The word that a phrase ends with: every phrase that names a pin, a board or a model ends with it."""
    begin = span.end_column - len(word)
    return Span(span.file, span.end_line, begin, span.end_line, span.end_column) if begin >= 1 else span


def clip_span(show: Show, placed: Placed, clip: Clip) -> Span:
    """Where a clip was said: `clip growl "growl.wav"`, with its pin if it has one. A part keeps only the first."""
    first = placed.at("clips")
    if "clips" not in placed.where:
        return first
    tail = rf"\s+on\s+{re.escape(clip.pin.board.rpartition('.')[2])}\s+{re.escape(clip.pin.pin)}" if clip.pin else ""
    said = re.compile(rf'\bclip\s+{re.escape(clip.name)}\s+"{re.escape(clip.file)}"{tail}')
    lines = re.split(r"\r\n|\n|\r", show.texts.get(first.file, ""))
    for number in range(first.line, len(lines) + 1):
        found = said.search(lines[number - 1])
        if found is not None:
            return Span(first.file, number, found.start() + 1, number, found.end() + 1)
    return first


def profiles_of(show: Show) -> Mapping[str, Profile | None]:
    """The profile of each board of the show; None where there is no board of that model."""
    boards = (placed.part for placed in show.of_kind("board"))
    return {board.name: profile_by_name(board.model) for board in boards if isinstance(board, Board)}


def pins_in_words(pins: tuple[Pin, ...]) -> str:
    """`pwm0 to pwm5 and out0 to out5`."""
    rows: dict[str, list[str]] = {}
    for pin in pins:
        rows.setdefault(pin.name.rstrip("0123456789"), []).append(pin.name)
    return " and ".join(f"{names[0]} to {names[-1]}" if len(names) > 1 else names[0] for names in rows.values())


def free_pins(show: Show, board: str, is_input: bool, fades: bool = False) -> tuple[str, ...]:
    """Pins of a board that nothing is on; plain outputs first unless one that fades is asked for."""
    profile = profiles_of(show).get(board)
    if profile is None:
        return ()
    used = {wire.pin for wire in wires(show)}
    pins = profile.inputs if is_input else profile.outputs
    fit = [pin for pin in pins if PinName(board, pin.name) not in used and (pin.fades or not fades)]
    return tuple(pin.name for pin in sorted(fit, key=lambda pin: pin.fades and not fades))


def write_instead(span: Span, words: tuple[str, ...]) -> tuple[Mend, ...]:
    """One mend a word, never safe: which pin a thing is wired to is seen in the yard, not in the text."""
    return tuple(Mend(f"write `{word}`", (Edit(span, word),)) for word in words)
