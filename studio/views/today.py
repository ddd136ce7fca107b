"""The first page after signing in: what waits, the most urgent first."""

from django.template.response import TemplateResponse

from studio import access


def today(request):
    """Show a grown-up the sections, a student the own pieces."""
    if access.is_grown_up(request.user):
        return TemplateResponse(request, "studio/today/teacher.html", {})
    return TemplateResponse(request, "studio/today/student.html", {})
