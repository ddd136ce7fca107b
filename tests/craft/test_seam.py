"""Seam join: merging, cracks that go through, darts, refusals."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rubrics.craft.plan import Plan
from rubrics.craft.readings import ReadingsError
from rubrics.craft.seam import JoinReadings, merge_parts, seam_join

LIMITS = Plan().limits


def test_open_parts_that_overlap_or_touch_are_merged():
    assert merge_parts([(10, 15), (40, 42), (12, 20), (20, 22)]) == ((10, 22), (40, 42))


def test_open_fraction_counts_overlaps_once():
    seam = seam_join([JoinReadings(length_mm=100, open_parts_mm=[(10, 5), (12, 8)])], limits=LIMITS)
    assert (seam.open_mm, seam.longest_open_mm, seam.open_fraction) == (10, 10, 0.1)
    assert seam.verdict == "outside"


def test_fraction_is_over_seam_and_darts_together():
    seam = seam_join(
        [
            JoinReadings(length_mm=100, u_length_mm=0.5),
            JoinReadings(name="dart3", length_mm=25, open_parts_mm=[(0, 5)], u_open_mm=0.5),
        ]
    )
    assert seam.open_fraction == pytest.approx(0.04)
    assert seam.u_open_fraction == pytest.approx(math.hypot(0.5 / 125, 0.04 * 0.5 / 125))
    assert seam.worst_join == "dart3"


def test_a_crack_that_goes_through_is_outside_whatever_its_length():
    seam = seam_join([JoinReadings(length_mm=100, through_parts_mm=[(40, 0.5)])], limits=LIMITS)
    assert (seam.through, seam.through_mm, seam.verdict) == (True, 0.5, "outside")
    assert seam.open_mm == 0.5
    assert {each.verdict for each in seam.judged} == {"within"}


def test_a_crack_through_an_open_part_counts_once():
    seam = seam_join(
        [JoinReadings(length_mm=100, open_parts_mm=[(10, 20)], through_parts_mm=[(15, 5)])]
    )
    assert (seam.open_mm, seam.through_mm) == (20, 5)


def test_looking_and_finding_nothing_is_a_result():
    seam = seam_join([JoinReadings(length_mm=100, open_parts_mm=[(None, 0)])], limits=LIMITS)
    assert (seam.open_fraction, seam.verdict, seam.worst_join) == (0, "within", None)


def test_steps_alone_do_not_claim_that_the_seam_is_closed():
    seam = seam_join(
        [JoinReadings(steps_mm=[(10, 0.4), (60, 1.0)], u_step_mm=0.1, looked=False)], limits=LIMITS
    )
    assert (seam.open_mm, seam.open_fraction) == (None, None)
    assert (seam.largest_step_mm, seam.mean_step_mm) == (1.0, 0.7)
    assert seam.verdict == "within"


def test_an_open_dart_of_unknown_length_does_not_pass():
    popped = JoinReadings(name="dart1", open_parts_mm=[(None, 9)], u_open_mm=0.5)
    seam = seam_join([popped], limits=LIMITS)
    assert (seam.open_fraction, seam.verdict) == (None, "outside")
    assert seam_join([popped]).verdict is None


def test_seam_against_the_wall_beside_it():
    seam = seam_join([], seam_thickness_mm=[7, 9], beside_thickness_mm=[6.4], u_thickness_mm=0.1)
    assert (seam.seam_mm, seam.beside_mm, seam.seam_to_beside) == (8, 6.4, 1.25)
    assert seam.u_seam_to_beside == pytest.approx(
        1.25 * math.hypot(0.1 / math.sqrt(2) / 8, 0.1 / 6.4)
    )


@given(st.lists(st.tuples(st.floats(0, 80), st.floats(0, 20)), max_size=8))
def test_the_open_share_is_a_share(parts):
    seam = seam_join([JoinReadings(length_mm=100, open_parts_mm=parts)])
    assert 0 <= seam.longest_open_mm <= seam.open_mm + 1e-9 <= 100 + 1e-9
    assert 0 <= seam.open_fraction <= 1


@given(st.lists(st.tuples(st.floats(0, 80), st.floats(0.1, 20)), min_size=1, max_size=8), st.data())
def test_reading_a_part_twice_opens_nothing_more(parts, data):
    again = [*parts, data.draw(st.sampled_from(parts))]
    once = seam_join([JoinReadings(length_mm=100, open_parts_mm=parts)])
    twice = seam_join(
        [JoinReadings(length_mm=100, open_parts_mm=data.draw(st.permutations(again)))]
    )
    assert twice.open_mm == pytest.approx(once.open_mm)


@pytest.mark.parametrize(
    ("join", "sentence"),
    [
        (JoinReadings(length_mm=0), "A length of the seam of 0 cannot be"),
        (JoinReadings(length_mm=100, open_parts_mm=[(95, 10)]), "reach 105 mm but the join is 100"),
        (
            JoinReadings(name="dart2", length_mm=25, open_parts_mm=[(None, 15), (None, 15)]),
            "Dart2: the open parts reach 30 mm",
        ),
        (JoinReadings(length_mm=100, open_parts_mm=[(5, -1)]), "must not be negative"),
        (JoinReadings(length_mm=100, open_parts_mm=[(math.nan, 1)]), "is not a number"),
        (JoinReadings(steps_mm=[(5, math.inf)]), "A step at the seam 1 is not a number"),
    ],
)
def test_refusals_say_what_is_wrong(join, sentence):
    with pytest.raises(ReadingsError, match=sentence):
        seam_join([join])


def test_a_part_may_pass_the_end_by_the_readings_own_doubt():
    join = JoinReadings(length_mm=100, u_length_mm=0.5, open_parts_mm=[(0, 100.8)], u_open_mm=0.3)
    assert seam_join([join]).open_fraction == 1


@pytest.mark.parametrize("length", [None, 25])
def test_a_popped_dart_is_judged_whether_or_not_its_length_was_read(length):
    seam = seam_join(
        [
            JoinReadings(length_mm=95, steps_mm=[(40, 0.2)]),
            JoinReadings(name="dart2", length_mm=length, open_parts_mm=[(0, 16)]),
        ],
        limits=Plan().limits,
    )
    assert (seam.verdict, seam.longest_open_mm, seam.worst_join) == ("outside", 16, "dart2")


@pytest.mark.parametrize(
    ("intended", "step", "kept"),
    [("hidden", 0.3, True), ("hidden", 1.2, False), ("shown", 1.2, None), ("", 1.2, None)],
)
def test_a_seam_is_compared_with_what_was_meant(intended, step, kept):
    seam = seam_join([JoinReadings(length_mm=95, steps_mm=[(40, step)])], intended=intended)
    assert (seam.intended, seam.as_intended) == (intended, kept)
