"""Uploads to a board in hand whose power goes: what was asked, and what the board says it runs afterwards."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from sequencer.board.errors import BoardError, BoardRefused
from sequencer.board.flash import flash
from sequencer.board.profiles import SLOT_HEADER_BYTES, Profile
from sequencer.board.protocol import refusal_named
from sequencer.steps import Output, Program, Routine, encode, step
from tests.firmware.core.whole import Torn, Whole, crc_of


def program_of(profile: Profile, number: int, steps: int) -> bytes:
    """The image of a small program that is told from others by its number and its length."""
    pins = tuple(Output(pin) for pin in range(2))
    body = tuple(step("set", n % 2, (n + number) % 2) if n % 2 else step("wait", 50 + n) for n in range(1, steps))
    return encode(Program(profile.kind, number, pins, (), (Routine((*body, step("end")), every=(60, 90)),)))


class Went(Enum):
    """How a try ended."""

    OLD = "the old program"
    NEW = "the new program"
    WRONG = "neither"


@dataclass(frozen=True, slots=True)
class Kind:
    """An upload under test: what the board held before (None: nothing), and what it is given."""

    name: str
    before: bytes | None
    new: bytes


def kinds(profile: Profile) -> tuple[Kind, ...]:
    """A first upload, one that replaces another, and one that differs in a byte or two (its commit is most of it)."""
    old, new = program_of(profile, 1, 22), program_of(profile, 2, 29)
    return (
        Kind("first", None, new),
        Kind("replacing", old, new),
        Kind("commit", old, program_of(profile, 3, 22)),
    )


@dataclass(slots=True)
class Bench:
    """A board in hand and the memory it has before each try."""

    board: Whole
    memory: bytes = b""

    def prepare(self, kind: Kind) -> int:
        """Brings the memory to where the upload begins; gives how many writes the upload makes."""
        board = self.board
        board.renew()
        board.start()
        if kind.before is not None:
            # Twice, so that the slot that is written into holds a whole program that is older.
            flash(board.link(), program_of(board.profile, 9, 25), board.profile)
            flash(board.link(), kind.before, board.profile)
        self.memory = board.memory
        board.plan_cut(0)
        flash(board.link(), kind.new, board.profile)
        assert board.program_crc == crc_of(kind.new)
        return board.writes

    def cut(self, kind: Kind, at_write: int, how: Torn, again: tuple[int, Torn] | None = None) -> Went:
        """One upload with the power going in that write, and, if asked, once more while the board comes up and is
        loaded anew; what it runs at last, by its own word and by the copy that it plays."""
        board = self.board
        board.memory = self.memory
        board.plan_cut(0)
        board.start()
        board.plan_cut(at_write, how)
        self._try(kind)
        if again is not None:
            board.plan_cut(*again)
            if board.start():
                self._try(kind)
        board.plan_cut(0)
        assert board.start(), "no cut is planned"
        return self.judge(kind)

    def _try(self, kind: Kind) -> None:
        link = self.board.link()
        link._tries = 1  # a board without power answers no try: one is enough, and saves time
        try:
            flash(link, kind.new, self.board.profile)
        except BoardError:
            assert not self.board.powered, "only the power made it fail"

    def judge(self, kind: Kind) -> Went:
        """By the board's own answer, which must agree with the copy in RAM."""
        board = self.board
        board.run(2)
        link = board.link()
        link.identify()
        state = link.state()
        assert state.crc == board.program_crc, "the board plays what it says it plays"
        old = 0 if kind.before is None else crc_of(kind.before)
        return {old: Went.OLD, crc_of(kind.new): Went.NEW}.get(state.crc, Went.WRONG)


def single_cuts(writes: int) -> Iterator[tuple[int, Torn]]:
    """Every write, in every way."""
    yield from ((at, how) for at in range(1, writes + 1) for how in Torn)


def double_cuts(draws: random.Random, writes: int, count: int) -> Iterator[tuple[int, Torn, int, Torn]]:
    """A first cut anywhere, and a second one in what comes after."""
    ways = list(Torn)
    for _ in range(count):
        second = draws.randint(1, writes)
        yield draws.randint(1, writes), draws.choice(ways), second, draws.choice(ways)


def long_upload(profile: Profile) -> Kind:
    """One that fills most of a slot."""
    steps = profile.limits.program_bytes * 3 // 5
    return Kind("long", program_of(profile, 1, 22), program_of(profile, 4, steps))


def after_single_cuts(bench: Bench, more: tuple[Kind, ...] = ()) -> Counter[tuple[str, Went]]:
    """Every write of every kind of upload, cut in every way."""
    ended: Counter[tuple[str, Went]] = Counter()
    for kind in (*kinds(bench.board.profile), *more):
        writes = bench.prepare(kind)
        for at, how in single_cuts(writes):
            ended[kind.name, bench.cut(kind, at, how)] += 1
    return ended


def after_double_cuts(bench: Bench, seed: int, count: int) -> Counter[tuple[str, Went]]:
    """So many pairs of cuts for each kind of upload."""
    ended: Counter[tuple[str, Went]] = Counter()
    draws = random.Random(seed)
    for kind in kinds(bench.board.profile):
        writes = bench.prepare(kind)
        for at, how, at_again, how_again in double_cuts(draws, writes, count):
            ended[kind.name, bench.cut(kind, at, how, (at_again, how_again))] += 1
    return ended


def after_corruption(bench: Bench, seed: int, count: int) -> Counter[Went]:
    """A byte of the slots becomes another while the board is without power: of two programs one is then still whole,
    and of two that are whole the newer one runs."""
    ended: Counter[Went] = Counter()
    draws, board = random.Random(seed), bench.board
    kind = kinds(board.profile)[1]
    bench.prepare(kind)
    after = board.memory
    slot = SLOT_HEADER_BYTES + board.profile.slot_bytes
    new, old = crc_of(kind.new), crc_of(kind.before or b"")
    for number in range(count):
        # Half of them in the first bytes of a slot, where all is decided. The newer program is in the first slot.
        at = draws.randrange(2 * slot) if number % 2 else draws.choice((0, slot)) + draws.randrange(SLOT_HEADER_BYTES)
        board.memory = after[:at] + bytes([after[at] ^ draws.randint(1, 255)]) + after[at + 1 :]
        board.start()
        board.run(2)
        right = (new, old) if at < slot else (new,)
        ended[Went.NEW if board.program_crc in right else Went.WRONG] += 1
    return ended


def trial_goes_back(bench: Bench) -> bool:
    """A watchdog reset takes back a program that nobody has confirmed, and no other."""
    board = bench.board
    kind = kinds(board.profile)[1]
    bench.prepare(kind)
    board.start(watchdog=True)
    stays = board.program_crc == crc_of(kind.new)
    board.memory = bench.memory
    board.start()
    link = board.link()
    link.identify()
    link.upload(kind.new, board.profile.kind)
    link.commit()
    runs = board.program_crc == crc_of(kind.new)
    board.start(watchdog=True)
    back = board.program_crc == crc_of(kind.before or b"")
    board.start()
    return stays and runs and back and board.program_crc == crc_of(kind.before or b"")


def wear_is_noticed(bench: Bench) -> bool:
    """A memory that keeps nothing from some byte on ends the upload with its address."""
    board = bench.board
    kind = kinds(board.profile)[0]
    bench.prepare(kind)
    board.renew()
    board.start()
    board.wear(16 + 60)
    link = board.link()
    try:
        flash(link, kind.new, board.profile)
    except BoardRefused as no:
        return (no.code, no.detail) == (refusal_named("memory").code, 60)
    except BoardError:
        return False
    return False


def shortfall(bench: Bench) -> str | None:
    """What the store does not hold to, in words; None where it holds to everything."""
    if not trial_goes_back(bench):
        return "a trial does not go back"
    if not wear_is_noticed(bench):
        return "wear goes unnoticed"
    if any(how is Went.WRONG for _, how in after_single_cuts(bench)):
        return "neither old nor new after a cut"
    if any(how is Went.WRONG for _, how in after_double_cuts(bench, 1, 150)):
        return "neither old nor new after two cuts"
    if after_corruption(bench, 1, 400)[Went.WRONG]:
        return "a damaged program runs"
    return None
