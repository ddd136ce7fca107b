"""Which glaze a piece wears, and what came of every glaze."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.views.decorators.http import require_safe

from studio import access
from studio.forms.projects.glazes import GlazeCoatForm
from studio.kilns.glaze_outcomes import by_glaze, names_in
from studio.models import GlazeCoat, Piece


def piece_glaze(request, piece_id):
    """Note a glaze on a piece: its teacher, or the student whose piece it is."""
    shown = _to_glaze(request.user, access.pieces(request.user), pk=piece_id)
    form = GlazeCoatForm(request.POST or None, piece=shown, names=names_in([shown.section]))
    return _answer(request, form, shown)


def glaze_edit(request, coat_id):
    """Change a note of a glaze, or take it away."""
    noted = get_object_or_404(
        GlazeCoat.objects.filter(piece__in=access.pieces(request.user)), pk=coat_id
    )
    shown = _to_glaze(request.user, Piece.objects.all(), pk=noted.piece_id)
    if request.method == "POST" and "remove" in request.POST:
        noted.delete()
        messages.success(request, "The note of the glaze is taken away.")
        return redirect("piece", shown.pk)
    form = GlazeCoatForm(
        request.POST or None, piece=shown, names=names_in([shown.section]), instance=noted
    )
    return _answer(request, form, shown)


def _to_glaze(user, pieces, **which) -> Piece:
    shown = get_object_or_404(pieces.select_related("project", "section", "student"), **which)
    own = access.own_pieces(user).filter(pk=shown.pk).exists()
    if not (own or access.may_change(user, shown.section)):
        raise PermissionDenied("Only the student and the teacher note the glaze of a piece.")
    return shown


def _answer(request, form, shown):
    if request.method == "POST" and form.is_valid():
        if form.instance.pk is None:
            form.instance.noted_by = request.user
        form.save()
        messages.success(request, "The glaze is noted.")
        return redirect("piece", shown.pk)
    return TemplateResponse(
        request,
        "studio/projects/glaze.html",
        {
            "form": form,
            "piece": shown,
            "project": shown.project,
            "section": shown.section,
            "names": form.names,
            "own": not access.read_sections(request.user).filter(pk=shown.section_id).exists(),
            "is_new": form.instance.pk is None,
        },
        status=422 if form.errors else 200,
    )


@require_safe
def glazes(request):
    """What came of every glaze, over the pieces a grown-up may see."""
    if not access.is_grown_up(request.user):
        raise PermissionDenied("What came of the glazes is the teachers' to see to.")
    return TemplateResponse(
        request, "studio/kilns/glazes.html", {"rows": by_glaze(access.pieces(request.user))}
    )
