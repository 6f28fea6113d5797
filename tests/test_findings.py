"""How far one word is from another, and which names are near."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from sequencer.findings import closest, edit_distance

WORDS = st.text(st.sampled_from("abcd1_"), max_size=9)


def steps(one: str, other: str) -> int:
    """The optimal string alignment distance by its recurrence, as the handbooks give it (from memory)."""
    table = [[max(i, j) for j in range(len(other) + 1)] for i in range(len(one) + 1)]
    for i in range(1, len(one) + 1):
        for j in range(1, len(other) + 1):
            table[i][j] = min(table[i - 1][j] + 1, table[i][j - 1] + 1,
                              table[i - 1][j - 1] + (one[i - 1] != other[j - 1]))
            if i > 1 and j > 1 and one[i - 1] == other[j - 2] and one[i - 2] == other[j - 1]:
                table[i][j] = min(table[i][j], table[i - 2][j - 2] + 1)
    return table[-1][-1]


@given(WORDS, WORDS, st.integers(1, 3))
def test_the_distance_is_the_one_of_the_books_up_to_its_limit(one: str, other: str, limit: int) -> None:
    assert edit_distance(one, other, limit) == min(steps(one, other), limit + 1)


@given(WORDS, st.lists(WORDS, max_size=12), st.integers(1, 3))
def test_the_nearest_names_come_first(word: str, names: list[str], most: int) -> None:
    limit = 1 if len(word) <= 3 else 2 if len(word) <= 7 else 3
    ranked = sorted((steps(word, name), word[:1] != name[:1], name) for name in set(names)
                    if steps(word, name) <= limit and steps(word, name) < max(len(word), len(name)))
    assert closest(word, names, most) == tuple(name for _, _, name in ranked[:most])
