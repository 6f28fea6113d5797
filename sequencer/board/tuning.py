"""How fast a board's clock runs against this computer's: questions and their answers' times -> an error and its bound.

A board with a ceramic resonator counts up to some 5 ms a second too few or too many (from memory), and a scare drifts
away from its sound. So the board is asked for its time over a while, and given a trim (`settings`) by which it makes
its ticks longer or shorter.

An answer says only that the board counted `tick` at some time between question and answer. Many questions close in on
the time at which its count turned over; done at the start and at the end, the delay of the line cancels.
"""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.board.clock import Clock, ComputerClock
from sequencer.board.errors import BoardError
from sequencer.board.link import Link, Progress
from sequencer.board.settings import MOST_TRIM, TRIM_UNIT, corrected_trim

MEASURE_S = 20.0
"""How long, in s, unless told: the count turns over within some 0.2 ms of where it is seen, so 10 to 20 ppm are left
(of the simulated board; of a USB adapter assumed alike)."""
QUESTIONS = 120
"""Asked at either end."""
_ROUNDS = 4


class ClockBeyondTrim(BoardError):
    """The board's clock is further off than a trim can correct."""

    def __init__(self, error: float) -> None:
        way = "fast" if error > 0 else "slow"
        super().__init__(
            f"The board's clock runs {100 * abs(error):.2f} % {way}, "
            f"more than the {100 * MOST_TRIM * TRIM_UNIT:.1f} % "
            "that can be corrected; its crystal or resonator is the wrong one or broken, or its fuses are set for "
            "another clock."
        )
        self.error = error


class ClockNotMeasured(BoardError):
    """The answers do not fit one clock: the board has started anew meanwhile, or the line lost too many."""

    def __init__(self) -> None:
        super().__init__(
            "The board's clock could not be measured: it started anew meanwhile, or too many answers were lost; "
            "try again with a short cable and no other program on the port."
        )


@dataclass(frozen=True, slots=True)
class ClockError:
    """By how much a board's clock is fast, as a share (0.001: a ms a second; negative: slow).

    `bound` is how far the truth can be from it at most; it is far nearer as long as the line's delay is steady.
    """

    error: float
    bound: float
    seconds: float


@dataclass(frozen=True, slots=True)
class Tuned:
    """What was done to a board's clock: its trim before and after, and the error found in between."""

    before: int
    after: int
    found: ClockError


@dataclass(frozen=True, slots=True)
class _Sample:
    """The board counted `tick` at some time from `asked` to `answered`, in s."""

    tick: int
    asked: float
    answered: float


def measure_clock(
    link: Link, seconds: float = MEASURE_S, clock: Clock | None = None, progress: Progress | None = None
) -> ClockError:
    """The error of the clock by which the board goes now. Takes `seconds`. Raises BoardError."""
    clock = clock or ComputerClock()
    origin = clock.now()
    first = _ask_often(link, clock, origin)
    while (left := origin + seconds - clock.now()) > 0:
        if progress is not None:
            progress(int(1000 * (seconds - left)), int(1000 * seconds))
        clock.sleep(min(left, 0.2))
    last = _ask_often(link, clock, origin)
    if progress is not None:
        progress(int(1000 * seconds), int(1000 * seconds))
    return error_of(first, last)


def tune(
    link: Link, seconds: float = MEASURE_S, clock: Clock | None = None, progress: Progress | None = None
) -> Tuned:
    """Measures the board's clock and has the board keep the trim that makes it right. Raises BoardError."""
    before = link.trim().trim
    found = measure_clock(link, seconds, clock, progress)
    after = corrected_trim(before, found.error)
    if abs(after) > MOST_TRIM:
        raise ClockBeyondTrim(found.error)
    link.trim(after)
    return Tuned(before, after, found)


def error_of(first: tuple[_Sample, ...], last: tuple[_Sample, ...]) -> ClockError:
    """The error that two lots of samples tell of. Raises ClockNotMeasured where no clock fits them."""
    rate, half = 1.0, 0.0
    apart = _middle(last) - _middle(first)
    if apart <= 0 or last[0].tick <= first[-1].tick:
        raise ClockNotMeasured
    for _ in range(_ROUNDS):
        (start, half_first), (end, half_last) = _offset(first, rate), _offset(last, rate)
        rate += (end - start) / (1000 * apart)
        half = half_first + half_last
    if half < 0:
        raise ClockNotMeasured
    return ClockError(rate - 1, half / (1000 * apart), apart)


def _offset(samples: tuple[_Sample, ...], rate: float) -> tuple[float, float]:
    """The board's time at origin by these samples, in ms, if its clock runs at `rate`, and how sure that is."""
    least = max(sample.tick - 1000 * rate * sample.answered for sample in samples)
    most = min(sample.tick + 1 - 1000 * rate * sample.asked for sample in samples)
    return (least + most) / 2, (most - least) / 2


def _middle(samples: tuple[_Sample, ...]) -> float:
    return sum(sample.answered for sample in samples) / len(samples)


def _ask_often(link: Link, clock: Clock, origin: float) -> tuple[_Sample, ...]:
    samples: list[_Sample] = []
    for _ in range(QUESTIONS):
        repeats = link.traffic.repeats
        asked = clock.now() - origin
        tick = link.trim().tick
        # A question asked twice may have been answered to its first or its second asking.
        if link.traffic.repeats == repeats:
            samples.append(_Sample(tick, asked, clock.now() - origin))
    if len(samples) < QUESTIONS // 2:
        raise ClockNotMeasured
    return tuple(samples)
