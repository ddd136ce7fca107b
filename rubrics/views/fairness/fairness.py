"""What a project's teacher can show of its fairness, on one page."""

from __future__ import annotations

from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.template.response import TemplateResponse
from django.views.decorators.http import require_GET

from rubrics.fairness.drift import moved
from rubrics.models import Rubric
from studio import access


@require_GET
def fairness(request: HttpRequest, project_id: int) -> HttpResponse:
    """The second looks of a project, and whether the eye moved."""
    projects = access.projects(request.user).select_related("section")
    project = get_object_or_404(projects, pk=project_id)
    looks = project.second_looks.with_levels().annotate(
        sample=Count("places"), judged=Count("places__assessment")
    )
    rubric = Rubric.objects.filter(uses__project=project).first()
    criteria = list(rubric.criteria.prefetch_related("limits")) if rubric else []
    closed = [look for look in looks if look.closed_at is not None]
    context = {
        "moved": moved(project, criteria, closed),
        "project": project,
        "section": project.section,
        "looks": looks,
        "may_change": access.may_change(request.user, project.section),
    }
    return TemplateResponse(request, "rubrics/fairness/fairness.html", context)
