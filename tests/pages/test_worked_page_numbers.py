"""The worked numbers in the docstrings of what words strokes and fits are true."""

from __future__ import annotations

import doctest
from importlib import import_module

import pytest


@pytest.mark.parametrize("name", ["fit_text", "measures", "size_text", "stroke_text", "sweep_pages"])
def test_worked_numbers_come_out(name: str) -> None:
    assert doctest.testmod(import_module(f"sequencer.pages.{name}")).failed == 0
