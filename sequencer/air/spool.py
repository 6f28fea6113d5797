"""Commands to a valve -> pieces of time in which both ports are connected to one thing each, equally far.

A port is fed (`S`), vented (`E`) or shut (`X`). While the spool shifts, the opening of a way runs from 1 to 0, then
that of the new way from 0 to 1; each half is cut into `STEPS` pieces, named by their middle opening. A port whose way
stays the same stays open.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from sequencer.air.cylinder import Spool
from sequencer.frozen import frozen

Way = Literal["S", "E", "X"]
STEPS = 4
"""Pieces of half a shift: 0.75 ms each for the usual 6 ms."""


@frozen
class Command:
    """From `at_s` the valve is to connect the cap end to `cap` and the rod end to `rod`.

    `energise`: whether a coil is switched on for it (its delay is the spool's `on_s`, else `off_s`).
    """

    at_s: float
    cap: Way
    rod: Way
    energise: bool


@frozen
class Piece:
    """Until `until_s` the ports are connected to `cap` and `rod`, opened so far (0 to 1).

    The openings are those of its middle; one that moves is `half` less and more at the ends.
    """

    until_s: float
    cap: Way
    rod: Way
    cap_opening: float = 1.0
    rod_opening: float = 1.0
    half: float = 0.5 / STEPS


def shifts(commands: Sequence[Command], spool: Spool) -> list[tuple[float, Command]]:
    """When the spool begins to move for each command: its delay after the command, or after the shift before it.

    A command that is followed by another before the spool has begun to move is as if it had never been. Raises
    ValueError where commands are not in the order of time.
    """
    found = list[tuple[float, Command]]()
    last = -math.inf
    for command in commands:
        if command.at_s < last:
            raise ValueError(f"a command at {command.at_s} s comes after one at {last} s")
        last = command.at_s
        while found and command.at_s < found[-1][0]:
            found.pop()
        ready = found[-1][0] + spool.shift_s if found else -math.inf
        begins = max(command.at_s, ready) + (spool.on_s if command.energise else spool.off_s)
        found.append((begins, command))
    return found


def pieces(before: tuple[Way, Way], commands: Sequence[Command], spool: Spool, until_s: float) -> list[Piece]:
    """The whole time from 0 to `until_s` cut where the equations change."""
    found = [Piece(math.inf, *before)]
    for begins, command in shifts(commands, spool):
        found = with_shift(found, begins, command, spool)
    return _within(found, until_s)


def with_shift(found: Sequence[Piece], begins: float, command: Command, spool: Spool,
               steps: int = STEPS) -> list[Piece]:
    """Pieces, the last of them without end, and one shift more that begins within it, each half of it in `steps`."""
    last, piece = found[-1], spool.shift_s / 2 / steps
    cap, rod = last.cap, last.rod
    more = [replace(last, until_s=begins)]
    same = command.cap == cap, command.rod == rod
    for step in range(2 * steps):
        share = (1 - (step + 0.5) / steps) if step < steps else (step + 0.5) / steps - 1
        if step == steps:
            cap, rod = command.cap, command.rod
        openings = (1.0 if stays else share for stays in same)
        more.append(Piece(begins + (step + 1) * piece, cap, rod, *openings, half=0.5 / steps))
    return [*found[:-1], *more, Piece(math.inf, cap, rod)]


def told_to(found: Sequence[Piece], begun: Sequence[float], command: Command,
            spool: Spool, steps: int = STEPS) -> tuple[list[Piece], tuple[float, ...]]:
    """The pieces from now on after one command more, and when the shifts in them begin (`begun`: those before it).

    The same as `shifts` says of commands that are all known: a shift that the command forestalls is taken out.
    """
    kept, ahead = list(found), list(begun)
    while ahead and command.at_s < ahead[-1]:
        gone = ahead.pop()
        last = next(at for at, piece in enumerate(kept) if piece.until_s >= gone)
        kept = [*kept[:last], replace(kept[last], until_s=math.inf)]
    ready = ahead[-1] + spool.shift_s if ahead else -math.inf
    begins = max(command.at_s, ready) + (spool.on_s if command.energise else spool.off_s)
    return with_shift(kept, begins, command, spool, steps), (*ahead[-1:], begins)


def _within(found: Sequence[Piece], until_s: float) -> list[Piece]:
    """What lies between 0 and `until_s`."""
    kept: list[Piece] = []
    for piece in found:
        if piece.until_s >= until_s:
            kept.append(replace(piece, until_s=until_s))
            break
        if piece.until_s > 0:
            kept.append(piece)
    return kept
