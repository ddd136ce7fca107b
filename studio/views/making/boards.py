"""The making board of a project, and the sheet of studio habits of a section."""

from datetime import date, timedelta

from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from studio import access
from studio.forms.projects.projects import StageForm
from studio.making import habits
from studio.making.board import lay_out
from studio.models import Plan, Stage
from studio.projects import project_steps
from studio.web import waiting

FIRST_YEAR, LAST_YEAR = 1970, 2200
"""Days outside have no week before or after them that anybody looks at."""


@require_GET
def board(request, project_id):
    """Every piece with its stage, days in it, what it waits for and what the trade says."""
    project = get_object_or_404(
        access.projects(request.user).select_related("section", "plan"), pk=project_id
    )
    plan = getattr(project, "plan", None) or Plan(project=project)
    pieces = list(project.pieces.for_list().with_marks_of_work())
    asked = {name: request.GET.get(name, "") for name in ("stage", "wait")}
    laid = lay_out(pieces, plan, timezone.localdate(), **asked)
    batch = waiting.tally(row.piece for row in laid.rows)
    return TemplateResponse(
        request,
        "studio/making/board.html",
        {
            "project": project,
            "section": project.section,
            "board": laid,
            "stage_form": StageForm(
                project=project, initial={"stage": project_steps.next_stage(batch)}
            ),
            "has_fired": any(batch.stages.get(s) for s in (Stage.BISQUE, Stage.GLAZED)),
            "may_change": access.may_change(request.user, project.section),
            "here": request.get_full_path(),
            "today": timezone.localdate(),
        },
    )


@require_GET
def habits_sheet(request, section_id):
    """Students down, habits across, for one day."""
    section = get_object_or_404(access.read_sections(request.user), pk=section_id)
    today = timezone.localdate()
    day = min(_day(request.GET, today), today)
    return TemplateResponse(
        request,
        "studio/making/habits.html",
        {
            "section": section,
            "sheet": habits.sheet(section, day),
            "day": day,
            "before": day - timedelta(days=1),
            "after": day + timedelta(days=1) if day < today else None,
            "is_today": day == today,
            "may_change": access.may_change(request.user, section),
        },
    )


@require_GET
def habits_week(request, section_id):
    """Students down, the days of one week across, with what was ticked."""
    section = get_object_or_404(access.read_sections(request.user), pk=section_id)
    today = timezone.localdate()
    monday = habits.monday_of(min(_day(request.GET, today), today))
    return TemplateResponse(
        request,
        "studio/making/habits_week.html",
        {
            "section": section,
            "week": habits.week(section, monday),
            "before": monday - timedelta(days=7),
            "after": monday + timedelta(days=7) if monday + timedelta(days=7) <= today else None,
        },
    )


@require_POST
def habit_tick(request, section_id):
    """Tick one habit of one student, or of all of them, on one day; or take the tick back."""
    section = access.get_taught_section(request.user, section_id)
    today = timezone.localdate()
    day = _day(request.POST, today)
    try:
        told = habits.tick(
            section,
            day=day,
            habit=request.POST.get("habit", ""),
            student_id=request.POST.get("student", ""),
            on=request.POST.get("on") == "1",
            by=request.user,
            today=today,
        )
    except habits.HabitError as error:
        return HttpResponse(str(error), status=422, content_type="text/plain; charset=utf-8")
    if request.htmx and told is not None:
        return TemplateResponse(
            request,
            "studio/making/habit_tick.html",
            {"section": section, "row": told[0], "cell": told[1], "day": day, "may_change": True},
        )
    return redirect(f"{reverse('habits', args=[section.pk])}?day={day.isoformat()}")


def _day(data: QueryDict, otherwise: date) -> date:
    """The day asked for; what is no date of a class means the usual one."""
    try:
        day = date.fromisoformat(data.get("day", ""))
    except ValueError:
        return otherwise
    return day if FIRST_YEAR <= day.year <= LAST_YEAR else otherwise
