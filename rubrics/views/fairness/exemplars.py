"""Pinning a piece as the exemplar of its level, and taking it down."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from rubrics import access as doors
from rubrics.fairness.exemplars import pin, unpin
from rubrics.judging.marking.errors import GradingError
from rubrics.models import Criterion


@require_POST
def exemplar_pin(request: HttpRequest, piece_id: int, criterion_id: int) -> HttpResponse:
    """Let a piece stand for the level that it has on a criterion; ``down`` takes it away."""
    piece = doors.get_piece_to_judge(request.user, piece_id)
    criterion = get_object_or_404(
        Criterion, pk=criterion_id, rubric__uses__project=piece.project_id
    )
    try:
        if "down" in request.POST:
            unpin(piece, criterion, request.user)
            messages.success(request, f"{piece.code} is taken down.")
        else:
            level = pin(piece, criterion, request.user).level
            messages.success(request, f"{piece.code} stands for level {level.number} now.")
    except GradingError as error:
        messages.error(request, str(error))
    return redirect("shelf", piece.project_id, criterion.pk)
