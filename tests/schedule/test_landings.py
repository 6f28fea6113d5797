"""Landings on a supply that gives way are switched so much earlier that they land in time; what never does is said."""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.findings import Span
from sequencer.schedule.landings import ENOUGH_US, MOST_ROUNDS, Landing, Taken, settled

ONE, OTHER = ("a.ram", Span("x.show", 1, 1, 1, 9), ()), ("b.ram", Span("x.show", 2, 1, 2, 9), ())
Laid = Mapping[Landing, int]


class Supply:
    """A made-up supply: `found` of what is allowed for each landing. Counts how often it was asked."""

    def __init__(self, alone: Laid, found) -> None:
        self.alone, self.found, self.asked = alone, found, 0

    def lay(self, allowed: Laid) -> Laid:
        return {**self.alone, **allowed}

    def takes(self, laid: Laid) -> dict[Landing, Taken]:
        self.asked += 1
        found = self.found(laid)
        return {landing: Taken(laid[landing], us) for landing, us in found.items()}

    def settled(self) -> tuple[Laid, Mapping[Landing, Taken]]:
        return settled(self.lay, lambda laid: laid, self.takes)


def test_what_the_supply_leaves_alone_is_laid_once_and_left() -> None:
    supply = Supply({ONE: 800_000}, lambda laid: {})
    assert supply.settled() == ({ONE: 800_000}, {})
    assert supply.asked == 1


@given(st.integers(200_000, 3_000_000), st.floats(0.0, 0.4), st.floats(-0.5, 0.5))
def test_landings_that_hang_a_little_on_when_they_are_switched_settle(alone: int, more: float, slope: float) -> None:
    def found(laid: Laid) -> dict[Landing, int]:
        return {ONE: round(alone * (1 + more) + slope * (laid[ONE] - alone))}

    supply = Supply({ONE: alone}, found)
    laid, left = supply.settled()
    assert left == {}
    assert abs(found(laid)[ONE] - laid[ONE]) <= max(ENOUGH_US, 0.01 * found(laid)[ONE])
    assert supply.asked <= MOST_ROUNDS


def test_two_that_disturb_each_other_settle_together() -> None:
    def found(laid: Laid) -> dict[Landing, int]:
        return {ONE: 900_000 + (laid[OTHER] - 800_000) // 3, OTHER: 950_000 + (laid[ONE] - 800_000) // 4}

    supply = Supply({ONE: 800_000, OTHER: 800_000}, found)
    laid, left = supply.settled()
    assert left == {}
    for landing, us in found(laid).items():
        assert laid[landing] == pytest.approx(us, abs=0.01 * us)


def test_one_that_jumps_to_and_fro_ends_and_is_said_with_the_best_that_was_found() -> None:
    """As a rod that bounces off its cushion when it is switched early, and does not when it is late."""
    supply = Supply({ONE: 800_000}, lambda laid: {ONE: 760_000 if laid[ONE] > 790_000 else 830_000})
    laid, left = supply.settled()
    assert supply.asked == MOST_ROUNDS
    assert abs(left[ONE].late_us) == 40_000
    assert laid[ONE] in (800_000, 790_000)


def test_one_that_never_arrives_is_said() -> None:
    supply = Supply({ONE: 800_000}, lambda laid: {ONE: laid[ONE] + 600_000})
    _, left = supply.settled()
    assert left[ONE].late_us == 600_000
