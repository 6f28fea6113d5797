"""The worked examples in the texts of the page's builders are right."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import sequencer.pages.html

MODULES = [info.name for info in pkgutil.iter_modules(sequencer.pages.html.__path__)]


@pytest.mark.parametrize("module", MODULES)
def test_worked_examples_are_right(module: str) -> None:
    assert doctest.testmod(importlib.import_module(f"sequencer.pages.html.{module}")).failed == 0
