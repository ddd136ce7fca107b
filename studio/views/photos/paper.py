"""The paper that photographs are taken on: the mat, the slips, and how true they were printed."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from studio import access
from studio.forms.photos.photo_work import CheckBarForm
from studio.models import MatPrint
from studio.paper.mat import mat_pdf
from studio.paper.slips import slips_pdf
from studio.photos import mats
from studio.views.web.paper_answers import paper_named, papers_for, pdf
from studio.web.waiting import number_of

# The mat is one for everybody and never changes under its name but with a new version of the site.
KEEP_MAT = "private, max-age=3600"


def photo_paper(request, project_id):
    """Mat and slips to print, how to take the photos, and the length of the printed bar."""
    shown = get_object_or_404(
        access.projects(request.user).select_related("section"), pk=project_id
    )
    if request.method == "POST":
        shown = access.get_taught_project(request.user, project_id)
        if "new_mat" in request.POST:
            mats.begin(request.user)
            messages.info(request, "A new mat: measure its bar before its photos count.")
            return redirect("photo_paper", shown.pk)
    mine = mats.latest(request.user)
    form = CheckBarForm(request.POST or None, instance=mine)
    if request.method == "POST" and form.is_valid():
        _keep_bar(request, form.cleaned_data["bar_mm"])
        # To the page that asked, one of two by name.
        return redirect("photos_in" if "photos" in request.POST else "photo_paper", shown.pk)
    return TemplateResponse(
        request,
        "studio/photos/paper.html",
        {
            "form": form,
            "bar_mm": MatPrint.objects.values_list("bar_mm", flat=True).get(pk=mine.pk)
            if mine
            else None,
            "project": shown,
            "section": shown.section,
            "papers": papers_for(shown.section),
            "pieces": shown.pieces.count(),
            "may_change": access.may_change(request.user, shown.section),
        },
    )


def _keep_bar(request, bar_mm: float) -> None:
    """Keep the length for this person's mat, and say what it means and what it changed."""
    changed = mats.measure(mats.current(request.user), bar_mm, request.user)
    said = mats.said_of(bar_mm)
    if changed.photos:
        many = number_of(changed.photos, "photo", "photos")
        said += f" {many} on this mat will be measured anew."
    messages.success(request, said)
    if changed.looked_over:
        many = number_of(changed.looked_over, "photo", "photos")
        messages.warning(
            request,
            f"{many} you had looked over stood on another length of the bar: look over again. "
            "Your points are kept.",
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
