"""Planned ramps: sums anybody can do by hand."""

import numpy as np
import pytest

from studio.firing.cones import cone
from studio.firing.log import read_log
from studio.firing.log_facts import facts_of
from studio.firing.ramp import BOILING_C, CANDLE_MIN, RampError, Segment, cautions, plan_ramp
from studio.firing.starter_ramps import BISQUE, STARTER_RAMPS
from studio.firing.verdict import ON, by_log
from tests.firing.logs import elapsed


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


def test_eight_hours_of_candling_are_not_told_to_candle_longer():
    assert cautions([Segment(60, 95, 480), Segment(150, 1000)], bisque=True) == []
    assert cautions([Segment(60, 95, 480), Segment(None, 1000)], bisque=True) == []


def test_gentle_up_to_101_and_then_full_speed_is_told():
    (said,) = cautions([Segment(80, 101), Segment(None, 1000)], bisque=True)
    assert "Between 100 and 200 °C it climbs at full speed" in said
    (said,) = cautions([Segment(80, 95, 30), Segment(200, 1000)], bisque=True)
    assert "at 200 °C an hour after 30 minutes of candling" in said
    assert cautions([Segment(80, 200), Segment(None, 1000)], bisque=True) == []


def test_a_peak_of_another_cone_is_told_with_the_cone_it_is():
    # The table: cone 09 at 920 °C, cone 6 at 1222 °C, both at 60 °C/h.
    (said,) = cautions([Segment(60, 922)], bisque=False, planned=cone("6"))
    assert "peaks at 922 °C; that is cone 09. Cone 6 is down at 1222 °C" in said
    assert "300 °C higher. Look at the cone, its zero, and the unit." in said
    (said,) = cautions([Segment(60, 1222)], bisque=False, planned=cone("06"))
    assert "that is cone 6. Cone 06 is down at 998 °C" in said
    assert "224 °C lower" in said
    for peak in (1200, 1222, 1240):
        assert cautions([Segment(60, peak)], bisque=False, planned=cone("6")) == []


def test_a_peak_below_the_softest_cone_of_the_table_is_told_without_a_cone():
    (said,) = cautions([Segment(60, 500)], bisque=False, planned=cone("6"))
    assert "The ramp peaks at 500 °C. Cone 6 is down at 1222 °C" in said


def test_starter_ramps_candle_below_the_boiling_point_of_water():
    for ramp in STARTER_RAMPS.values():
        held = [each for each in ramp.segments if each.hold_min >= CANDLE_MIN]
        assert all(each.target_c < BOILING_C for each in held), ramp.key
        assert bool(held) == (ramp.kind == BISQUE), ramp.key


def test_crash_cooling_is_told():
    up = Segment(60, 1222)
    (said,) = cautions([up, Segment(None, 100)], bisque=False)
    assert "cools at full speed through 600 to 550 °C" in said
    (said,) = cautions([up, Segment(100, 900), Segment(400, 500)], bisque=False)
    assert "cools at 400 °C an hour" in said
    # A kiln is often taken down fast to 1000 °C and held: the glaze is soft there.
    assert cautions([up, Segment(None, 1000, 30), Segment(80, 700)], bisque=False) == []
    assert cautions([up, Segment(100, 100)], bisque=False) == []


@pytest.mark.parametrize("ramp", STARTER_RAMPS.values(), ids=STARTER_RAMPS)
def test_a_starter_ramp_brings_down_its_cone_and_nothing_is_said_against_it(ramp):
    planned = cone(ramp.cone)
    assert cautions(ramp.segments, bisque=ramp.kind == "bisque", planned=planned) == []
    line = plan_ramp(ramp.segments)
    # The published end point at 60 °C/h, printed by the maker of the cones.
    published = {"04": 1063, "06": 998, "05": 1031, "6": 1222, "10": 1285}
    assert line.peak_c == published[ramp.cone]
    minutes = np.arange(0, line.minutes[-1])
    celsius = np.interp(minutes, line.minutes, line.celsius)
    facts = facts_of(read_log(elapsed(minutes, celsius)))
    assert by_log(planned, facts).verdict == ON
    assert 6 < line.hours < 24


@pytest.mark.parametrize(
    ("rate", "is_gentle"),
    # Common practice, no source: up to 80 °C/h while free water leaves, 110 or so is a risk.
    [(50, True), (80, True), (100, False), (110, False), (150, False)],
)
def test_where_a_bisque_climbs_too_fast_through_boiling(rate, is_gentle):
    said = cautions([Segment(rate, 600)], bisque=True)
    assert bool(said) is not is_gentle
    assert all("80 °C an hour" in each for each in said)


def test_only_the_climb_while_water_leaves_counts():
    slow_first = [Segment(150, 90, 60), Segment(60, 200), Segment(150, 1000)]
    assert not cautions(slow_first, bisque=True)
    assert cautions([Segment(60, 90), Segment(150, 1000)], bisque=True)
    assert not cautions([Segment(150, 90)], bisque=True)


def test_the_slowest_rate_and_the_shortest_hold_are_still_followed():
    ramp = plan_ramp([Segment(0.5, 21, 0.5)], start_c=20)
    assert ramp.minutes == pytest.approx([0, 120, 120.5])
    assert ramp.celsius == pytest.approx([20, 21, 21])
