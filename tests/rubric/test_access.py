"""Whose are rubrics, drafts and published assessments."""

import pytest
from django.core.exceptions import PermissionDenied
from django.http import Http404

from rubrics import access
from rubrics.publishing.publish import publish
from rubrics.rubric.versions import copy_rubric
from tests.people.test_access import EVERYBODY, who

pytestmark = pytest.mark.django_db


def test_a_shipped_rubric_is_read_by_grown_ups_and_by_those_it_judges(judged):
    assert who(judged, access.rubrics, judged.rubric) == {
        "teacher",
        "colleague",
        "head",
        "student",
        "other_student",
    }
    assert who(judged, access.own_rubrics, judged.rubric) == set()


def test_an_own_rubric_is_its_owners_to_read_and_to_change(judged):
    own = copy_rubric(judged.rubric, judged.colleague)
    assert who(judged, access.rubrics, own) == {"colleague"}
    assert access.get_own_rubric(judged.colleague, own.pk) == own
    with pytest.raises(PermissionDenied):
        access.get_own_rubric(judged.teacher, judged.rubric.pk)
    with pytest.raises(Http404):
        access.get_own_rubric(judged.teacher, own.pk)


def test_an_assessment_is_nobodys_until_it_is_published(finished):
    def readers():
        return {
            name
            for name in EVERYBODY
            if access.published_assessment(getattr(finished, name), finished.piece)
        }

    assert readers() == set()
    publish(finished.project, finished.teacher)
    assert readers() == {"teacher", "head", "student"}


def test_drafts_are_judged_by_the_teacher_and_read_by_no_student(finished):
    judges = {n for n in EVERYBODY if access.may_judge(getattr(finished, n), finished.piece)}
    assert judges == {"teacher"}
    assert who(finished, access.read_pieces, finished.piece) == {"teacher", "head"}
    assert access.get_piece_to_judge(finished.teacher, finished.piece.pk) == finished.piece
    with pytest.raises(PermissionDenied):
        access.get_piece_to_judge(finished.head, finished.piece.pk)
    with pytest.raises(Http404):
        access.get_piece_to_judge(finished.student, finished.piece.pk)
