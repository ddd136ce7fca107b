"""What to measure again, and where student and teacher differ."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.template.response import TemplateResponse
from django.views.decorators.http import require_GET

from rubrics.evidence.remeasuring import FEWEST, SHARE, remeasuring
from studio import access


@require_GET
def remeasure(request: HttpRequest, project_id: int) -> HttpResponse:
    """The random sample of a project with both readings side by side."""
    visible = access.projects(request.user).select_related("section")
    project = get_object_or_404(visible, pk=project_id)
    context = {
        "project": project,
        "section": project.section,
        "found": remeasuring(project),
        "share": f"{SHARE:.0%}",
        "fewest": FEWEST,
        "may_change": access.may_change(request.user, project.section),
    }
    return TemplateResponse(request, "rubrics/evidence/remeasure.html", context)
