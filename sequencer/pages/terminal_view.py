"""How a person wants a timeline drawn: the columns, the marks, colour, and which part of it."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.pages.terminal_marks import ASCII, COLOURS, PLAIN, RESET, Marks

LEAST_WIDTH = 40
"""Columns below which no lane can be read."""


@dataclass(frozen=True, slots=True)
class View:
    """Columns in all, marks, colour, and which ticks (`until` None: up to the end).

    `most_events` bounds the list below the lanes; the JSON form has them all. `only` are the headings of the lanes that
    are drawn, such as `scares` or the name of a prop; all where it is None.
    """

    width: int = 80
    ascii_only: bool = False
    colour: bool = False
    begin: int = 0
    until: int | None = None
    most_events: int = 60
    only: frozenset[str] | None = None

    @property
    def marks(self) -> Marks:
        return ASCII if self.ascii_only else PLAIN

    def coloured(self, text: str, kind: str) -> str:
        return f"{COLOURS[kind]}{text}{RESET}" if self.colour and text else text
