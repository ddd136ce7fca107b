"""The shelves: one criterion across all pieces, and a piece lifted off them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.template.response import TemplateResponse
from django.urls import reverse
from django.views.decorators.http import require_GET

from rubrics.access import get_piece_to_judge
from rubrics.critique.counts import habits_said
from rubrics.evidence.habits import is_about_habits
from rubrics.fairness.exemplars import exemplars_of
from rubrics.fairness.shelf_order import record_order
from rubrics.judging.batch import Batch, BatchProgress, NoRubric, load_batch
from rubrics.judging.piece_state import checks_of, descriptor_notes, outcome_words, stages_read
from rubrics.models import Criterion
from rubrics.views.checks import drawn
from rubrics.views.judging import tiles
from rubrics.views.judging.choices import reasons
from rubrics.views.judging.saving import no_rubric
from studio import access
from studio.models import Piece

MANY = 60
"""From this many pieces on tiles are smaller, so that a shelf still fits an eye."""


@dataclass(frozen=True, slots=True)
class Exemplified:
    """The piece that shows a level, and its photo, 0 where it has none."""

    piece: Piece
    photo: int


@dataclass(frozen=True, slots=True)
class Shelf:
    """One shelf of the kiln: a level, and the tiles on it."""

    place: str
    name: str
    descriptor: str
    tiles: list[tiles.Tile]
    exemplar: Exemplified | None = None


@require_GET
def shelf(request, project_id, criterion_id):
    """Show one criterion across all the pieces of a project."""
    project = access.get_taught_project(request.user, project_id)
    try:
        batch = load_batch(project)
    except NoRubric as error:
        return no_rubric(request, project, error)
    criterion = next((each for each in batch.criteria if each.pk == criterion_id), None)
    if criterion is None:
        raise Http404("This criterion is not of the project's rubric.")
    names = request.GET.get("names") == "1"
    pinned = exemplars_of(criterion, request.user.pk, access.taught_pieces(request.user))
    pieces = tiles.walk(batch, criterion, reader_id=request.user.pk)
    record_order(project, criterion, request.user, pieces)
    context = _shelf_context(batch, criterion, pinned, pieces)
    context |= {
        "project": project,
        "names": names,
        "tile_class": f"{context['tile_class']} with-names" if names else context["tile_class"],
        "names_query": "?names=1" if names else "",
        "reasons": reasons(),
        # A script puts the piece's number in the place of nought.
        "save_url": reverse("mark_save", args=[0, criterion.pk]),
        "lift_url": reverse("lift", args=[0, criterion.pk]),
    }
    return TemplateResponse(request, "rubrics/judging/shelf.html", context)


def _shelf_context(batch: Batch, criterion: Criterion, pinned, pieces: list[Piece]) -> dict:
    photos = tiles.best_photos(batch.project)
    by_place: dict[str, list[tiles.PieceTile]] = {}
    for order, piece in enumerate(pieces):
        made = tiles.tile(batch, piece, criterion, order=order, photo=photos.get(piece.pk))
        by_place.setdefault(made.state.place, []).append(made)
    to_keep = [
        made for row in by_place.values() for made in row if made.state.word == tiles.SUGGESTED
    ]
    progress = batch.progress()
    return {
        "criterion": criterion,
        "leans_on": tiles.leans_on(criterion),
        "descriptor_notes": descriptor_notes(criterion),
        "rubric": batch.rubric,
        "measured": bool(criterion.limits.all()),
        "rows": tiles.criterion_rows(batch),
        "progress": progress,
        "done": progress.done[criterion.pk],
        "following": _following(batch.criteria, criterion, progress),
        "to_keep": sum(not made.suggested.in_question for made in to_keep),
        "seen": ",".join(f"{made.piece.pk}:{made.suggested.level}" for made in to_keep),
        "shelves": [
            Shelf(
                str(level.number),
                level.name,
                level.descriptor,
                by_place.get(str(level.number), []),
                Exemplified(*pinned[level.number]) if level.number in pinned else None,
            )
            for level in criterion.levels.all()
        ],
        "board": by_place.get(tiles.BOARD, []),
        "aside": by_place.get(tiles.ASIDE, []),
        "tile_class": _tile_class(criterion, len(pieces)),
    }


def _following(
    criteria: Sequence[Criterion], criterion: Criterion, progress: BatchProgress
) -> Criterion | None:
    """The next criterion that has pieces to judge, going round; None where no other has."""
    at = criteria.index(criterion)
    others = [*criteria[at + 1 :], *criteria[:at]]
    return next((each for each in others if progress.done[each.pk] < progress.pieces), None)


def _tile_class(criterion: Criterion, count: int) -> str:
    """What the style sheet needs to know of all the tiles of a page: how tall they are."""
    limits = len(criterion.limits.all())
    words = {"many": count >= MANY, "with-mini": limits > 0, "with-words": limits > 1}
    return " ".join(word for word, holds in words.items() if holds)


@require_GET
def lift(request, piece_id, criterion_id):
    """Show one piece large, for one criterion: photos, the checks drawn, the levels."""
    piece = get_piece_to_judge(request.user, piece_id)
    get_object_or_404(Criterion, pk=criterion_id, rubric__uses__project=piece.project_id)
    batch = load_batch(piece.project, pieces=[piece])
    criterion = next(each for each in batch.criteria if each.pk == criterion_id)
    mark = batch.mark(piece, criterion)
    suggested = batch.suggested(piece, criterion)
    context = {
        "piece": piece,
        "criterion": criterion,
        "names": request.GET.get("names") == "1",
        "photos": tiles.photos_of(piece)[:4],
        "state": tiles.state_of(mark, suggested, sent=batch.is_published(piece)),
        "mark": mark,
        "suggested": suggested,
        "why_none": "" if suggested else batch.why_none(piece, criterion),
        "reason_words": tiles.reason_words(mark),
        "remarks": tiles.remarks(piece),
        "stages": " and ".join(stages_read(batch, piece, criterion)),
        "outcome": outcome_words(batch.evidence.outcomes.get(piece.pk, ())),
        "habits": habits_said(piece) if is_about_habits(criterion) else "",
        "levels": drawn.levels(criterion, mark, suggested),
        "excused": bool(mark and mark.excused),
        "checks": drawn.checks(batch, piece, checks_of(criterion), uid=f"lift{piece.pk}"),
    }
    return TemplateResponse(request, "rubrics/judging/lift.html", context)
