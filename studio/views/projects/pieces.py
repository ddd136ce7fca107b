"""One piece: its photos, its readings, its outcomes."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse

from studio import access
from studio.forms.projects.intent import IntentForm
from studio.forms.projects.pieces import OutcomeForm, PieceForm
from studio.models import Outcome, Piece
from studio.projects import piece_sheet
from studio.projects.pieces import note_outcome


def piece(request, piece_id):
    """A piece with everything on record about it."""
    shown = get_object_or_404(
        access.pieces(request.user).select_related("section", "student", "project__plan__clay"),
        pk=piece_id,
    )
    grown_up = access.read_sections(request.user).filter(pk=shown.section_id).exists()
    readings = piece_sheet.readings_of(shown)
    return TemplateResponse(
        request,
        "studio/projects/piece.html",
        {
            "piece": shown,
            "project": shown.project,
            "section": shown.section,
            "photos": piece_sheet.photos_of(shown),
            "stages": piece_sheet.by_stage(readings),
            "plan_rows": piece_sheet.plan_rows(shown, readings),
            "glazes": shown.glazes.all(),
            "outcomes": shown.outcomes.select_related("load", "hurt_by__piece"),
            "may_change": access.may_change(request.user, shown.section),
            "grown_up": grown_up,
            "own": not grown_up,
        },
    )


def piece_edit(request, piece_id):
    """Code, stage and state of a piece."""
    access.get_taught_piece(request.user, piece_id)
    with transaction.atomic():
        form = PieceForm(request.POST or None, instance=_to_write(piece_id))
        if request.method == "POST" and form.is_valid():
            form.save()
            messages.success(request, f"{form.instance.code} is changed.")
            return redirect("piece", piece_id)
    return TemplateResponse(request, "studio/projects/piece_edit.html", _about(form, piece_id))


def piece_intent(request, piece_id):
    """What the student wants of the piece, in the student's own words."""
    shown = get_object_or_404(
        access.pieces(request.user).select_related("project", "section"), pk=piece_id
    )
    own = access.own_pieces(request.user).filter(pk=shown.pk).exists()
    if not (own or access.may_change(request.user, shown.section)):
        raise PermissionDenied("Only the student and the teacher write what it is meant to be.")
    with transaction.atomic():
        form = IntentForm(request.POST or None, instance=_to_write(piece_id))
        if request.method == "POST" and form.is_valid():
            form.save()
            messages.success(request, "Your words stand with the piece now.")
            return redirect("piece", shown.pk)
    return TemplateResponse(request, "studio/projects/intent.html", _about(form, piece_id))


def outcome_new(request, piece_id):
    """Note what came of a piece."""
    shown = access.get_taught_piece(request.user, piece_id)
    form = OutcomeForm(request.POST or None, piece=shown, initial={"stage": shown.stage})
    return _outcome(request, form, shown)


def outcome_edit(request, outcome_id):
    """Change what was noted, or take it away."""
    noted = get_object_or_404(
        Outcome.objects.filter(piece__in=access.pieces(request.user)), pk=outcome_id
    )
    shown = access.get_taught_piece(request.user, noted.piece_id)
    if request.method == "POST" and "remove" in request.POST:
        noted.delete()
        messages.success(request, "The note is taken away.")
        return redirect("piece", shown.pk)
    return _outcome(request, OutcomeForm(request.POST or None, piece=shown, instance=noted), shown)


def _outcome(request, form, shown):
    if request.method == "POST" and form.is_valid():
        note_outcome(form.save(commit=False), request.user)
        messages.success(request, "Noted.")
        return redirect("piece", shown.pk)
    return TemplateResponse(request, "studio/projects/outcome.html", _about(form, shown.pk))


def _to_write(piece_id) -> Piece:
    """The piece as it stands, locked until it is written, so that two windows do not cross."""
    rows = Piece.objects.select_for_update(of=("self",)).select_related("section", "project")
    return rows.get(pk=piece_id)


def _about(form, piece_id) -> dict:
    """A form beside the piece as it stands, not as a refused form left it."""
    shown = Piece.objects.select_related("project", "section", "student").get(pk=piece_id)
    return {"form": form, "piece": shown, "project": shown.project, "section": shown.section}
