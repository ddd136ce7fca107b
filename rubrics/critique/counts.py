"""How far a critique is, and what a student's remarks came to, in counts."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from django.db.models import Count, Q

from rubrics.evidence.habits import habit_sentence
from rubrics.models import Critique, Remark
from studio.models import Piece

PASSED = Q(looks__remarks__state=Remark.State.PASSED)


def with_counts(critiques):
    """Critiques with ``pieces``, ``remarks_waiting`` and ``remarks_passed``; in one query."""
    remarks = "shown__looks__remarks"
    return critiques.annotate(
        pieces=Count("shown", distinct=True),
        looks=Count("shown__looks", filter=Q(shown__looks__passed_on_at=None), distinct=True),
        looks_sent=Count(
            "shown__looks", filter=Q(shown__looks__sent_at__isnull=False), distinct=True
        ),
        remarks_waiting=Count(
            remarks, filter=Q(**{f"{remarks}__state": Remark.State.WAITING}), distinct=True
        ),
        remarks_passed=Count(
            remarks, filter=Q(**{f"{remarks}__state": Remark.State.PASSED}), distinct=True
        ),
    )


def waiting_in(project) -> int:
    """Remarks at the gate, in all critiques of a project."""
    return waiting_by_project([project]).get(project.pk, 0)


def waiting_by_project(projects) -> dict[int, int]:
    """Remarks at the gate by project id, of several projects; one query."""
    held = Remark.objects.waiting().filter(look__shown__critique__project__in=projects)
    return Counter(held.values_list("look__shown__critique__project", flat=True))


@dataclass(frozen=True, slots=True)
class Shares:
    """One piece's row on the critique's page."""

    sent: int
    readers: int
    passed: int
    answered: int


def shares(critique: Critique) -> dict[int, Shares]:
    """Counts by the id of the shown piece; one query."""
    standing = Q(looks__passed_on_at=None)
    rows = critique.shown.annotate(
        readers=Count("looks", filter=standing, distinct=True),
        sent=Count("looks", filter=standing & Q(looks__sent_at__isnull=False), distinct=True),
        passed=Count("looks__remarks", filter=PASSED, distinct=True),
        answered=Count("looks__remarks", filter=~Q(looks__remarks__answer="") & PASSED),
    )
    return {each.pk: Shares(each.sent, each.readers, each.passed, each.answered) for each in rows}


def remarks_said(piece: Piece) -> str:
    """“Wrote 9 remarks in critiques; 3 helped, as their makers say.” of the piece's maker.

    Counts what came through in this project; "" where nothing did. One query. It stands beside
    the habits criterion and moves nobody's level.
    """
    counts = (
        Remark.objects.passed()
        .filter(look__reader=piece.student_id, look__shown__critique__project=piece.project_id)
        .aggregate(wrote=Count("pk"), helped=Count("pk", filter=Q(helped=True)))
    )
    wrote, helped = counts["wrote"], counts["helped"]
    if not wrote:
        return ""
    noun = "remark" if wrote == 1 else "remarks"
    maker = "its maker says" if wrote == 1 else "their makers say"
    told = f"{helped} helped" if helped else "none helped yet"
    return f"Wrote {wrote} {noun} in critiques; {told}, as {maker}."


def habits_said(piece: Piece) -> str:
    """What stands beside the habits criterion: ticks of the studio's habits, and remarks."""
    return " ".join(part for part in (habit_sentence(piece), remarks_said(piece)) if part)
