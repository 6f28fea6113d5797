"""The motion against the twenty reference motions, computed elsewhere at tight tolerance (`data/stroke_cases.json`)."""

from __future__ import annotations

import pytest

from tests.air.case_form import GIVEN, Case, errors_of, read_cases
from tests.bench.stroke_cases import holds


@pytest.mark.parametrize("case", read_cases(GIVEN), ids=lambda case: case.name)
def test_a_motion_keeps_the_demands_on_its_reference(case: Case) -> None:
    assert holds(case, errors_of(case, case.move()))
