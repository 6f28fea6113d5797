"""A port's URL -> the board behind it, greeted, with a word on which board it is.

Every command that speaks to a board goes through here, so that none does so without saying to which. Without
`--port` that is the built-in virtual board: real hardware is only ever moved by name, or by `--port find`,
which takes the one board that answers and refuses where there are several.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NoReturn

import click

from sequencer.cli.options import DEFAULT_PORT
from sequencer.cli.say import say
from sequencer.cli.text import shell_word, visible

if TYPE_CHECKING:
    from sequencer.board.link import BoardState, Identity, Link

FIND = "find"


@dataclass(frozen=True, slots=True)
class Board:
    """An open conversation with a board."""

    link: Link
    identity: Identity

    @property
    def port(self) -> str:
        return self.link.name

    @property
    def is_virtual(self) -> bool:
        return self.port.lower().startswith("virtual:")

    @property
    def words(self) -> str:
        """Which board this is, for a person."""
        from sequencer.board.ports import who

        kind = "the built-in virtual board" if self.is_virtual else "a board"
        return f"{kind} on {visible(self.port)} ({who(self.identity)})"

    def value(self) -> dict[str, Any]:
        """Which board this is, as plain values."""
        from sequencer.board.profiles import profile_by_kind

        profile = profile_by_kind(self.identity.kind)
        return {
            "port": self.port,
            "virtual": self.is_virtual,
            "kind": profile.name if profile else self.identity.kind,
            "firmware": "{}.{}".format(*self.identity.firmware),
        }


@contextmanager
def board_at(port: str, quiet: bool = False) -> Iterator[Board]:
    """The board on this port, closed again at the end. Says which one it is on stderr unless `quiet`.

    Raises BoardError.
    """
    from sequencer.board.errors import BoardRefused
    from sequencer.board.ports import find_board

    link, identity = find_board(None if port == FIND else port)
    with link:
        board = Board(link, identity)
        if not quiet:
            say("note", f"This is {board.words}.", err=True)
        try:
            yield board
        except BoardRefused as fault:
            if port != DEFAULT_PORT and "`sequencer " in fault.reason:
                fault.add_note(f"Say `--port {shell_word(port)}` there too.")
            raise


def must_be_there(port: str) -> None:
    """Raises BoardError for a port that plainly cannot be had, before anything is opened, made or asked."""
    from sequencer.board.ports import refuse_missing

    if port != FIND:
        refuse_missing(port)


@contextmanager
def must_be_confirmed() -> Iterator[None]:
    """Adds to whatever goes wrong inside that the board has not made itself safe, and what to do then."""
    try:
        yield
    except Exception as fault:
        fault.add_note("The board has not confirmed it: cut its power and shut the air by hand, now.")
        raise


def state_with_program(board: Board, request: str) -> BoardState:
    """The board's state. Raises BoardRefused for `request` where it holds no program to do it with."""
    state = board.link.state()
    if not state.length:
        refuse(request, "no program")
    return state


def refuse(request: str, reason: str, detail: int = 0) -> NoReturn:
    """Says for the board, in its words, what it would say itself; `reason` is one of its refusals."""
    from sequencer.board.errors import BoardRefused
    from sequencer.board.protocol import refusal_named

    raise BoardRefused(request, refusal_named(reason).code, detail)


def mode_words(state: BoardState) -> str:
    """What the board is doing, in a word or two."""
    from sequencer.steps import Mode

    return {
        Mode.DISARMED: "disarmed",
        Mode.ARMED: "armed",
        Mode.STOPPED: "stopped",
        Mode.ALARMED: "in house alarm",
    }[state.mode]


def answer(board: Board, state: BoardState, said: str, as_json: bool, **more: Any) -> None:
    """The end of a board command: one line for a person, or one object for a program."""
    if as_json:
        from sequencer.cli.formats import as_json as json_of

        click.echo(json_of({"board": board.value(), "mode": state.mode.name.lower(), **more}))
    else:
        say("good", f"{said} The board is {mode_words(state)}.".lstrip())
