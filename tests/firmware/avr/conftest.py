"""Without the cross compiler and the simulator there is nothing to test on; `.ci/run` sees to it that they are there.
"""

from __future__ import annotations

import pytest

from tests.firmware.bench.driver import missing_tools


@pytest.fixture(autouse=True, scope="session")
def bench_can_be_built():
    lacking = missing_tools()
    if lacking:
        pytest.skip(f"the bench needs {', '.join(lacking)}; on Debian: gcc-avr avr-libc libsimavr-dev libelf-dev")
