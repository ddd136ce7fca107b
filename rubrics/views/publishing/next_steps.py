"""What a student does after and before: what waits, the answer to a step, what the teacher sees."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.views.decorators.http import require_GET, require_POST

from rubrics import access as doors
from rubrics.critique.tasks import critique_tasks, eyes_to_set
from rubrics.judging.marking.errors import GradingError
from rubrics.judging.self_judging import own_assessment
from rubrics.judging.student_tasks import own_work
from rubrics.publishing.next_steps import (
    answer_step,
    own_steps,
    published_steps,
    steps_of_last_piece,
)
from studio import access


@require_GET
def student_waits(request: HttpRequest) -> HttpResponse:
    """What waits on the student who is signed in, as a fragment of the first page."""
    work = own_work(request.user)
    context = {
        "work": work,
        "tasks": [*critique_tasks(request.user), *work.tasks],
        "eyes": eyes_to_set(request.user),
        "student": getattr(request.user, "student", None),
    }
    return TemplateResponse(request, "rubrics/parts/student_waits.html", context)


@require_POST
def step_answer(request: HttpRequest, step_id: int) -> HttpResponse:
    """Tick a step, and say what will be tried."""
    step = access.get_to_change(published_steps(request.user), own_steps(request.user), pk=step_id)
    try:
        answer_step(step, taken_up="taken_up" in request.POST, reply=request.POST.get("reply", ""))
    except GradingError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, "Kept. It comes back when your next piece begins.")
    return redirect("feedback", step.assessment.piece_id)


@require_GET
def own_words(request: HttpRequest, piece_id: int) -> HttpResponse:
    """What a piece's maker judged, answered and means to try, for the grown-ups; a fragment."""
    piece = get_object_or_404(doors.read_pieces(request.user), pk=piece_id)
    own = own_assessment(piece)
    siblings = list(
        access.pieces(request.user).filter(student=piece.student).select_related("project")
    )
    published = published_steps(request.user).filter(assessment__piece=piece)
    context = {
        "piece": piece,
        "own": own,
        "levels": sorted(own.marks.all(), key=lambda m: m.criterion.letter) if own else [],
        "to_try": [step.text for step in own.next_steps.all()] if own else [],
        "answered": [step for step in published if step.reply or step.taken_up_at],
        "last_steps": steps_of_last_piece(siblings, piece),
    }
    return TemplateResponse(request, "rubrics/parts/own_words.html", context)
