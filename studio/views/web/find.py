"""Finding something from anywhere."""

from __future__ import annotations

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.views.decorators.http import require_safe

from studio import access
from studio.web import finding


@require_safe
def find(request: HttpRequest) -> HttpResponse:
    """Show what fits; open it at once where it is the only one."""
    if not access.is_grown_up(request.user):
        raise PermissionDenied("Your own pieces stand on the first page.")
    words = request.GET.get("q", "").strip()
    found = finding.find(request.user, words)
    if found.only is not None:
        return redirect(type(found.only).__name__.lower(), found.only.pk)
    context = {"words": words, "found": found, "longest": finding.LONGEST}
    return TemplateResponse(request, "studio/web/find.html", context)
