"""Tiling: a part on as few sheets as its size asks for, and whole where they are joined."""

import itertools

import pytest

from studio.planning.tiling import OVERLAP_MM, tiles


@pytest.mark.parametrize(
    ("width", "count"),
    [(OVERLAP_MM / 2, 1), (150, 1), (200, 1), (200.5, 2), (386, 2), (386.5, 3)],
)
def test_a_part_takes_as_few_sheets_as_it_fits(width, count):
    spread = tiles(width, 100, 200, 120)
    assert [tile.column for tile in spread] == list(range(count))
    assert {tile.columns for tile in spread} == {count}
    # The windows follow one another with their overlap and end where the part does.
    for before, after in itertools.pairwise(spread):
        assert after.x == pytest.approx(before.x + before.width - OVERLAP_MM)
    assert spread[-1].x + spread[-1].width == pytest.approx(width)
