"""Planned ramps: sums anybody can do by hand."""

import numpy as np
import pytest

from studio.firing.ramp import RampError, Segment, cautions, plan_ramp


def test_segments_stand_end_to_end():
    # 20 to 120 at 50 an hour: 2 h; hold 60 min; to 1120 at 100: 10 h; down to 920 at 100: 2 h.
    ramp = plan_ramp([Segment(50, 120, 60), Segment(100, 1120), Segment(100, 920)])
    assert ramp.minutes.tolist() == [0, 120, 180, 780, 900]
    assert ramp.celsius.tolist() == [20, 120, 120, 1120, 920]
    assert (ramp.peak_c, ramp.hours) == (1120, 15)


def test_full_speed_is_drawn_too():
    ramp = plan_ramp([Segment(None, 320)])
    assert np.isfinite(ramp.minutes).all()
    assert ramp.minutes[-1] > 0


@pytest.mark.parametrize(
    ("segments", "says"),
    [
        ([], "at least one"),
        ([Segment(-50, 120)], "without a sign"),
        ([Segment(50, 120, -5)], "zero minutes or more"),
        ([Segment(50, float("nan"))], "no number"),
    ],
)
def test_what_no_controller_follows_is_refused(segments, says):
    with pytest.raises(RampError, match=says):
        plan_ramp(segments)


def test_a_hasty_bisque_is_asked_about():
    assert cautions([Segment(150, 600), Segment(100, 1000)], bisque=True)
    assert cautions([Segment(None, 1000)], bisque=True)
    assert not cautions([Segment(60, 120, 120), Segment(150, 1000)], bisque=True)
    assert not cautions([Segment(150, 600)], bisque=False)


@pytest.mark.parametrize(
    ("rate", "is_gentle"),
    # Common practice, no source: up to 80 °C/h while free water leaves, 110 or so is a risk.
    [(50, True), (80, True), (100, False), (110, False), (150, False)],
)
def test_where_a_bisque_climbs_too_fast_through_boiling(rate, is_gentle):
    said = cautions([Segment(rate, 600)], bisque=True)
    assert bool(said) is not is_gentle
    assert all("80 °C an hour" in each for each in said)


def test_only_the_climb_that_passes_boiling_counts():
    slow_first = [Segment(150, 90, 60), Segment(60, 120), Segment(150, 1000)]
    assert not cautions(slow_first, bisque=True)
    assert cautions([Segment(60, 90), Segment(150, 1000)], bisque=True)
    assert not cautions([Segment(150, 90)], bisque=True)
