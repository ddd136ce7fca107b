"""What an open judging page asks for: the marks as they stand now."""

from __future__ import annotations

from django.http import HttpRequest, JsonResponse
from django.views.decorators.http import require_GET

from rubrics.judging.batch import NoRubric, load_batch
from rubrics.models import Assessment, Criterion, Mark
from rubrics.views.judging import answers, tiles
from studio import access
from studio.models import Project

MOST_DIGITS = 18
"""So many digits fit a database's number."""


@require_GET
def marks_now(request: HttpRequest, project_id: int) -> JsonResponse:
    """Give a project's marks as a page's script takes them.

    ``?criterion=`` narrows them to a shelf and counts it, ``?piece=`` to one piece. A mark that
    nobody ever touched is not among them. Checks are read only for pieces with a mark that was
    taken back: what is decided is shown beside the suggestion of its own day.
    """
    project = access.get_taught_project(request.user, project_id)
    narrow = {"criterion": "criterion_id", "piece": "assessment__piece_id"}
    asked = {name: request.GET[name] for name in narrow if request.GET.get(name)}
    if not all(number.isdecimal() and len(number) <= MOST_DIGITS for number in asked.values()):
        sentence = "A criterion and a piece are asked for by their numbers. Reload the page."
        return JsonResponse({"state": "problem", "sentence": sentence}, status=400)
    marks = list(
        Mark.objects.filter(
            assessment__kind=Assessment.Kind.TEACHER,
            assessment__piece__project=project,
            **{narrow[name]: number for name, number in asked.items()},
        ).select_related("level", "criterion", "assessment__piece")
    )
    try:
        shown = _payloads(project, marks)
    except NoRubric as error:
        return JsonResponse({"state": "problem", "sentence": str(error)}, status=409)
    counts = {}
    if "criterion" in asked:
        counts = answers.done_of(project, Criterion(pk=int(asked["criterion"])))
    return JsonResponse({"marks": shown, **counts})


def _payloads(project: Project, marks: list[Mark]) -> list:
    pieces = {m.assessment.piece_id: m.assessment.piece for m in marks if not m.decided}
    batch = load_batch(project, pieces=list(pieces.values())) if pieces else None
    return [
        tiles.payload(
            mark.assessment.piece,
            mark,
            suggested=None
            if mark.decided
            else batch.suggested(mark.assessment.piece, mark.criterion),
        )
        for mark in marks
    ]
