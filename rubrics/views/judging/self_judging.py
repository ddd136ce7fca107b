"""A student looks at the own piece and judges it, before the teacher's marks are told."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.views.decorators.http import require_http_methods

from rubrics.forms.judging.self_judging import OwnJudgementForm
from rubrics.judging.batch import NoRubric, rubric_of
from rubrics.judging.marking.errors import GradingError
from rubrics.judging.self_judging import is_told, judge_own, own_judgement
from studio import access
from studio.projects import piece_sheet


@require_http_methods(["GET", "POST"])
def judge_own_piece(request: HttpRequest, piece_id: int) -> HttpResponse:
    """The rubric beside the photos; saved as often as wished until the marks are told."""
    visible = access.pieces(request.user).select_related("project", "section", "student")
    piece = access.get_to_change(visible, access.own_pieces(request.user), pk=piece_id)
    if is_told(piece):
        messages.warning(request, "Your teacher's marks are published; your own judgement stands.")
        return redirect("feedback", piece.pk)
    try:
        criteria = list(rubric_of(piece.project).criteria.all())
    except NoRubric:
        messages.warning(request, "Your teacher has not chosen how this project is judged yet.")
        return redirect("piece", piece.pk)
    form = OwnJudgementForm(request.POST or None, criteria=criteria, judged=own_judgement(piece))
    if request.method == "POST" and form.is_valid():
        try:
            kept = judge_own(piece, request.user, form.judged())
        except GradingError as error:
            form.add_error(None, str(error))
        else:
            until = "You can change it until your teacher's marks are published."
            done = "Kept." if kept else "Taken back: you have judged nothing of this piece now."
            messages.success(request, f"{done} {until}")
            return redirect("piece", piece.pk)
    context = {
        "form": form,
        "piece": piece,
        "project": piece.project,
        "section": piece.section,
        "photos": piece_sheet.photos_of(piece),
    }
    return TemplateResponse(request, "rubrics/judging/judge_own.html", context)
