"""What the virtual board has lived through since it came up, in a file, so that the next command finds it so.

Each command opens the board anew. The journal holds how it came up (time of day, seed, log so far) and, with
its tick, all that reached the rules from outside; the rules are exact, so doing it again gives the same
board.
One JSON value a line. A last line that is cut off, as by a killed process, is left out.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from sequencer.board.firmware import ACTIONS, Action, BoardStart
from sequencer.board.log import LogRing, StartCause, unpack_entry

_SEEN = "seen"


@dataclass(frozen=True, slots=True)
class Life:
    """What a journal tells: when and how the board came up, what was done at which tick, when last seen."""

    started_ms: int
    start: BoardStart
    program_crc: int
    actions: tuple[tuple[int, Action], ...]
    last_tick: int


class BadJournal(Exception):
    """The file is no journal; it is then as if the power had been cut."""


class Journal:
    """The journal of one virtual board; a Recorder for its firmware."""

    __slots__ = ("_path", "_wall_ms")

    def __init__(self, path: Path) -> None:
        self._path = path
        self._wall_ms = 0

    def time_is(self, wall_ms: int) -> None:
        """Tells the time of day that a start would be noted with, in ms."""
        self._wall_ms = wall_ms

    def started(self, start: BoardStart, program_crc: int) -> None:
        """Begins anew: what was before is of no more use, but for the log."""
        head = {
            "started_ms": self._wall_ms,
            "seed": start.seed,
            "cause": int(start.cause),
            "program_crc": program_crc,
            "log_next": start.log.next_number,
            "log": [entry.pack().hex() for entry in start.log.entries()],
        }
        self._path.write_text(json.dumps(head) + "\n", encoding="ascii")

    def acted(self, tick: int, action: Action) -> None:
        """Notes an action."""
        self._append([tick, action[0], *action[1]])

    def seen(self, tick: int) -> None:
        """Notes that the board was still under power at this tick."""
        self._append([tick, _SEEN])

    def forget(self) -> None:
        """Forgets all, as a power cut does."""
        self._path.unlink(missing_ok=True)

    def life(self, log_room: int) -> Life | None:
        """What the file tells; None where there is none. Raises BadJournal."""
        if not self._path.exists():
            return None
        lines = self._path.read_text(encoding="utf-8", errors="replace").split("\n")
        try:
            head = json.loads(lines[0])
            entries = [unpack_entry(bytes.fromhex(text)) for text in head["log"]]
            start = BoardStart(
                StartCause(head["cause"]),
                int(head["seed"]),
                LogRing(log_room, entries, int(head["log_next"])),
            )
            # All lines end in a line feed, so what stands after the last one was cut off.
            rows = [json.loads(line) for line in lines[1:-1]]
            actions, last_tick = _actions(rows)
            return Life(int(head["started_ms"]), start, int(head["program_crc"]), actions, last_tick)
        except (ValueError, KeyError, TypeError, IndexError, AssertionError) as fault:
            raise BadJournal(str(fault)) from fault

    def _append(self, row: list[int | str]) -> None:
        with self._path.open("a", encoding="ascii") as file:
            file.write(json.dumps(row) + "\n")


def _actions(rows: list[list[int | str]]) -> tuple[tuple[tuple[int, Action], ...], int]:
    """The actions in the rows, and the last tick noted. ValueError or KeyError for a row that is none."""
    actions: list[tuple[int, Action]] = []
    last = 0
    for tick, verb, *numbers in rows:
        if not isinstance(tick, int) or tick < last or not all(isinstance(number, int) for number in numbers):
            raise ValueError("a row that is no action")
        last = tick
        if verb != _SEEN:
            if len(numbers) != ACTIONS[str(verb)]:
                raise ValueError(f"{verb} takes other numbers")
            actions.append((tick, (str(verb), tuple(int(number) for number in numbers))))
    return tuple(actions), last
