"""The name of a command -> its file, loaded only when asked for, so that a check loads nothing of boards.

A command is the click command `command` of the module named after it (`reset-alarm` is in `reset_alarm`).
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import Any

import click

from sequencer import __version__
from sequencer.cli import trouble
from sequencer.cli.terminal import make_streams_forgiving
from sequencer.cli.text import listed
from sequencer.findings import closest

SECTIONS: dict[str, tuple[str, ...]] = {
    "A show": ("new", "check", "explain", "format", "dryrun", "compile", "disassemble", "shelf", "demo"),
    "Air": ("stroke", "size", "fit"),
    "A board": (
        "ports", "flash", "state", "arm", "disarm", "stop", "reset-alarm", "trip", "bench", "log", "readback",
        "trim", "power",
    ),
}  # fmt: skip
"""Every command, in the order in which it is listed."""

_COMPLETION = "_SEQUENCER_COMPLETE"


class LazyGroup(click.Group):
    """A group whose commands are loaded by name."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return [name for names in SECTIONS.values() for name in names]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in self.list_commands(ctx):
            return None
        module = import_module(f"sequencer.cli.{cmd_name.replace('-', '_')}")
        command: click.Command = module.command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        name = args[0]
        if not name.startswith("-") and name not in self.list_commands(ctx):
            near = closest(name, self.list_commands(ctx), 3)
            meant = f" Did you mean {listed(f'`{one}`' for one in near)}?" if near else ""
            raise click.UsageError(f"There is no command `{name}`.{meant}", ctx)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        for title, names in SECTIONS.items():
            commands = [(name, self.get_command(ctx, name)) for name in names]
            rows = [(name, command.get_short_help_str(90)) for name, command in commands if command]
            with formatter.section(title):
                formatter.write_dl(rows)

    def main(self, args: Sequence[str] | None = None, **extra: Any) -> Any:
        """As click's own, but for the end: it exits with the code of `run`."""
        if not extra.pop("standalone_mode", True):
            return super().main(args, standalone_mode=False, **extra)
        sys.exit(self.run(args))

    def run(self, args: Sequence[str] | None = None) -> int:
        """Runs one command; every fault becomes words and a code. Answers a shell that completes words."""
        make_streams_forgiving()
        voice = trouble.Voice()
        try:
            if asked := os.environ.get(_COMPLETION):
                from click.shell_completion import shell_complete

                return shell_complete(self, {}, "sequencer", _COMPLETION, asked)
            given = list(sys.argv[1:] if args is None else args)
            # Known before the words are read, so that a slip in them is told in the same form.
            voice.json = "--json" in given[: given.index("--") if "--" in given else None]
            with self.make_context("sequencer", given, obj=voice) as ctx:
                code = self.invoke(ctx)
            sys.stdout.flush()
        except BaseException as fault:
            return trouble.report(fault, voice)
        return code if isinstance(code, int) else 0


_SETTINGS = {"help_option_names": ["-h", "--help"], "max_content_width": 100}


_EXIT_CODES = (
    "Exit codes: 0 fine; 1 errors found in a show; 2 wrong use, or a file that cannot be used; "
    "3 trouble with a board or its port; 70 a fault of this tool."
)


@click.command(
    cls=LazyGroup, context_settings=_SETTINGS, epilog=_EXIT_CODES, no_args_is_help=False, invoke_without_command=True
)
@click.version_option(__version__, prog_name="sequencer")
@click.pass_context
def commands(ctx: click.Context) -> int | None:
    """Cue sheets for air-powered props: check them, dry-run them, load them onto a board.

    This is a tool for show controllers, not a safety device: a wired stop that cuts valve power and vents
    the air is yours to fit.
    """
    if ctx.invoked_subcommand is not None:
        return None
    click.echo(ctx.get_help())
    return trouble.WRONG_USE
