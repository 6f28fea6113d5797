"""The grammar file -> the engine that reads lines by it, with tables that are kept between runs.

To make the tables takes lark ten times as long as a small show takes to be checked. Both what lark keeps for itself
and what is made of it here lie in the user's cache folder; neither is used for another grammar or another lark than
it was made of.
"""

from __future__ import annotations

import marshal
import os
import re
import sys
import zlib
from functools import cached_property, lru_cache
from importlib.machinery import PathFinder
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sequencer.data import cache_file, folder
from sequencer.language.automaton import ALONE, PUT_IN, Automaton, Rule, Scanner, Tables
from sequencer.language.build import HeadBuilder

if TYPE_CHECKING:
    from lark import Lark, UnexpectedInput

STARTS = (
    "show_line", "use_line", "let_line", "night_line", "part_line", "phrases_line", "scare_line", "idle_line",
    "gesture_line", "policy_line", "cue_line", "arm_line", "otherwise_line", "stop_line", "never_line",
    "at_most_line",
)
_PYTHON = f"{sys.version_info[0]}.{sys.version_info[1]}"


class Engine:
    """Reads lines with one builder: `quick` those that are right, `lark` says of the others what is wrong."""

    def __init__(self) -> None:
        self.builder = HeadBuilder()

    @cached_property
    def lark(self) -> Lark:
        from lark import Lark  # loaded with the first line that cannot be read

        kept = cache_file(f"grammar-{_PYTHON}") or False
        return Lark(_grammar().decode("utf-8"), parser="lalr", start=list(STARTS), transformer=self.builder,
                    maybe_placeholders=False, cache=kept)

    @cached_property
    def quick(self) -> Automaton:
        return Automaton(self._tables(), self.builder)

    def refusal(self, text: str, start: str) -> UnexpectedInput:
        """What lark has against a line that cannot be read."""
        from lark import UnexpectedInput

        try:
            self.lark.parse(text, start=start)
        except UnexpectedInput as error:
            return error
        raise AssertionError(f"lark reads what its tables do not: {text!r}")

    def _tables(self) -> Tables:
        file, made_of = cache_file(f"tables-{_PYTHON}"), _made_of()
        kept = _kept(file, made_of) if file and made_of else None
        if kept is None:
            kept = tables_of(self.lark)
            if file and made_of:
                _keep(file, made_of, kept)
        return kept


@lru_cache(maxsize=1)
def engine() -> Engine:
    return Engine()


def _grammar() -> bytes:
    return (folder("grammar") / "show.lark").read_bytes()


# What lark made of the grammar, as plain values


def tables_of(parser: Lark) -> Tables:
    """The tables inside lark's parser: it gives no other access to them than its own form for pickle."""
    table = parser.parser.parser._parse_table  # type: ignore[attr-defined]
    lexers = parser.parser.lexer.lexers  # type: ignore[attr-defined]
    # The rules first: actions name them by number.
    rules = list(dict.fromkeys(
        rule for row in table.states.values() for _, rule in row.values() if not isinstance(rule, int)))
    number = {rule: index for index, rule in enumerate(rules)}
    scanners: dict[int, Scanner] = {id(lexer): _scanner(parser, lexer) for lexer in lexers.values()}
    places = {key: index for index, key in enumerate(scanners)}
    states = range(max(table.states) + 1)
    return Tables(
        starts={str(start): (state, table.end_states[start]) for start, state in table.start_states.items()},
        actions=tuple(
            {str(kind): goes if isinstance(goes, int) else ~number[goes]
             for kind, (_, goes) in table.states.get(state, {}).items()} for state in states),
        scanner_of=tuple(places[id(lexers[state])] if state in lexers else 0 for state in states),
        scanners=tuple(scanners.values()),
        rules=tuple(map(_rule, rules)),
        blank="|".join(parser.get_terminal(name).pattern.to_regexp() for name in parser.parser.lexer_conf.ignore),
    )


def _rule(rule: Any) -> Rule:
    """As lark's tree builder goes about it with `maybe_placeholders=False`."""
    options, name = rule.options, rule.alias or rule.origin.name
    takes = tuple(
        (index, not symbol.is_term and symbol.name.startswith("_")) for index, symbol in enumerate(rule.expansion)
        if options.keep_all_tokens or not (symbol.is_term and symbol.filter_out))
    plain = len(takes) == len(rule.expansion) and not any(put_in for _, put_in in takes)
    # `?atom` stands for its one child, which is put in where the atom would be.
    alone = options.expand1 and not rule.alias
    assert not alone or (plain and len(takes) == 1), rule
    method = ALONE if alone else PUT_IN if name.startswith("_") else str(name)
    assert method in (ALONE, PUT_IN) or hasattr(HeadBuilder, method), f"{name} has no method"
    return Rule(str(rule.origin.name), len(rule.expansion), method, None if plain else takes)


def _scanner(parser: Lark, lexer: Any) -> Scanner:
    terms = [term for term in lexer.scanner.terminals if term.name not in parser.parser.lexer_conf.ignore]
    patterns = [term for term in terms if term.pattern.type == "re"]
    literals = tuple((str(term.pattern.value), str(term.name)) for term in terms if term.pattern.type == "str")
    assert not any(term.pattern.flags for term in lexer.terminals), "the quick reader knows of no flags"
    # Lark tries all in one order. Here blanks come first and literals last, which is the same where none of them can
    # be the beginning of a pattern.
    for term in patterns:
        begins = re.compile(term.pattern.to_regexp()).match
        assert not any(begins(text) for text in (" ", "\t", "\n", *(text for text, _ in literals))), term
    words = {
        str(kind): {str(term.pattern.value): str(term.name) for term in callback.scanner.terminals}
        for kind, callback in lexer.callback.items()}
    return Scanner("|".join(f"(?P<{term.name}>{term.pattern.to_regexp()})" for term in patterns), literals, words)


# What is kept between runs


def _made_of() -> bytes | None:
    """The whole of what the tables hang on: the grammar, which lark it is, and how they are made. None where one of
    these cannot be looked at: then nothing is kept.
    """
    lark = PathFinder.find_spec("lark")  # found and not loaded
    if lark is None or lark.origin is None:
        return None
    try:
        return b"\0".join((_grammar(), Path(lark.origin).read_bytes(), Path(__file__).read_bytes()))
    except OSError:
        return None


def _kept(file: str, made_of: bytes) -> Tables | None:
    try:
        data = Path(file).read_bytes()
        # `marshal` may not be given bytes that it did not write.
        if int.from_bytes(data[:4], "big") != zlib.crc32(data[4:]):
            return None
        before, starts, actions, scanner_of, scanners, rules, blank = marshal.loads(data[4:])
    except (OSError, ValueError, EOFError, TypeError):
        return None
    if before != made_of:
        return None
    return Tables(starts, actions, scanner_of, tuple(Scanner(*one) for one in scanners),
                  tuple(Rule(*one) for one in rules), blank)


def _keep(file: str, made_of: bytes, tables: Tables) -> None:
    scanners = tuple((one.pattern, one.literals, one.words) for one in tables.scanners)
    rules = tuple((one.origin, one.size, one.method, one.takes) for one in tables.rules)
    data = marshal.dumps((made_of, tables.starts, tables.actions, tables.scanner_of, scanners, rules, tables.blank))
    beside = f"{file}.{os.getpid()}"
    try:
        Path(beside).write_bytes(zlib.crc32(data).to_bytes(4, "big") + data)
        os.replace(beside, file)  # at once, so that no other run finds half of it
    except OSError:
        Path(beside).unlink(missing_ok=True)
