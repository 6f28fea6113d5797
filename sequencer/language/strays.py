"""Words that the grammar takes and that are wrong whatever the show declares, so that they are told as slips.

The grammar takes any words and values in a phrase; which parts know which is said by the parts. But a unit
without its number, two numbers in a row, a verb before who does it, or a stray word before the colon of a part are
wrong for every part there is. Told here they get the mend that a line out of grammar gets.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

from sequencer.frozen import frozen
from sequencer.language import tree
from sequencer.phrases import Atom, AtomKind, Slot, pieces_of
from sequencer.units import UNITS

if TYPE_CHECKING:
    from sequencer.language.build import Token

WITH_ACTIONS = ("cue_line", "arm_line", "otherwise_line", "stop_line")
# `in` is a unit and a word of some properties; these come before the word.
_BEFORE_IN = ("settles", "responds", "releases", "cuts")
# Verbs that a word follows; with that word alone, who does it may be missing as well as misplaced.
_WITH_WORDS = ("plays", "falls", "lands")
# Words between what a use of a gesture gives.
_JOINING = ("of", "and", "with")
_UNITS = frozenset(UNITS) | {"am", "pm"}
_BETWEEN = ("to", "over", "for", "at")


@frozen
class Stray:
    begin: int
    end: int
    message: str


@frozen
class Words:
    kinds: frozenset[str]
    of_kind: dict[str, frozenset[str]]
    properties: frozenset[str]
    verbs: frozenset[str]


@lru_cache(maxsize=1)
def words_of_parts() -> Words:
    """The words that properties and actions of the parts start with."""
    from sequencer.rig import KINDS  # heavy, and not needed to read a file of another room

    of_kind = {
        name: frozenset(word for phrase in kind.phrases for word in _first_of(phrase)) for name, kind in KINDS.items()
    }
    verbs = frozenset(word for kind in KINDS.values() for verb in kind.verbs for word in _first_of(verb.phrase))
    night = frozenset(("opens", "closes", "groups", "of", "passes"))
    return Words(
        frozenset(KINDS), of_kind, night.union(*of_kind.values()), verbs | {"of", "starts", "stops"}
    )


@lru_cache(maxsize=1)
def _actions() -> dict[str, tuple[tuple[str | Slot, ...], ...]]:
    """What may follow who, by its first word."""
    from sequencer.rig import KINDS

    phrases = ["starts", "stops", *(verb.phrase for kind in KINDS.values() for verb in kind.verbs)]
    found: dict[str, list[tuple[str | Slot, ...]]] = {}
    for phrase in dict.fromkeys(phrases):
        for word in _first_of(phrase):
            found.setdefault(word, []).append(pieces_of(phrase))
    return {word: tuple(forms) for word, forms in found.items()}


def fits_a_verb(phrase: list[Token]) -> bool:
    """Whether the words of an action, `eyes to 60 % over 2 s`, are in the order of some verb; of values only the sort
    is looked at. The use of a gesture always is."""
    return phrase[1] == "of" or any(_in_order(phrase[1:], form) for form in _actions().get(str(phrase[1]), ()))


def _in_order(tokens: list[Token], form: tuple[str | Slot, ...]) -> bool:
    at = 0
    for piece in form:
        if at >= len(tokens):
            return False
        token = tokens[at]
        if isinstance(piece, str):
            good, used = token == piece, 1
        elif piece.choices:
            good, used = str(token) in piece.choices, 1
        else:
            # A named quantity may be counted: `4 beat`.
            counted = token.type == "NUMBER" and at + 1 < len(tokens) and tokens[at + 1].type == "WORD"
            good, used = token.type in ("QUANTITY", "NUMBER", "WORD") and token not in _BETWEEN, 1
            if counted and len(tokens) - at > len(form) - form.index(piece):
                used = 2
        if not good:
            return False
        at += used
    return at == len(tokens)


def _first_of(phrase: str) -> tuple[str, ...]:
    first = pieces_of(phrase)[0]
    return first.choices if isinstance(first, Slot) else (first,)


def may_stray(head: tree.Head) -> bool:
    """A quick look at what was read; true where `find_stray` is worth its time."""
    if isinstance(head, tree.PartHead):
        words = words_of_parts()
        if head.kind.text not in words.kinds:
            return True
        if head.phrases and head.phrases[0].atoms[0].text not in words.of_kind[head.kind.text]:
            return True
    actions = getattr(head, "actions", ())
    return _holds_wrong_pair(head) or any(_wrong_action(phrase.atoms) for phrase in actions)


def _wrong_action(atoms: tuple[Atom, ...]) -> bool:
    """No verb at its place, or a use of a gesture with a word of it missing, doubled or too many."""
    if len(atoms) < 2:
        return False
    if atoms[1].text != "of":
        return atoms[1].text not in words_of_parts().verbs
    return atoms[-1].text in _JOINING or any(
        (one.text in _JOINING) == (other.text in _JOINING) and (one.text in _JOINING or one.kind is AtomKind.WORD)
        for one, other in pairwise(atoms[1:]))


def _holds_wrong_pair(value: object) -> bool:
    """Whether one of the phrases and amounts of a head has one. It is asked of every line there is."""
    kind = type(value)
    if kind is tree.Phrase:
        return _wrong_pair(value.atoms)  # type: ignore[attr-defined]
    if kind is tuple:
        return any(map(_holds_wrong_pair, value))  # type: ignore[call-overload]
    return kind in _HOLDING and any(_holds_wrong_pair(getattr(value, name)) for name in _HOLDING[kind])


_HOLDING = {kind: tuple(one.name for one in fields(kind)) for kind in (
    tree.PartHead, tree.Properties, tree.Night, tree.Cue, tree.Arm, tree.Otherwise, tree.Safe, tree.Let, tree.Rest,
    tree.ScareHead, tree.At, tree.After, tree.WhenSensor, tree.Repeat,
)}


def _wrong_pair(atoms: tuple[Atom, ...]) -> bool:
    before = False
    for atom in atoms:
        if atom.kind is AtomKind.WORD and atom.text in _UNITS:
            return True
        valued = atom.kind is AtomKind.NUMBER or atom.kind is AtomKind.QUANTITY
        if valued and before:
            return True
        before = valued
    return False


def find_stray(tokens: list[Token], start: str) -> Stray | None:
    """The first word of a line that parses and is wrong for every part; None where there is none."""
    head, tail = parted(tokens, start)
    found = [*_units_alone(tokens), *_values_in_a_row(tokens)]
    if start == "part_line":
        found += _before_the_colon(head)
    if start in WITH_ACTIONS:
        for phrase in phrases_of(tail):
            found += (*_verb_misplaced(phrase), *_joined_wrongly(phrase))
    return min(found, key=lambda stray: stray.begin, default=None)


def _units_alone(tokens: list[Token]) -> Iterator[Stray]:
    """A unit beside the bare number that lacks it: `s 2`, `2 for s`. Elsewhere it may be the name of a part."""
    for index, token in enumerate(tokens):
        if token.type != "WORD" or token not in _UNITS:
            continue
        after = tokens[index + 1] if index + 1 < len(tokens) else None
        around = (after, tokens[index - 2] if index > 1 else None)
        if token == "in" and (tokens[index - 1] in _BEFORE_IN or (after is not None and after.type == "WORD")):
            continue
        if any(other is not None and other.type == "NUMBER" for other in around):
            yield _stray(token, f"`{token}` is a unit and stands without its number.")


def _values_in_a_row(tokens: list[Token]) -> Iterator[Stray]:
    values = ("NUMBER", "QUANTITY")
    for one, other in pairwise(tokens):
        if one.type in values and other.type in values:
            yield _stray(other, f"Two values in a row: `{one}` and `{other}`.")


def _before_the_colon(head: list[Token]) -> Iterator[Stray]:
    words = words_of_parts()
    if head[0] not in words.kinds and head[1] in words.kinds:
        yield _stray(head[0], f"A part starts with its kind: `{head[1]}` comes before its name.")
    rest = head[2 + (len(head) > 2 and head[2].type == "STRING") :]
    rest = rest[2:] if rest and rest[0].type == "LIKE" else rest
    if rest and str(rest[0]) not in words.of_kind.get(str(head[0]), words.properties):
        before = next(token for token, after in pairwise(head) if after is rest[0])
        yield _stray(rest[0], f"After `{before}` comes `:` or a property, not `{rest[0]}`.")


def _verb_misplaced(phrase: list[Token]) -> Iterator[Stray]:
    """`retracts ram`, or a word too many before the verb."""
    verbs = words_of_parts().verbs
    if len(phrase) < 2 or phrase[1] in verbs:
        return
    if phrase[0] in verbs and not (phrase[0] in _WITH_WORDS and len(phrase) == 2):
        yield _stray(phrase[0], f"An action says first who, then what: `{phrase[0]}` comes after a name.")
    elif len(phrase) > 2 and phrase[2] in verbs:
        yield _stray(phrase[1], f"After `{phrase[0]}` comes what it does, not `{phrase[1]}`.")


def _joined_wrongly(phrase: list[Token]) -> Iterator[Stray]:
    """A gesture's use, `trade of eyes and glow with 2 and 3`, with a word of it missing, doubled or too many."""
    if len(phrase) < 2 or phrase[1] != "of":
        return
    for one, other in pairwise(phrase[1:]):
        if one in _JOINING and other in _JOINING:
            yield _stray(other, f"After `{one}` comes what is joined, not `{other}`.")
        elif one not in _JOINING and other not in _JOINING and one.type == "WORD":
            yield _stray(other, f"After `{one}` comes `and` or `with`, not `{other}`.")
    if phrase[-1] in _JOINING:
        yield _stray(phrase[-1], f"Nothing comes after `{phrase[-1]}`.")


def _stray(token: Token, message: str) -> Stray:
    return Stray(token.start_pos or 0, token.end_pos or 0, message)


def parted(tokens: list[Token], start: str) -> tuple[list[Token], list[Token]]:
    """The tokens before the first colon, and those behind it."""
    if start == "phrases_line":
        return [], tokens
    cut = next((i for i, token in enumerate(tokens) if token.type == "COLON"), len(tokens))
    return tokens[:cut], tokens[cut + 1 :]


def phrases_of(tail: list[Token]) -> Iterator[list[Token]]:
    """Properties or actions, parted by commas; nothing where a block is opened."""
    if tail and tail[-1].type == "COLON":
        return
    phrase: list[Token] = []
    for token in tail:
        if token.type == "COMMA":
            yield phrase
            phrase = []
        else:
            phrase.append(token)
    if phrase:
        yield phrase
