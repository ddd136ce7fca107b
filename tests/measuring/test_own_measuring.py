"""A student measures the own piece, and the teacher a sample of them again."""

import pytest
from django.urls import reverse

from rubrics.evidence.collect import evidence
from rubrics.evidence.remeasuring import draw_sample, remeasuring
from studio.models import Instrument, Reading
from tests import factories
from tests.pages import page_text

pytestmark = pytest.mark.django_db


@pytest.fixture
def amara():
    user = factories.make_user("amara.o", first_name="Amara", last_name="O.")
    user.teacher = factories.make_user("thea", is_staff=True)
    section = factories.make_section(user.teacher)
    student = factories.make_student(section, "Amara O.", login=user)
    project = factories.make_project(section)
    user.piece = factories.make_piece(project, student, stage="leather-hard")
    return user


def measure(client, piece, **sent):
    path = reverse("measure_own", args=[piece.pk])
    return client.post(path, {"set": "wall-4", "at": "1", "value": "", "base": "", **sent})


def current(piece, **which):
    return {
        (one.azimuth_deg, one.source): (one.value, one.made_by)
        for one in Reading.objects.current().filter(piece=piece, **which)
    }


def test_a_student_measures_station_after_station_and_is_named(client, amara):
    client.force_login(amara)
    page = page_text(client.get(reverse("measure_own", args=[amara.piece.pk])))
    assert "on the side where the handle is planned" in page
    assert page.count('class="mark lit"') == 1
    there = measure(client, amara.piece, value="6,2").url
    assert there.endswith("set=wall-4&at=2")
    for at, value in ((2, "6.0"), (3, "6.4")):
        there = measure(client, amara.piece, at=at, value=value).url
    assert there.endswith("at=4")
    measure(client, amara.piece, at=4, value="6.1")
    assert current(amara.piece) == {
        (0.0, "student"): (6.2, amara),
        (90.0, "student"): (6.0, amara),
        (180.0, "student"): (6.4, amara),
        (270.0, "student"): (6.1, amara),
    }


def test_what_cannot_be_read_stays_and_is_told(client, amara):
    client.force_login(amara)
    page = page_text(measure(client, amara.piece, value="six"))
    assert 'value="six"' in page
    assert 'role="alert"' in page
    assert Reading.objects.count() == 0


def test_a_likely_slip_is_asked_and_one_key_mends_it(client, amara):
    client.force_login(amara)
    factories.read_wall(amara.piece, 6.1, 6.0, 6.2, 6.3, source="student")
    first = Reading.objects.get(azimuth_deg=0)
    page = page_text(measure(client, amara.piece, value="64", base=first.pk))
    assert "Did you mean 6.4" in page
    asked = Reading.objects.current().get(azimuth_deg=0)
    assert asked.value == 64
    measure(client, amara.piece, value="64", base=asked.pk, take="6.4")
    assert Reading.objects.current().get(azimuth_deg=0).value == 6.4


def test_both_readings_stand_and_the_teachers_counts(client, amara):
    factories.read_wall(amara.piece, 6.0, 6.0, 6.0, 6.0, source="student")
    factories.read_wall(amara.piece, 8.0, source="hand")
    stands = current(amara.piece)
    assert len(stands) == 5
    assert stands[0.0, "hand"][0] == 8.0
    found = evidence(amara.piece.project)
    wall = found.of(amara.piece)["wall_evenness"]
    assert wall.spread_mm == pytest.approx(2.0)
    assert "3 of 4 readings are the student's own." in found.origin(amara.piece, "wall_evenness")


def test_a_students_hand_comes_before_a_photo(amara):
    factories.read_wall(amara.piece, 7.0, 7.0, 7.0, 7.0, source="photo")
    factories.read_wall(amara.piece, 6.0, 6.0, 6.0, 6.0, source="student")
    rows = evidence(amara.piece.project).rows[amara.piece.pk]
    assert {row.reading.value for row in rows} == {6.0}


def test_the_sheet_does_not_tell_the_teacher_what_the_student_read(client, amara):
    factories.read_wall(amara.piece, 6.37, source="student")
    client.force_login(amara.teacher)
    path = reverse("measure", args=[amara.piece.project_id])
    page = page_text(client.get(path + "?set=wall-4&stage=leather-hard"))
    assert "by student" in page
    assert "6.37" not in page


def test_readings_differ_beyond_what_both_tools_explain(client, amara):
    # Steps of 0.1 and a repeatability of 0.2, and leather-hard clay that gives
    # up to 0.5: u = sqrt(0.1^2 / 12 + 0.2^2 + 0.5^2 / 3) = 0.35237; for a
    # difference twice sqrt(2) times that, 0.99666 (JCGM 100:2008, 4.3.7, 5.1.2 and 6.3.3).
    tool = Instrument.objects.create(name="Own calliper", resolution=0.1, repeatability=0.2)
    factories.read_wall(amara.piece, 6.0, 6.0, source="student", instrument=tool)
    factories.read_wall(amara.piece, 6.99, 7.00, source="hand", instrument=tool)
    (each,) = remeasuring(amara.piece.project).sample
    assert [pair.differs for pair in each.pairs] == [False, True]
    assert each.pairs[0].allowed == pytest.approx(0.996661, abs=1e-6)
    client.force_login(amara.teacher)
    page = page_text(client.get(reverse("remeasure", args=[amara.piece.project_id])))
    assert "Differs at 1 of 2 places." in page
    assert "Your reading counts there." in page


@pytest.mark.parametrize(("pieces", "drawn"), [(2, 2), (3, 3), (24, 3), (31, 4), (150, 15)])
def test_the_sample_is_a_tenth_three_at_least_and_stays(pieces, drawn):
    ids = range(1, pieces + 1)
    sample = draw_sample(7, ids)
    assert len(sample) == drawn
    assert draw_sample(7, reversed(ids)) == sample


def test_another_project_draws_another_sample():
    draws = {frozenset(draw_sample(project, range(100))) for project in range(20)}
    assert len(draws) == 20


def test_many_pieces_cost_no_more_queries_than_one(client, amara, count_queries):
    factories.read_wall(amara.piece, 6.0, source="student")
    path = reverse("remeasure", args=[amara.piece.project_id])
    client.force_login(amara.teacher)
    few = count_queries(client, path)
    for n in range(8):
        student = factories.make_student(amara.piece.section, f"Student {n}")
        piece = factories.make_piece(amara.piece.project, student, f"K9-{n}")
        factories.read_wall(piece, 6.0, 6.1, source="student")
        factories.read_wall(piece, 6.4, source="hand")
    assert count_queries(client, path) == few


@pytest.fixture
def teachers(amara):
    """A reading by the teacher's hand on the student's piece, with an open question."""
    return factories.read(
        amara.piece,
        "wall_thickness",
        64,
        height_mm=45,
        azimuth_deg=0,
        source="hand",
        made_by=amara.teacher,
        doubt="64? Did you mean 6.4?",
    )


@pytest.mark.parametrize("sent", [{"value": ""}, {"value": "6.4"}, {"value": "64", "stand": "1"}])
def test_a_student_neither_takes_back_nor_answers_for_a_teachers_reading(
    client, amara, teachers, sent
):
    client.force_login(amara)
    measure(client, amara.piece, base=teachers.pk, **sent)
    teachers.refresh_from_db()
    assert (teachers.superseded_at, teachers.value) == (None, 64)
    assert teachers.doubt == "64? Did you mean 6.4?"


def test_a_student_takes_back_and_answers_for_own_readings(client, amara):
    client.force_login(amara)
    measure(client, amara.piece, value="6.2")
    own = Reading.objects.get()
    Reading.objects.update(doubt="6.2? Does it stand?")
    measure(client, amara.piece, value="6.2", base=own.pk, stand="1")
    assert Reading.objects.get().doubt == ""
    measure(client, amara.piece, value="", base=own.pk)
    assert not Reading.objects.current().exists()
