"""Summary of a class for its teacher and its head: counts, never a name."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from rubrics.checks.register import checks
from rubrics.evidence.check_facts import facts_by_check
from rubrics.evidence.class_misses import class_misses
from rubrics.judging.batch import Batch, NoRubric, load_batch
from rubrics.reports.overview import CheckSpread, ClassMiss, CriterionSpread, Overview
from rubrics.stats.class_findings import (
    LOOK_AT_PLAN,
    TEACH_AGAIN,
    ClassFinding,
    Counted,
    class_findings,
)
from studio.models import Outcome, Piece, Project, Section
from studio.ware.stages import FIRED_STAGES

LEVELS = (4, 3, 2, 1)
TEACH_AGAIN_BELOW = 3
"""A level below this is counted as a miss (our proposal)."""
MOST_AGAIN = 3
"""So many things a teacher can teach again before the next project; the surest ones."""


def overviews(section: Section) -> list[Overview]:
    """One overview a project that has a rubric and pieces, the latest first."""
    found = []
    projects = section.projects.select_related("section", "plan__clay").order_by("-number")
    for project in projects:
        try:
            batch = load_batch(project)
        except NoRubric:
            continue
        if batch.pieces:
            found.append(_overview(project, batch, section))
    return found


def _overview(project: Project, batch: Batch, section: Section) -> Overview:
    criteria = [_criterion(batch, each) for each in batch.criteria]
    findings = _findings(batch, criteria)
    outcomes = list(Outcome.objects.filter(piece__project=project).exclude(kind="sound"))
    beginners = {piece.student_id for piece in batch.pieces}
    present = section.enrolments.filter(left_on=None).values_list("student", flat=True)
    percents = [
        float(grade.percent)
        for piece in batch.to_judge
        if (grade := batch.grade(piece)).percent is not None and not batch.missing(piece)
    ]
    return Overview(
        section=str(section),
        project=project.title,
        number=project.number,
        pieces=len(batch.pieces),
        judged=sum(not batch.missing(piece) for piece in batch.to_judge),
        published=sum(batch.is_published(piece) for piece in batch.to_judge),
        missing=len(set(present) - beginners),
        in_work=sum(
            piece.state == Piece.State.IN_WORK and not batch.is_published(piece)
            for piece in batch.pieces
        ),
        lost=sum(piece.state in (Piece.State.LOST, Piece.State.BROKEN) for piece in batch.pieces),
        mean=sum(percents) / len(percents) if percents else None,
        lowest=min(percents, default=None),
        highest=max(percents, default=None),
        criteria=tuple(criteria),
        checks=tuple(_checks(batch)),
        outcomes=tuple(
            sorted(Counter((each.kind, each.get_doing_display()) for each in outcomes).items())
        ),
        again=tuple(_said(each) for each in findings if each.word == TEACH_AGAIN)[:MOST_AGAIN],
        plan=tuple(_said(each) for each in findings if each.word == LOOK_AT_PLAN)[:MOST_AGAIN],
        fired=any(piece.stage in FIRED_STAGES for piece in batch.pieces),
    )


def plan_suspects(batch: Batch) -> tuple[ClassMiss, ...]:
    """The planned sizes that nearly the whole class misses on one side: the plan or the template is
    the likely cause, and no student's hand."""
    findings = _findings(batch, [_criterion(batch, each) for each in batch.criteria])
    return tuple(_said(each) for each in findings if each.word == LOOK_AT_PLAN)


def _criterion(batch: Batch, criterion) -> CriterionSpread:
    marks = [mark for piece in batch.to_judge if (mark := batch.mark(piece, criterion)) is not None]
    counts = Counter(mark.level.number for mark in marks if not mark.excused)
    return CriterionSpread(
        name=criterion.name,
        levels=tuple(counts[level] for level in LEVELS),
        excused=sum(mark.excused for mark in marks),
    )


def _findings(batch: Batch, criteria: Sequence[CriterionSpread]) -> tuple[ClassFinding, ...]:
    """What the class shows, levels and measured figures in one family."""
    by_level = [
        Counted(name=each.name, told=sum(each.levels), low=_below(each)) for each in criteria
    ]
    return class_findings([*by_level, *class_misses(batch.evidence)])


def _below(spread: CriterionSpread) -> int:
    pairs = zip(LEVELS, spread.levels, strict=True)
    return sum(count for level, count in pairs if level < TEACH_AGAIN_BELOW)


def _said(finding: ClassFinding) -> ClassMiss:
    return ClassMiss(
        name=finding.name,
        missed=finding.missed,
        told=finding.share.count,
        low=finding.share.low,
        high=finding.share.high,
        side=finding.side,
    )


def _checks(batch: Batch) -> Sequence[CheckSpread]:
    """How many pieces lie within, too close to and outside the limits of each check."""
    counts: dict[str, Counter] = {}
    for piece in batch.pieces:
        for name, facts in facts_by_check(batch.evidence, piece).items():
            if facts.get("verdict"):
                counts.setdefault(name, Counter())[facts["verdict"]] += 1
    return [
        CheckSpread(
            name=check.title,
            within=counts[name]["within"],
            too_close=counts[name]["too close to call"],
            outside=counts[name]["outside"],
        )
        for name, check in checks().items()
        if name in counts
    ]
