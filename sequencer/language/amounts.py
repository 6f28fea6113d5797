"""Times, counts and ranges in cue lines -> whole microseconds and integers, with findings where they are not."""

from __future__ import annotations

from collections.abc import Mapping

from sequencer.findings import Edit, Finding, Mend
from sequencer.language import name_rules as rules
from sequencer.language import tree
from sequencer.language.wording import Speaking, word_mismatch
from sequencer.phrases import Atom, Match, read_phrase
from sequencer.units import Quantity

LONGEST_US = 3_600_000_000
MOST_ROUNDS = 65_535
_TIME = "{amount:time}"


def time_us(
    phrase: tree.Phrase, lets: Mapping[str, Quantity], findings: list[Finding], least_us: int = 0
) -> int | None:
    """A time of the show in microseconds, `least_us` to one hour; None, with a finding, for anything else."""
    outcome = read_phrase(phrase.atoms, (_TIME,), lets)
    if not isinstance(outcome, Match):
        of = Speaking("a cue line", "time")
        findings.append(word_mismatch(phrase.atoms, outcome, (_TIME,), lets, of))
        return None
    quantity = outcome.values["amount"].value
    assert isinstance(quantity, Quantity)
    if least_us <= quantity.us <= LONGEST_US:
        return quantity.us
    low = "0 s" if not least_us else "1 ms"
    mends = ()
    if quantity.text.startswith("-"):
        mends = (Mend("take out the `-`", (Edit(phrase.span, quantity.text[1:]),)),)
    message = f"{quantity.text} is outside {low} to 1 h."
    findings.append(rules.OUT_OF_RANGE.at(phrase.span, message, mends=mends))
    return None


def in_ms(phrase: tree.Phrase, lets: Mapping[str, Quantity]) -> bool:
    """Whether a time is written in milliseconds."""
    atom = phrase.atoms[-1]
    quantity = atom.value if isinstance(atom.value, Quantity) else lets.get(atom.text)
    return quantity is not None and quantity.unit.symbol == "ms"


def count_of(atom: Atom, least: int, most: int, findings: list[Finding]) -> int | None:
    """A whole number in a range; None, with a finding, for anything else."""
    value = atom.value
    if isinstance(value, Quantity) or value is None or getattr(value, "denominator", 0) != 1:
        findings.append(rules.WRONG_WORDS.at(atom.span, f"Here comes a whole number, not `{atom.text}`."))
        return None
    number = int(value)  # type: ignore[call-overload]
    if not least <= number <= most:
        findings.append(rules.OUT_OF_RANGE.at(atom.span, f"{atom.text} is outside {least} to {most:,}."))
        return None
    return number


def let_quantities(nodes: list[tree.Let], findings: list[Finding]) -> dict[str, Quantity]:
    """Named quantities, in the order of the text; each may be a multiple of an earlier one."""
    lets: dict[str, Quantity] = {}
    for let in nodes:
        quantity = _any_quantity(let.amount, lets)
        if quantity is None:
            message = f"`{let.name.text}` is to name a quantity such as `462 ms`."
            findings.append(rules.NO_UNIT.at(let.amount.span, message))
        elif let.name.text in lets:
            findings.append(rules.TWICE.at(let.name.span, f"`{let.name.text}` is declared twice."))
        else:
            lets[let.name.text] = quantity
    return lets


def _any_quantity(phrase: tree.Phrase, lets: Mapping[str, Quantity]) -> Quantity | None:
    first = phrase.atoms[0]
    if isinstance(first.value, Quantity):
        return first.value
    named = lets.get(phrase.atoms[-1].text)
    if named is None:
        return None
    outcome = read_phrase(phrase.atoms, (f"{{amount:{named.dimension}}}",), lets)
    if not isinstance(outcome, Match):
        return None
    quantity = outcome.values["amount"].value
    assert isinstance(quantity, Quantity)
    return quantity
