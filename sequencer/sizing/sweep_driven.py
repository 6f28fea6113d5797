"""A phrase of a part on the rod with a range in it -> the number that is swept, and the part with each value of it.

`lever rod 6..10 in from the pivot` sweeps where the rod is pinned; what else the lever says stays as it is.
"""

from __future__ import annotations

from collections.abc import Mapping

from sequencer.frozen import frozen
from sequencer.rig.shelf.read import values_said
from sequencer.sizing.driven import DRIVEN, SUCH_AS
from sequencer.sizing.made import Unfit, Value
from sequencer.units import UNITS


@frozen
class Phrase:
    """The words `before` and `after` a number, in a phrase of a part of that kind; it sets these fields."""

    kind: str
    before: str
    after: str
    fields: frozenset[str]

    @property
    def name(self) -> str:
        """What is swept, in the words of the phrase: `lever: rod`."""
        return f"{self.kind}: {self.before}"

    def with_(self, value: str) -> str:
        return " ".join(f"{self.before} {value} {self.after}".split())


def phrase_with_range(text: str) -> tuple[Phrase, str] | None:
    """The phrase and its range, such as `6..10 in`; None where the first word is no kind of what a rod drives.

    Raises Unfit where no phrase of that kind is meant.

    >>> phrase_with_range("lever rod 6..10 in from the pivot")[1]
    '6..10 in'
    """
    kind, _, rest = " ".join(text.split()).partition(" ")
    if kind not in DRIVEN:
        return None
    left, dots, right = rest.partition("..")
    before, low = _last_value(left)
    high, after = _first_value(right)
    if not dots or not low or not high:
        raise Unfit(kind, f"`{rest}` has no range such as `6..10 in` in the place of a value")
    unit = high.partition(" ")[2]
    try:
        fields = values_said(kind, [f"{before} {low if ' ' in low or not unit else f'{low} {unit}'} {after}"])
    except ValueError:
        raise Unfit(kind, f"a {kind} does not say `{rest}`; its phrases are as in `{SUCH_AS[kind]}`") from None
    return Phrase(kind, before, after, frozenset(fields)), f"{low}..{high}"


def with_value(said: Mapping[str, Value], phrase: Phrase, value: str) -> dict[str, Value]:
    """What was said, with that value in the phrase. Raises Unfit where not just one such part is on the rod."""
    texts = said.get(phrase.kind, ())
    assert isinstance(texts, tuple)
    if len(texts) != 1:
        have = "there is none" if not texts else f"there are {len(texts)}"
        raise Unfit(phrase.kind, f"a sweep of a {phrase.kind} needs just one on the rod, and {have}")
    kept = [one for one in map(str.strip, texts[0].split(",")) if one]
    at = next((number for number, one in enumerate(kept) if _sets(phrase, one)), len(kept))
    return {**said, phrase.kind: (", ".join([*kept[:at], phrase.with_(value), *kept[at + 1 :]]),)}


def _sets(phrase: Phrase, said: str) -> bool:
    try:
        return not phrase.fields.isdisjoint(values_said(phrase.kind, [said]))
    except ValueError:
        return False  # said by `given`, with what it should be


def _last_value(text: str) -> tuple[str, str]:
    """What stands before the last value, and that value, with its unit where it has one."""
    words = text.split()
    size = 2 if words and words[-1] in UNITS else 1
    value = words[-size:]
    return (" ".join(words[:-size]), " ".join(value)) if value and _is_number(value[0]) else (text, "")


def _first_value(text: str) -> tuple[str, str]:
    words = text.split()
    size = 2 if len(words) > 1 and words[1] in UNITS else 1
    value = words[:size]
    return (" ".join(value), " ".join(words[size:])) if value and _is_number(value[0]) else ("", text)


def _is_number(word: str) -> bool:
    return word.lstrip("-+")[:1].isdigit()
