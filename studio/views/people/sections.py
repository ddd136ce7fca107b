"""Sections: a class group, its people and its grade scale."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.views.decorators.http import require_POST

from studio import access
from studio.forms.people.sections import SectionForm, ShareForm, grade_scale_forms
from studio.people import act_log, sections
from studio.web import waiting
from studio.web.row_ids import row_id

LINES_A_PAGE = 100


def section_new(request):
    """Open a section of one's own."""
    if not access.may_open_sections(request.user):
        raise PermissionDenied("Only a teacher of the house opens a section.")
    form = SectionForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        section = sections.open_section(form.save(commit=False), request.user)
        messages.success(request, f"{section.name} is open. Add its students next.")
        return redirect("students", section.pk)
    return TemplateResponse(request, "studio/people/section_new.html", {"form": form})


def section(request, section_id):
    """A section's projects and people."""
    shown = get_object_or_404(access.read_sections(request.user), pk=section_id)
    projects = list(shown.projects.order_by("-number"))
    tallies = waiting.tallies(shown.pieces.all())
    return TemplateResponse(
        request,
        "studio/people/section.html",
        {
            "section": shown,
            "projects": [(each, tallies.get(each.pk, waiting.EMPTY)) for each in projects],
            "students": shown.students.filter(enrolments__section=shown, enrolments__left_on=None),
            "members": shown.memberships.select_related("user").order_by("-role", "user__username"),
            "bands": shown.grade_bands.all(),
            "may_change": access.may_change(request.user, shown),
        },
    )


def section_edit(request, section_id):
    """Name, term and unit of a section."""
    shown = access.get_taught_section(request.user, section_id)
    form = SectionForm(request.POST or None, instance=shown)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "The section is changed.")
        return redirect("section", shown.pk)
    return TemplateResponse(
        request, "studio/people/section_edit.html", {"form": form, "section": shown}
    )


@require_POST
def section_archive(request, section_id):
    """Put a section away, or bring it back."""
    shown = access.get_taught_section(request.user, section_id)
    if shown.archived_at:
        sections.bring_back(shown, by=request.user)
        messages.success(request, f"{shown.name} is back on your first page.")
        return redirect("section", shown.pk)
    sections.archive(shown, by=request.user)
    messages.success(
        request, f"{shown.name} is put away. You find it below the others on this page."
    )
    return redirect("today")


def grade_scale(request, section_id):
    """The labels of a grade and the percentages from which they are given."""
    shown = access.get_taught_section(request.user, section_id)
    forms = grade_scale_forms(shown, request.POST or None)
    if request.method == "POST" and forms.is_valid():
        sections.set_grade_scale(shown, forms.bands())
        messages.success(request, "The scale is kept. What was published keeps its grade.")
        return redirect("section", shown.pk)
    return TemplateResponse(
        request, "studio/people/grade_scale.html", {"forms": forms, "section": shown}
    )


def section_people(request, section_id):
    """Share a section with a department head, or stop."""
    shown = access.get_taught_section(request.user, section_id)
    form = ShareForm(request.POST if "share" in request.POST else None)
    if "unshare" in request.POST:
        sections.unshare(shown, row_id(request.POST["unshare"]) or 0, by=request.user)
        messages.success(request, "The section is not shared with that head any more.")
        return redirect("section_people", shown.pk)
    if form.is_bound and form.is_valid():
        try:
            member = sections.share(shown, form.cleaned_data["username"].strip(), by=request.user)
        except sections.RegisterError as error:
            form.add_error("username", str(error))
        else:
            name = member.user.get_full_name() or member.user.username
            messages.success(request, f"{name} can read this section now.")
            return redirect("section_people", shown.pk)
    return TemplateResponse(
        request,
        "studio/people/people.html",
        {
            "form": form,
            "section": shown,
            "members": shown.memberships.select_related("user").order_by("-role", "user__username"),
        },
    )


def section_log(request, section_id):
    """Who did what with the section's students: places, records, codes, what was saved."""
    shown = access.get_taught_section(request.user, section_id)
    page = Paginator(act_log.of_section(shown), LINES_A_PAGE).get_page(request.GET.get("page"))
    context = {"section": shown, "page": page, "kept_years": act_log.KEPT.days // 365}
    return TemplateResponse(request, "studio/people/log.html", context)
