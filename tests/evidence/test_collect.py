"""Rows become results: which readings count, with which uncertainty, in how many queries."""

import math

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from rubrics.evidence.collect import evidence, plan_of
from rubrics.judging.batch import load_batch
from studio.models import Instrument, Photo, Plan, Project, Reading
from tests.factories import make_piece, make_student, read, read_rim, read_wall, take_back
from tests.judging.batches import fill, make_batch

LEVEL_RIM = (95.0, 95.5, 96.0, 97.3, 96.5, 96.0, 95.5, 95.2)


def make_photo(piece, *, confirmed: bool) -> Photo:
    return Photo.objects.create(
        section=piece.section,
        piece=piece,
        stage="leather-hard",
        width=10,
        height=10,
        sha256=f"{piece.pk}-{confirmed}",
        confirmed_at=timezone.now() if confirmed else None,
    )


def test_rim_readings_become_a_rise(school):
    read_rim(school.piece, *LEVEL_RIM)
    rim = evidence(school.project).of(school.piece)["rim_level"]
    # By construction: highest 97.3 less lowest 95.0.
    assert rim.rise_mm == pytest.approx(2.3)


def test_a_reading_taken_back_does_not_count(school):
    read_rim(school.piece, *LEVEL_RIM)
    slip = Reading.objects.get(value=97.3)
    take_back(slip)
    read(school.piece, "rim_height", 95.7, azimuth_deg=135)
    assert evidence(school.project).of(school.piece)["rim_level"].rise_mm == pytest.approx(1.5)


def test_uncertainty_comes_from_the_value_then_the_instrument_then_the_usual_one(school):
    gauge = Instrument.objects.create(name="gauge", resolution=0.6, repeatability=0.3)
    read(school.piece, "rim_height", 95, azimuth_deg=0, own_u=0.7)
    read(school.piece, "rim_height", 95, azimuth_deg=90, instrument=gauge)
    read(school.piece, "rim_height", 95, azimuth_deg=180)
    read(school.piece, "foot_side", 60, name="1", instrument=gauge)
    rows = evidence(school.project).rows[school.piece.pk]
    # GUM F.2.2.1 and 5.1.2: u² = d²/12 + s² + g². Usual for a rim: height gauge, d = 0.5, s = 0.2;
    # leather-hard clay gives up to 0.5 mm under jaws, a²/3 by GUM 4.3.7, and nothing under a gauge
    # laid on the rim.
    expected = [
        0.7,
        math.sqrt(0.6**2 / 12 + 0.3**2),
        math.sqrt(0.5**2 / 12 + 0.2**2),
        math.sqrt(0.6**2 / 12 + 0.3**2 + 0.5**2 / 3),
    ]
    assert [row.reading.u for row in rows] == pytest.approx(expected)


def test_the_hand_outranks_the_photo_at_one_station_and_says_so(school):
    photo = make_photo(school.piece, confirmed=True)
    read_rim(school.piece, 95, 95, 95, 95, source="photo", photo=photo, own_u=0.5)
    read(school.piece, "rim_height", 98, azimuth_deg=90)
    found = evidence(school.project)
    assert found.of(school.piece)["rim_level"].rise_mm == pytest.approx(3)
    assert found.origin(school.piece, "rim_level") == (
        "3 of 4 readings come from the photo. Where both were read, the hand's reading counts."
    )


def test_a_photo_that_nobody_confirmed_does_not_count(school):
    photo = make_photo(school.piece, confirmed=False)
    read_rim(school.piece, 95, 95, 95, 99, source="photo", photo=photo, own_u=0.5)
    assert evidence(school.project).of(school.piece) == {}


def test_an_open_question_is_told_with_the_result_it_touches(school):
    read_rim(school.piece, *LEVEL_RIM)
    read_wall(school.piece, 6, 6, 6, 6)
    Reading.objects.filter(value=97.3).update(doubt="97.3? Did you mean 95.3?")
    found = evidence(school.project)
    assert found.questions(school.piece, "rim_level") == ("97.3? Did you mean 95.3?",)
    assert found.questions(school.piece, "wall_evenness") == ()


def test_the_plan_is_taken_from_the_project(school):
    plan = plan_of(school.project)
    assert plan.sizes_mm == {"height": 95, "rim_diameter": 85, "foot_side": 58}
    assert (plan.shrinkage["glazed"], plan.slab_mm, plan.capacity_ml) == (0.12, 6.35, 280)


def test_a_project_without_a_plan_plans_nothing(school):
    bare = Project.objects.create(section=school.section, title="Free", number=9)
    plan = plan_of(bare)
    assert (dict(plan.sizes_mm), dict(plan.shrinkage), plan.capacity_ml) == ({}, {}, None)


def test_the_rubrics_limits_give_the_verdict(judged):
    read_rim(judged.piece, *LEVEL_RIM)
    judged.c["D"].limits.filter(figure="rim_level.rise_deg").update(a=0.1, b=0.2, c=0.3)
    assert evidence(judged.project).of(judged.piece)["rim_level"].verdict == "outside"


@pytest.mark.parametrize("loader", [evidence, load_batch])
def test_queries_do_not_grow_with_the_batch(judged, django_assert_num_queries, loader):
    make_batch(judged, 3)

    def fresh():
        return Project.objects.select_related("section", "plan__clay").get(pk=judged.project.pk)

    project = fresh()
    with CaptureQueriesContext(connection) as few:
        loader(project)
    for number in range(3, 30):
        student = make_student(judged.section, f"Student {number}")
        fill(make_piece(judged.project, student, f"B-{number:03}"))
    project = fresh()
    with django_assert_num_queries(len(few)):
        loader(project)
    assert len(few) <= 12


def test_darts_that_end_on_the_way_leave_a_shoulder_that_the_checks_know(school):
    plan = Plan.objects.get_or_create(project=school.project)[0]
    plan.sizes.all().delete()
    for name, fired in (("height", 95), ("rim_diameter", 82), ("foot_side", 61)):
        plan.sizes.create(name=name, fired_mm=fired)
    plan.sizes.create(name="base_thickness", fired_mm=5.5)
    school.project.refresh_from_db()
    planned = plan_of(school.project)
    # A third of the height above the base, as the plan's own page says it.
    assert planned.shoulder_mm == pytest.approx(5.5 + 95 / 3)
    Plan.objects.filter(pk=plan.pk).update(has_whole_wall_darts=True)
    assert plan_of(Project.objects.get(pk=school.project.pk)).shoulder_mm is None
    Plan.objects.filter(pk=plan.pk).update(has_whole_wall_darts=False, dart_count=0)
    assert plan_of(Project.objects.get(pk=school.project.pk)).shoulder_mm is None
