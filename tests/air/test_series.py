"""Laws of restrictions one behind the other and side by side, and the errors that the texts state."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sequencer.air.flow import Flow, share
from sequencer.air.needle import FlowControl, through_flow_control
from sequencer.air.series import choke_ratio_of_two, in_parallel, in_series, share_of_two, two_in_series
from sequencer.air.tube import tube_halves

FLOWS = st.builds(Flow, st.floats(0.32e-8, 3.2e-8), st.floats(0.1, 0.55))
"""C ratio of any two up to 10, as in the text of the module."""
RATIO = st.floats(0.02, 0.95)


@given(FLOWS, FLOWS, RATIO)
def test_the_exact_two_pass_less_than_either_alone(first: Flow, second: Flow, ratio: float) -> None:
    both = share_of_two(first, second, ratio)
    assert 0 < both <= first.c_m3_s_pa * share(ratio, first.b) * (1 + 1e-9)
    assert both <= second.c_m3_s_pa * (1 + 1e-9)


@given(FLOWS, FLOWS, RATIO)
def test_two_as_one_are_within_four_per_cent_of_the_exact_flow(first: Flow, second: Flow, ratio: float) -> None:
    """Measured worst: 2.7 % in 30,000 random ones. Source: the pressure between, solved."""
    one = two_in_series(first, second)
    assert one.c_m3_s_pa * share(ratio, one.b) == pytest.approx(share_of_two(first, second, ratio), rel=0.04)


@given(FLOWS, FLOWS, RATIO)
def test_the_rule_is_within_eleven_per_cent_of_the_exact_flow(first: Flow, second: Flow, ratio: float) -> None:
    """Measured worst: 9.8 % in 30,000 random ones. Source: the pressure between, solved."""
    one = in_series((first, second))
    assert one.c_m3_s_pa * share(ratio, one.b) == pytest.approx(share_of_two(first, second, ratio), rel=0.11)


@given(FLOWS, FLOWS)
def test_two_choke_where_their_flow_stops_to_grow(first: Flow, second: Flow) -> None:
    choke = choke_ratio_of_two(first, second)
    most = two_in_series(first, second).c_m3_s_pa
    assert share_of_two(first, second, choke * 0.999) == pytest.approx(most, rel=1e-6)
    assert share_of_two(first, second, min(choke + 0.1, 0.99)) < most


@given(st.lists(FLOWS, min_size=2, max_size=5))
def test_order_does_not_matter_to_the_rule_and_each_part_takes_away(parts: list[Flow]) -> None:
    path = in_series(parts)
    assert path.c_m3_s_pa == pytest.approx(in_series(reversed(parts)).c_m3_s_pa)
    assert path.c_m3_s_pa < min(part.c_m3_s_pa for part in parts)
    assert path.c_m3_s_pa < in_series(parts[1:]).c_m3_s_pa


@given(FLOWS, FLOWS, RATIO)
def test_side_by_side_pass_the_sum_within_four_per_cent(one: Flow, other: Flow, ratio: float) -> None:
    both = in_parallel((one, other))
    total = sum(part.c_m3_s_pa * share(ratio, part.b) for part in (one, other))
    assert both.c_m3_s_pa * share(ratio, both.b) == pytest.approx(total, rel=0.04)
    assert both.c_m3_s_pa == one.c_m3_s_pa + other.c_m3_s_pa


def test_one_part_is_itself_and_a_closed_part_closes_the_path() -> None:
    only, closed = Flow(1e-8, 0.7), Flow(0.0, 0.3)
    assert in_series((only,)) == only
    assert in_parallel((only,)).c_m3_s_pa == only.c_m3_s_pa
    assert in_parallel((closed, closed)).c_m3_s_pa == 0
    assert in_series((only, closed)).c_m3_s_pa == two_in_series(closed, only).c_m3_s_pa == 0


@pytest.mark.parametrize("combine", [in_series, in_parallel])
def test_no_part_at_all_is_refused(combine: object) -> None:
    with pytest.raises(ValueError, match="at least one"):
        combine(())  # type: ignore[operator]


def test_paths_of_a_prop_come_out_as_in_another_model_of_it() -> None:
    """Valve 1.3 and muffler 4 dm3/(s bar), 4.318 mm x 1.5 m of tube cut in half, a flow control open.

    Source: the parameters that an independent solver of the same motions lists for its base case, all digits.
    """
    half, volume = tube_halves(0.004318, 1.5)
    control = FlowControl()
    exhaust = in_series((Flow(1.3e-8, 0.3), Flow(4e-8, 0.3)))
    into = in_series((half, through_flow_control(control, 1.0, leaving=False)))
    out = in_series((half, through_flow_control(control, 1.0, leaving=True)))
    for ours, c, b in ((half, 1.569034820526082e-08, 0.3988831100985775),
                       (exhaust, 1.2854560747420533e-08, 0.2432826917644263),
                       (into, 1.0608570661571597e-08, 0.17812777434091764),
                       (out, 6.8042843378538856e-09, 0.22554901910881398)):
        assert ours.c_m3_s_pa == pytest.approx(c, rel=1e-9)
        assert ours.b == pytest.approx(b, rel=1e-9)
    assert volume == pytest.approx(2.1965769218876523e-05, rel=1e-9)
