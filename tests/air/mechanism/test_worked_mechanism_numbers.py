"""The worked number in the text of each formula of the mechanisms is right."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import sequencer.air.mechanism

MODULES = [info.name for info in pkgutil.iter_modules(sequencer.air.mechanism.__path__)]


@pytest.mark.parametrize("module", MODULES)
def test_worked_numbers_are_right_and_there_are_some(module: str) -> None:
    result = doctest.testmod(importlib.import_module(f"sequencer.air.mechanism.{module}"))
    assert result.attempted > 0
    assert result.failed == 0
