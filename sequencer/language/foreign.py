"""Numbers written as elsewhere, `0,5 s`, `.5 s` and `12"`, and times of several numbers, `1 min 30 s` -> ours.

Works on plain text; what is said of a slip is worded by who found it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction

_FOREIGN = re.compile(r'\d(?:,(?=\d)|")|(?<![\w.])\.(?=\d)', re.ASCII)
_ONES = {",": ".", ".": "0.", '"': " in"}
_SECONDS = {"h": 3600, "min": 60, "s": 1, "ms": Fraction(1, 1000)}
_SUM = re.compile(r"(?P<big>\d+)\s*(?P<unit>h|min|s)\s*(?P<small>\d+)\s*(?P<rest>min|s|ms)?(?!\w)", re.ASCII)
_CLOCK = re.compile(r"(?P<big>\d+):(?P<small>[0-5]\d)(?!\w)(?:\s*(?:min|s)(?!\w))?", re.ASCII)
_NEXT = {"h": "min", "min": "s", "s": "ms"}


def may_be_foreign(text: str) -> bool:
    """A quick look, asked of every line there is."""
    return _FOREIGN.search(text) is not None


def foreign_numbers(text: str) -> Iterator[tuple[int, str]]:
    """The place of each comma, point or inch mark that is part of a number, outside quotes, with what to write there.

    >>> list(foreign_numbers('bore 1.5", rod 0,5 in, stroke .5"'))
    [(8, ' in'), (16, '.'), (30, '0.'), (32, ' in')]
    """
    inside, at = False, 0
    for match in _FOREIGN.finditer(text):
        place = match.end() - 1
        inside ^= text.count('"', at, place) % 2 == 1
        at = place
        if not inside:
            yield place, _ONES[text[place]]
            # An inch mark opens no text.
            at = place + 1


def summed_time(text: str) -> tuple[int, int, str] | None:
    """A time of several numbers at the beginning of `text`, as begin, end and one number with its unit; else None.

    >>> summed_time("1 min 30 s: eyes on"), summed_time("1:30 min: eyes on"), summed_time("+1 s 500 ms: eyes on")
    ((0, 10, '90 s'), (0, 8, '90 s'), (1, 11, '1.5 s'))
    """
    begin = len(text) - len(text.lstrip("+ "))
    clock = _CLOCK.match(text, begin)
    found = clock or _SUM.match(text, begin)
    if found is None:
        return None
    unit = "min" if clock else found["unit"]
    rest = _NEXT[unit] if clock else found["rest"] or _NEXT[unit]
    if _SECONDS[rest] >= _SECONDS[unit]:
        return None
    seconds = int(found["big"]) * _SECONDS[unit] + int(found["small"]) * _SECONDS[rest]
    return begin, found.end(), f"{float(seconds):.9g} s"
