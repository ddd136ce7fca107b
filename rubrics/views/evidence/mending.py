"""The list “mend before bisque” of a project, and of a student's own piece."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.template.response import TemplateResponse
from django.utils import timezone
from django.views.decorators.http import require_GET

from rubrics.evidence import mending
from rubrics.evidence.collect import evidence
from rubrics.evidence.mended import mended, mended_pieces
from studio import access


@require_GET
def mend_list(request: HttpRequest, project_id: int) -> HttpResponse:
    """What can still be mended, by piece, with a box to tick with a pen."""
    projects = access.projects(request.user).select_related("section", "plan__clay")
    project = get_object_or_404(projects, pk=project_id)
    today = timezone.localdate()
    found = evidence(project, last_read=True)
    context = {
        "project": project,
        "section": project.section,
        "list": mending.mend_list(found, today),
        "mended": mended_pieces(found),
        "today": today,
        "names": request.GET.get("names") != "0",
    }
    return TemplateResponse(request, "rubrics/evidence/mend_list.html", context)


@require_GET
def mend_own(request: HttpRequest, piece_id: int) -> HttpResponse:
    """What can still be mended on one piece, as a fragment, as soon as it was measured."""
    visible = access.pieces(request.user).select_related("project__section", "project__plan__clay")
    piece = get_object_or_404(visible, pk=piece_id)
    found = evidence(piece.project, pieces=[piece], last_read=True)
    context = {
        "piece": piece,
        "own": mending.own_piece(found, piece, timezone.localdate()),
        "mended": mended(found).get(piece.pk, ()),
    }
    return TemplateResponse(request, "rubrics/parts/mend_own.html", context)


@require_GET
def who_mended(request: HttpRequest, project_id: int) -> HttpResponse:
    """Which soft or dry pieces were mended and read again, as a fragment of the making board."""
    projects = access.projects(request.user).select_related("section", "plan__clay")
    project = get_object_or_404(projects, pk=project_id)
    found = evidence(project, last_read=True)
    context = {"project": project, "mended": mended_pieces(found)}
    return TemplateResponse(request, "rubrics/parts/who_mended.html", context)
