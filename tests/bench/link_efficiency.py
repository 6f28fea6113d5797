"""How much of what goes over the line is program, for a program of 2,048 bytes on the virtual host board.

Run: `python tests/bench/link_efficiency.py`. Counts every byte on the line, both ways: headers, checks, COBS,
zeros, answers. Prints the share for the upload (open, pieces, close and verify, commit) and for all that a
flash does, with greeting, states, reading back and confirming. Demand: 85 % for the upload, both ways.
"""

from __future__ import annotations

import random
import sys
import tempfile
import zlib
from dataclasses import dataclass
from pathlib import Path

from sequencer.board.flash import flash
from sequencer.board.link import Link
from sequencer.board.ports import open_port
from sequencer.board.profiles import HOST
from sequencer.steps import Input, Output, Program, Routine, Step, encode

BYTES = 2048
DEMAND = 0.85


@dataclass(frozen=True, slots=True)
class Share:
    """What part of the bytes was program."""

    what: str
    program: int
    sent: int
    received: int

    @property
    def both_ways(self) -> float:
        return self.program / (self.sent + self.received)

    def __str__(self) -> str:
        one_way = self.program / self.sent
        return (
            f"{self.what:34} {self.sent:5} sent, {self.received:5} received: "
            f"{100 * self.both_ways:5.2f} % of all, {100 * one_way:5.2f} % of what is sent"
        )


def program_of(length: int) -> bytes:
    """An image of that length, with steps drawn at random so that nothing in it repeats."""
    rng = random.Random(1908)

    def image(steps: list[Step]) -> bytes:
        routine = Routine(steps=(*steps, Step("end")))
        outputs = (Output(pin=16), Output(pin=17))
        return encode(Program(HOST.kind, 9, outputs=outputs, inputs=(Input(pin=0),), routines=(routine,)))

    steps: list[Step] = []
    at = len(image([]))
    while at < length:
        short = length - at == 1 or rng.random() < 0.3
        steps.append(
            Step("set", (rng.randrange(2), rng.randrange(2)))
            if short
            else Step("wait", (rng.randrange(1, 16384),))
        )
        at += 1 if short else 2
    return image(steps)


def main() -> int:
    """Prints the shares; 1 where the demand is missed."""
    image = program_of(BYTES)
    with tempfile.TemporaryDirectory() as folder:
        link = Link(open_port(f"virtual://bench?board=host&file={Path(folder) / 'a.eeprom'}"))
        link.identify()
        sent, received = link.traffic.sent, link.traffic.received
        link.upload(image, HOST.kind)
        link.commit()
        upload = Share(
            "upload, opened to committed",
            len(image),
            link.traffic.sent - sent,
            link.traffic.received - received,
        )
        assert link.state().crc == zlib.crc32(image)
        link.close()
        link = Link(open_port(f"virtual://bench?board=host&file={Path(folder) / 'b.eeprom'}"))
        report = flash(link, image, HOST)
        whole = Share(
            "flash, with reading all of it back", len(image), report.bytes_sent, report.bytes_received
        )
        link.close()
    print(upload, whole, sep="\n")
    print(f"demand for the upload, both ways: {100 * DEMAND:.0f} %")
    return 0 if upload.both_ways >= DEMAND else 1


if __name__ == "__main__":
    sys.exit(main())
