"""People and rows that many tests begin with."""

from types import SimpleNamespace

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

import tests.profiles  # noqa: F401  loaded for what it registers
from rubrics.judging.marking import set_level
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric
from tests.factories import (
    make_mat,
    make_piece,
    make_project,
    make_section,
    make_student,
    make_user,
)


def pytest_addoption(parser):
    parser.addoption("--sentences", help="write every sentence that the site can say to this file")


LONGEST = ("tests/web/test_hostile_fields.py", "tests/web/test_doors.py")
"""Files of one long test each: begun last, they would leave a process idle at the end."""


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items):
    items.sort(key=lambda item: not item.nodeid.startswith(LONGEST))


@pytest.fixture
def school(db):
    """Section, project and two pieces, and the people around them.

    The teacher teaches it, the head reads it, the colleague teaches another section, the student
    made ``piece``, the other student ``other_piece``; the outsider belongs to nothing.
    """
    teacher = make_user("teacher", first_name="Thea", last_name="Teach", is_staff=True)
    colleague = make_user("colleague", is_staff=True)
    head, outsider = make_user("head"), make_user("outsider")
    student, other_student = make_user("student"), make_user("other-student")
    section = make_section(teacher, head=head)
    make_section(colleague, name="Bell 5")
    make_mat(teacher)
    project = make_project(section)
    amara = make_student(section, "Amara O.", login=student, note="PRIVATE-NOTE")
    bao = make_student(section, "Bao N.", login=other_student)
    return SimpleNamespace(
        teacher=teacher,
        colleague=colleague,
        head=head,
        student=student,
        other_student=other_student,
        outsider=outsider,
        section=section,
        project=project,
        amara=amara,
        bao=bao,
        piece=make_piece(project, amara, "K3-01"),
        other_piece=make_piece(project, bao, "K3-02"),
    )


@pytest.fixture
def judged(school):
    """The school, its project judged by the starter rubric; criteria by letter as ``c``."""
    school.rubric = ensure_starter_rubric()
    choose_rubric(school.project, school.rubric)
    school.c = {each.letter: each for each in school.rubric.criteria.all()}
    return school


@pytest.fixture
def finished(judged):
    """The first piece has a level 3 on every criterion, the second none."""
    version = 0
    for criterion in judged.c.values():
        mark = set_level(judged.piece, criterion, 3, judged.teacher, expected_version=version)
        version = mark.assessment.version
    return judged


@pytest.fixture
def count_queries():
    """Return ``count_queries(client, path)``: how many queries a page costs."""

    def count(client, path) -> int:
        with CaptureQueriesContext(
            connection,
        ) as captured:
            assert client.get(path).status_code == 200
        return len(captured)

    return count
