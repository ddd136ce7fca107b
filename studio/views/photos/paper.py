"""The paper that photographs are taken on: the mat, the slips, and how true they were printed."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from studio import access
from studio.forms.photos.photo_work import CheckBarForm
from studio.models import Section
from studio.paper.mat import mat_pdf
from studio.paper.slips import slips_pdf
from studio.views.web.paper_answers import paper_named, papers_for, pdf

# The mat is one for everybody and never changes under its name but with a new version of the site.
KEEP_MAT = "private, max-age=3600"


def photo_paper(request, project_id):
    """Mat and slips to print, how to take the photos, and the length of the printed bar."""
    shown = get_object_or_404(
        access.projects(request.user).select_related("section"), pk=project_id
    )
    if request.method == "POST":
        shown = access.get_taught_project(request.user, project_id)
    # The section of the page stays as it is on record when the form is refused.
    form = CheckBarForm(request.POST or None, instance=Section.objects.get(pk=shown.section_id))
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(
            request,
            f"Photos taken in from now on count on a bar of {form.instance.mat_bar_mm:g} mm.",
        )
        return redirect("photo_paper", shown.pk)
    return TemplateResponse(
        request,
        "studio/photos/paper.html",
        {
            "form": form,
            "project": shown,
            "section": shown.section,
            "papers": papers_for(shown.section),
            "pieces": shown.pieces.count(),
            "may_change": access.may_change(request.user, shown.section),
        },
    )


@require_safe
def mat(request, paper):
    """The photo mat, for anybody who is signed in."""
    response = pdf(mat_pdf(paper_named(paper)), f"photo-mat-{paper}.pdf")
    response["Cache-Control"] = KEEP_MAT
    return response


@require_safe
def slips(request, project_id, paper):
    """A slip for every piece of a project."""
    shown = get_object_or_404(access.projects(request.user), pk=project_id)
    sheet = paper_named(paper)
    codes = list(shown.pieces.in_order().values_list("code", flat=True))
    if not codes:
        messages.warning(request, "There are no pieces yet. Begin the pieces, then print slips.")
        return redirect("photo_paper", shown.pk)
    name = f"slips-{slugify(shown.title) or shown.pk}-{paper}.pdf"
    return pdf(slips_pdf(codes, sheet, title=f"Slips: {shown.title}"), name)
