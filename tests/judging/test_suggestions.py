"""A suggestion: the level, the benefit of the doubt, and the line that says why."""

import pytest

from rubrics.evidence.collect import evidence
from rubrics.judging.suggestions import suggest_for
from studio.models import Reading
from tests.factories import read, read_rim, read_wall


def suggest(judged, letter, piece=None):
    piece = piece or judged.piece
    return suggest_for(evidence(judged.project), piece, judged.c[letter])


def test_nothing_measured_suggests_nothing(judged):
    assert suggest(judged, "D") is None


def test_a_criterion_judged_by_eye_suggests_nothing(judged):
    read_rim(judged.piece, 95, 95, 95, 95)
    assert suggest(judged, "A") is None


def test_a_clear_figure_gives_its_level_and_its_place_among_the_limits(judged):
    read_wall(judged.piece, 6.0, 7.5, 6.0, 6.0)
    found = suggest(judged, "B")
    # Spread 1.5 mm, U = 2 · √2 · 0.1 = 0.28 mm: clearly between 1 and 2 mm.
    assert (found.level, found.doubt) == (3, False)
    assert found.why == (
        "Wall: thickest minus thinnest 1.5 ± 0.3\xa0mm: between 1\xa0mm and 2\xa0mm."
    )


def test_what_the_reading_cannot_tell_keeps_the_higher_level(judged):
    read_wall(judged.piece, 6.0, 7.2, 6.0, 6.0)
    found = suggest(judged, "B")
    # Spread 1.2 mm with U = 0.28 mm reaches below 1 mm.
    assert (found.level, found.doubt) == (4, True)
    assert found.why == (
        "Wall: thickest minus thinnest 1.2 ± 0.3\xa0mm: too close to 1\xa0mm to call, "
        "so the higher level is kept."
    )


def test_the_worst_figure_of_a_criterion_decides_and_the_rest_is_named(judged):
    read_rim(judged.piece, 95, 95, 95, 100.2)
    found = suggest(judged, "D")
    assert (found.level, found.figure) == (2, "rim_level.rise_mm")
    assert found.missing == ("Foot: longest minus shortest side", "Foot: rock on a flat table")


@pytest.mark.parametrize(("open_mm", "level"), [(0, 4), (3, 3), (9, 2), (20, 1)])
def test_a_join_with_nothing_open_is_assured_whatever_the_ruler(judged, open_mm, level):
    read(judged.piece, "seam_length", 95, name="seam")
    read(judged.piece, "seam_open", open_mm, name="seam", height_mm=10)
    assert suggest(judged, "C").level == level


def test_a_crack_through_is_the_lowest_whatever_its_length(judged):
    read(judged.piece, "seam_through", 2, name="seam", height_mm=10)
    found = suggest(judged, "C")
    assert (found.level, found.why) == (1, "Seam: a crack goes through the join.")


def test_a_suggestion_on_a_questioned_reading_says_so(judged):
    read_wall(judged.piece, 6.0, 6.0, 6.0, 64)
    Reading.objects.filter(value=64).update(doubt="64? Did you mean 6.4?")
    assert suggest(judged, "B").in_question is True
