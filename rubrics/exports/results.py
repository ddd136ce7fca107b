"""A section's results as they were published: one cell for each student and project.

Only what a student was told leaves the site. Of anything else no figure is given, only its state.
"""

import datetime as dt
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from django.db.models import Count, Exists, OuterRef, Q
from django.utils import timezone

from rubrics.models import Assessment
from studio.models import Piece, Project, Section, Student


class ScoreState(StrEnum):
    """Score states in the words of OneRoster 1.1."""

    EXEMPT = "exempt"
    FULLY = "fully graded"
    NOT_SUBMITTED = "not submitted"
    PARTIALLY = "partially graded"
    SUBMITTED = "submitted"


# Which result stands for a student with several pieces in a project: the one that says most.
SAYS_MOST = (
    ScoreState.FULLY,
    ScoreState.EXEMPT,
    ScoreState.PARTIALLY,
    ScoreState.SUBMITTED,
    ScoreState.NOT_SUBMITTED,
)


@dataclass(frozen=True, slots=True)
class Result:
    """One student's result in one project; figures only where published."""

    student: Student
    project: Project
    state: ScoreState
    percent: Decimal | None = None
    grade: str = ""
    published_on: dt.date | None = None
    code: str = ""

    @property
    def uid(self) -> uuid.UUID:
        """The same in every export: of the section's own name, the project and the student."""
        return uuid.uuid5(project_uid(self.project), f"student:{self.student.uid}")


@dataclass(frozen=True, slots=True)
class Results:
    """All results of a section; ``rows`` are by student, in the order of ``projects``."""

    section: Section
    projects: Sequence[Project]
    rows: Sequence[tuple[Student, Sequence[Result]]]

    def all(self):
        for _student, row in self.rows:
            yield from row

    @property
    def published(self) -> int:
        return sum(result.published_on is not None for result in self.all())


def project_uid(project: Project) -> uuid.UUID:
    """The name of a project outside the site; ``project.section`` must be fetched."""
    return uuid.uuid5(project.section.uid, f"project:{project.pk}")


def sourced_id(row: Section | Student) -> str:
    """The key in the school's register where there is one, else our own stable name."""
    return row.sourced_id or str(row.uid)


def load(section: Section) -> Results:
    """The results of everybody who is in the section or has left it with a piece. Four queries."""
    projects = list(section.projects.select_related("section").order_by("number"))
    made = Piece.objects.filter(section=section)
    students = list(
        Student.objects.filter(enrolments__section=section)
        .filter(Q(enrolments__left_on=None) | Exists(made.filter(student=OuterRef("pk"))))
        .distinct()
    )
    is_decided = Q(marks__level__isnull=False) | Q(marks__excused=True)
    assessments = {
        each.piece_id: each
        for each in Assessment.objects.by_teacher()
        .filter(piece__section=section)
        .annotate(
            decided=Count("marks", filter=is_decided, distinct=True),
            criteria=Count("rubric__criteria", distinct=True),
        )
    }
    cells: dict[tuple[int, int], list[Result]] = {}
    people, tasks = ({row.pk: row for row in rows} for rows in (students, projects))
    for piece in made.order_by("code"):
        if piece.student_id in people:
            student, project = people[piece.student_id], tasks[piece.project_id]
            result = _result(piece, student, project, assessments.get(piece.pk))
            cells.setdefault((student.pk, project.pk), []).append(result)
    rows = [
        (student, [_cell(cells, student, project) for project in projects]) for student in students
    ]
    return Results(section, projects, rows)


def _cell(cells, student: Student, project: Project) -> Result:
    found = cells.get((student.pk, project.pk))
    if not found:
        return Result(student, project, ScoreState.NOT_SUBMITTED)
    return min(found, key=lambda result: (SAYS_MOST.index(result.state), -(result.percent or 0)))


def _result(piece: Piece, student: Student, project: Project, assessment) -> Result:
    shown = assessment.shown if assessment is not None and assessment.published_at else None
    if shown is None:
        state = _state_unpublished(piece, assessment)
        return Result(student, project, state, code=piece.code)
    if shown["percent"] is None:
        # Everything was excused: nothing was looked at, and nothing counts against the student.
        percent, state = None, ScoreState.EXEMPT
    else:
        percent, state = Decimal(shown["percent"]), ScoreState.FULLY
    day = timezone.localdate(assessment.published_at)
    return Result(student, project, state, percent, shown["grade"], day, piece.code)


def _state_unpublished(piece: Piece, assessment) -> ScoreState:
    """A draft shows how far it is, and none of its figures.

    What is decided whole and not published yet is no partial grade: the work is in, and its grade
    is not told.
    """
    if assessment is not None and assessment.decided:
        is_whole = assessment.decided == assessment.criteria
        return ScoreState.SUBMITTED if is_whole else ScoreState.PARTIALLY
    return ScoreState.NOT_SUBMITTED if piece.state == Piece.State.IN_WORK else ScoreState.SUBMITTED
