"""Whether a piece's feedback can be read yet, as a fragment for the pages of the records."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.template.response import TemplateResponse
from django.views.decorators.http import require_GET

from rubrics.access import published_assessment
from studio import access


@require_GET
def feedback_state(request: HttpRequest, piece_id: int) -> HttpResponse:
    """A link to the feedback where it is published, else a word that it is not."""
    piece = get_object_or_404(access.pieces(request.user), pk=piece_id)
    published = published_assessment(request.user, piece)
    context = {"piece": piece, "published": published}
    return TemplateResponse(request, "rubrics/parts/feedback_state.html", context)
