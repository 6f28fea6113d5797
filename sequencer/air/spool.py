"""Commands to a valve -> pieces of time in which both ports are connected to one thing each, equally far.

A port is fed (`S`), vented (`E`) or shut (`X`). While the spool shifts, the opening runs from 1 to 0 and the other
way's from 0 to 1; each half is cut into `STEPS` pieces that have their middle opening.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from sequencer.air.cylinder import Spool

Way = Literal["S", "E", "X"]
STEPS = 4
"""Pieces of half a shift: 0.75 ms each for the usual 6 ms."""


@dataclass(frozen=True, slots=True)
class Command:
    """From `at_s` the valve is to connect the cap end to `cap` and the rod end to `rod`.

    `energise`: whether a coil is switched on for it (its delay is the spool's `on_s`, else `off_s`).
    """

    at_s: float
    cap: Way
    rod: Way
    energise: bool


@dataclass(frozen=True, slots=True)
class Piece:
    """Until `until_s` the ports are connected to `cap` and `rod`, open by `opening` (0 to 1)."""

    until_s: float
    cap: Way
    rod: Way
    opening: float


def shifts(before: tuple[Way, Way], commands: Sequence[Command], spool: Spool) -> list[tuple[float, Command]]:
    """When the spool begins to move for each command: its delay after the command, or after the shift before it.

    Raises ValueError where commands are not in the order of time.
    """
    ready, found = -math.inf, []
    for command in commands:
        if found and command.at_s < found[-1][1].at_s:
            raise ValueError(f"a command at {command.at_s} s comes after one at {found[-1][1].at_s} s")
        begins = max(command.at_s, ready) + (spool.on_s if command.energise else spool.off_s)
        ready = begins + spool.shift_s
        found.append((begins, command))
    return found


def pieces(before: tuple[Way, Way], commands: Sequence[Command], spool: Spool, until_s: float) -> list[Piece]:
    """The whole time from 0 to `until_s` cut where the equations change."""
    found: list[Piece] = []
    (cap, rod), piece = before, spool.shift_s / 2 / STEPS
    for begins, command in shifts(before, commands, spool):
        found.append(Piece(begins, cap, rod, 1.0))
        found += [Piece(begins + (i + 1) * piece, cap, rod, 1 - (i + 0.5) / STEPS) for i in range(STEPS)]
        cap, rod = command.cap, command.rod
        found += [Piece(begins + (STEPS + i + 1) * piece, cap, rod, (i + 0.5) / STEPS) for i in range(STEPS)]
    found.append(Piece(math.inf, cap, rod, 1.0))
    kept = []
    for one in found:
        if one.until_s > 0:
            kept.append(Piece(min(one.until_s, until_s), one.cap, one.rod, one.opening))
        if one.until_s >= until_s:
            break
    return kept
