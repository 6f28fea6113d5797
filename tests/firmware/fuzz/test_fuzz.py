"""Bytes of chance into the frame decoder and the program decoder, with the sanitizers on: nothing is found."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.firmware.fuzz.fuzzers import FUZZERS, Fuzzer, build_fuzzer, run_fuzzer, seed_corpus

SECONDS = 30
"""For each of the two; `tests/bench/firmware_fuzz.py` runs them for as long as it is told."""


@pytest.mark.parametrize("fuzzer", FUZZERS, ids=lambda fuzzer: fuzzer.name)
def test_the_fuzzer_finds_nothing(fuzzer: Fuzzer, tmp_path: Path) -> None:
    runs, found = run_fuzzer(build_fuzzer(fuzzer, tmp_path), seed_corpus(fuzzer, tmp_path), SECONDS)
    assert not found, found
    assert runs > 1000
