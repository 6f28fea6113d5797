"""A show -> its pins in use: which part is on which pin of which board, and where that is written."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from sequencer.board.profiles import Pin, Profile, profile_by_name
from sequencer.findings import Edit, Mend, Span
from sequencer.frozen import frozen
from sequencer.phrases import PinName
from sequencer.rig.base import item
from sequencer.rig.board import Board
from sequencer.rig.speaker import Clip, Speaker
from sequencer.show import Placed, parts_of_kind


@frozen
class Wire:
    """One part on one pin. `span` is the name of the pin where it was written, else the name of the part."""

    placed: Placed
    pin: PinName
    span: Span
    is_input: bool

    @property
    def who(self) -> str:
        return self.placed.part.name


@frozen
class Yard:
    """The parts of a show, and the pins they are on. `profiles` are of its boards, None where there is no such model;
    `taken` counts how often a pin is named.

    Nothing of the scares is in it, so that what is found of it stays true while scares are edited.
    """

    parts: Mapping[str, Placed]
    wires: tuple[Wire, ...]
    profiles: Mapping[str, Profile | None]
    taken: Mapping[PinName, int]
    by_part: Mapping[tuple[str, PinName], Wire]

    def of_kind(self, *kinds: str) -> tuple[Placed, ...]:
        """The parts of these kinds, in the order of the text."""
        return parts_of_kind(self.parts, *kinds)

    def wire(self, who: str, pin: PinName) -> Wire | None:
        """The wire of a part to a pin."""
        return self.by_part.get((who, pin))

    def free_pins(self, board: str, is_input: bool, fades: bool = False) -> tuple[str, ...]:
        """Pins of a board that nothing is on; plain outputs first unless one that fades is asked for."""
        profile = self.profiles.get(board)
        if profile is None:
            return ()
        pins = profile.inputs if is_input else profile.outputs
        fit = [pin for pin in pins if PinName(board, pin.name) not in self.taken and (pin.fades or not fades)]
        return tuple(pin.name for pin in sorted(fit, key=lambda pin: pin.fades and not fades))


def yard_of(parts: Mapping[str, Placed]) -> Yard:
    """The yard that these parts make."""
    found = tuple(wires(parts))
    boards = (placed.part for placed in parts_of_kind(parts, "board"))
    profiles = {board.name: profile_by_name(board.model) for board in boards if isinstance(board, Board)}
    taken = Counter(pin for placed in parts.values() for _, pin in placed.part.pins())
    return Yard(parts, found, profiles, taken, {(wire.who, wire.pin): wire for wire in found})


def wires(parts: Mapping[str, Placed]) -> Iterator[Wire]:
    """Every pin in use, in the order of the text; a speaker's pin once, however many clips play by it."""
    for placed in parts.values():
        seen: set[PinName] = set()
        for field, pin in placed.part.pins():
            if pin not in seen:
                seen.add(pin)
                span = last_word(placed.at(field), pin.pin) if field in placed.where else placed.span
                yield Wire(placed, pin, span, placed.part.kind == "sensor")


def last_word(span: Span, word: str) -> Span:
    """The word that a phrase ends with: every phrase that names a pin, a board or a model ends with it."""
    begin = span.end_column - len(word)
    return Span(span.file, span.end_line, begin, span.end_line, span.end_column) if begin >= 1 else span


def clips_said(placed: Placed) -> Iterator[tuple[Clip, Span]]:
    """The clips of a speaker, each with the place where it was said: `clip growl "growl.wav"`."""
    assert isinstance(placed.part, Speaker)
    for number, clip in enumerate(placed.part.clips):
        yield clip, placed.at(item("clips", number))


def pins_in_words(pins: tuple[Pin, ...]) -> str:
    """`pwm0 to pwm5 and out0 to out5`."""
    rows: dict[str, list[str]] = {}
    for pin in pins:
        rows.setdefault(pin.name.rstrip("0123456789"), []).append(pin.name)
    return " and ".join(f"{names[0]} to {names[-1]}" if len(names) > 1 else names[0] for names in rows.values())


def write_instead(span: Span, words: tuple[str, ...]) -> tuple[Mend, ...]:
    """One mend a word, never safe: which pin a thing is wired to is seen in the yard, not in the text."""
    return tuple(Mend(f"write `{word}`", (Edit(span, word),)) for word in words)
