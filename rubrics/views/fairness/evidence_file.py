"""The evidence behind one piece's grade, as one PDF for whoever answers for it."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET

from rubrics import access as doors
from rubrics.fairness.evidence_file import evidence_file as collect
from rubrics.judging.batch import NoRubric
from rubrics.reports.evidence_file import evidence_pdf


@require_GET
def evidence_file(request: HttpRequest, piece_id: int) -> HttpResponse:
    """Readings, checks, marks and every change, a summary on top."""
    piece = get_object_or_404(doors.read_pieces(request.user), pk=piece_id)
    try:
        file = collect(piece, day=timezone.localdate())
    except NoRubric as error:
        messages.warning(request, str(error))
        return redirect("piece", piece.pk)
    size = "a4" if request.GET.get("paper") == "a4" else "letter"
    response = HttpResponse(evidence_pdf(file, pagesize=size), content_type="application/pdf")
    # The code alone: a file name travels further than the paper.
    response["Content-Disposition"] = f'inline; filename="{piece.code}-evidence.pdf"'
    return response
