"""`ports`: the serial ports of this computer, what answers on each, and the virtual boards there are."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from sequencer.cli.options import DEFAULT_PORT, json_option
from sequencer.cli.say import say
from sequencer.cli.text import listed

if TYPE_CHECKING:
    from sequencer.board.ports import PortReport


@click.command()
@json_option
def command(as_json: bool) -> None:
    """List the serial ports and who answers on each. Asks, and changes nothing."""
    from sequencer.board.ports import survey

    reports = survey()
    virtual = _virtual_boards()
    if as_json:
        from sequencer.cli.formats import as_json as json_of

        click.echo(json_of({"ports": [_value(report) for report in reports], "virtual": virtual}))
        return
    for report in reports:
        about = f" ({report.place.description})" if report.place.description else ""
        answered = report.words if report.board else f"{report.words[:1].upper()}{report.words[1:]}"
        say("good" if report.board else "note", f"{report.place.device}{about}\n{answered}")
    if not reports:
        say("note", "This computer shows no serial port.")
    say("note", f"Virtual boards: {listed(virtual)}. A new one comes with its name: --port virtual://NAME.")


def _value(report: PortReport) -> dict[str, object]:
    place = report.place
    return {
        "device": place.device,
        "description": place.description,
        "serial_number": place.serial_number,
        "answers": report.board is not None,
        "words": report.words,
    }


def _virtual_boards() -> list[str]:
    """The default one, and those that have a memory file."""
    from sequencer.board.virtual import state_folder

    kept = sorted(f"virtual://{path.stem}" for path in state_folder().glob("*.eeprom"))
    return list(dict.fromkeys([DEFAULT_PORT, *kept]))
