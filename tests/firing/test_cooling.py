"""How it cooled and when it was opened: logs made by Newton's law, with what went in known."""

import numpy as np
import pytest

from studio.firing.cooling import COOL, FAST, GENTLE, HOT, cooling, opening
from studio.firing.log import read_log
from studio.firing.log_facts import facts_of
from studio.firing.verdict import UNTOLD
from tests.firing.logs import elapsed, line


def cooled(
    hours_per_e: float,
    opened_c: float | None = None,
    until_c: float = 40.0,
    open_hours_per_e: float = 0.25,
):
    """Facts of a firing whose excess over a room of 20 °C falls to 1/e in so many hours.

    From ``opened_c`` on it falls so in a quarter of an hour, as with the lid open.
    """
    minutes, celsius = line(1.0, (0, 480, 853), (20, 600, 1222))
    excess, fall, at = 1202.0, [], 854.0
    while excess + 20 > until_c:
        fall.append((at, excess + 20))
        is_open = opened_c is not None and excess + 20 <= opened_c
        excess *= np.exp(-1 / 60 / (open_hours_per_e if is_open else hours_per_e))
        at += 1
    after = np.array(fall)
    return facts_of(
        read_log(
            elapsed(np.append(minutes, after[:, 0]), np.append(celsius, after[:, 1]), digits=2)
        )
    )


def test_a_closed_kiln_cools_gently():
    # At 573 °C over a room of 20 a fall to 1/e in six hours is 553 / 6 = 92 °C an hour.
    told = cooling(cooled(6))
    assert told.verdict == GENTLE
    assert "fell at 92 °C an hour" in told.sentence


def test_a_kiln_that_cools_too_fast_through_the_quartz_range_is_told():
    told = cooling(cooled(2))
    assert told.verdict == FAST
    assert "the kiln's doing" in " ".join(told.sentence.split())


def test_a_log_that_ends_hot_tells_no_cooling():
    assert cooling(cooled(6, until_c=700)).verdict == UNTOLD


@pytest.mark.parametrize(("opened", "verdict"), [(600, HOT), (310, HOT), (130, HOT), (100, COOL)])
def test_a_log_shows_at_what_temperature_the_kiln_was_opened(opened, verdict):
    facts = cooled(6, opened_c=opened, until_c=30)
    assert facts.opened_c == pytest.approx(opened, abs=30)
    told = opening(None, facts)
    assert told.verdict == verdict
    assert "by the log's sudden fall" in told.sentence


@pytest.mark.parametrize(("open_hours_per_e", "is_told"), [(0.5, True), (0.8, False)])
def test_an_opening_is_told_from_a_kiln_that_cools_fast_by_itself(open_hours_per_e, is_told):
    # The excess over the room falls by two thirds of an hour's share or more only with a lid open.
    facts = cooled(6, opened_c=110, until_c=30, open_hours_per_e=open_hours_per_e)
    assert (facts.opened_c is not None) is is_told
    if is_told:
        assert facts.opened_c == pytest.approx(110, abs=5)


def test_a_closed_kiln_shows_no_opening():
    facts = cooled(6)
    assert facts.opened_c is None
    told = opening(None, facts)
    assert told.verdict == UNTOLD
    assert "ends at 40 °C with the kiln closed" in told.sentence


def test_what_a_person_noted_outranks_the_log():
    told = opening(45.0, cooled(6, opened_c=310, until_c=30))
    assert (told.verdict, told.sentence) == (COOL, "It was opened at 45 °C, as is usual.")
    assert "Hands wait until 50 °C" in opening(90.0).sentence
    assert opening(None).verdict == UNTOLD
