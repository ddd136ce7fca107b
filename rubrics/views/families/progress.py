"""A student's progress from project to project, for the student and the own teachers."""

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.template.response import TemplateResponse
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_GET

from rubrics.families.progress import ProgressLine, StudentProgress, progress_of
from rubrics.reports.drawings.course import course
from rubrics.reports.svg import to_svg
from studio import access
from studio.models import Student

WIDTH, HEIGHT = 132.0, 40.0
FEWEST_DRAWN = 2
"""One point is a number, not a line."""


@dataclass(frozen=True, slots=True)
class DrawnLine:
    """A line with its drawing; "" where one point makes none."""

    line: ProgressLine
    svg: SafeString

    @property
    def first(self) -> str:
        return self.line.points[0].said

    @property
    def latest(self) -> str:
        return self.line.points[-1].said


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
        "count": found.count,
        "something_told": any(line.told for line in (*found.levels, *found.figures)),
        "groups": [
            {
                "key": key,
                "title": title,
                "lines": [_drawn(each, found, key, n) for n, each in lines],
            }
            for key, title, lines in (
                ("level", "Levels", list(enumerate(found.levels))),
                ("figure", "What was measured: smaller is better", list(enumerate(found.figures))),
            )
            if lines
        ],
    }
    return TemplateResponse(request, "rubrics/families/progress.html", context)


def _drawn(line: ProgressLine, found: StudentProgress, key: str, number: int) -> DrawnLine:
    has_scale = key == "level" or line.limit is not None
    if len(line.points) < FEWEST_DRAWN or not has_scale:
        return DrawnLine(line, SafeString())
    scene = course(
        [(point.place, point.value) for point in line.points],
        projects=len(found.projects),
        width=WIDTH,
        height=HEIGHT,
        limit=line.limit,
        joined=line.told,
    )
    told = "; ".join(f"{point.project}: {point.said}" for point in line.points)
    # Every word in the drawing was escaped when it was written.
    return DrawnLine(
        line, mark_safe(to_svg(scene, title=line.name, desc=told, uid=f"{key}-{number}"))
    )
