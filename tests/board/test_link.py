"""The link on lines that lose, spoil and repeat: right, or a clear error, and never done twice."""

from __future__ import annotations

import random

import pytest
from serial import SerialTimeoutException

from sequencer.board.errors import BoardError, BoardSilent, OtherVersion, Unplugged
from sequencer.board.frames import decode_request, encode_answer, pack
from sequencer.board.framing import PacketReader, wrap
from sequencer.board.link import FIRST_WAIT_S, TRIES, Link
from sequencer.board.profiles import AVR328
from sequencer.board.protocol import IDENTIFY, RATES_BAUD
from sequencer.steps import Mode, encode


class Tap:
    """A port that a test may spoil: which write's answer is lost, which is sent twice, when it is pulled."""

    def __init__(self, port, lose=lambda write: False, twice=lambda write: False, pull_at=None) -> None:
        self.port, self.lose, self.twice, self.pull_at = port, lose, twice, pull_at
        self.writes = 0

    def __getattr__(self, name: str):
        return getattr(self.port, name)

    @property
    def timeout(self):
        return self.port.timeout

    @timeout.setter
    def timeout(self, seconds) -> None:
        self.port.timeout = seconds

    @property
    def baudrate(self):
        return self.port.baudrate

    @baudrate.setter
    def baudrate(self, rate) -> None:
        self.port.baudrate = rate

    def write(self, data: bytes) -> int:
        if self.writes == self.pull_at:
            self.port.unplug()
        self.port.write(data)
        if self.twice(self.writes):
            self.port.write(data)
        if self.lose(self.writes):
            self.port.reset_input_buffer()
        self.writes += 1
        return len(data)


def acts_of(bench) -> list[str]:
    """What reached the rules, by the board's own journal."""
    lines = (bench.folder / "box.eeprom.journal").read_text().splitlines()[1:]
    return [line for line in lines if "seen" not in line]


@pytest.mark.parametrize("lost", range(TRIES - 1))
def test_a_request_whose_answers_are_lost_is_done_once(bench, lost):
    link = bench.loaded()
    link.port = Tap(link.port, lose=lambda write: write <= lost)
    link.drive(0, 255, 40)
    assert link.traffic.repeats == lost + 1
    assert len(acts_of(bench)) == 1


def test_a_request_that_arrives_twice_is_done_once_and_its_second_answer_confuses_nobody(bench):
    link = bench.loaded()
    link.port = Tap(link.port, twice=lambda write: True)
    for _ in range(9):
        link.drive(0, 255, 40)
    assert len(acts_of(bench)) == 9
    assert link.state().mode is Mode.DISARMED


def test_a_late_copy_of_an_older_request_is_not_done_again(bench):
    link = bench.loaded()
    sent: list[bytes] = []
    write = link.port.write
    link.port.write = lambda data: (sent.append(data), write(data))[1]
    link.drive(0, 255, 40)
    link.heartbeat()
    write(sent[0])
    link.state()
    assert [act.split('"')[1] for act in acts_of(bench)] == ["drive", "heartbeat"]


def test_the_same_request_from_the_next_command_is_done_again(bench):
    """Both conversations may come to the same sequence number: a new greeting forgets the old one."""
    bench.loaded().close()
    for _ in range(3):
        link = bench.link()
        link.drive(0, 255, 40)
        link.close()
        bench.wait(0.1)
    assert len(acts_of(bench)) == 3


def test_the_waits_double_and_then_the_slower_rate_is_tried(bench):
    link = bench.link()
    link.port.cut_power()
    began = bench.clock.now()
    with pytest.raises(BoardSilent) as silent:
        link.state()
    waited = bench.clock.now() - began
    assert waited == pytest.approx(2 * FIRST_WAIT_S * (2**TRIES - 1), rel=0.02)
    assert (silent.value.asked, silent.value.rates) == (2 * TRIES, RATES_BAUD)
    assert "state" in silent.value.sentence


def test_a_board_that_hears_the_slower_rate_only_is_found(bench):
    link = bench.link(rate=38_400)
    assert link.port.baudrate == 38_400
    asked = link.traffic.repeats
    link.state()
    assert link.traffic.repeats == asked


def test_a_line_that_sends_back_what_it_hears_is_silent(bench):
    import serial

    port = serial.serial_for_url("loop://")
    link = Link(port, "loop", rates=(115_200,), tries=2)
    with pytest.raises(BoardSilent):
        link.identify()


class Stranger:
    """A board of another version: its identify answer begins with that version and goes on as it likes."""

    def __init__(self, version: int) -> None:
        self.version, self.timeout, self.baudrate = version, 0.0, 115_200
        self.reader, self.answers = PacketReader(), b""

    @property
    def in_waiting(self) -> int:
        return len(self.answers)

    def write(self, data: bytes) -> int:
        for packet in self.reader.feed(data):
            self.answers += wrap(encode_answer(decode_request(packet), bytes([self.version, 1, 2])))
        return len(data)

    def read(self, size: int = 1) -> bytes:
        data, self.answers = self.answers[:size], self.answers[size:]
        return data


@pytest.mark.parametrize(("version", "update"), [(2, "this tool"), (0, "firmware")])
def test_a_board_of_another_version_is_named_with_what_to_update(version, update):
    with pytest.raises(OtherVersion, match=update) as other:
        Link(Stranger(version), "box").identify()
    assert (other.value.theirs, other.value.ours) == (version, 1)


class Full(Stranger):
    """A port that takes no bytes."""

    def write(self, data: bytes) -> int:
        raise SerialTimeoutException("Write timeout")


def test_a_port_that_takes_no_bytes_is_silent_and_not_unplugged():
    with pytest.raises(BoardSilent):
        Link(Full(1), "box").identify()


class OldTables(Stranger):
    """A board that reads another version of the step tables."""

    def write(self, data: bytes) -> int:
        values = {name.name: 1 for name in IDENTIFY.answer} | {"format_version": 250}
        for packet in self.reader.feed(data):
            self.answers += wrap(encode_answer(decode_request(packet), pack(IDENTIFY.answer, values)))
        return len(data)


def test_a_board_that_reads_other_step_tables_is_named():
    with pytest.raises(OtherVersion, match="step tables") as other:
        Link(OldTables(1), "box").identify()
    assert other.value.theirs == 250


def test_a_cable_pulled_at_any_request_is_an_unplug_and_the_old_program_stays_whole(bench, programs):
    old, new = encode(programs.lunge(1)), encode(programs.of_length(300, AVR328.kind))
    link = bench.loaded(programs.lunge(1))
    link.close()
    pulled, ended = 0, False
    while not ended:
        link = bench.link()
        link.port = Tap(link.port, pull_at=pulled)
        try:
            link.upload(new, AVR328.kind)
            link.commit()
            ended = True
        except Unplugged as fault:
            assert "has not been armed again" in fault.sentence
        link.close()
        state = bench.link()
        assert state.read_back(state.state().length) == (new if ended else old)
        state.close()
        pulled += 1
    assert pulled > 300 // 57 + 3


def uploads_over_a_bad_line(bench, faulty, programs, chance: float, count: int) -> tuple[int, int]:
    """Loads that many programs over a line at fault, each looked at over a sound one afterwards.

    Each byte is dropped, doubled, flipped or delayed (up to 300 ms) at that chance, both ways. Gives how many
    uploads were right and how many bytes were spoilt; a wrong program on the board fails the test.
    """
    rng = random.Random(1908)
    held = encode(programs.lunge(0))
    bench.loaded(programs.lunge(0)).close()
    right = faults = 0
    for number in range(count):
        image = encode(programs.of_length(150 + 6 * number, AVR328.kind))
        line = faulty(bench.port(), bench.clock, rng, chance)
        sure = False
        with Link(line, "box", clock=bench.clock) as link:
            try:
                link.identify()
                link.upload(image, AVR328.kind)
                assert link.read_back(len(image), upload=True) == image
                link.commit()
                link.confirm()
                sure = True
            except BoardError as fault:
                assert fault.sentence.endswith(".")
        faults += line.faults
        bench.wait(1)
        with bench.link() as clean:
            state = clean.state()
            now = clean.read_back(state.length)
        assert state.mode is Mode.DISARMED
        assert now == image if sure else now in (held, image)
        right += sure
        held = now
    return right, faults


def test_fifty_uploads_over_a_line_at_fault_in_one_byte_of_a_hundred_are_right(bench, faulty, programs):
    right, faults = uploads_over_a_bad_line(bench, faulty, programs, chance=0.01, count=50)
    assert faults > 300
    assert right >= 45


def test_uploads_over_a_line_too_bad_to_use_end_in_a_clear_error_and_never_in_a_wrong_program(bench, faulty, programs):
    right, faults = uploads_over_a_bad_line(bench, faulty, programs, chance=0.04, count=15)
    assert faults > 300
    assert right < 15
