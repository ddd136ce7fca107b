"""A section with something published, a draft, and somebody without a piece."""

import datetime as dt

import pytest

from rubrics.judging import marking
from rubrics.models import Mark
from rubrics.publishing.publish import publish
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric, copy_rubric
from tests.factories import make_piece, make_student


def judge(piece, rubric, teacher, level=4, *, excused=False, count=None):
    """Mark criteria of a piece, all of them or the first so many."""
    version = 0
    for criterion in list(rubric.criteria.all())[:count]:
        if excused:
            mark = marking.excuse(
                piece, criterion, teacher, expected_version=version, reason=Mark.Reason.KILN
            )
        else:
            mark = marking.set_level(piece, criterion, level, teacher, expected_version=version)
        version = mark.assessment.version
        if mark.wants_reason:
            mark = marking.give_reason(
                piece, criterion, teacher, expected_version=version, reason=Mark.Reason.SEEN
            )
            version = mark.assessment.version


@pytest.fixture
def judged(school):
    """Amara is published with level 4, Bao has a draft, Cy is excused, Dao has no piece."""
    school.rubric = copy_rubric(ensure_starter_rubric(), school.teacher)
    choose_rubric(school.project, school.rubric)
    school.project.begun_on, school.project.due_on = dt.date(2026, 2, 2), dt.date(2026, 3, 2)
    school.project.save()
    school.cy = make_student(school.section, "Cy D.")
    school.dao = make_student(school.section, "Dao P.")
    school.eve = make_student(school.section, "Eve K.")
    school.cy_piece = make_piece(school.project, school.cy, "K3-03")
    make_piece(school.project, school.eve, "K3-05", state="finished")
    judge(school.piece, school.rubric, school.teacher)
    judge(school.other_piece, school.rubric, school.teacher, count=2)
    judge(school.cy_piece, school.rubric, school.teacher, excused=True)
    publish(school.project, school.teacher, [school.piece, school.cy_piece])
    return school
