"""A student's progress from project to project, for the student and the own teachers."""

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.template.response import TemplateResponse
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_GET

from rubrics.families.progress import ProgressLine, progress_of
from rubrics.reports.drawings.course import LEVELS, course
from rubrics.reports.svg import to_svg
from studio import access
from studio.models import Student

WIDTH, HEIGHT = 300.0, 76.0


@dataclass(frozen=True, slots=True)
class DrawnLine:
    """A line with its drawing."""

    line: ProgressLine
    svg: SafeString


@require_GET
def progress(request: HttpRequest, student_id: int) -> HttpResponse:
    """Levels and measured figures over the projects, with an honest word each."""
    student = (
        Student.objects.filter(pk=student_id, login=request.user).first()
        or access.students(request.user).filter(pk=student_id).first()
    )
    if student is None:
        raise Http404("There is no such student here.")
    found = progress_of(request.user, student)
    context = {
        "student": student,
        "is_own": student.login_id == request.user.pk,
        "projects": found.projects,
        "levels": [_drawn(line, f"level-{n}", LEVELS) for n, line in enumerate(found.levels)],
        "figures": [_drawn(line, f"figure-{n}") for n, line in enumerate(found.figures)],
    }
    return TemplateResponse(request, "rubrics/families/progress.html", context)


def _drawn(line: ProgressLine, uid: str, span=None) -> DrawnLine:
    scene = course([p.value for p in line.points], width=WIDTH, height=HEIGHT, span=span)
    told = "; ".join(f"{point.project}: {point.said}" for point in line.points)
    # Every word in the drawing was escaped when it was written.
    return DrawnLine(line, mark_safe(to_svg(scene, title=line.name, desc=told, uid=uid)))
