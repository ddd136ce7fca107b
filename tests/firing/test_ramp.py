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
