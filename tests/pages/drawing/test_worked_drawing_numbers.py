"""The worked numbers in the docstrings of the drawing are true."""

from __future__ import annotations

import doctest
import pkgutil
from importlib import import_module

import pytest

import sequencer.pages.drawing as package

MODULES = [f"{package.__name__}.{module.name}" for module in pkgutil.iter_modules(package.__path__)]


@pytest.mark.parametrize("name", MODULES)
def test_worked_numbers_come_out(name: str) -> None:
    assert doctest.testmod(import_module(name)).failed == 0
