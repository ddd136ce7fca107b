"""Results out: OneRoster files for the register, grades for a spreadsheet."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.template.response import TemplateResponse
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from rubrics.exports import grades, oneroster, results
from rubrics.forms.exports.results import AskedForm
from studio import access

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
KINDS = {"csv": (grades.as_csv, "text/csv; charset=utf-8"), "xlsx": (grades.as_xlsx, XLSX)}


@require_safe
def results_out(request: HttpRequest, section_id: int) -> HttpResponse:
    """What would go out of a section, and the ways to take it."""
    section = access.get_taught_section(request.user, section_id)
    context = {"section": section, "results": results.load(section), "form": AskedForm()}
    return TemplateResponse(request, "rubrics/exports/results_out.html", context)


@require_safe
def results_zip(request: HttpRequest, section_id: int) -> HttpResponse:
    """The section's results as OneRoster files."""
    section = access.get_taught_section(request.user, section_id)
    form = AskedForm(request.GET)
    found = results.load(section)
    if not form.is_valid():
        context = {"section": section, "results": found, "form": form}
        return TemplateResponse(request, "rubrics/exports/results_out.html", context, status=422)
    data = oneroster.package(found, form.asked(), today=timezone.localdate())
    return _file(data, "application/zip", f"{_name(section)}-oneroster.zip")


@require_safe
def grades_out(request: HttpRequest, section_id: int, kind: str) -> HttpResponse:
    """The section's grades for a spreadsheet."""
    section = access.get_taught_section(request.user, section_id)
    if kind not in KINDS:
        raise Http404("Grades come as csv or xlsx.")
    write, content_type = KINDS[kind]
    return _file(write(results.load(section)), content_type, f"{_name(section)}-grades.{kind}")


def _name(section) -> str:
    return slugify(str(section)) or f"section-{section.pk}"


def _file(data: bytes, content_type: str, name: str) -> HttpResponse:
    response = HttpResponse(data, content_type=content_type)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = "no-store"
    return response
