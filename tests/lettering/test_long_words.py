"""One unbroken word costs in proportion to its length, on every page that is printed."""

import time

import pytest

from rubrics.reports.paper.paragraphs import MOST_LETTERS, broken
from studio.lettering.fonts import SANS
from studio.lettering.setting import shortened, width_of

ROOM = 400.0
SLOWEST_S = 2.0
"""For 200 000 letters: a minute before, hundredths of a second now; the first Han letter makes a
font of its block, which takes most of a second."""


@pytest.mark.parametrize("letter", ["m", "i", "\u5b57", "\u05e9", "e\u0301"])
def test_a_word_without_end_is_broken_in_linear_time_and_whole(letter):
    word = letter * (200_000 // len(letter))
    begun = time.process_time()
    lines = broken(word, 8.0, SANS, ROOM)
    assert time.process_time() - begun < SLOWEST_S
    assert "".join(lines) == word
    assert all(width_of(line, 8.0, SANS) <= ROOM + 1e-3 for line in lines[:20])


@pytest.mark.parametrize("length", [MOST_LETTERS - 1, MOST_LETTERS, MOST_LETTERS + 1, 1203])
def test_the_border_of_what_is_measured_whole_cannot_be_seen(length):
    """Every line but the last is full: one letter more would not fit."""
    lines = broken("m" * length, 8.0, SANS, ROOM)
    assert "".join(lines) == "m" * length
    for line in lines[:-1]:
        assert width_of(line + "m", 8.0, SANS) > ROOM


def test_words_round_a_long_one_keep_their_spaces():
    long = "m" * 700
    lines = broken(f"before {long} after", 8.0, SANS, ROOM)
    assert lines[0] == "before"
    assert lines[-1].endswith(" after")
    assert "".join(lines[1:]) == f"{long} after"


def test_a_line_that_is_shortened_is_not_measured_whole():
    begun = time.process_time()
    cut = shortened("m" * 200_000, 8.0, ROOM)
    assert time.process_time() - begun < SLOWEST_S
    assert cut.endswith("\u2026")
    assert width_of(cut, 8.0) <= ROOM
