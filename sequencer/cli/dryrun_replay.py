"""A show and the log of the board that ran it -> the same night again, and whether it comes out as the board noted."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sequencer.cli.files import read_text_file
from sequencer.cli.say import say
from sequencer.cli.terminal import ColourChoice
from sequencer.cli.text import counted, shell_word
from sequencer.cli.trouble import FINDINGS, WrongUse

if TYPE_CHECKING:
    from sequencer.board.log import LogNames
    from sequencer.board.replay import Difference, Numbered, Replay
    from sequencer.schedule import Compiled

_FIELDS = ("number", "tick", "kind", "subject", "value")


def replay_logs(compiled: Compiled, logs: tuple[Path, ...], as_json: bool, color: ColourChoice) -> int:
    """Plays the logs, as `log --json` writes them, and says what came out. Exit code 1 where it differs.

    Raises WrongUse for a file that is no log, one of another program, and a log that cannot be played.
    """
    from sequencer.board.profiles import profile_by_kind
    from sequencer.board.replay import CannotReplay, merged, replay

    profile = profile_by_kind(compiled.program.board)
    assert profile is not None
    read = [_entries(path, compiled) for path in logs]
    try:
        night = replay(compiled.program, profile.limits, merged(read))
    except CannotReplay as no:
        sentence = str(no)
        raise WrongUse(sentence[:1].upper() + sentence[1:]) from no
    if as_json:
        from sequencer.cli.formats import as_json as json_of

        click.echo(json_of(_value(night)))
    else:
        _say(night, _names(compiled), color)
    return FINDINGS if night.difference else 0


def _entries(path: Path, compiled: Compiled) -> tuple[Numbered, ...]:
    from sequencer.board.log import LogEntry

    try:
        value = json.loads(read_text_file(path).text)
        rows = [[row[field] for field in _FIELDS] for row in value["entries"]]
        program = value["program"]
        kept = (program["bytes"], program["crc32"])
        assert all(isinstance(number, int) and number >= 0 for row in rows for number in row)
    except (ValueError, KeyError, TypeError, AssertionError):
        raise WrongUse(
            f"{path} is no log of a board; write one with `sequencer log --json > {shell_word(path.name)}`."
        ) from None
    _refuse_other_program(path, kept, compiled)
    return tuple((number, LogEntry(tick, kind, subject, amount)) for number, tick, kind, subject, amount in rows)


def _refuse_other_program(path: Path, kept: tuple[int, str], compiled: Compiled) -> None:
    from zlib import crc32

    from sequencer.steps import encode

    image = encode(compiled.program)
    own = (len(image), f"{crc32(image):08x}")
    if kept != own:
        raise WrongUse(
            f"{path} is the log of another program: {kept[0]} bytes with checksum {kept[1]}, where this show has "
            f"{own[0]} bytes with checksum {own[1]}; give the show that was loaded."
        )


def _names(compiled: Compiled) -> LogNames:
    from sequencer.board.log import LogNames

    names = compiled.names
    return LogNames(names.outputs, names.inputs, names.routines, names.clips)


def _say(night: Replay, names: LogNames, color: ColourChoice) -> None:
    from sequencer.board.log import entry_words
    from sequencer.steps import OutputEdge

    for event in night.events:
        if isinstance(event, OutputEdge):
            over = f" over {event.over / 1000:.3f} s" if event.over else ""
            who = names.outputs[event.output] if event.output < len(names.outputs) else f"output {event.output}"
            click.echo(f"{event.tick / 1000:>11.3f} s  {who} to {100 * event.level / 255:.0f} %{over}")
        else:
            from sequencer.board.log import entry_of

            entry = entry_of(event)
            if entry is not None:
                click.echo(f"{event.tick / 1000:>11.3f} s  {entry_words(entry, names)}")
    span = f"from the arming at {night.begins / 1000:.3f} s to {night.ends / 1000:.3f} s"
    if night.difference is None:
        say("good", f"The night comes out as the board noted it: {_counted(night.compared)} "
            f"{span}, and {counted(len(night.edges), 'edge')} of outputs.", color=color)  # fmt: skip
    else:
        say("error", f"The night comes out otherwise than the board noted it, after "
            f"{_counted(night.compared)} {span}. {_contrast(night.difference, names)}",
            color=color)  # fmt: skip
    sys.stdout.flush()


def _counted(entries: int) -> str:
    return "1 entry" if entries == 1 else f"{entries} entries"


def _contrast(difference: Difference, names: LogNames) -> str:
    from sequencer.board.log import LogEntry, entry_words

    def words(entry: LogEntry | None) -> str:
        return "nothing" if entry is None else f"{entry_words(entry, names)}, at {entry.tick / 1000:.3f} s"

    return f"The board noted: {words(difference.logged)}. By the rules: {words(difference.played)}."


def _value(night: Replay) -> dict[str, Any]:
    difference = night.difference
    return {
        "begins": night.begins,
        "ends": night.ends,
        "compared": night.compared,
        "difference": None
        if difference is None
        else {"logged": _entry(difference.logged), "played": _entry(difference.played)},
        "edges": [
            {"tick": edge.tick, "output": edge.output, "level": edge.level, "over": edge.over} for edge in night.edges
        ],
    }


def _entry(entry: object) -> dict[str, int] | None:
    return None if entry is None else {field: int(getattr(entry, field)) for field in _FIELDS[1:]}
