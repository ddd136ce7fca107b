"""The first page after signing in: what waits, the most urgent first."""

from django.db.models import Count
from django.template.response import TemplateResponse

from studio import access
from studio.models import Enrolment, Piece, Project
from studio.people import act_log, enrolment_requests
from studio.projects.piece_outlines import give_outlines
from studio.web import today_grid, waiting


def today(request):
    """Show a grown-up the sections and what waits in them, a student the own pieces."""
    if access.is_grown_up(request.user):
        return _grown_up(request)
    pieces = give_outlines(
        access.own_pieces(request.user)
        .for_list()
        .with_face()
        .order_by("-project__begun_on", "-project__number", "code")
    )
    student = getattr(request.user, "student", None)
    return TemplateResponse(
        request, "studio/web/student.html", {"pieces": pieces, "student": student}
    )


def _grown_up(request):
    sections = list(access.read_sections(request.user).filter(archived_at=None).order_by("-pk"))
    taught = set(access.taught_sections(request.user).values_list("pk", flat=True))
    projects = list(
        Project.objects.filter(section__in=sections)
        .select_related("section", "plan__clay")
        .annotate(size_count=Count("plan__sizes"))
        .order_by("-number")
    )
    tallies = waiting.tallies(Piece.objects.filter(project__in=projects))
    enrolled: dict[int, int] = {}
    for section_id in Enrolment.objects.filter(section__in=sections, left_on=None).values_list(
        "section", flat=True
    ):
        enrolled[section_id] = enrolled.get(section_id, 0) + 1
    found, grid = [], []
    own_projects = today_grid.by_section(projects)
    for section in sections:
        own = own_projects.get(section.pk, [])
        count = enrolled.get(section.pk, 0)
        if section.pk in taught:
            for project in own:
                found += waiting.waits(project, tallies.get(project.pk, waiting.EMPTY), count)
        grid.append(
            today_grid.section_rows(
                section, own, tallies, enrolled=count, is_own=section.pk in taught
            )
        )
    found.sort(key=lambda item: (item.urgency, -item.project.pk))
    return TemplateResponse(
        request,
        "studio/web/teacher.html",
        {
            "found": found,
            "asked": enrolment_requests.waiting_for(request.user) if taught else [],
            "by_others": list(act_log.by_others(request.user, taught)) if taught else [],
            "taught": [rows for rows in grid if rows.is_own],
            "shared": [rows for rows in grid if not rows.is_own],
            "archived": access.read_sections(request.user).exclude(archived_at=None),
            "may_open": access.may_open_sections(request.user),
        },
    )
