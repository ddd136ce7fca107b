"""Projects: the five steps, and a batch's pieces."""

from urllib.parse import urlencode

from django.contrib import messages
from django.http import QueryDict
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from studio import access
from studio.forms.projects.projects import (
    CodesForm,
    NewProjectForm,
    PrefixForm,
    ProjectForm,
    StageForm,
)
from studio.kilns import firing_pages
from studio.making.board import counts_of
from studio.models import Plan, Project
from studio.projects import project_steps
from studio.projects.piece_outlines import give_outlines
from studio.projects.pieces import (
    begin_pieces,
    move_to_stage,
    note_sound,
    propose_codes,
    propose_prefix,
)
from studio.projects.projects import next_project_number, start_project
from studio.projects.starter_plans import STARTER_PLANS
from studio.web import waiting

# A proposal only; the page asks how the codes should begin.


def project_new(request, section_id):
    """Start a project from a starter plan."""
    section = access.get_taught_section(request.user, section_id)
    form = NewProjectForm(
        request.POST or None,
        section=section,
        clays=access.clays(request.user),
        initial={"number": next_project_number(section)},
    )
    if request.method == "POST" and form.is_valid():
        starter = STARTER_PLANS[form.cleaned_data["starter"]]
        project = form.save(commit=False)
        start_project(project, starter, form.cleaned_data["clay"])
        messages.success(request, f"“{project.title}” is started. Look over its plan.")
        return redirect("plan_edit", project.pk)
    return TemplateResponse(
        request,
        "studio/projects/new.html",
        {"form": form, "section": section, "starters": STARTER_PLANS.values()},
    )


def project(request, project_id):
    """The five steps of a project with what is true now, and its pieces."""
    shown = get_object_or_404(
        access.projects(request.user).select_related("section", "plan__clay"), pk=project_id
    )
    plan = getattr(shown, "plan", None) or Plan(project=shown)
    pieces = give_outlines(shown.pieces.for_list().with_face().with_marks_of_work())
    batch = waiting.tally(pieces)
    enrolled = shown.section.enrolments.filter(left_on=None).count()
    may_change = access.may_change(request.user, shown.section)
    return TemplateResponse(
        request,
        "studio/projects/project.html",
        {
            "project": shown,
            "section": shown.section,
            "plan": plan,
            "pieces": pieces,
            "plan_step": project_steps.plan_step(plan, plan.sizes.count() if plan.pk else 0),
            "make_step": project_steps.make_step(
                plan, batch, counts_of(pieces, plan, timezone.localdate())
            ),
            "fire_step": project_steps.fire_step(batch),
            "found": waiting.waits(shown, batch, enrolled) if may_change else [],
            "stage_form": StageForm(
                project=shown, initial={"stage": project_steps.next_stage(batch)}
            ),
            "has_fired": bool(batch.stages.get("bisque") or batch.stages.get("glazed")),
            "firings": firing_pages.of_project(access.firings(request.user), shown),
            "may_change": may_change,
        },
    )


def project_edit(request, project_id):
    """Number, title, brief and dates of a project."""
    shown = access.get_taught_project(request.user, project_id)
    form = ProjectForm(request.POST or None, instance=shown, section=shown.section)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "The project is changed.")
        return redirect("project", shown.pk)
    return TemplateResponse(
        request,
        "studio/projects/edit.html",
        # The title as it stands, not as a refused form left it.
        {"form": form, "project": Project.objects.get(pk=shown.pk), "section": shown.section},
    )


def pieces_new(request, project_id):
    """Begin a piece for every student who has none, with codes proposed."""
    shown = access.get_taught_project(request.user, project_id)
    section = shown.section
    students = list(section.students.filter(enrolments__section=section, enrolments__left_on=None))
    have = set(shown.pieces.values_list("student", flat=True))
    without = [student for student in students if student.pk not in have]
    prefix_form = PrefixForm(
        request.GET if "prefix" in request.GET else None,
        initial={"prefix": propose_prefix(shown)},
    )
    prefix = prefix_form.initial["prefix"]
    if prefix_form.is_bound and prefix_form.is_valid():
        prefix = prefix_form.cleaned_data["prefix"]
    codes = propose_codes(section, prefix, len(without))
    form = CodesForm(
        request.POST or None,
        section=section,
        students=[*without, *(student for student in students if student.pk in have)],
        proposed={s.pk: code for s, code in zip(without, codes, strict=True)},
    )
    if request.method == "POST" and form.is_valid():
        begun = begin_pieces(shown, form.codes())
        messages.success(
            request,
            f"{waiting.number_of(len(begun), 'piece', 'pieces')} begun. Write the codes in.",
        )
        return redirect("project", shown.pk)
    rows = form.rows()
    return TemplateResponse(
        request,
        "studio/projects/pieces_new.html",
        {
            "form": form,
            "prefix_form": prefix_form,
            "first_rows": rows[: len(without)],
            "second_rows": rows[len(without) :],
            "project": shown,
            "section": section,
        },
    )


@require_POST
def stages(request, project_id):
    """Say of many pieces at once that they have come to a stage, or came out sound."""
    shown = access.get_taught_project(request.user, project_id)
    form = StageForm(request.POST, project=shown)
    if form.is_valid() and "sound" in request.POST:
        noted = note_sound(form.cleaned_data["pieces"], request.user)
        who = waiting.number_of(noted, "fired piece", "fired pieces")
        messages.success(
            request, f"{who} noted as sound. Those with an outcome at their stage keep theirs."
        )
    elif form.is_valid():
        moved = move_to_stage(form.cleaned_data["pieces"], form.cleaned_data["stage"])
        who = waiting.number_of(moved, "piece is", "pieces are")
        messages.success(request, f"{who} now {form.cleaned_data['stage']}.")
    else:
        messages.error(request, " ".join(e for errors in form.errors.values() for e in errors))
    # The board may have been narrowed; only its own question is taken back from the form.
    narrowed = QueryDict(request.POST.get("back", "").partition("?")[2])
    kept = {name: narrowed[name] for name in ("stage", "wait") if narrowed.get(name)}
    board = reverse("making_board", args=[shown.pk])
    return redirect(f"{board}?{urlencode(kept)}" if kept else board)
