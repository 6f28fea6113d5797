"""Power cut at every write of an upload, each with four kinds of torn byte, and again while it is loaded anew.

The packets are those of the tool itself: `flash` is run once on the bench and what it sends is noted, then said again
to a board whose power goes. What a board holds after a cut is what it says it runs, not what the memory looks like.
"""

from __future__ import annotations

import zlib
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from sequencer.board.flash import flash
from sequencer.board.frames import decode_answer, decode_request, unpack
from sequencer.board.framing import PacketReader
from sequencer.board.link import Link
from sequencer.board.protocol import STATE
from tests.firmware.bench.board import Packets, memory_with
from tests.firmware.bench.driver import CHIPS, Bench, BenchClock, BenchPort
from tests.firmware.bench.programs import ALARM, STOP, TRIGGER

TEARS = ("whole", "erased", "old and new", "anything")


@dataclass(frozen=True, slots=True)
class Upload:
    """What the board holds beforehand (None: nothing), and what is loaded."""

    board: str
    old: bytes | None
    new: bytes

    @property
    def allowed(self) -> dict[int, str]:
        """What it may run after a cut, by checksum; 0 is no program."""
        return {0 if self.old is None else zlib.crc32(self.old): "old", zlib.crc32(self.new): "new"}


@dataclass(slots=True)
class Outcome:
    """How many cuts there were, and what the board ran after them; `bad` tells each that was neither old nor new."""

    ran: Counter[str] = field(default_factory=Counter)
    bad: list[str] = field(default_factory=list)

    @property
    def cuts(self) -> int:
        return sum(self.ran.values()) + len(self.bad)

    def add(self, other: Outcome) -> None:
        self.ran += other.ran
        self.bad += other.bad


class _NotingPort(BenchPort):
    """Notes what is written."""

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self.written: list[bytes] = []

    def write(self, data: bytes) -> int:
        self.written.append(data)
        return super().write(data)


def packets_of_flash(upload: Upload) -> tuple[list[bytes], int]:
    """What `flash` sends, packet by packet, and how many bytes the board writes for it."""
    with _bench(upload) as bench:
        port = _NotingPort(bench)
        link = Link(port, "the bench", clock=BenchClock(bench))
        link.identify()
        flash(link, upload.new, bench.chip.profile)
        return _said_once(port.written), bench.stats()["writes"]


def _said_once(written: list[bytes]) -> list[bytes]:
    """The packets but for those asked again: the proof of a long program takes longer than the first wait."""
    kept: list[bytes] = []
    for packet in written:
        if not kept or packet.lstrip(b"\x00") != kept[-1].lstrip(b"\x00"):
            kept.append(packet)
    return kept


def sweep(
    upload: Upload, first: int, stride: int, again: tuple[int, int] | None = None, judge: Upload | None = None
) -> Outcome:
    """Cuts at writes `first`, `first` + `stride`, ...; with `again` each board is then loaded anew and cut at those.

    What it may run is what `upload` allows, or `judge` where one is given.
    """
    sent, _ = packets_of_flash(upload)
    packets = Packets(conversation=0x4321)
    verdict = [packets.greeting(), packets.make(STATE)]
    with _bench(upload) as bench:
        if again is not None:
            bench.do(f"sweep round 1 {again[0]} {again[1]}")
            for packet in sent:
                bench.do(f"sweep again {packet.hex()}")
        for packet in verdict:
            bench.do(f"sweep verdict {packet.hex()}")
        bench.do(f"sweep round 0 {first} {stride}")
        for packet in sent:
            bench.do(f"ask 1500 {packet.hex()}")
        return _judged(judge or upload, packets, bench.verdicts)


def _bench(upload: Upload) -> Bench:
    memory = memory_with(CHIPS[upload.board].profile, *([] if upload.old is None else [upload.old]))
    bench = Bench(upload.board, memory=memory)
    # An alarm input that nothing holds is pulled up, and is an alarm.
    for pin, high in ((TRIGGER, True), (STOP, True), (ALARM, False)):
        bench.set_input(pin, high)
    bench.power_on()
    bench.run_ms(150)
    return bench


def _judged(upload: Upload, packets: Packets, verdicts: Sequence[str]) -> Outcome:
    outcome = Outcome()
    request = decode_request((packets.sent or [])[-1])
    for verdict in verdicts:
        answer = verdict.split()[-1]
        try:
            packet = next(PacketReader().feed(bytes.fromhex(answer) + b"\x00"))
            values = unpack(STATE.answer, decode_answer(request, packet).body)
        except Exception as fault:
            outcome.bad.append(f"{verdict}: no answer that can be read ({fault!r})")
            continue
        crc = values["crc"] if values["length"] else 0
        ran = upload.allowed.get(int(crc))
        if ran is None or values["mode"] != 0:
            outcome.bad.append(f"{verdict}: it runs {crc:08x} in mode {values['mode']}")
        else:
            outcome.ran[ran] += 1
    return outcome
