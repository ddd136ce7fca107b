"""The look-over before publishing, and publishing."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from rubrics.families.class_summary import plan_suspects
from rubrics.judging.batch import Batch, NoRubric, load_batch
from rubrics.judging.last_look import LookOver
from rubrics.judging.last_look import look_over as look_over_of
from rubrics.judging.piece_state import descriptor_notes
from rubrics.models import Criterion
from rubrics.publishing.publish import PublishRefused
from rubrics.publishing.publish import publish as publish_pieces
from rubrics.views.judging.choices import reasons
from rubrics.views.judging.look_rows import look_rows
from rubrics.views.judging.saving import no_rubric
from studio import access
from studio.models import Piece
from studio.web.row_ids import row_ids

LEVEL_NUMBERS = (4, 3, 2, 1)
CELL_WIDTH = 60.0


@dataclass(frozen=True, slots=True)
class CountCell:
    """One count in a table, with the bar over it."""

    count: int
    x: float
    width: float


@dataclass(frozen=True, slots=True)
class LevelRow:
    """How the levels of one criterion spread."""

    criterion: Criterion
    cells: list[CountCell]
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
    look = look_over_of(batch)
    most = max((count for _label, count in look.spread), default=0)
    context = {
        "project": project,
        "look": look,
        "standing": _standing(look),
        "send_words": _send_words(look),
        "level_numbers": LEVEL_NUMBERS,
        "level_rows": [_level_row(batch, look, criterion) for criterion in batch.criteria],
        "spread": [
            {"label": label, "count": count, "width": round(100 * count / max(1, most))}
            for label, count in look.spread
        ],
        "spread_any": most > 0,
        "spread_words": f"{sum(count for _label, count in look.spread)} finished pieces",
        "differ_words": _differ_words(look),
        "suspects": plan_suspects(batch),
        "descriptor_notes": [note for each in batch.criteria for note in descriptor_notes(each)],
        "rubric": batch.rubric,
        "rows": look_rows(batch, look.rows),
        "reasons": reasons(),
        "stays": len(look.ready),
    }
    return TemplateResponse(request, "rubrics/judging/look_over.html", context)


def _standing(look: LookOver) -> str:
    """How the batch stands, in one line; only what there is."""
    without_reason = {each.piece.pk for each in look.reasons_missing}
    counts = (
        (len(look.ready), "ready to send"),
        (len(look.unfinished), "unfinished"),
        (len(without_reason), "without a reason for a mark"),
        (len(look.published), "sent"),
    )
    parts = [f"{count} {words}" for count, words in counts if count]
    pieces = f"{len(look.rows)} piece{'' if len(look.rows) == 1 else 's'}"
    return f"{pieces}: {', '.join(parts)}." if parts else f"{pieces}."


def _send_words(look: LookOver) -> str:
    """What stands where the button would be, when nothing is ready."""
    sent, rest = len(look.published), len(look.rows) - len(look.published)
    if look.ready:
        return ""
    if not look.rows:
        return "There is no piece to send: this project has none that can be judged."
    if not rest:
        return (
            f"All {sent} sent. What was shown is frozen; a later change is made on the piece’s "
            "page, with its reason."
        )
    more = "Nothing more" if sent else "Nothing"
    yet = "" if sent else " yet"
    return (
        f"{more} is ready{yet}: a piece can be sent once every criterion is decided and every "
        "reason given."
    )


def _level_row(batch: Batch, look: LookOver, criterion: Criterion) -> LevelRow:
    counts = look.levels[criterion.pk]
    marks = [batch.mark(piece, criterion) for piece in batch.to_judge]
    widths = {
        number: CELL_WIDTH * counts.get(number, 0) / max(1, len(marks)) for number in LEVEL_NUMBERS
    }
    return LevelRow(
        criterion=criterion,
        cells=[
            CountCell(
                counts.get(number, 0),
                round(CELL_WIDTH - widths[number], 1),
                round(widths[number], 1),
            )
            for number in LEVEL_NUMBERS
        ],
        excused=sum(mark is not None and mark.excused for mark in marks),
        open=sum(mark is None for mark in marks),
    )


def _differ_words(look: LookOver) -> str:
    """Say on how many marks, and on which side: a lean to one side is worth a second thought."""
    count = len(look.disagreements)
    if not any(row.grade.counted for row in look.rows):
        return "Nothing is judged yet."
    if not count:
        return "Every mark stands where its check suggested, or was judged by eye alone."
    up = sum(each.mark.level.number > each.mark.suggested for each in look.disagreements)
    leave = (
        "1 mark leaves its suggestion" if count == 1 else f"{count} marks leave their suggestion"
    )
    return f"{leave}: {up} up, {count - up} down."


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
