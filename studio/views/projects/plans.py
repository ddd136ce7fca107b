"""Plans: wishes in, everything to cut out; the paper pattern; copies for another section."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.utils.text import slugify
from django.views.decorators.http import require_POST, require_safe

from studio import access
from studio.forms.projects.plans import PlanForm, ProjectCopyForm, SizeForms
from studio.models import Plan
from studio.paper.pattern import Heading, pattern_pdf
from studio.planning.pattern import no_pattern
from studio.projects import plan_page, plan_sizes, plan_wishes
from studio.projects.projects import copy_project, keep_plan
from studio.views.web.paper_answers import paper_named, papers_for, pdf


def plan_edit(request, project_id):
    """Sizes, clay and handle of a project; a head reads the same figures."""
    shown = get_object_or_404(
        access.projects(request.user).select_related("section", "plan__clay"), pk=project_id
    )
    may_change = access.may_change(request.user, shown.section)
    if request.method == "POST":
        shown = access.get_taught_project(request.user, project_id)
    form, sizes = _forms(request, shown)
    if request.method == "POST" and form.is_valid() and sizes.is_valid():
        worked = plan_wishes.of_forms(form, sizes)
        solving = plan_wishes.wants_solving(form)
        if solving and worked.planned is None:
            form.add_error(None, worked.refusal)
        else:
            keep_plan(form, sizes, worked.planned if solving else None)
            messages.success(request, "The plan is kept. What to cut follows from it.")
            return redirect("plan_edit" if "stay" in request.POST else "project", shown.pk)
    kept = Plan.objects.filter(project=shown).select_related("clay").first()
    worked = plan_wishes.of_plan(kept) if kept else plan_wishes.Worked(None, "")
    return TemplateResponse(
        request,
        "studio/projects/plan.html",
        {
            "form": form,
            "sizes": sizes,
            "project": shown,
            "section": shown.section,
            "plan": kept,
            "rows": plan_sizes.rows_of(kept) if kept else [],
            "shown": plan_page.shown(worked, shown.section.unit),
            "papers": papers_for(shown.section),
            "may_change": may_change,
        },
    )


def _forms(request, shown):
    plan = getattr(shown, "plan", None) or Plan(project=shown)
    unit = shown.section.unit
    form = PlanForm(
        request.POST or None, instance=plan, clays=access.clays(request.user), unit=unit
    )
    return form, SizeForms(request.POST or None, instance=plan, unit=unit, prefix="sizes")


@require_POST
def plan_figures(request, project_id):
    """The figures of a plan as it is typed; nothing is kept."""
    project = access.get_taught_project(request.user, project_id)
    form, sizes = _forms(request, project)
    rows = []
    if form.is_valid() and sizes.is_valid():
        worked = plan_wishes.of_forms(form, sizes)
        follow = plan_wishes.sizes_that_follow(form, worked.planned) if worked.planned else {}
        rows = plan_sizes.rows_typed(form.cleaned_data["clay"], sizes.forms, follow)
    else:
        worked = plan_wishes.Worked(None, _first_fault(form, sizes))
    return TemplateResponse(
        request,
        "studio/projects/plan_figures.html",
        {"shown": plan_page.shown(worked, project.section.unit), "rows": rows},
    )


def _first_fault(form, sizes) -> str:
    """One sentence of what cannot be read yet, with the field it is about."""
    for each in (form, *sizes.forms):
        for name, faults in each.errors.items():
            label = each.fields[name].label if name in each.fields else ""
            return f"{label}: {faults[0]}" if label else faults[0]
    return next(iter(sizes.non_form_errors()), "Something is still missing.")


@require_safe
def pattern(request, project_id, paper):
    """The paper pattern of the plan as it is kept, at true size."""
    shown = get_object_or_404(
        access.projects(request.user).select_related("section", "plan__clay"), pk=project_id
    )
    sheet = paper_named(paper)
    plan = getattr(shown, "plan", None)
    worked = plan_wishes.of_plan(plan) if plan else plan_wishes.Worked(None, plan_wishes.NO_CLAY)
    why = worked.refusal or "".join(worked.planned.problems[:1])
    if not why and not worked.planned.wish.is_slab:
        why = no_pattern(worked.planned.wish.building)
    if why:
        messages.warning(request, f"There is no pattern yet. {why}")
        return redirect("plan_edit", shown.pk)
    data = pattern_pdf(
        worked.planned,
        sheet,
        Heading(shown.title, plan.clay.name, worked.planned.wish.shrinkage * 100),
    )
    return pdf(data, f"pattern-{slugify(shown.title) or shown.pk}-{paper}.pdf")


def project_copy(request, project_id):
    """Copy a project with its plan into a section one teaches."""
    source = get_object_or_404(
        access.projects(request.user).select_related("section", "plan__clay"), pk=project_id
    )
    taught = access.taught_sections(request.user).filter(archived_at=None)
    if not taught.exists():
        # Nowhere to copy it to; who may only read is told so.
        source = access.get_taught_project(request.user, project_id)
    form = ProjectCopyForm(request.POST or None, source=source, sections=taught)
    if request.method == "POST" and form.is_valid():
        copy = copy_project(source, form.cleaned_data["section"], title=form.cleaned_data["title"])
        messages.success(
            request,
            f"“{copy.title}” is project {copy.number} of {copy.section}. Look over its plan and "
            "its rubric, and begin the pieces.",
        )
        return redirect("project", copy.pk)
    return TemplateResponse(
        request,
        "studio/projects/copy.html",
        {"form": form, "project": source, "section": source.section},
    )
