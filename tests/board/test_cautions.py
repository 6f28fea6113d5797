"""The cautions are all there and each has its words."""

from __future__ import annotations

import pytest

from sequencer.cautions import CAUTIONS, caution

NAMED = [
    "flash",
    "arm",
    "arm.public",
    "bench",
    "stop",
    "alarm",
    "strobe",
    "power",
    "reach",
    "tank",
    "service",
    "open",
]


def test_every_caution_the_tool_shows_is_there_once():
    assert sorted(one.id for one in CAUTIONS) == sorted(NAMED)


@pytest.mark.parametrize("name", NAMED)
def test_a_caution_is_a_paragraph_of_whole_sentences(name):
    text = caution(name).text
    assert text == " ".join(text.split())
    assert text.endswith(".") and len(text) > 100


def test_a_caution_that_is_not_there_is_an_error_and_not_silence():
    with pytest.raises(KeyError, match="harm"):
        caution("harm")
