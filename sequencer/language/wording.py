"""A phrase that fits no template -> what to say of it, and which single change would make it fit.

Properties of parts, actions of cues and the amounts in a time are all phrases, so all of them are worded here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction

from sequencer.findings import Edit, Finding, Mend, Rule, Span, closest
from sequencer.frozen import frozen
from sequencer.language import name_rules as rules
from sequencer.language.foreign import summed_time
from sequencer.language.other_units import ABSOLUTE_WORDS, ALIASES, above_the_air, said_in_ours, unit_meant
from sequencer.phrases import Atom, AtomKind, Match, Mismatch, Piece, PinName, Ref, Slot, pieces_of, read_phrase
from sequencer.units import Quantity, quantity_of, units_of

_DUE = {
    "time": "a time such as `1.2 s`", "length": "a length such as `12 in`", "pressure": "a pressure such as `60 psi`",
    "mass": "a mass such as `9 lb`", "force": "a force such as `20 lbf`", "flow": "a flow such as `5.1 scfm`",
    "volume": "a volume such as `20 gal`", "voltage": "a voltage such as `12 V`", "current": "a current such as `5 A`",
    "power": "a power such as `3 W`", "resistance": "a resistance such as `24 ohm`",
    "angle": "an angle such as `20 deg`",
    "share": "a share such as `60 %`", "frequency": "a rate such as `2 Hz`", "sound": "a level such as `80 dB`",
    "speed": "a speed such as `2 ft/s`", "temperature": "a temperature such as `50 F`",
    "stiffness": "a stiffness such as `10 lbf/in`", "conductance": "a conductance such as `1.3 dm3/s/bar`",
    "count": "a whole number", "text": 'a text in "quotes"', "word": "a name",
    "clock": "a time of day such as `6:00 pm`",
    "pin": "a board and its pin such as `box out1`",
}
_BY_SIZE = {"time": ("s", "ms", 50), "length": ("in", "mm", 40), "pressure": ("bar", "psi", 12)}
"""The unit of small numbers, of large ones, and where the one gives way to the other: common practice, no source."""
_DIMENSION = {
    "sound": "a sound level", "share": "a share", "frequency": "a rate", "angle": "an angle",
}
# Words for which the language has another one, by its place.
_INSTEAD = {
    "in": ("home", "over"), "back": ("home",), "down": ("home",), "forward": ("out",), "up": ("out",),
    "during": ("for", "over"), "within": ("over", "for"), "if": ("when",),
}
_MOST_WORDS = 40


def example_of(slot: Slot) -> str:
    """A value as an author would write it: `60 psi`, `out1`, `a|b` for a choice."""
    if slot.choices:
        return " or ".join(slot.choices)
    if slot.kind[0] in "@#":
        return slot.kinds[0].upper()
    shown = _DUE[slot.kind].split("`")
    return shown[1] if len(shown) > 1 else slot.kind.upper()


@frozen
class Speaking:
    """Whose phrase it is: `a cylinder`, with the word for what was read (`property`, `action`)."""

    whose: str
    what: str


def word_mismatch(
    atoms: Sequence[Atom], miss: Mismatch, templates: Sequence[str], lets: Mapping[str, Quantity], of: Speaking
) -> Finding:
    """The finding for a phrase that fits none of the templates."""
    at_end = miss.index >= len(atoms)
    slots = [piece for piece in miss.wanted if isinstance(piece, Slot)]
    if not at_end:
        atom = atoms[miss.index]
        after = atoms[miss.index + 1] if miss.index + 1 < len(atoms) else None
        for slot in slots:
            finding = _quantity_fault(slot, atom, after)
            if finding is not None and finding.mends and after is not None and after.kind is AtomKind.WORD:
                finding = _unit_in_its_place(finding, slot, atoms, miss.index, templates, lets)
            if finding is not None:
                return finding
        before = atoms[miss.index - 1] if miss.index else None
        if before is not None and isinstance(before.value, Quantity) and atom.text.casefold() in ABSOLUTE_WORDS:
            word = f"{before.value.unit.symbol}{ABSOLUTE_WORDS[0]}"
            finding = _absolute(before.value.dimension, before, atom.span, word)
            if finding is not None:
                return finding
    named = _unknown_quantity(atoms[miss.index], slots, lets) if not at_end else None
    if named is not None:
        return named
    rule, span, message = _sentence(atoms, miss, of)
    return rule.at(span, message, mends=phrase_mends(atoms, miss, templates, lets))


def _sentence(atoms: Sequence[Atom], miss: Mismatch, of: Speaking) -> tuple[Rule, Span, str]:
    before = " ".join(atom.text for atom in atoms[max(0, miss.index - 3) : miss.index])
    due = _due(miss.wanted)
    if miss.index >= len(atoms):
        rest = _rest_of(miss)
        return rules.WRONG_WORDS, atoms[-1].span, f"After `{before}` comes {f'`{rest}`' if rest else due}."
    atom = atoms[miss.index]
    if miss.index == 0 and of.what == "time":
        message = f"`{atom.text}` is no time; here comes {due}, or the name of one from a `let`."
        return rules.WRONG_WORDS, atom.span, message
    if miss.index == 0:
        return rules.UNKNOWN_WORDS, atom.span, f"{of.whose[0].upper()}{of.whose[1:]} has no {of.what} `{atom.text}`."
    if not miss.wanted:
        return rules.WRONG_WORDS, atom.span, f"Nothing comes after `{before}`, but here stands `{atom.text}`."
    return rules.WRONG_WORDS, atom.span, f"After `{before}` comes {due}, not `{atom.text}`."


def _rest_of(miss: Mismatch) -> str:
    """The words that must come yet, where nothing else can: `when tripped`."""
    if len(miss.wanted) != 1 or not isinstance(miss.wanted[0], str):
        return ""
    ends = set()
    for template in miss.templates:
        pieces = pieces_of(template)
        ends.add(pieces[pieces.index(miss.wanted[0]):] if miss.wanted[0] in pieces else ())
    (end, *others) = ends
    words = [piece for piece in end if isinstance(piece, str)]
    return " ".join(words) if not others and len(words) == len(end) else ""


def _due(wanted: Iterable[Piece]) -> str:
    words: list[str] = []
    for piece in wanted:
        if isinstance(piece, str):
            words.append(f"`{piece}`")
        elif piece.choices:
            words += [f"`{choice}`" for choice in piece.choices]
        elif piece.kind[0] in "@#":
            words.append("the name of a " + " or ".join(piece.kinds))
        else:
            words.append(_DUE[piece.kind])
    words = list(dict.fromkeys(words))
    if not words:
        return "nothing more"
    return " or ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else words[0]


def _quantity_fault(slot: Slot, atom: Atom, after: Atom | None) -> Finding | None:
    """A number without unit, with an unknown one, or a quantity of another kind; None for anything else."""
    units = units_of(slot.kind)
    if not units:
        return None
    if isinstance(atom.value, Quantity):
        return _wrong_dimension(slot, atom, atom.value)
    if atom.kind is not AtomKind.NUMBER:
        return None
    if after is not None and after.kind is AtomKind.WORD:
        above_nothing = _absolute(slot.kind, atom, after.span, after.text)
        if above_nothing is not None:
            return above_nothing
        meant = _said_elsewhere(slot.kind, atom, after)
        if meant is not None:
            mend = Mend(f"write `{meant}`", (Edit(atom.span.to(after.span), meant),))
            message = f"There is no unit `{after.text}`; `{atom.text} {after.text}` is `{meant}`."
            return rules.NO_UNIT.at(after.span, message, mends=(mend,))
        near = unit_meant(after.text, units)
        if near is not None:
            # A letter more or less in so short a word may be another unit altogether: `us` is not `ms`.
            same = near.casefold() == after.text.casefold() or after.text.casefold() in ALIASES
            safe = after.text.casefold() != "m" and (same or len(after.text) > 3)
            mend = Mend(f"write `{near}`", (Edit(after.span, near),), safe)
            return rules.NO_UNIT.at(after.span, f"There is no unit `{after.text}`.", mends=(mend,))
    message = f"`{atom.text}` needs its unit: {_DUE[slot.kind]}."
    offered = _likely_first(slot.kind, units, atom)[:3]
    mends = [Mend(f"write `{atom.text} {unit}`", (Edit(atom.span.after, f" {unit}"),)) for unit in offered]
    return rules.NO_UNIT.at(atom.span, message, mends=mends)


def _unit_in_its_place(
    finding: Finding, slot: Slot, atoms: Sequence[Atom], index: int, templates: Sequence[str],
    lets: Mapping[str, Quantity],
) -> Finding:
    """The finding, but where a unit were put in before a word that cannot follow: that word was to be the unit."""
    after = atoms[index + 1]
    if finding.span != atoms[index].span or any(template.split()[0] == after.text for template in templates):
        return finding
    whole = quantity_of(f"1 {units_of(slot.kind)[0]}")
    tried = [*atoms[:index], Atom(AtomKind.QUANTITY, whole.text, atoms[index].span, whole), *atoms[index + 1 :]]
    outcome = read_phrase(tried, templates, lets)
    if isinstance(outcome, Match) or outcome.index > index + 1:
        return finding
    near = closest(after.text, [name for name, quantity in lets.items() if quantity.dimension == slot.kind])
    mends = [Mend(f"write `{name}`", (Edit(after.span, name),)) for name in near]
    message = f"There is no unit `{after.text}`; here comes {_DUE[slot.kind]}."
    return rules.NO_UNIT.at(after.span, message, mends=mends)


def _said_elsewhere(dimension: str, atom: Atom, after: Atom) -> str | None:
    """`3 kW` and `1min30s` in a unit that the language has."""
    summed = summed_time(atom.text + after.text) if dimension == "time" else None
    if summed is not None and summed[1] == len(atom.text + after.text):
        return summed[2]
    assert isinstance(atom.value, Fraction)
    return said_in_ours(dimension, atom.value, after.text)


def _absolute(dimension: str, atom: Atom, unit: Span, word: str) -> Finding | None:
    """A pressure above nothing instead of above the air outside; taken for a gauge's it would be far too much."""
    value = atom.value if isinstance(atom.value, Fraction) else Fraction(atom.text.split()[0])
    told = above_the_air(value, word) if dimension == "pressure" else None
    if told is None:
        return None
    sentence, gauge = told
    mends = () if gauge is None else (Mend(f"write `{gauge}`", (Edit(atom.span.to(unit), gauge),)),)
    return rules.NO_UNIT.at(unit, sentence, mends=mends)


def _unknown_quantity(atom: Atom, slots: Sequence[Slot], lets: Mapping[str, Quantity]) -> Finding | None:
    """A word where nothing but one sort of quantity may stand: a name of the author's, misspelt or of another sort."""
    dimensions = {slot.kind for slot in slots}
    if len(dimensions) != 1 or atom.kind is not AtomKind.WORD or not units_of(*dimensions):
        return None
    (dimension,) = dimensions
    known = lets.get(atom.text)
    if known is not None:
        message = f"`{atom.text}` names {_DIMENSION.get(known.dimension, f'a {known.dimension}')}, {known.text}; "
        return rules.WRONG_DIMENSION.at(atom.span, f"{message}here comes {_DUE[dimension]}.")
    near = closest(atom.text, [name for name, quantity in lets.items() if quantity.dimension == dimension])
    if not near:
        return None
    message = f"No `let` names a quantity `{atom.text}`; here comes {_DUE[dimension]}."
    mends = [Mend(f"write `{name}`", (Edit(atom.span, name),)) for name in near]
    return rules.UNKNOWN_NAME.at(atom.span, message, mends=mends)


def _likely_first(dimension: str, units: Sequence[str], atom: Atom) -> list[str]:
    """300 is most likely milliseconds, 1.2 seconds; a fraction is of an inch."""
    small, large, border = _BY_SIZE.get(dimension, ("", "", 0))
    assert isinstance(atom.value, Fraction)
    likely = large if "/" not in atom.text and atom.value >= border else small
    return sorted(units, key=lambda unit: unit != likely)


def _wrong_dimension(slot: Slot, atom: Atom, value: Quantity) -> Finding:
    unit = value.unit.symbol
    number = atom.text[: -len(unit)]
    near = sorted(units_of(slot.kind), key=lambda u: not (u.startswith(unit) or unit.startswith(u)))
    mends = [
        Mend(f"write `{number.strip()} {other}`", (Edit(atom.span, f"{number.strip()} {other}"),)) for other in near[:3]
    ] if atom.text.endswith(unit) else []
    kind = _DIMENSION.get(value.dimension, f"a {value.dimension}")
    message = f"`{atom.text}` is {kind}; here comes {_DUE[slot.kind]}."
    return rules.WRONG_DIMENSION.at(atom.span, message, mends=mends)


def phrase_mends(
    atoms: Sequence[Atom], miss: Mismatch, templates: Sequence[str], lets: Mapping[str, Quantity]
) -> tuple[Mend, ...]:
    """Single changes after which the phrase fits, likeliest first; at most three.

    None are sought for a phrase of more words than any part has: the search takes time by the square of its length.
    """
    if len(atoms) > _MOST_WORDS:
        return ()
    found: list[Mend] = []
    words = {word for template in templates for piece in pieces_of(template) for word in _words_of(piece)}
    for mend, changed in _candidates(atoms, miss, templates):
        read = read_phrase(changed, templates, lets)
        if isinstance(read, Match) and mend not in found and not _names(read) & words:
            found.append(mend)
            if len(found) == 3:
                break
    return tuple(found)


def _names(read: Match) -> set[str]:
    """The names of boards, pins and parts that a phrase was read to hold."""
    values = [value.value for value in read.values.values()]
    pins = [value for value in values if isinstance(value, PinName)]
    return {value.name for value in values if isinstance(value, Ref)}.union(*((pin.board, pin.pin) for pin in pins))


def _candidates(
    atoms: Sequence[Atom], miss: Mismatch, templates: Sequence[str]
) -> Iterator[tuple[Mend, list[Atom]]]:
    for i in range(1, len(atoms)):
        if atoms[i].text == atoms[i - 1].text:
            yield _take_out(atoms, i, safe=True)
    yield from _respelt(atoms, miss, templates)
    yield from _exchanged(atoms)
    yield from _put_in(atoms, miss, templates)
    yield from _parted(atoms, templates)
    yield from _replaced(atoms, miss)
    for i in reversed(range(min(miss.index + 1, len(atoms)))):
        if len(atoms) > 1:
            yield _take_out(atoms, i)


def _take_out(atoms: Sequence[Atom], i: int, safe: bool = False) -> tuple[Mend, list[Atom]]:
    span = atoms[i].span
    if i:
        span = Span(span.file, atoms[i - 1].span.end_line, atoms[i - 1].span.end_column, span.end_line, span.end_column)
    elif len(atoms) > 1:
        span = Span(span.file, span.line, span.column, atoms[1].span.line, atoms[1].span.column)
    return Mend(f"take out `{atoms[i].text}`", (Edit(span, ""),), safe), [*atoms[:i], *atoms[i + 1 :]]


def _respelt(
    atoms: Sequence[Atom], miss: Mismatch, templates: Sequence[str]
) -> Iterator[tuple[Mend, list[Atom]]]:
    words = {word for template in templates for piece in pieces_of(template) for word in _words_of(piece)}
    here = [word for piece in miss.wanted for word in _words_of(piece)]
    for i in reversed(range(min(miss.index + 1, len(atoms)))):
        if atoms[i].kind is not AtomKind.WORD:
            continue
        for word in (*closest(atoms[i].text, here, 2), *closest(atoms[i].text, words, 3)):
            if word != atoms[i].text:
                mend = Mend(f"write `{word}`", (Edit(atoms[i].span, word),), safe=len(word) > 3)
                yield mend, [*atoms[:i], _word(word, atoms[i].span), *atoms[i + 1 :]]


def _words_of(piece: Piece) -> tuple[str, ...]:
    return (piece,) if isinstance(piece, str) else piece.choices


def _word(text: str, span: Span) -> Atom:
    return Atom(AtomKind.WORD, text, span)


def _exchanged(atoms: Sequence[Atom]) -> Iterator[tuple[Mend, list[Atom]]]:
    for i in range(len(atoms) - 1):
        one, other = atoms[i], atoms[i + 1]
        mend = Mend(f"write `{other.text} {one.text}`", (Edit(one.span, other.text), Edit(other.span, one.text)))
        yield mend, [*atoms[:i], other, one, *atoms[i + 2 :]]


def _put_in(
    atoms: Sequence[Atom], miss: Mismatch, templates: Sequence[str]
) -> Iterator[tuple[Mend, list[Atom]]]:
    here = [word for piece in miss.wanted for word in _words_of(piece)]
    words = {word for template in templates for piece in pieces_of(template) for word in _words_of(piece)}
    places = dict.fromkeys([min(miss.index, len(atoms)), 0, *range(len(atoms))])
    rest = _rest_of(miss) if miss.index >= len(atoms) else ""
    if " " in rest:
        words_left = [_word(word, atoms[-1].span.after) for word in rest.split()]
        yield Mend(f"put in `{rest}`", (Edit(atoms[-1].span.after, f" {rest}"),)), [*atoms, *words_left]
    for i in places:
        for word in dict.fromkeys([*here, *sorted(words)]):
            if not i and miss.index and not any(pieces_of(t)[:2] == (word, atoms[0].text) for t in templates):
                continue  # it begins as something that is known, so nothing is missing before it
            if i < len(atoms):
                mend = Mend(f"put in `{word}`", (Edit(atoms[i].span.start, f"{word} "),))
                yield mend, [*atoms[:i], _word(word, atoms[i].span.start), *atoms[i:]]
            else:
                mend = Mend(f"put in `{word}`", (Edit(atoms[-1].span.after, f" {word}"),))
                yield mend, [*atoms, _word(word, atoms[-1].span.after)]


def _replaced(atoms: Sequence[Atom], miss: Mismatch) -> Iterator[tuple[Mend, list[Atom]]]:
    """The language's own word for another: `lands back` is `lands home`; and a text that stands without its quotes."""
    here = [word for piece in miss.wanted for word in _words_of(piece)]
    if not 0 < miss.index < len(atoms):
        return
    atom = atoms[miss.index]
    for word in _INSTEAD.get(atom.text, ()):
        if word in here:
            mend = Mend(f"write `{word}`", (Edit(atom.span, word),))
            yield mend, [*atoms[: miss.index], _word(word, atom.span), *atoms[miss.index + 1 :]]
    after = atoms[miss.index + 1] if miss.index + 1 < len(atoms) else None
    clock = any(isinstance(piece, Slot) and piece.kind == "clock" for piece in miss.wanted)
    if clock and atom.kind is AtomKind.NUMBER and after is not None and after.text in ("am", "pm"):
        mend = Mend(f"write `{atom.text}:00 {after.text}`", (Edit(atom.span.after, ":00"),))
        hour = Atom(AtomKind.CLOCK, f"{atom.text}:00 {after.text}", atom.span.to(after.span), 0)
        yield mend, [*atoms[: miss.index], hour, *atoms[miss.index + 2 :]]
    if atom.kind is AtomKind.WORD and any(isinstance(piece, Slot) and piece.kind == "text" for piece in miss.wanted):
        mend = Mend("put it in quotes", (Edit(atom.span, f'"{atom.text}"'),))
        text = Atom(AtomKind.TEXT, f'"{atom.text}"', atom.span, atom.text)
        yield mend, [*atoms[: miss.index], text, *atoms[miss.index + 1 :]]


def _parted(atoms: Sequence[Atom], templates: Sequence[str]) -> Iterator[tuple[Mend, list[Atom]]]:
    """A comma forgotten between two phrases: the first must fit; the second is seen to by itself."""
    firsts = {word for template in templates for word in _words_of(pieces_of(template)[0])}
    for i in range(1, len(atoms) - 1):
        if atoms[i].text == "and":
            span = atoms[i - 1].span.after.to(atoms[i].span)
            yield Mend("write a comma for `and`", (Edit(span, ","),)), list(atoms[:i])
    for i in range(1, len(atoms)):
        if atoms[i].text in firsts and isinstance(read_phrase(atoms[i:], templates, {}), Match):
            yield Mend(f"put a comma before `{atoms[i].text}`", (Edit(atoms[i - 1].span.after, ","),)), list(atoms[:i])
