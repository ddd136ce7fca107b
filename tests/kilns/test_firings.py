"""Firings, loads, cones, logs: what is written and what is refused."""

import pytest
from django.db import IntegrityError, transaction

from studio.firing.log import read_log
from studio.firing.ramp import Segment
from studio.kilns import firings, log_and_cones
from studio.kilns.firings import FiringError, codes_in, load_codes, load_pieces
from studio.models import Outcome, Piece, WitnessCone
from tests.factories import make_firing, make_piece, make_project, make_section, make_student
from tests.firing.logs import elapsed, line

SEGMENTS = [Segment(60, 120, 60), Segment(None, 1100), Segment(60, 1222, 10)]


@pytest.fixture
def bisque(school):
    return make_firing(school.teacher, kind="bisque", planned_cone="06")


def taught(school):
    return Piece.objects.filter(section=school.section)


def test_a_ramp_replaces_the_one_before(school, bisque):
    firings.keep_firing(bisque, SEGMENTS, school.teacher)
    firings.keep_firing(bisque, SEGMENTS[:2], school.teacher)
    assert log_and_cones.segments_of(bisque) == SEGMENTS[:2]
    assert log_and_cones.planned_peak_c(bisque) == 1100


@pytest.mark.parametrize(
    "broken", [{"target_c": 0}, {"target_c": 2232}, {"rate_c_per_h": 0}, {"hold_min": -1}]
)
def test_the_database_refuses_what_no_kiln_does(bisque, broken):
    with pytest.raises(IntegrityError), transaction.atomic():
        bisque.segments.create(**{"position": 1, "target_c": 900, **broken})


def test_a_firing_that_is_taken_away_leaves_what_was_noted(school):
    firing = make_firing(school.teacher, school.piece)
    load = firing.loads.get()
    noted = Outcome.objects.create(piece=school.piece, load=load, stage="glazed", kind="warp")
    firings.remove_firing(firing)
    noted.refresh_from_db()
    assert (noted.load, noted.piece) == (None, school.piece)


def test_codes_are_read_however_they_come(school, bisque):
    assert codes_in(" K3-01,\nk3-02; K3-01\t") == ["K3-01", "k3-02"]
    came = load_codes(bisque, "k3-01 K3-02 K9-99", taught(school), shelf=2)
    assert [piece.code for piece in came.new] == ["K3-01", "K3-02"]
    assert "no piece K9-99" in came.problems[0]
    assert "not dry yet" in came.warnings[0]
    again = load_codes(bisque, "K3-01", taught(school), shelf=3)
    assert ([p.code for p in again.already], bisque.loads.get(piece=school.piece).shelf) == (
        ["K3-01"],
        3,
    )


def test_a_broken_piece_is_not_loaded(school, bisque):
    school.piece.state = Piece.State.BROKEN
    school.piece.save()
    came = load_codes(bisque, "K3-01", taught(school))
    assert (came.new, came.problems) == ([], ["K3-01 is broken; it cannot be loaded."])


def test_a_code_of_two_sections_goes_to_the_one_that_waits_for_the_kiln(school, bisque):
    other = make_section(school.teacher, name="Bell 6")
    twin = make_piece(make_project(other), make_student(other, "Cai"), "K3-01", stage="bone dry")
    pieces = Piece.objects.filter(section__in=(school.section, other))
    assert load_codes(bisque, "K3-01", pieces).new == [twin]
    school.piece.stage = "bone dry"
    school.piece.save()
    bisque.loads.all().delete()
    came = load_codes(bisque, "K3-01", pieces)
    assert came.new == []
    assert "Bell 4 and Bell 6" in came.problems[0]


def test_ready_is_what_waits_for_this_kind_and_sits_in_no_kiln(school, bisque):
    Piece.objects.filter(pk=school.piece.pk).update(stage="bone dry")
    Piece.objects.filter(pk=school.other_piece.pk).update(stage="bisque")
    glaze = make_firing(school.teacher, kind="glazed")
    assert list(firings.ready(bisque, taught(school))) == [school.piece]
    assert list(firings.ready(glaze, taught(school))) == [school.other_piece]
    load_pieces(bisque, [school.piece])
    assert list(firings.ready(bisque, taught(school))) == []


def test_an_unloaded_firing_and_a_shelf_that_is_not_there_are_refused(school, bisque):
    with pytest.raises(FiringError, match="shelves 1"):
        load_pieces(bisque, [school.piece], shelf=9)
    bisque.unloaded_on = bisque.fired_on
    bisque.save()
    with pytest.raises(FiringError, match="is unloaded"):
        load_pieces(bisque, [school.piece])
    assert bisque.loads.count() == 0


def test_cones_are_replaced_whole(bisque):
    firings.keep_cones(bisque, {(1, "06"): "3", (1, "05"): "standing", (2, "06"): ""})
    firings.keep_cones(bisque, {(1, "06"): "6"})
    assert list(WitnessCone.objects.values_list("shelf", "cone", "bend")) == [(1, "06", "6")]
    told = log_and_cones.shelf_verdicts(bisque, bisque.witness_cones.all())
    assert told[1].verdict == "on"


def test_a_log_waits_until_it_is_kept(school):
    firing = make_firing(school.teacher)
    firings.keep_firing(firing, SEGMENTS, school.teacher)
    log = read_log(elapsed(*line()), planned_peak_c=1222)
    firings.look_at_log(firing, log, "kiln.csv", school.teacher)
    assert list(firing.logs.values_list("kept", flat=True)) == [False]
    firings.keep_log(firing)
    firings.look_at_log(firing, log, "again.csv", school.teacher)
    firings.look_at_log(firing, log, "third.csv", school.teacher)
    assert list(firing.logs.values_list("kept", "came_as")) == [
        (True, "kiln.csv"),
        (False, "third.csv"),
    ]
    firings.keep_log(firing)
    reckoned = log_and_cones.reckon(firing, firing.logs.get())
    assert reckoned.facts.peak_c == pytest.approx(1222, abs=0.1)
    # Climbed at 100 °C/h, so cone 6 was down between 1222 (60 °C/h) and 1243 °C (150 °C/h).
    assert reckoned.verdict.end.celsius == pytest.approx(1233.7, abs=0.5)
    with pytest.raises(FiringError, match="no log to keep"):
        firings.keep_log(firing)


def test_a_waiting_log_is_turned_to_the_other_unit(school):
    firing = make_firing(school.teacher)
    minutes, celsius = line()
    log = read_log(elapsed(minutes, celsius, "min,temp °F"), planned_peak_c=1222)
    waiting = firings.look_at_log(firing, log, "kiln.csv", school.teacher)
    assert round(log_and_cones.reckon(firing, waiting).facts.peak_c) == 661
    turned = firings.turn_unit(waiting)
    assert round(log_and_cones.reckon(firing, turned).facts.peak_c) == 1222
    assert turned.problems == [["unit", "Read as °C because you say so."]]


def test_two_kept_logs_are_refused_by_the_database(school):
    firing = make_firing(school.teacher)
    firing.logs.create(kept=True, unit="C", points=b"", line_count=1)
    with pytest.raises(IntegrityError), transaction.atomic():
        firing.logs.create(kept=True, unit="C", points=b"", line_count=1)


def test_a_firing_without_a_cone_has_no_verdict(school):
    firing = make_firing(school.teacher, planned_cone="")
    firings.keep_cones(firing, {(1, "6"): "6"})
    assert log_and_cones.shelf_verdicts(firing, firing.witness_cones.all()) == {}
    assert log_and_cones.drawing_of(firing, None) is None
