"""Packing and drawing: nothing of the firing is lost on the way to the eye."""

import re

import numpy as np
import pytest

from studio.firing.cones import cone
from studio.firing.drawing import BOTTOM, LEFT, RIGHT, TOP, draw
from studio.firing.log import read_log
from studio.firing.log_facts import facts_of
from studio.firing.packing import pack, unpack
from studio.firing.ramp import Segment, plan_ramp
from tests.firing.logs import clocked, elapsed, line

RAMP = plan_ramp([Segment(72.5, 600), Segment(100, 1222, 20)])


def points(path: str) -> np.ndarray:
    return np.array([[float(n) for n in each.split()] for each in re.split("[ML]", path)[1:]])


def test_a_packed_log_comes_back():
    log = read_log(elapsed(*line()))
    minutes, celsius = unpack(pack(log.minutes, log.celsius))
    assert np.abs(minutes - log.minutes).max() < 1 / 600
    assert np.abs(celsius - log.celsius).max() <= 0.05 + 1e-9


def test_bytes_that_are_no_log_are_refused():
    with pytest.raises(ValueError, match="not a packed log"):
        unpack(b"something else")


def test_a_spike_of_one_line_in_ten_thousand_is_still_drawn():
    minutes, celsius = line(0.02)
    celsius[40_000:40_003] += 70
    log = read_log(elapsed(minutes, celsius))
    drawn = points(draw(log, None).log)
    scale = (BOTTOM - TOP) / (celsius.max() + 60)
    assert len(drawn) < 3000
    expected = BOTTOM - celsius[40_001] * scale
    near = drawn[np.abs(drawn[:, 0] - (LEFT + minutes[40_001] / minutes[-1] * (RIGHT - LEFT))) < 2]
    assert near[:, 1].min() == pytest.approx(expected, abs=1)


def test_a_ramp_lies_on_the_log_it_was_followed_by_though_it_began_hours_later():
    minutes, celsius = line()
    waited = np.concatenate([np.arange(0, 180), minutes + 180])
    log = read_log(elapsed(waited, np.concatenate([np.full(180, 20.0), celsius])))
    drawing = draw(log, RAMP, end=cone("6").end_point(100), cone="6")
    plan, drawn = points(drawing.plan), points(drawing.log)
    on_log = np.interp(plan[:, 0], drawn[:, 0], drawn[:, 1])
    assert np.abs(on_log - plan[:, 1]).max() < 2
    assert drawing.end_words == "cone 6: 1234 °C at 100 °C/h"


def test_everything_drawn_stands_inside_the_frame():
    drawing = draw(read_log(elapsed(*line())), RAMP, end=cone("10").end_point(60), above_c=1122)
    for path in (drawing.log, drawing.plan, drawing.above.rstrip("Z")):
        found = points(path)
        assert found[:, 0].min() >= LEFT - 0.1
        assert found[:, 0].max() <= RIGHT + 0.1
        assert found[:, 1].min() >= TOP - 0.1
        assert found[:, 1].max() <= BOTTOM + 0.1


def test_without_log_and_ramp_there_is_nothing_to_draw():
    assert draw(None, None) is None
    assert draw(None, RAMP).log == ""


def test_a_hundred_thousand_lines_become_a_small_row_and_a_short_path():
    minutes, celsius = line(1653 / 100_000)
    data = clocked(minutes, celsius + np.random.default_rng(1).normal(0, 0.5, len(minutes)))
    log = read_log(data)
    assert log.line_count >= 100_000
    assert len(pack(log.minutes, log.celsius)) < 500_000
    assert len(draw(log, RAMP, above_c=facts_of(log).above_c).log) < 60_000


def test_every_column_keeps_its_highest_and_its_lowest_point():
    minutes, celsius = line(0.05)
    noisy = celsius + np.random.default_rng(3).normal(0, 8, len(minutes))
    log = read_log(elapsed(minutes, noisy))
    drawn = points(draw(log, None).log)
    scale = (BOTTOM - drawn[:, 1].min()) / log.celsius.max()
    x = LEFT + log.minutes / log.minutes[-1] * (RIGHT - LEFT)
    y = BOTTOM - np.clip(log.celsius, 0, None) * scale
    for column in range(100, 600, 7):
        inside = np.flatnonzero(np.floor(x) == column)
        for at in (inside[y[inside].argmin()], inside[y[inside].argmax()]):
            # The path is written to a tenth.
            assert np.abs(drawn - (x[at], y[at])).max(axis=1).min() < 0.2


def test_the_peaks_words_stand_on_the_side_where_there_is_room():
    late = read_log(elapsed(*line(1, (0, 900, 1000), (20, 1200, 1100))))
    early = read_log(elapsed(*line(1, (0, 300, 1000), (20, 1200, 100))))
    assert (draw(late, None).peak_anchor, draw(early, None).peak_anchor) == ("end", "start")


@pytest.mark.parametrize(("hours", "step"), [(11, 1), (30, 3), (45, 4), (60, 6), (100, 12)])
def test_hours_are_told_in_parts_of_a_day(hours, step):
    log = read_log(elapsed(*line(1, (0, hours * 40, hours * 60), (20, 1200, 100))))
    told = [int(tick.words) for tick in draw(log, None).hours]
    assert told == list(range(0, told[-1] + 1, step))
    assert 5 <= len(told) <= 13
