"""`never`, `at most ... extending` and `night` -> values. They are resolved here and proved elsewhere."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from sequencer.findings import Finding
from sequencer.language import name_rules as rules
from sequencer.language import tree
from sequencer.language.amounts import count_of, time_us
from sequencer.language.book import Book
from sequencer.language.wording import Speaking, word_mismatch
from sequencer.phrases import Mismatch, Ref, Value, read_phrase
from sequencer.show.model import AtMost, EndOfMotion, NeverSooner, NeverWhile, Night, Placed
from sequencer.units import Quantity

_STATES = {
    "cylinder": ("out", "home", "moving", "extending", "retracting"),
    "lamp": ("on", "off"), "motor": ("running", "stopped"), "pump": ("running", "stopped"),
    "fogger": ("running", "stopped"), "valve": ("open", "closed"), "speaker": ("playing", "silent"),
    "sensor": ("tripped", "clear"), "scare": ("running",), "idle": ("running",),
}
_EVENTS = {
    "cylinder": ("extends", "retracts"), "lamp": ("on", "off"), "motor": ("runs", "stops"),
    "pump": ("runs", "stops"), "fogger": ("runs", "stops"), "valve": ("opens", "closes"),
    "sensor": ("trips", "clears"), "scare": ("starts",), "idle": ("starts",),
}
_NIGHT = (
    "opens {opens:clock}",
    "closes {closes:clock}",
    "groups {groups:count} per hour",
    "of {least:count} to {most:count}",
    "passes {first:@sensor}",
    "passes {first:@sensor} then {next:@sensor} after {soonest:time} to {latest:time}",
    "then {next:@sensor} after {soonest:time} to {latest:time}",
)


def never(
    node: tree.Node, book: Book, parts: Mapping[str, Placed], prop: str | None
) -> NeverWhile | NeverSooner | None:
    """One `never:` line, or None, with findings, where it does not hold together."""
    head = node.head
    if isinstance(head, tree.NeverWhile):
        one, other = (_fact(fact, book, prop, _STATES) for fact in (head.one, head.other))
        return NeverWhile(one, other, node.span) if one and other else None
    assert isinstance(head, tree.NeverSooner)
    gap = time_us(head.gap, book.lets, book.findings, least_us=1000)
    first, second = (_fact(fact, book, prop, _EVENTS) for fact in (head.first, head.second))
    return NeverSooner(gap, first, second, node.span) if gap and first and second else None


def _fact(
    fact: tree.Phrase, book: Book, prop: str | None, words: Mapping[str, tuple[str, ...]]
) -> EndOfMotion | None:
    who, *says = fact.atoms
    name = book.look_up(who.text, who.span, words, prop)
    if name is None:
        return None
    kind = book.names[name].kind
    assert kind is not None
    of = Speaking(f"a {kind}", "state" if words is _STATES else "action")
    if not says:
        message = f"What of `{who.text}` is meant is missing: {', '.join(words[kind])}."
        book.findings.append(rules.WRONG_WORDS.at(who.span, message))
        return None
    outcome = read_phrase(says, words[kind], {})
    if isinstance(outcome, Mismatch):
        finding = word_mismatch(says, outcome, words[kind], {}, of)
        has = "" if finding.mends else f" It has: {', '.join(f'`{word}`' for word in words[kind])}."
        book.findings.append(replace(finding, message=finding.message + has))
        return None
    return EndOfMotion(name, outcome.template, fact.span)


def at_most(node: tree.Node, book: Book, prop: str | None) -> AtMost | None:
    """`at most 3 of ram, lever, drum extending`."""
    head = node.head
    assert isinstance(head, tree.AtMost)
    count = count_of(head.count, 1, 64, book.findings)
    names = [book.look_up(part.text, part.span, ("cylinder",), prop) for part in head.parts]
    if count is None or None in names:
        return None
    for name, part in zip(names, head.parts, strict=True):
        if names.count(name) > 1:
            book.findings.append(rules.SAID_TWICE.at(part.span, f"`{part.text}` stands here twice."))
            return None
    if count >= len(names):
        message = f"At most {count} of {len(names)} is always so."
        book.findings.append(rules.OUT_OF_RANGE.at(head.count.span, message))
        return None
    return AtMost(count, tuple(name for name in names if name is not None), node.span)


def night(node: tree.Node, book: Book) -> Night | None:
    """`night:` with its hours and visitors; None, with findings, where something is missing."""
    head = node.head
    assert isinstance(head, tree.Night)
    phrases = [*head.phrases]
    for child in node.block:
        if isinstance(child.head, tree.Properties):
            phrases += child.head.phrases
    said: dict[str, Value] = {}
    passes: list[tuple[str, int, int]] = []
    for phrase in phrases:
        outcome = read_phrase(phrase.atoms, _NIGHT, book.lets)
        if isinstance(outcome, Mismatch):
            of = Speaking("the night", "property")
            book.findings.append(word_mismatch(phrase.atoms, outcome, _NIGHT, book.lets, of))
            return None
        said |= outcome.values
        passes += _passed(outcome.values, book)
    return _night_of(node, said, tuple(passes), book.findings)


def _passed(values: Mapping[str, Value], book: Book) -> list[tuple[str, int, int]]:
    found: list[tuple[str, int, int]] = []
    for slot in ("first", "next"):
        if slot in values:
            ref, gaps = values[slot].value, [values[g].value for g in ("soonest", "latest") if slot == "next"]
            assert isinstance(ref, Ref)
            name = book.look_up(ref.name, values[slot].span, ref.kinds, None)
            least, most = ([gap.us for gap in gaps if isinstance(gap, Quantity)] or [0, 0])
            if name is not None:
                found.append((name, least, most))
    return found


def _night_of(
    node: tree.Node, said: Mapping[str, Value], passes: tuple[tuple[str, int, int], ...], findings: list[Finding]
) -> Night | None:
    due = {"opens": "opens 6:00 pm", "closes": "closes 10:30 pm", "groups": "groups 40 per hour"}
    missing = [f"`{example}`" for name, example in due.items() if name not in said]
    if missing:
        findings.append(rules.MISSING.at(node.span, f"A night needs {' and '.join(missing)}."))
        return None
    number = {name: value.value for name, value in said.items() if isinstance(value.value, int)}
    size = (number.get("least", 1), number.get("most", number.get("least", 1)))
    if size[0] > size[1] or size[0] < 1:
        findings.append(rules.OUT_OF_RANGE.at(said["least"].span, f"A group of {size[0]} to {size[1]} cannot be."))
        return None
    return Night(number["opens"], number["closes"], float(number["groups"]), size, passes, node.span)
