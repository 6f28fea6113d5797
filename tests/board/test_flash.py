"""Loading a program: looks first, keeps the old one, is right or leaves the old one live."""

from __future__ import annotations

from dataclasses import replace

import pytest

from sequencer.board.errors import (
    BackupFailed,
    BadImage,
    BoardError,
    BoardRefused,
    FlashError,
    Unplugged,
    VerifyFailed,
    WrongBoardKind,
)  # fmt: skip
from sequencer.board.fitness import Unfit, fit_program
from sequencer.board.flash import flash
from sequencer.board.link import Link
from sequencer.board.profiles import AVR328, AVR2560, HOST
from sequencer.board.store import Standing
from sequencer.steps import Mode, encode
from sequencer.steps.listing import Names


def test_a_program_is_loaded_confirmed_and_progress_ends_at_all_of_it(bench, programs):
    image = encode(programs.of_length(300, AVR328.kind))
    link = bench.link()
    told: list[tuple[int, int]] = []
    report = flash(link, image, AVR328, lambda done, whole: told.append((done, whole)))
    assert (report.written, report.length, report.backup) == (True, len(image), None)
    assert told == sorted(told) and told[-1] == (2 * len(image), 2 * len(image))
    state = link.state()
    assert (state.standing, state.mode, state.crc) == (Standing.CONFIRMED, Mode.DISARMED, report.crc)
    assert link.read_back(len(image)) == image


def test_the_program_before_is_kept_in_a_file_and_can_be_loaded_again(bench, programs):
    old, new = encode(programs.lunge(1)), encode(programs.lunge(2))
    backup = bench.folder / "kept" / "old.bin"
    link = bench.loaded(programs.lunge(1))
    assert flash(link, new, AVR328, backup_path=backup).backup == backup
    assert backup.read_bytes() == old
    flash(link, backup.read_bytes(), AVR328)
    assert link.state().show == 1


def test_what_the_board_holds_already_is_not_sent_again(bench, programs):
    link = bench.loaded(programs.lunge(1))
    writes = link.port.memory.writes
    report = flash(link, encode(programs.lunge(1)), AVR328, backup_path=bench.folder / "old.bin")
    assert not report.written and link.port.memory.writes == writes
    assert not (bench.folder / "old.bin").exists()


def test_a_program_left_on_trial_is_confirmed_when_it_is_loaded_again(bench, programs):
    link = bench.link()
    link.upload(encode(programs.lunge(1)), AVR328.kind)
    link.commit()
    flash(link, encode(programs.lunge(1)), AVR328)
    assert link.state().standing is Standing.CONFIRMED


def test_an_armed_board_is_not_touched(bench, programs):
    link = bench.loaded(programs.lunge(1))
    link.arm()
    writes = link.port.memory.writes
    with pytest.raises(BoardRefused, match="armed"):
        flash(link, encode(programs.lunge(2)), AVR328)
    assert (link.state().mode, link.port.memory.writes) == (Mode.ARMED, writes)


def test_flashing_never_arms_and_the_board_comes_up_disarmed(bench, programs):
    link = bench.loaded(programs.lunge(1))
    flash(link, encode(programs.lunge(2)), AVR328)
    link.trip(0)
    bench.wait(0.05)
    assert (link.state().mode, link.levels(2)) == (Mode.DISARMED, (0, 0))


@pytest.mark.parametrize(
    ("image", "says"),
    [
        (b"", "program"),
        (bytes(100), "program"),
        (encode.__doc__.encode()[:60], "program"),
        (bytes(481), "481 bytes"),
    ],
)
def test_what_is_no_program_is_not_even_offered_to_the_board(bench, image, says):
    link = bench.link()
    sent = link.traffic.sent
    with pytest.raises(BadImage, match=says):
        flash(link, image, AVR328)
    assert link.traffic.sent == sent


def test_a_program_on_pins_the_board_lacks_is_not_sent(bench, programs):
    program = programs.lunge()
    link = bench.link()
    for outputs, says in (
        ((replace(program.outputs[0], pin=12), program.outputs[1]), "output 0 is on output pin number 13"),
        ((program.outputs[0], replace(program.outputs[1], pin=7)), "output 1 fades, and out1 of avr328 is"),
        ((program.outputs[0], replace(program.outputs[1], pin=6, fades=False)), "as another output is"),
    ):
        with pytest.raises(BadImage, match=says):
            flash(link, encode(replace(program, outputs=outputs)), AVR328)


def test_a_program_that_does_not_fit_is_told_with_the_names_of_its_author(programs):
    program = programs.lunge()
    names = Names(("window.eyes", "window.shove"), (), (), ())
    outputs = (program.outputs[0], replace(program.outputs[1], pin=7))
    fit = fit_program(encode(replace(program, outputs=outputs)), AVR328, names)
    assert isinstance(fit, Unfit)
    assert fit.sentence == "`window.shove` fades, and out1 of avr328 is only on or off"


def test_a_program_for_one_board_and_a_board_of_another_kind_are_told_apart(bench, programs):
    with pytest.raises(BadImage, match="avr2560"):
        flash(bench.link("a"), encode(programs.lunge(kind=AVR2560.kind)), AVR328)
    with pytest.raises(WrongBoardKind) as wrong:
        flash(bench.link("b", board="avr2560"), encode(programs.lunge()), AVR328)
    assert (wrong.value.program_for, wrong.value.board_is) == ("avr328", "avr2560")


def test_a_backup_that_cannot_be_written_stops_before_the_board_is_touched(bench, programs):
    link = bench.loaded(programs.lunge(1))
    writes = link.port.memory.writes
    (bench.folder / "file").write_text("in the way")
    with pytest.raises(BackupFailed):
        flash(link, encode(programs.lunge(2)), AVR328, backup_path=bench.folder / "file" / "old.bin")
    assert link.port.memory.writes == writes


def test_a_board_that_reads_back_something_else_is_not_committed(bench, programs):
    class Liar(Link):
        def read_back(self, length, *, upload=False, progress=None):
            data = super().read_back(length, upload=upload, progress=progress)
            return data[:20] + b"\x00" + data[21:] if upload else data

    honest = bench.loaded(programs.lunge(1))
    link = Liar(honest.port, "box", clock=bench.clock)
    image = encode(programs.of_length(200, AVR328.kind))
    assert image[20] != 0
    with pytest.raises(VerifyFailed) as failed:
        flash(link, image, AVR328)
    assert failed.value.offset == 20
    assert link.state().show == 1


def test_a_cable_pulled_at_any_request_of_a_flash_is_named_and_flashing_again_mends_it(bench, programs):
    images = [encode(programs.lunge(1)), encode(programs.of_length(200, AVR328.kind))]
    at, finished = 0, False
    while not finished:
        bench.wait(2_000)
        (bench.folder / "box.eeprom").unlink(missing_ok=True)
        bench.loaded(programs.lunge(1)).close()
        link = bench.link()
        write, count = link.port.write, 0

        def pulled(data, port=link.port, write=write, last=at):
            nonlocal count
            if count == last:
                port.unplug()
            count += 1
            return write(data)

        link.port.write = pulled
        try:
            flash(link, images[1], AVR328)
            finished = True
        except Unplugged:
            pass
        link.close()
        again = bench.link()
        assert again.read_back(again.state().length) in images
        flash(again, images[1], AVR328)
        assert again.state().standing is Standing.CONFIRMED
        again.close()
        at += 1
    assert at > 12


def test_a_board_that_comes_up_with_another_program_is_not_confirmed(bench, programs):
    class Forgets(Link):
        def commit(self):
            pass

    honest = bench.loaded(programs.lunge(1))
    with pytest.raises(FlashError, match="does not run the program"):
        flash(Forgets(honest.port, "box", clock=bench.clock), encode(programs.lunge(2)), AVR328)


def test_every_fault_of_a_flash_is_of_the_one_family():
    for kind in (BackupFailed, BadImage, BoardRefused, Unplugged, VerifyFailed, WrongBoardKind):
        assert issubclass(kind, BoardError)


def test_a_large_program_goes_onto_the_host_board(bench, programs):
    image = encode(programs.of_length(2048, HOST.kind))
    link = bench.link(board="host")
    assert flash(link, image, HOST).length == 2048
    assert link.read_back(2048) == image
