"""A project's pieces with everything a judging page shows, in a fixed number of queries."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from rubrics.evidence.collect import Evidence, evidence
from rubrics.judging.grade import Grade, grade_of_marks
from rubrics.judging.suggestions import Suggested, suggest_all, why_none
from rubrics.models import Assessment, Criterion, Mark, Rubric
from studio.models import GradeBand, Piece, Project, Stage

_NO_RUBRIC = "“{project}” has no rubric yet. Choose one, then judge."


class NoRubric(ValueError):  # noqa: N818  the name is what a view asks for
    """The project has no rubric yet; the message is a sentence for a teacher."""


@dataclass(frozen=True, slots=True)
class BatchProgress:
    """How far the judging is: by criterion id and as a whole, over the pieces that can be judged.

    ``finished`` have every criterion decided; ``ready`` of them lack no reason and are not
    published yet; ``to_judge`` came through the glaze firing and are not finished.
    """

    pieces: int
    done: Mapping[int, int]
    finished: int
    ready: int
    published: int
    to_judge: int


@dataclass(frozen=True, kw_only=True)
class Batch:
    """A project's pieces, their marks and what the checks suggest.

    Keys of ``marks`` and ``suggestions`` are (piece id, criterion id). A mark may be empty (it was
    taken back); ask ``mark.decided``, or use the methods, which do.
    """

    project: Project
    rubric: Rubric
    criteria: Sequence[Criterion]
    pieces: Sequence[Piece]
    assessments: Mapping[int, Assessment]
    marks: Mapping[tuple[int, int], Mark]
    evidence: Evidence
    suggestions: Mapping[tuple[int, int], Suggested]

    @cached_property
    def bands(self) -> Sequence[GradeBand]:
        """The section's grade scale; asked for only where a page shows grades (one query)."""
        return list(self.project.section.grade_bands.all())

    @property
    def to_judge(self) -> list[Piece]:
        """Pieces that can be judged: all but those that are lost."""
        return [piece for piece in self.pieces if piece.state != Piece.State.LOST]

    def version(self, piece: Piece) -> int:
        """The version to send along with a change of this piece; 0 before the first mark."""
        assessment = self.assessments.get(piece.pk)
        return assessment.version if assessment else 0

    def mark(self, piece: Piece, criterion: Criterion) -> Mark | None:
        """The mark as it stands, or None; one that was taken back is None too."""
        mark = self.marks.get((piece.pk, criterion.pk))
        return mark if mark is not None and mark.decided else None

    def suggested(self, piece: Piece, criterion: Criterion) -> Suggested | None:
        """What the checks suggest today."""
        return self.suggestions.get((piece.pk, criterion.pk))

    def why_none(self, piece: Piece, criterion: Criterion) -> str:
        """Why readings that are there suggest no level, and what would settle it; else ""."""
        return why_none(self.evidence, piece, criterion)

    def marks_of(self, piece: Piece) -> list[Mark]:
        """The piece's marks that stand, in the order of the criteria."""
        return [mark for each in self.criteria if (mark := self.mark(piece, each)) is not None]

    def missing(self, piece: Piece) -> tuple[Criterion, ...]:
        """Criteria without a mark."""
        return tuple(each for each in self.criteria if self.mark(piece, each) is None)

    def is_published(self, piece: Piece) -> bool:
        assessment = self.assessments.get(piece.pk)
        return assessment is not None and assessment.published_at is not None

    def is_ready(self, piece: Piece) -> bool:
        """Whether it may be published now."""
        return (
            not self.is_published(piece)
            and not self.missing(piece)
            and not any(mark.wants_reason for mark in self.marks_of(piece))
        )

    def grade(self, piece: Piece) -> Grade:
        """The grade as the marks stand; of the weight assessed so far."""
        return grade_of_marks(self.criteria, self.marks_of(piece), self.bands)

    def progress(self) -> BatchProgress:
        """How far the judging is."""
        pieces = self.to_judge
        done = {
            criterion.pk: sum(self.mark(piece, criterion) is not None for piece in pieces)
            for criterion in self.criteria
        }
        return BatchProgress(
            pieces=len(pieces),
            done=done,
            finished=sum(not self.missing(piece) for piece in pieces),
            ready=sum(self.is_ready(piece) for piece in pieces),
            published=sum(self.is_published(piece) for piece in pieces),
            to_judge=sum(
                piece.stage == Stage.GLAZED and bool(self.missing(piece)) for piece in pieces
            ),
        )


def load_batch(project: Project, *, pieces: Iterable[Piece] | None = None) -> Batch:
    """Load a project's pieces for judging.

    Parameters
    ----------
    project : Project
        From :mod:`studio.access`; with ``plan__clay`` and ``section`` fetched it costs less.
    pieces : iterable of Piece, optional
        Only these; all of the project's, in order of their codes, when left out.

    Raises
    ------
    NoRubric
        No rubric was chosen for the project yet.
    """
    rubric = rubric_of(project)
    criteria = list(rubric.criteria.all())
    limits = [limit for criterion in criteria for limit in criterion.limits.all()]
    found = evidence(project, pieces=pieces, limits=limits)
    chosen = None if pieces is None else found.pieces
    assessments = _assessments(project, chosen)
    return Batch(
        project=project,
        rubric=rubric,
        criteria=criteria,
        pieces=found.pieces,
        assessments=assessments,
        marks=_marks(project, assessments, criteria, chosen),
        evidence=found,
        suggestions=suggest_all(found, criteria),
    )


def rubric_of(project: Project) -> Rubric:
    """The rubric version by which a project is judged, whole.

    Raises
    ------
    NoRubric
        None was chosen yet.
    """
    rubric = Rubric.objects.filter(uses__project=project).whole().first()
    if rubric is None:
        raise NoRubric(_NO_RUBRIC.format(project=project))
    return rubric


def progress(project: Project) -> BatchProgress:
    """How far the judging is, without loading a mark or a reading: five queries.

    Raises
    ------
    NoRubric
        None was chosen yet.
    """
    found = progress_by_project([project])
    if project.pk not in found:
        raise NoRubric(_NO_RUBRIC.format(project=project))
    return found[project.pk]


def progress_by_project(projects: Collection[Project]) -> dict[int, BatchProgress]:
    """How far the judging of several projects is, by project id, in as many queries as of one.

    Projects without a rubric are left out.
    """
    ids = [project.pk for project in projects]
    criteria: dict[int, list[int]] = {}
    chosen = Criterion.objects.filter(rubric__uses__project__in=ids)
    for project, criterion in chosen.values_list("rubric__uses__project", "pk"):
        if project in ids:
            criteria.setdefault(project, []).append(criterion)
    pieces: dict[int, set[int]] = {project: set() for project in criteria}
    glazed: set[int] = set()
    going = Piece.objects.filter(project__in=list(criteria)).exclude(state=Piece.State.LOST)
    for project, piece, stage in going.values_list("project", "pk", "stage"):
        pieces[project].add(piece)
        if stage == Stage.GLAZED:
            glazed.add(piece)
    marks = Mark.objects.by_teacher().filter(assessment__piece__project__in=list(criteria))
    done: dict[int, set[int]] = {}
    for criterion, piece in marks.decided().values_list("criterion", "assessment__piece"):
        done.setdefault(criterion, set()).add(piece)
    published = set(
        Assessment.objects.by_teacher()
        .published()
        .filter(piece__project__in=list(criteria))
        .values_list("piece", flat=True)
    )
    unexplained = set(marks.unexplained().values_list("assessment__piece", "criterion"))
    found = {}
    for project, asked in criteria.items():
        judged = {each: pieces[project] & done.get(each, set()) for each in asked}
        finished = pieces[project].intersection(*judged.values())
        open_why = {piece for piece, criterion in unexplained if criterion in judged}
        found[project] = BatchProgress(
            pieces=len(pieces[project]),
            done={each: len(here) for each, here in judged.items()},
            finished=len(finished),
            ready=len(finished - open_why - published),
            published=len(pieces[project] & published),
            to_judge=len(pieces[project] & glazed - finished),
        )
    return found


def _assessments(project: Project, pieces: Iterable[Piece] | None) -> dict[int, Assessment]:
    """The teacher's assessments by piece id. What was shown is large and has its own page."""
    rows = Assessment.objects.by_teacher().filter(**_within(project, pieces, "piece"))
    return {each.piece_id: each for each in rows.defer("shown")}


def _marks(
    project: Project,
    assessments: Mapping[int, Assessment],
    criteria: Sequence[Criterion],
    pieces: Iterable[Piece] | None,
) -> dict[tuple[int, int], Mark]:
    """Marks with criterion, level and assessment attached from what is already here."""
    by_id = {assessment.pk: assessment for assessment in assessments.values()}
    by_criterion = {criterion.pk: criterion for criterion in criteria}
    levels = {level.pk: level for each in criteria for level in each.levels.all()}
    marks = {}
    for mark in Mark.objects.by_teacher().filter(
        criterion__in=list(by_criterion),
        **_within(project, pieces, "assessment__piece"),
    ):
        mark.assessment = by_id[mark.assessment_id]
        mark.criterion = by_criterion[mark.criterion_id]
        mark.level = levels.get(mark.level_id)
        marks[mark.assessment.piece_id, mark.criterion_id] = mark
    return marks


def _within(project: Project, pieces: Iterable[Piece] | None, path: str) -> dict:
    """A look-up of the project's pieces: by project for all, since a list of ids has no bound."""
    if pieces is None:
        return {f"{path}__project": project}
    return {f"{path}__in": [piece.pk for piece in pieces]}
