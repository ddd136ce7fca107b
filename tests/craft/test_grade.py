"""Grade arithmetic: what counts, what leaves both sums, and how it is shown."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rubrics.craft.grade import Share, percent, work_out

weights = st.lists(st.integers(1, 40), min_size=1, max_size=8)


def test_working_out_line_by_line():
    working = work_out(
        [Share("Wall", 15, 85), Share("Rim", 15, None, excused=True), Share("Habits", 10, None)]
    )
    assert [(line.state, line.earned, line.possible) for line in working.lines] == [
        ("assessed", 1275, 1500),
        ("excused", 0, 0),
        ("not assessed", 0, 0),
    ]
    assert (working.percent, working.complete) == (85, False)
    assert (working.weight_counted, working.weight_total) == (15, 40)


def test_an_excused_score_does_not_count_even_when_there_is_one():
    assert work_out([Share("A", 10, 85), Share("B", 10, 55, excused=True)]).percent == 85


def test_nothing_assessed_gives_no_grade():
    assert work_out([]).percent is None
    assert work_out([Share("A", 10, None)]).percent is None
    assert percent([None, None], [1, 1]) is None
    assert work_out([Share("A", 0, 85)]).percent is None


def test_rounded_once_at_the_end():
    # 84.5 + 84.5 would each round to 85; 84.49 must not become 84.5 and then 85.
    assert percent(["84.49"], [1]) == 84
    assert percent(["84.5"], [1]) == 85


@given(weights, st.sampled_from([55, 70, 85, 100]))
def test_the_same_level_everywhere_is_its_points_whatever_the_weights(each_weight, points):
    assert percent([points] * len(each_weight), each_weight) == points


@given(weights, st.data())
def test_a_grade_lies_between_its_lowest_and_highest_score(each_weight, data):
    scores = data.draw(
        st.lists(st.integers(0, 100), min_size=len(each_weight), max_size=len(each_weight))
    )
    assert min(scores) <= percent(scores, each_weight, places=6) <= max(scores)


@given(weights, st.data(), st.integers(1, 9))
def test_weights_count_by_their_ratio(each_weight, data, factor):
    scores = data.draw(
        st.lists(st.integers(0, 100), min_size=len(each_weight), max_size=len(each_weight))
    )
    tenths = [Decimal(w) * factor / 10 for w in each_weight]
    assert percent(scores, tenths, places=9) == percent(scores, each_weight, places=9)


@pytest.mark.parametrize(
    "share",
    [
        Share("Wall", -1, 85),
        Share("Wall", 10, 101),
        Share("Wall", 10, -5),
        Share("Wall", 10, 0, top=0),
    ],
)
def test_impossible_scores_are_refused(share):
    with pytest.raises(ValueError, match="Wall"):
        work_out([share])


def test_not_a_number_is_refused():
    with pytest.raises(ValueError, match="must be a number"):
        percent([float("nan")], [1])
