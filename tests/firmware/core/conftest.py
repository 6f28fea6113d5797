"""The rules of the firmware, built once a session for each number of routines that run at once."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from tests.firmware.core.bench import Board, build
from tests.firmware.stories import RUNNING


@pytest.fixture(scope="session")
def boards(tmp_path_factory: pytest.TempPathFactory) -> Mapping[int, Board]:
    """A board for each number of slots that the stories are told with."""
    folder = tmp_path_factory.mktemp("rules")
    return {running: Board(build(folder / f"rules{running}.so", running)) for running in RUNNING}
