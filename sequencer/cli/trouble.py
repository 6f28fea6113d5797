"""What went wrong in the world or in this tool -> one sentence on stderr and an exit code; said only here.

Never a traceback, unless SEQUENCER_DEBUG=1 asks for one. Where `--json` was asked for, the fault is an object
on stdout too, so that a program reads it.
"""

from __future__ import annotations

import contextlib
import errno
import os
import sys
from dataclasses import dataclass

import click

from sequencer.cli.files import NoFolder
from sequencer.cli.say import say
from sequencer.cli.text import shell_word
from sequencer.findings import closest

FINDINGS = 1
WRONG_USE = 2
BOARD = 3
OUR_FAULT = 70
INTERRUPTED = 130
PIPE_CLOSED = 141
"""What a shell says of a program that ended because nobody read on (128 + SIGPIPE)."""


_OUTPUT = "the output"


@dataclass(slots=True)
class Voice:
    """How this run speaks, learnt while its options are read."""

    json: bool = False


class WrongUse(Exception):
    """The command cannot do what it was asked; the sentence says why and how it would work."""


def report(fault: BaseException, voice: Voice) -> int:
    """Says what went wrong and returns the exit code."""
    if isinstance(fault, click.exceptions.Exit):
        return fault.exit_code
    if isinstance(fault, SystemExit):
        return fault.code if isinstance(fault.code, int) else 0 if fault.code is None else OUR_FAULT
    if isinstance(fault, KeyboardInterrupt | click.Abort):
        return INTERRUPTED
    if isinstance(fault, BrokenPipeError):
        _let_go_of_stdout()
        return PIPE_CLOSED
    sentence, code = words(fault)
    sentence = " ".join([sentence, *getattr(fault, "__notes__", ())])
    _say(fault, sentence, voice)
    return code


def words(fault: BaseException) -> tuple[str, int]:
    """The sentence for people and the exit code."""
    if isinstance(fault, click.UsageError):
        command = fault.ctx.command_path if fault.ctx else "sequencer"
        return f"{_sentence(fault.format_message())} `{command} --help` says how it is used.", WRONG_USE
    if isinstance(fault, click.ClickException):
        return _sentence(fault.format_message()), WRONG_USE
    if isinstance(fault, WrongUse):
        return str(fault), WRONG_USE
    if _is_board_error(fault):
        return str(fault), BOARD
    if isinstance(fault, OSError):
        return _file_words(fault), WRONG_USE
    return _our_fault(fault), OUR_FAULT


def _sentence(message: str) -> str:
    """The words of the library that reads the command line, some of which end without a full stop."""
    return message if message.endswith((".", "?", "!")) else f"{message}."


def _is_board_error(fault: BaseException) -> bool:
    # Only a command that has loaded the board's package can have raised one of its errors.
    errors = sys.modules.get("sequencer.board.errors")
    return errors is not None and isinstance(fault, errors.BoardError)


def _file_words(fault: OSError) -> str:
    if fault.errno is None and fault.args:
        return f"{str(fault)[:1].upper()}{str(fault)[1:].rstrip('.')}."
    name = os.fsdecode(fault.filename) if isinstance(fault.filename, str | bytes) else _OUTPUT
    if isinstance(fault, NoFolder):
        return f"There is no folder {name}; make it first."
    match fault.errno:
        case errno.ENOENT:
            near = [shell_word(one) for one in files_like(name)]
            return f"There is no file or folder {name}." + (f" Did you mean {' or '.join(near)}?" if near else "")
        case errno.EACCES | errno.EPERM:
            return f"You may not use {name}; look at its permissions."
        case errno.EISDIR:
            return f"{name} is a folder; a file is wanted here."
        case errno.ENOTDIR:
            return f"{name} cannot be there, since a part of its path is a file."
        case errno.ENOSPC:
            return f"There is no room left on the disk for {name}."
        case _:
            why = fault.strerror or str(fault)
            return f"{name[:1].upper()}{name[1:]} cannot be used: {why}." if name == _OUTPUT else (
                f"{name} cannot be used: {why[:1].lower()}{why[1:].rstrip('.')}.")


def files_like(name: str, most: int = 2) -> tuple[str, ...]:
    """Files in the folder of the missing file `name` that were likely meant, likeliest first.

    A file counts as well where only its ending, capitals, or signs between words are another's.
    """
    folder, base = os.path.split(name)
    try:
        there = sorted(entry.name for entry in os.scandir(folder or ".") if entry.is_file())
    except (OSError, ValueError):
        return ()
    plain = [entry for entry in there if not entry.startswith(".")]
    stem = _letters(os.path.splitext(base)[0])
    # Shows first: nearly every command takes one.
    same = sorted((one for one in plain if stem and _letters(os.path.splitext(one)[0]) == stem), key=_is_no_show)
    found = dict.fromkeys([*same, *(() if same else closest(base, plain, most))])
    return tuple(os.path.join(folder, one) for one in found)[:most]


def _letters(text: str) -> str:
    return "".join(character for character in text.casefold() if character.isalnum())


def _is_no_show(name: str) -> bool:
    return not name.endswith(".show")


def _our_fault(fault: BaseException) -> str:
    place = "an unknown place"
    trace = fault.__traceback__
    while trace is not None:
        file = trace.tb_frame.f_code.co_filename
        # The deepest line of this tool's own says more than one of a library's.
        if os.path.dirname(os.path.dirname(__file__)) in file:
            place = f"{os.path.basename(file)}:{trace.tb_lineno}"
        trace = trace.tb_next
    return (
        f"This is a fault of sequencer itself, not of your show: {type(fault).__name__} at {place} "
        f"({fault}). "
        "Nothing more was done. Please report it with this line and the show; SEQUENCER_DEBUG=1 shows more."
    )


def _say(fault: BaseException, sentence: str, voice: Voice) -> None:
    with contextlib.suppress(OSError, ValueError):
        if voice.json:
            from sequencer.cli.formats import as_json

            print(as_json({"error": {"kind": type(fault).__name__, "message": sentence}}), flush=True)
    with contextlib.suppress(OSError, ValueError):
        say("error", sentence, err=True)
        if os.environ.get("SEQUENCER_DEBUG") == "1":
            import traceback

            traceback.print_exception(fault)


def _let_go_of_stdout() -> None:
    """Whatever is still buffered has no reader; without this the interpreter would complain at its end."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
