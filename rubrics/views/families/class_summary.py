"""A class at a glance, on the screen and on paper. Counts only: a head reads it too."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_GET

from rubrics.families.class_summary import LEVELS, overviews
from rubrics.reports.drawings.level_share import level_share
from rubrics.reports.overview import CriterionSpread, overview_pdf
from rubrics.reports.svg import to_svg
from studio import access


@require_GET
def class_summary(request: HttpRequest, section_id: int) -> HttpResponse:
    """Spread by criterion and check, what to teach again, outcomes, missing work."""
    section = get_object_or_404(access.read_sections(request.user), pk=section_id)
    context = {
        "section": section,
        "overviews": [
            (each, [(row, _bar(row, f"{each.number}-{n}")) for n, row in enumerate(each.criteria)])
            for each in overviews(section)
        ],
    }
    return TemplateResponse(request, "rubrics/families/summary.html", context)


def _bar(row: CriterionSpread, uid: str) -> SafeString:
    told = ", ".join(
        f"{count} at level {level}" for level, count in zip(LEVELS, row.levels, strict=True)
    )
    svg = to_svg(level_share(row.levels), title=row.name, desc=told, uid=f"bar-{uid}")
    return mark_safe(svg)  # every word in the drawing was escaped when it was written


@require_GET
def class_summary_pdf(request: HttpRequest, section_id: int) -> HttpResponse:
    """The same on paper, a page a project."""
    section = get_object_or_404(access.read_sections(request.user), pk=section_id)
    found = overviews(section)
    if not found:
        messages.warning(request, "No project has a rubric and a piece yet.")
        return redirect("class_summary", section.pk)
    size = "a4" if request.GET.get("paper") == "a4" else "letter"
    response = HttpResponse(overview_pdf(found, pagesize=size), content_type="application/pdf")
    response["Content-Disposition"] = 'inline; filename="class-summary.pdf"'
    return response
