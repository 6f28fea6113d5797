"""`power off|on|cycle`: cuts the power of a virtual board, gives it back, or both."""

from __future__ import annotations

import urllib.parse

import click

from sequencer.cli.door import answer, board_at
from sequencer.cli.options import json_option, port_option
from sequencer.cli.say import say
from sequencer.cli.trouble import WrongUse


@click.command()
@click.argument("what", type=click.Choice(["off", "on", "cycle"]))
@port_option
@json_option
def command(what: str, port: str, as_json: bool) -> None:
    """Cut the power of a virtual board, or give it back. A real board has a plug.

    A virtual board without power gets it back with the next command that speaks to it. As on a real one, its
    log and its arming do not survive a power cut; its program does.
    """
    if not port.lower().startswith("virtual:"):
        raise WrongUse(f"Only the power of a virtual board can be switched from here; {port} is none.")
    if what != "on" and not as_json:
        forgets = "A board's log does not survive a power cut; where it is still wanted, `sequencer log` comes first."
        say("note", forgets, err=True)
    if what == "off":
        _cut(port, as_json)
        return
    # Not said by its URL, which now ends in what was asked for.
    with board_at(_with_power(port, what), quiet=True) as board:
        answer(board, board.link.state(), f"{port} has power.", as_json, power="on")


def _cut(port: str, as_json: bool) -> None:
    from sequencer.board.ports import open_port

    open_port(_with_power(port, "off")).close()
    if as_json:
        from sequencer.cli.formats import as_json as json_of

        click.echo(json_of({"board": {"port": port, "virtual": True}, "power": "off"}))
        return
    say("good", f"The power of {port} is cut. The next command that speaks to it gives it back, disarmed.")


def _with_power(port: str, what: str) -> str:
    """The URL with its option `power` set."""
    parts = urllib.parse.urlsplit(port)
    options = [(key, value) for key, value in urllib.parse.parse_qsl(parts.query) if key != "power"]
    query = urllib.parse.urlencode([*options, ("power", what)])
    return urllib.parse.urlunsplit((parts.scheme, parts.netloc, parts.path, query, parts.fragment))
