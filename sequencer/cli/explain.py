"""`explain CODE`: why a finding is one, the source of its limit, an example that fails and one mended."""

from __future__ import annotations

import sys

import click

from sequencer.cli.options import color_option, json_option
from sequencer.cli.terminal import ColourChoice, Look, look_of
from sequencer.cli.text import indented, listed
from sequencer.cli.trouble import WrongUse
from sequencer.findings import Rule, closest

_MOST_LINES = 40


@click.command()
@click.argument("code")
@json_option
@color_option
def command(code: str, as_json: bool, color: ColourChoice) -> None:
    """Say why a finding is one, with an example; `all` lists every code.

    CODE is a code such as C003.
    """
    from sequencer.checks import catalogue

    rules = catalogue()
    look = look_of(sys.stdout, color)
    everything = code.casefold() == "all"
    found = [rules[name] for name in sorted(rules)] if everything else [_rule_named(code, rules)]
    if as_json:
        from sequencer.cli.formats import as_json as json_of

        text = json_of({"rules": [_value(rule) for rule in found]})
    elif not everything:
        text = _whole(found[0], look)
    else:
        text = "\n".join(_line(rule, look) for rule in found)
    click.echo(text, color=look.colour)


def _rule_named(code: str, rules: dict[str, Rule]) -> Rule:
    rule = rules.get(code.upper())
    if rule is None:
        near = closest(code.upper(), rules, 3)
        meant = f" Did you mean {listed(near)}?" if near else " `sequencer explain all` lists them."
        raise WrongUse(f"There is no finding with the code {code}.{meant}")
    return rule


def _line(rule: Rule, look: Look) -> str:
    head = f"{rule.code}  {rule.severity.value:<7}  "
    first, *more = indented(rule.title, " " * len(head), look.width)
    painted = look.paint("place", rule.code) + head[len(rule.code) :]
    return "\n".join([painted + first[len(head) :], *more])


def _whole(rule: Rule, look: Look) -> str:
    parts = [
        [f"{look.paint(rule.severity.value, f'{rule.code} ({rule.severity.value})')}: {rule.title}"],
        indented(rule.why, "", look.width),
        indented(f"Source: {rule.source.rstrip('.')}.", "", look.width),
        ["Fails (> marks the lines that differ):", *_example(rule.failing, rule.mended, look)],
        ["Mended:", *_example(rule.mended, rule.failing, look)],
    ]
    parts += [[f"With {name}:", *_example(text, text, look)] for name, text in rule.companions.items()]
    return "\n\n".join("\n".join(part) for part in parts)


def _example(text: str, other: str, look: Look) -> list[str]:
    """The lines of an example, a `>` before those that the other one has not; of a long one the ends."""
    from difflib import SequenceMatcher

    from sequencer.cli.text import split_lines, visible

    lines, others = split_lines(text.rstrip()), split_lines(other.rstrip())
    same = {
        number for block in SequenceMatcher(None, lines, others, autojunk=False).get_matching_blocks()
        for number in range(block.a, block.a + block.size)
    }  # fmt: skip
    shown = [visible(line if len(line) <= 200 else line[:200] + " ...") for line in lines]
    rows = ["    " + line if number in same else look.paint("mend", "  > ") + line for number, line in enumerate(shown)]
    if len(rows) > _MOST_LINES:
        left = len(rows) - _MOST_LINES + 2
        rows = [*rows[: _MOST_LINES // 2], f"    ... ({left:,} more lines) ...", *rows[2 - _MOST_LINES // 2 :]]
    return [row.rstrip() for row in rows]


def _value(rule: Rule) -> dict[str, object]:
    return {
        "code": rule.code,
        "severity": rule.severity.value,
        "title": rule.title,
        "why": rule.why,
        "source": rule.source,
        "failing": rule.failing,
        "mended": rule.mended,
        "companions": rule.companions,
    }
