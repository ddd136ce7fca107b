"""What a student does after and before: what waits, the answer to a step."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.views.decorators.http import require_GET, require_POST

from rubrics.critique.tasks import critique_tasks, eyes_to_set
from rubrics.judging.marking.errors import GradingError
from rubrics.judging.student_tasks import own_work
from rubrics.publishing.next_steps import answer_step, own_steps, published_steps
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
