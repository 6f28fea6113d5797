"""Power cuts over both AVR boards' store, and broken packets at the link: how many ended badly.

    python tests/bench/firmware_store.py

Every write of every kind of upload is cut in every way, with several seeds of pairs beside; a million packets with
wrong bytes are sent to a board that is in a conversation. Figures are printed, not asserted.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from sequencer.board.frames import encode_request
from sequencer.board.framing import cobs_encode
from sequencer.board.profiles import AVR328, AVR2560
from sequencer.board.protocol import DISARM, IDENTIFY, STATE
from tests.firmware.core.uploads import Bench, Went, after_corruption, after_double_cuts, after_single_cuts, long_upload
from tests.firmware.core.whole import Whole, build_whole

PACKETS = 1_000_000
_A_BATCH = 300


def damaged(draws: random.Random) -> bytes:
    """A request as it goes on the line, with bytes flipped, lost, doubled or put in; never as it was."""
    spec = draws.choice((STATE, DISARM))
    right = cobs_encode(encode_request(spec, draws.randrange(8), {}))
    while True:
        wrong = bytearray(right)
        for _ in range(draws.randint(1, 3)):
            at = draws.randrange(len(wrong))
            match draws.randrange(4):
                case 0:
                    wrong[at] ^= 1 << draws.randrange(8)
                case 1 if len(wrong) > 1:
                    del wrong[at]
                case 2:
                    wrong.insert(at, wrong[at])
                case _:
                    wrong.insert(at, draws.randrange(1, 256))
        if bytes(wrong) != right and 0 not in wrong:
            return bytes(wrong)


def answered(board: Whole, count: int) -> int:
    """To how many broken packets the board says anything."""
    board.renew()
    board.start()
    board.run(2)
    board.say(b"\x00" + cobs_encode(encode_request(IDENTIFY, 0, {"conversation": 7, "version": 1})) + b"\x00")
    board.run(20)
    assert board.hear(200), "the board is in a conversation"
    draws, found = random.Random(1), 0
    board.set_other_rate(255)
    for _ in range(count // _A_BATCH):
        board.say(b"".join(damaged(draws) + b"\x00" for _ in range(_A_BATCH)))
        board.run(_A_BATCH * 9 // 12)
        found += board.hear(4000).count(0)
    return found


def main() -> None:
    """Prints the counts."""
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        boards = {one: Whole(build_whole(Path(folder) / f"{one.name}.so", one), one) for one in (AVR328, AVR2560)}
        single = double = bad = 0
        for board in boards.values():
            bench = Bench(board)
            ended = after_single_cuts(bench, (long_upload(board.profile),))
            single += sum(ended.values())
            bad += sum(count for (_, how), count in ended.items() if how is Went.WRONG)
            ended = after_double_cuts(bench, 11, 2000)
            double += sum(ended.values())
            bad += sum(count for (_, how), count in ended.items() if how is Went.WRONG)
            wrong = after_corruption(bench, 5, 5000)
            bad += wrong[Went.WRONG]
        print(f"single cuts                    {single:>12,}")
        print(f"pairs of cuts                  {double:>12,}")
        print(f"damaged bytes                  {10_000:>12,}")
        print(f"of all these, neither old nor new {bad:>9,}")
        print(f"broken packets                 {PACKETS:>12,}")
        print(f"of them answered               {answered(boards[AVR328], PACKETS):>12,}")
    print(f"seconds                        {time.monotonic() - began:>12,.0f}")


if __name__ == "__main__":
    main()
