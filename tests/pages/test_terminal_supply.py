"""Lanes and words of a supply, from series put together by hand."""

from __future__ import annotations

from dataclasses import replace

from sequencer.dryrun.run import Asked, run
from sequencer.dryrun.timeline import Drawn, Series, Timeline
from sequencer.pages.terminal import draw_timeline
from sequencer.pages.terminal_view import View
from tests.dryrun.yards import LUNGE, setup_of

PSI = 6894.757
BENCH = Series("bench", "pressure", "psi", ((0, 90 * PSI), (2_000_000, 90 * PSI), (3_000_000, 72 * PSI),
                                            (4_000_000, 90 * PSI), (8_000_000, 90 * PSI)))
SHED = Series("shed", "runs", "%", ((0, 0.0), (4_000_000, 0.0), (4_000_000, 1.0), (6_500_000, 1.0),
                                    (6_500_000, 0.0), (8_000_000, 0.0)))


def timeline(*series: Series) -> Timeline:
    plain = run(setup_of(LUNGE), Asked((), 1, 8_000))
    return replace(plain, series=series, drawn=(Drawn("window.ram", 1.25), Drawn("pipe.blast", 2.5), Drawn("lid", 0.0)))


def lane(text: str, name: str) -> str:
    return next(line for line in text.split("\n") if line.strip().startswith(name))


def test_a_pressure_is_lowest_where_it_is_lowest_and_names_its_range() -> None:
    drawn = lane(draw_timeline(timeline(BENCH), View(width=100, ascii_only=True)), "bench 72-90 psi")
    cells = drawn.split("psi")[1].strip()
    assert cells[0] == cells[-1] == "9" and "1" in cells
    low = cells.index("1") / len(cells)
    assert abs(low - 3 / 8) < 0.05


def test_a_compressor_is_on_while_it_runs() -> None:
    cells = lane(draw_timeline(timeline(SHED), View(width=100, ascii_only=True)), "shed runs").split("runs")[1]
    on = [at for at, mark in enumerate(cells) if mark == "#"]
    assert on == list(range(on[0], on[-1] + 1))
    assert abs(len(on) / len(cells.rstrip()) - 2.5 / 6.5) < 0.15


def test_words_tell_the_least_and_when_how_long_it_ran_and_who_drew_most() -> None:
    text = " ".join(draw_timeline(timeline(BENCH, SHED), View(width=100)).split())
    assert "bench: 90 psi at first, least 72 psi at 3.00 s, 90 psi at the end" in text
    assert "shed: the compressor runs for 2.5 s in all" in text
    assert "free air in L: pipe.blast 2.50, window.ram 1.25" in text and "lid 0" not in text


def test_a_pressure_that_does_not_move_is_drawn_flat_and_without_a_fault() -> None:
    flat = replace(BENCH, points=((0, 90 * PSI), (8_000_000, 90 * PSI)))
    text = draw_timeline(timeline(flat), View(width=80, ascii_only=True))
    assert set(lane(text, "bench").split("psi")[1].strip()) <= {"9"}


def test_without_a_supply_there_is_no_lane_and_no_word_of_it() -> None:
    text = draw_timeline(replace(timeline(), drawn=()), View())
    assert "\nair\n" not in text and "least" not in text
