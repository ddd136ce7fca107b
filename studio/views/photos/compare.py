"""Two photos of one piece side by side."""

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.template.response import TemplateResponse
from django.views.decorators.http import require_safe

from studio import access
from studio.photos import comparing


@require_safe
def photo_compare(request, piece_id):
    """The chosen pair of photos of a piece, or the first that can be compared."""
    piece = get_object_or_404(
        access.pieces(request.user).select_related("project", "section"), pk=piece_id
    )
    pairs = comparing.comparable(list(piece.photos.select_related("piece").in_order()))
    chosen = _chosen(request, pairs)
    return TemplateResponse(
        request,
        "studio/photos/compare.html",
        {
            "piece": piece,
            "project": piece.project,
            "section": piece.section,
            "own": not access.read_sections(request.user).filter(pk=piece.section_id).exists(),
            "pairs": [
                {"first": a, "second": b, "now": chosen and (a, b) == chosen} for a, b in pairs
            ],
            "shown": comparing.compare(*chosen) if chosen else None,
        },
    )


def _chosen(request, pairs):
    if not pairs:
        return None
    wanted = request.GET.get("pair")
    if wanted is None:
        return pairs[-1]
    pair = next((p for p in pairs if f"{p[0].pk}-{p[1].pk}" == wanted), None)
    if pair is None:
        raise Http404("These two photos do not go side by side.")
    return pair
