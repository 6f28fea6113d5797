"""The worked number in the text of each formula is right."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import sequencer.air

MODULES = [info.name for info in pkgutil.iter_modules(sequencer.air.__path__)]
WITH_NUMBERS = {"bare", "convert", "flow", "force", "gas", "needle", "parts", "series", "tank", "tube"}


@pytest.mark.parametrize("module", MODULES)
def test_worked_numbers_are_right(module: str) -> None:
    result = doctest.testmod(importlib.import_module(f"sequencer.air.{module}"))
    assert result.failed == 0


@pytest.mark.parametrize("module", sorted(WITH_NUMBERS))
def test_every_formula_works_one_number(module: str) -> None:
    loaded = importlib.import_module(f"sequencer.air.{module}")
    examples = {test.name.rpartition(".")[2]: test.examples for test in doctest.DocTestFinder().find(loaded)}
    public = [name for name, value in vars(loaded).items()
              if callable(value) and not isinstance(value, type) and not name.startswith("_")
              and getattr(value, "__module__", "") == loaded.__name__]
    assert public
    assert [name for name in public if not examples.get(name)] == []
