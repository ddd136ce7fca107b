"""Removing a student: everything goes, files after the commit, and nothing of anybody else."""

import io

import pytest
from django.contrib.auth import get_user_model
from django.db import transaction
from django.utils import timezone
from PIL import Image

from rubrics.models import Assessment
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from studio.models import Enrolment, FailedSignIn, Photo, Piece, Reading, Section, Student
from studio.people import removal
from studio.people.sections import RegisterError
from studio.photos import storing
from tests.factories import make_section, read_rim


@pytest.fixture
def filled(school):
    """Amara and Bao each with a photo and readings; Amara has judged both pieces."""
    rubric = ensure_starter_rubric()
    school.photos = []
    for piece, colour in ((school.piece, "tan"), (school.other_piece, "teal")):
        out = io.BytesIO()
        Image.new("RGB", (64, 48), colour).save(out, "JPEG")
        taken = storing.take_in(out.getvalue(), "a.jpg")
        school.photos.append(storing.store(school.section, piece, taken, school.teacher))
        read_rim(piece, 90, 91, 90, 91, made_by=school.student)
        Assessment.objects.create(piece=piece, rubric=rubric, kind="self", assessor=school.student)
    FailedSignIn.objects.create(name="student", address="10.0.0.1", last_at=timezone.now())
    return school


def files(photo):
    return [f.storage.exists(f.name) for f in (photo.file, photo.middle, photo.small)]


def test_what_goes_is_counted_first(filled):
    goes = removal.what_goes(filled.amara)
    assert dict(goes.counts) == {
        "judgement of a piece": 1,
        "place in a class": 1,
        "photo": 1,
        "piece": 1,
        "readings": 4,
    }
    assert (goes.files, goes.login) == (3, "student")
    assert Student.objects.filter(pk=filled.amara.pk).exists()


def test_everything_of_the_student_goes_and_nothing_else(
    filled, django_capture_on_commit_callbacks
):
    hers, his = filled.photos
    with django_capture_on_commit_callbacks(execute=True):
        removal.remove(filled.teacher, filled.amara)
    assert list(Student.objects.values_list("name", flat=True)) == ["Bao N."]
    assert list(Piece.objects.values_list("code", flat=True)) == ["K3-02"]
    assert list(Photo.objects.all()) == [his]
    assert files(hers) == [False] * 3
    assert files(his) == [True] * 3
    assert not get_user_model().objects.filter(username="student").exists()
    assert not FailedSignIn.objects.exists()
    # What she wrote about another's piece stays with it, without her name.
    assert [a.assessor for a in Assessment.objects.all()] == [None]
    assert set(Reading.objects.values_list("piece", "made_by")) == {(filled.other_piece.pk, None)}


def test_files_stay_where_the_removal_is_rolled_back(filled, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True), transaction.atomic():
        removal.remove(filled.teacher, filled.amara)
        transaction.set_rollback(True)
    assert Student.objects.filter(name="Amara O.").exists()
    assert files(filled.photos[0]) == [True] * 3


def test_a_student_of_another_teacher_stays(filled):
    theirs = Section.objects.get(name="Bell 5")
    Enrolment.objects.create(student=filled.amara, section=theirs)
    said = removal.refusal(filled.teacher, filled.amara)
    assert "another teacher's section" in said
    with pytest.raises(RegisterError):
        removal.remove(filled.teacher, filled.amara)
    assert Student.objects.filter(name="Amara O.").exists()


def test_another_section_of_ones_own_is_no_hindrance(filled):
    Enrolment.objects.create(
        student=filled.amara, section=make_section(filled.teacher, name="Bell 6")
    )
    assert removal.refusal(filled.teacher, filled.amara) == ""


def test_a_teachers_login_on_a_list_stays(filled):
    filled.amara.login = filled.colleague
    filled.amara.save()
    assert removal.what_goes(filled.amara).login == ""
    removal.remove(filled.teacher, filled.amara)
    assert get_user_model().objects.filter(username="colleague").exists()
