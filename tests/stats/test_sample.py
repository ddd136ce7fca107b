"""The sample for a second look: its size by the textbook, its draw by counting."""

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from rubrics.stats.errors import CannotTellError
from rubrics.stats.estimates import FEWEST_PIECES
from rubrics.stats.sample import draw, size_for_share


def test_the_size_by_cochrans_example():
    # Cochran, Sampling Techniques, 3rd ed. (1977), 4.4: p within 5 %, N = 3200 islanders, t = 2:
    # n0 = 400, n = 400 / (1 + 399/3200) = 355.7, rounded up to 356 (from memory).
    assert size_for_share(3200, 0.05, coverage=2 * stats.norm.cdf(2) - 1) == 356
    assert size_for_share(10**9, 0.05, coverage=2 * stats.norm.cdf(2) - 1) == 400
    # Half as far: four times as many.
    assert size_for_share(10**9, 0.025, coverage=2 * stats.norm.cdf(2) - 1) == 1600


def test_a_size_is_never_below_what_can_be_told_nor_above_the_batch():
    assert size_for_share(150, 0.45) == FEWEST_PIECES
    assert size_for_share(8, 0.1) == 8
    assert size_for_share(24, 0.01) == 24


@given(st.integers(1, 500), st.floats(0.02, 0.4))
def test_finer_takes_more(batch, within):
    assert size_for_share(batch, within / 2) >= size_for_share(batch, within)
    assert size_for_share(batch, within) <= size_for_share(batch + 1, within)


@given(st.lists(st.integers(1, 4), min_size=1, max_size=60), st.integers(0, 10**6), st.data())
def test_a_draw_is_spread_over_the_levels(levels, seed, data):
    size = data.draw(st.integers(1, len(levels)))
    pieces = {f"K-{i}": level for i, level in enumerate(levels)}
    found = draw(pieces, size, seed=seed)
    assert len(set(found.pieces)) == len(found.pieces) == size
    given_by = Counter(pieces[piece] for piece in found.pieces)
    there = Counter(levels)
    for level, count, of in found.by_level:
        assert (given_by[level], there[level]) == (count, of)
        if size >= len(there):
            assert count >= 1
        assert abs(count - size * of / len(levels)) < 1 + len(there)
    assert draw(pieces, size, seed=seed) == found


def test_levels_give_in_proportion():
    pieces = dict(enumerate([4] * 12 + [3] * 8 + [2] * 3 + [1]))
    assert draw(pieces, 12, seed=1).by_level == ((1, 1, 1), (2, 1, 3), (3, 4, 8), (4, 6, 12))


def test_each_piece_of_a_level_is_as_likely_and_comes_at_any_place():
    pieces = {i: 1 + i % 2 for i in range(10)}
    drawn, first = Counter(), Counter()
    for seed in range(3000):
        found = draw(pieces, 4, seed=seed).pieces
        drawn.update(found)
        first[found[0]] += 1
    assert stats.chisquare([drawn[i] for i in range(10)]).pvalue > 0.001
    assert stats.chisquare([first[i] for i in range(10)]).pvalue > 0.001


def test_what_cannot_be_drawn():
    with pytest.raises(CannotTellError, match="sample of 3 cannot be drawn from 2"):
        draw({"a": 1, "b": 2}, 3, seed=1)
    with pytest.raises(CannotTellError, match="no judged piece"):
        size_for_share(0, 0.1)
    with pytest.raises(CannotTellError, match="between 0 and 1"):
        size_for_share(20, 0)
