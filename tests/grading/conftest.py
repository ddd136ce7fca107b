"""A project that is judged by the starter rubric."""

import pytest

from rubrics.grading import set_level
from rubrics.starter import ensure_starter_rubric
from rubrics.versions import choose_rubric


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
