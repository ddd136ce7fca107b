"""The look-over before publishing, and publishing."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from rubrics.judging.batch import Batch, Look, LookOver, NoRubric, load_batch
from rubrics.judging.grade import Grade
from rubrics.models import Criterion
from rubrics.publishing.publish import PublishRefused, plain_number
from rubrics.publishing.publish import publish as publish_pieces
from rubrics.views.judging import tiles
from rubrics.views.judging.saving import no_rubric
from studio import access
from studio.models import Piece
from studio.web.row_ids import row_ids

LEVEL_NUMBERS = (4, 3, 2, 1)
CELL_WIDTH = 60.0
FEW = 12
"""So many unfinished pieces are listed at once; more stand behind one line."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One count in a table, with the bar over it."""

    count: int
    x: float
    width: float


@dataclass(frozen=True, slots=True)
class LevelRow:
    """How the levels of one criterion spread."""

    criterion: Criterion
    cells: list[Cell]
    excused: int
    open: int


@require_GET
def look_over(request, project_id):
    """Show the spread, what is unfinished, where eye and measure differ, and what will be sent."""
    project = access.get_taught_project(request.user, project_id)
    try:
        batch = load_batch(project)
    except NoRubric as error:
        return no_rubric(request, project, error)
    look = batch.look_over()
    most = max((count for _label, count in look.spread), default=0)
    context = {
        "project": project,
        "look": look,
        "level_numbers": LEVEL_NUMBERS,
        "unfinished_few": len(look.unfinished) <= FEW,
        "rows": [_level_row(batch, look, criterion) for criterion in batch.criteria],
        "spread": [
            {"label": label, "count": count, "width": round(100 * count / max(1, most))}
            for label, count in look.spread
        ],
        "spread_any": most > 0,
        "spread_words": f"{sum(count for _label, count in look.spread)} finished pieces",
        "differ": [_differ(each) for each in look.disagreements],
        "differ_words": _differ_words(look),
        "moved": [_moved(each) for each in look.moved],
        "ready": [
            {"piece": piece, "grade": grade_words(batch.grade(piece))} for piece in look.ready
        ],
    }
    return TemplateResponse(request, "rubrics/judging/look_over.html", context)


def _level_row(batch: Batch, look: LookOver, criterion: Criterion) -> LevelRow:
    counts = look.levels[criterion.pk]
    marks = [batch.mark(piece, criterion) for piece in batch.to_judge]
    widths = {
        number: CELL_WIDTH * counts.get(number, 0) / max(1, len(marks)) for number in LEVEL_NUMBERS
    }
    return LevelRow(
        criterion=criterion,
        cells=[
            Cell(
                counts.get(number, 0),
                round(CELL_WIDTH - widths[number], 1),
                round(widths[number], 1),
            )
            for number in LEVEL_NUMBERS
        ],
        excused=sum(mark is not None and mark.excused for mark in marks),
        open=sum(mark is None for mark in marks),
    )


def _differ(look: Look) -> dict:
    given = look.mark.level.number
    return {
        "piece": look.piece,
        "criterion": look.criterion,
        "suggested": look.mark.suggested,
        "because": look.mark.suggested_because,
        "given": given,
        "way": "up" if given > look.mark.suggested else "down",
        "reason": tiles.reason_words(look.mark),
    }


def _differ_words(look: LookOver) -> str:
    """Say on how many marks, and on which side: a lean to one side is worth a second thought."""
    up = sum(each.mark.level.number > each.mark.suggested for each in look.disagreements)
    down = len(look.disagreements) - up
    count = len(look.disagreements)
    leave = (
        "1 mark leaves its suggestion" if count == 1 else f"{count} marks leave their suggestion"
    )
    return f"{leave}: {up} up, {down} down."


def _moved(look: Look) -> dict:
    return {
        "piece": look.piece,
        "criterion": look.criterion,
        "was": look.mark.suggested or "none",
        "now": look.suggested.level if look.suggested else "none",
    }


def grade_words(grade: Grade) -> str:
    """ "87 %, B"; with the weight counted where not all of it was."""
    if grade.percent is None:
        return "nothing to count"
    words = ", ".join(filter(None, [f"{grade.percent} %", grade.label]))
    if grade.counted == grade.total:
        return words
    counted, total = (plain_number(weight) for weight in (grade.counted, grade.total))
    return f"{words} ({counted} of {total} weight)"


@require_POST
def publish(request, project_id):
    """Publish the chosen pieces; all of them or none."""
    project = access.get_taught_project(request.user, project_id)
    back = reverse("look_over", args=[project.pk])
    chosen = list(
        Piece.objects.filter(project=project, pk__in=row_ids(request.POST.getlist("piece")))
    )
    if not chosen:
        messages.warning(request, "No piece was chosen, so nothing was sent.")
        return redirect(back)
    try:
        done = publish_pieces(project, request.user, chosen)
    except (PublishRefused, NoRubric) as error:
        messages.error(request, str(error))
        return redirect(back)
    count = len(done.pieces)
    messages.success(
        request,
        f"{count} piece{'' if count == 1 else 's'} sent. What was shown is frozen; "
        "a later change is recorded with its reason.",
    )
    return redirect(back)
