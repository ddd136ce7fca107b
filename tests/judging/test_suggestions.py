"""A suggestion: the level, the benefit of the doubt, and the line that says why."""

import pytest

from rubrics.evidence.collect import evidence
from rubrics.judging.suggestions import suggest_for, why_none
from studio.models import Instrument, Reading
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
    read_wall(judged.piece, 5.3, 6.8, 6.4, 6.2, own_u=0.1)
    found = suggest(judged, "B")
    # Spread 1.5 mm at four places is 1.5 * d2(12) / d2(4) = 2.37 mm at twelve: between 1.5 and 3.
    assert (found.level, found.doubt) == (3, False)
    assert found.why == (
        "Wall: thickest minus thinnest, on the scale of 12 readings 2.4 ± 0.4\xa0mm: "
        "between 1.5\xa0mm and 3\xa0mm."
    )


def test_what_the_reading_cannot_tell_keeps_the_higher_level(judged):
    read_wall(judged.piece, 5.8, 6.9, 6.2, 6.4, own_u=0.1)
    found = suggest(judged, "B")
    # 1.1 mm at four places is 1.74 mm at twelve, with U = 0.45 mm: it may lie below 1.5 mm.
    assert (found.level, found.doubt) == (4, True)
    assert found.why == (
        "Wall: thickest minus thinnest, on the scale of 12 readings 1.7 ± 0.4\xa0mm: "
        "too close to 1.5\xa0mm to call, so the higher level is kept."
    )


def test_the_worst_figure_of_a_criterion_decides_and_the_rest_is_named(judged):
    read_rim(judged.piece, 95, 95, 95, 101)
    found = suggest(judged, "D")
    # 6 mm across the 94.2 mm that the plan gives the rim at leather-hard.
    assert (found.level, found.figure) == (2, "rim_level.rise_deg")
    assert "Foot: largest gap under a corner" in found.missing
    assert len(found.missing) == 5


def test_a_reading_too_rough_to_tell_suggests_nothing_and_says_what_would(judged):
    inches = Instrument.objects.create(name="inch ruler", resolution=1.5875, repeatability=0.3)
    read_rim(judged.piece, 95, 96, 95, 98.5, instrument=inches)
    found, criterion = evidence(judged.project), judged.c["D"]
    assert suggest_for(found, judged.piece, criterion) is None
    said = why_none(found, judged.piece, criterion)
    assert said.startswith("Rim: rise across its width 2.1 ± 0.9°: ")
    assert said.endswith("To settle it, read the rim at eight places with a height gauge.")


def test_the_coarser_of_two_instruments_earns_no_better_level(judged):
    # A spread of 2.4 mm at twelve places is between 1.5 and 3 mm by the calliper; a ruler in
    # sixteenths of an inch, U of the difference 1.6 mm, cannot tell it from either neighbour.
    wall = (*[5.6] * 10, 4.4, 6.8)
    calliper = Instrument.objects.create(name="my calliper", resolution=0.1, repeatability=0.1)
    inches = Instrument.objects.create(name="inch ruler", resolution=1.5875, repeatability=0.3)
    read_wall(judged.piece, *wall, instrument=calliper, stage="glazed")
    read_wall(judged.other_piece, *wall, instrument=inches, stage="glazed")
    assert suggest(judged, "B").level == 3
    assert suggest(judged, "B", judged.other_piece) is None
    said = why_none(evidence(judged.project), judged.other_piece, judged.c["B"])
    assert "2.4 ± 1.6\xa0mm: too rough to tell" in said
    assert said.endswith("with a calliper, on fired clay if it can wait.")


def test_a_lean_of_23_give_or_take_32_degrees_suggests_nothing(judged):
    # Two ends of a low lug 10 mm apart, each height known to 4 mm (u) only.
    for name, value in (("height", 95), ("rim_diameter", 84), ("foot_side", 60)):
        read(judged.piece, "dimension", value, name=name)
    for place, height, azimuth in (("handle_top", 35, 6.1), ("handle_bottom", 25, 0)):
        read(judged.piece, place, height, azimuth_deg=azimuth, own_u=4)
    found = evidence(judged.project)
    handle = found.of(judged.piece)["handle_alignment"]
    assert (handle.lean_deg, 2 * handle.u_lean_deg) == pytest.approx((23, 32), abs=3)
    assert suggest_for(found, judged.piece, judged.c["E"]) is None
    assert "too rough to tell" in why_none(found, judged.piece, judged.c["E"])


def test_three_places_suggest_nothing_of_a_rim_that_may_wave(judged):
    read_rim(judged.piece, 95, 95, 95)
    said = why_none(evidence(judged.project), judged.piece, judged.c["D"])
    assert "three places cannot see a rim that waves" in said
    assert why_none(evidence(judged.project), judged.other_piece, judged.c["D"]) == ""


def put_handle(piece, azimuth):
    for place, height in (("handle_top", 80), ("handle_bottom", 30)):
        read(piece, place, height, azimuth_deg=azimuth)


@pytest.mark.parametrize("side", [90, 270])
def test_the_handle_is_held_against_what_the_student_meant(judged, side):
    piece = judged.piece
    read(piece, "seam_length", 100, name="seam", azimuth_deg=0)
    put_handle(piece, side)
    assert suggest(judged, "E").level == 1  # a quarter turn off the plan's place
    piece.intent_handle = "quarter"
    piece.save()
    found = evidence(judged.project)
    assert suggest_for(found, piece, judged.c["E"]).level == 4
    assert found.of(piece)["handle_alignment"].planned_by == "student"


def test_a_meant_place_without_the_seam_read_is_not_judged(judged):
    judged.piece.intent_handle = "over"
    judged.piece.save()
    put_handle(judged.piece, 0)
    found = evidence(judged.project).of(judged.piece)["handle_alignment"]
    assert (found.placement_deg, found.lean_deg) == (None, 0)


def test_the_fingers_are_the_students_where_they_were_measured(judged):
    for name, value in (("height", 37), ("depth", 30)):
        read(judged.piece, "handle_opening", value, stage="glazed", name=name)
    assert suggest(judged, "E").level == 2  # 2 * 19.5 + 3 = 42 mm are planned
    judged.piece.finger_breadth_mm = 16
    judged.piece.save()
    assert suggest(judged, "E").level == 4


def test_a_seam_meant_to_be_hidden_is_told_and_no_level_follows(judged):
    read(judged.piece, "seam_open", 0, name="seam", height_mm=10)
    read(judged.piece, "seam_step", 1.0, name="seam", height_mm=40, own_u=0.1)
    before = suggest(judged, "C").level
    judged.piece.intent_seam = "hidden"
    judged.piece.save()
    seam = evidence(judged.project).of(judged.piece)["seam_join"]
    assert (seam.intended, seam.as_intended) == ("hidden", False)
    assert suggest(judged, "C").level == before


def test_a_figure_without_a_limit_in_the_rubric_is_told_and_not_graded(judged):
    read_wall(judged.piece, 6.0, 6.1, 6.0, 6.1)
    read(judged.piece, "dimension", 100, name="mark", stage="wet")
    read(judged.piece, "dimension", 80, name="mark", stage="glazed")
    results = evidence(judged.project).of(judged.piece)
    assert all(each.graded for each in results["wall_evenness"].judged)
    (shrunk,) = results["shrinkage"].judged
    assert (shrunk.verdict, shrunk.graded) == ("outside", False)


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


def test_a_rim_that_is_meant_to_be_drawn_out_suggests_nothing_from_its_rise(judged):
    read_rim(judged.piece, 95, 95, 95, 101)
    assert suggest(judged, "D").level == 2
    judged.piece.intent_rim = "drawn"
    judged.piece.save()
    found, criterion = evidence(judged.project), judged.c["D"]
    assert suggest_for(found, judged.piece, criterion) is None
    assert why_none(found, judged.piece, criterion) == (
        "The rim is meant to be drawn out, so its rise suggests no level: judge it by eye."
    )
    # Nobody read the other rim: there is nothing to leave out.
    judged.other_piece.intent_rim = "drawn"
    judged.other_piece.save()
    assert why_none(evidence(judged.project), judged.other_piece, criterion) == ""
    judged.other_piece.intent_rim = ""
    judged.other_piece.save()
    # Another piece of the project, meant level, is judged as before.
    read_rim(judged.other_piece, 95, 95, 95, 101)
    assert suggest(judged, "D", judged.other_piece).level == 2


def test_what_else_a_criterion_asks_still_suggests_beside_a_drawn_rim(judged):
    read_rim(judged.piece, 95, 95, 95, 101)
    for name, value in (("rim_diameter", 80.0), ("rim_diameter_2", 80.2)):
        read(judged.piece, "dimension", value, name=name)
    judged.piece.intent_rim = "drawn"
    judged.piece.save()
    found = suggest(judged, "D")
    assert (found.level, found.figure) == (4, "rim_level.out_of_round_mm")
    assert found.why.endswith("judge it by eye.")
