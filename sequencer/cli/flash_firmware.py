"""The part of `flash` that puts firmware on a board: through the general AVR loader, if it is there."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from sequencer.cli.ask import must_be_answerable, show_caution, type_yes
from sequencer.cli.door import FIND
from sequencer.cli.say import say
from sequencer.cli.trouble import WrongUse


def put_firmware(firmware: Path, port: str, yes: bool) -> dict[str, Any]:
    """Asks, has the loader write the firmware, and gives it as plain values. Raises BoardError, OSError, WrongUse."""
    from sequencer.board.loader import firmware_of, load_firmware

    if port == FIND or "://" in port:
        raise WrongUse("Firmware goes to a board by the name of its port, such as --port /dev/ttyUSB0.")
    target, code = firmware_of(firmware)
    show_caution("flash")
    must_be_answerable(yes)
    if not yes:
        type_yes(f"Write the firmware in {firmware} to the {target.board} on {port}?", "nothing was written")
    say("note", f"Writing {len(code)} bytes of firmware; this takes some seconds.", err=True)
    load_firmware(firmware, port)
    return {"file": str(firmware), "kind": target.board, "bytes": len(code)}
