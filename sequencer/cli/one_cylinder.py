"""What `stroke` and `size` share: options of what a rod drives, faults by their option, what both say at the end."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

import click

from sequencer.cli.say import say
from sequencer.cli.terminal import look_of
from sequencer.cli.text import indented
from sequencer.cli.trouble import WrongUse

if TYPE_CHECKING:
    from sequencer.sizing.given import Reach
    from sequencer.sizing.judge import Remark
    from sequencer.sizing.made import Unfit

OPTIONS = {"returned_by": "returns", "shift": "shifts-over", "quick_out": "quick-exhaust",
           "quick_back": "quick-exhaust"}
"""How a field is typed where that is not its name."""
DRIVEN = {
    "lever": "A lever on the rod, as in a show: `rod 8 in from the pivot, ...`.", "slide": "A slide.",
    "scissor": "A scissor.", "fourbar": "A four-bar linkage.", "rope": "A rope that lifts a second piece.",
    "spring": "A spring outside the cylinder.",
}
"""The options of what the rod drives, each with the phrases of such a part; each may come several times."""

reach_option = click.option("--reach", type=click.Choice(["none", "fenced", "possible"]),
                            help="Whether people can reach it.")


def driven_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options of `DRIVEN` on a command, in their order."""
    for kind, words in reversed(DRIVEN.items()):
        command = click.option(f"--{kind}", kind, multiple=True, metavar="PHRASES", help=words)(command)
    return command


def wrong(fault: Unfit, typed_as: dict[str, str] = OPTIONS) -> WrongUse:
    """The fault with the option it is about."""
    option = typed_as.get(fault.field, fault.field).replace("_", "-")
    stop = "" if str(fault).endswith("?") else "."
    return WrongUse(f"--{option}: {fault}{stop}")


def echo_folded(*rows: str) -> None:
    """Each row, folded at the width of the terminal."""
    room = look_of(sys.stdout).width
    for row in rows:
        click.echo("\n".join(indented(row, "", room)))


def say_assumed(assumed: Iterable[str]) -> None:
    """What was taken for what was not said; nothing where nothing was."""
    if words := "; ".join(assumed):
        say("note", f"Not said, so taken for granted: {words}.")


def say_reach(remarks: Iterable[Remark], reach: Reach | None) -> None:
    """The caution on people in reach, where a remark is about them."""
    from sequencer.sizing.judge import CONTACT

    if any(remark.kind in CONTACT for remark in remarks):
        from sequencer.cautions import caution

        asked = " Say `--reach none` or `--reach fenced` where nobody can." if reach is None else ""
        say("warning", caution("reach").text + asked)
