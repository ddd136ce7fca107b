"""The start of judging, and every key that is saved from its pages."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_GET, require_POST

from rubrics.access import get_piece_to_judge
from rubrics.forms.judging.judging import MarkForm, WordsForm, seen_ids, seen_suggestions
from rubrics.judging import marking
from rubrics.judging.batch import Batch, NoRubric, load_batch
from rubrics.judging.marking import GradingError, ReasonWanted, Stale, WhyWanted
from rubrics.models import Criterion, Mark
from rubrics.views.judging import answers, tiles
from studio import access
from studio.models import Piece, Project


def no_rubric(request: HttpRequest, project: Project, error: NoRubric) -> HttpResponse:
    """Say that a rubric has to be chosen first."""
    context = {"project": project, "sentence": str(error)}
    return TemplateResponse(request, "rubrics/judging/no_rubric.html", context)


@require_GET
def judge(request, project_id):
    """The two ways through a batch, and how far each criterion is."""
    project = access.get_taught_project(request.user, project_id)
    try:
        batch = load_batch(project)
    except NoRubric as error:
        return no_rubric(request, project, error)
    progress = batch.progress()
    rows = tiles.criterion_rows(batch)
    pieces = batch.to_judge
    context = {
        "project": project,
        "batch": batch,
        "progress": progress,
        "begun": any(progress.done.values()),
        "rows": rows,
        "next_criterion": next((row.criterion for row in rows if row.done < progress.pieces), None),
        "first_piece": next(iter(pieces), None),
        "next_piece": next((piece for piece in pieces if batch.missing(piece)), None),
        "chips": [_chip(batch, piece) for piece in pieces],
    }
    return TemplateResponse(request, "rubrics/judging/start.html", context)


def _chip(batch: Batch, piece: Piece) -> dict:
    missing = len(batch.missing(piece))
    if batch.is_published(piece):
        state, words = "sent", "sent"
    elif not missing:
        state, words = "done", "decided" if batch.is_ready(piece) else "why?"
    else:
        state, words = "open", f"{missing} to judge"
    return {"piece": piece, "state": state, "words": words}


@require_POST
def mark_save(request, piece_id, criterion_id):
    """Save one key: a level, an excuse, a reason or a note."""
    piece = get_piece_to_judge(request.user, piece_id)
    criterion = _criterion(piece.project, criterion_id)
    form = MarkForm(request.POST)
    back = f"{reverse('judge_piece', args=[piece.pk])}#c{criterion.pk}"
    if not form.is_valid():
        sentence = " ".join(each for errors in form.errors.values() for each in errors)
        return answers.refused(request, piece, sentence, back, status=400)
    try:
        mark = _action(form)(piece, criterion, request.user)
    except Stale as stale:
        return answers.stale(request, piece, criterion, stale, back)
    except (WhyWanted, ReasonWanted) as error:
        return answers.refused(request, piece, str(error), back, status=409, wants=type(error))
    except (GradingError, NoRubric) as error:
        return answers.refused(request, piece, str(error), back, status=409)
    if not answers.wants_json(request):
        messages.success(request, answers.said(piece, mark))
        return redirect(back)
    return JsonResponse(answers.saved(piece, criterion, mark))


def _action(form: MarkForm) -> Callable[..., Mark]:
    """The write that a form asks for, waiting for piece, criterion and person."""
    data = form.cleaned_data
    version = {"expected_version": data["version"]}
    beside = {"why": data["why"], "note": data["note"] if form.says("note") else None}
    reason = {"reason": data["reason"], "reason_text": data["reason_text"]}

    def act(piece: Piece, criterion: Criterion, by) -> Mark:
        match data["action"]:
            case "level":
                level = data["level"]
                return marking.set_level(piece, criterion, level, by, **version, **reason, **beside)
            case "excused":
                return marking.excuse(piece, criterion, by, **version, **reason, **beside)
            case "clear":
                return marking.clear_mark(piece, criterion, by, **version, why=data["why"])
            case _:
                given = {name: reason[name] for name in reason if form.says(name)}
                return marking.give_reason(piece, criterion, by, **version, **given, **beside)

    return act


@require_POST
def keep_rest(request, project_id, criterion_id):
    """Give every piece that nobody judged yet the level its checks suggest."""
    project = access.get_taught_project(request.user, project_id)
    criterion = _criterion(project, criterion_id)
    back = reverse("shelf", args=[project.pk, criterion.pk])
    try:
        seen = seen_suggestions(request.POST.get("seen", ""))
        kept = marking.keep_rest(project, criterion, request.user, seen=seen or {})
    except ValueError as error:
        sentence = (
            str(error)
            if isinstance(error, GradingError | NoRubric)
            else ("The page did not say what it showed; reload it, then press K again.")
        )
        return answers.plain_refusal(request, sentence, back)
    sentence = answers.kept_sentence(kept)
    if not answers.wants_json(request):
        messages.success(request, sentence)
        return redirect(back)
    return JsonResponse(answers.kept(project, criterion, kept, sentence))


@require_POST
def undo(request, project_id):
    """Take back this person's latest change in a project."""
    project = access.get_taught_project(request.user, project_id)
    try:
        undone = marking.undo(project, request.user, unless=_unseen(request))
    except marking.Unseen as unseen:
        return JsonResponse(answers.sure(unseen))
    except ValueError:
        sentence = "The page did not say what it showed; reload it, then press U again."
        return answers.plain_refusal(request, sentence, reverse("judge", args=[project.pk]))
    sentence = undone.sentence if undone else "There is nothing of yours left to take back here."
    if not answers.wants_json(request):
        messages.success(request, sentence)
        return redirect(_safe_back(request, reverse("judge", args=[project.pk])))
    return JsonResponse(answers.undone(project, undone, sentence))


def _unseen(request: HttpRequest) -> marking.InSight | None:
    """What a page shows, so that undo asks before it touches anything else.

    A form without a script has no key that could be pressed by mistake: it is not asked.
    """
    sent = request.POST
    if not answers.wants_json(request):
        return None
    if sent.get("sure"):
        return marking.InSight(sure=int(sent["sure"]))
    return marking.InSight(
        criterion=int(sent["criterion"]) if sent.get("criterion") else None,
        here=seen_ids(sent.get("here", "")) or frozenset(),
        seen=seen_ids(sent.get("seen", "")) or frozenset(),
    )


@require_POST
def words_save(request, piece_id):
    """Save the teacher's words and the one next step."""
    piece = get_piece_to_judge(request.user, piece_id)
    back = f"{reverse('judge_piece', args=[piece.pk])}#words-title"
    form = WordsForm(request.POST)
    if not form.is_valid():
        sentence = " ".join(each for errors in form.errors.values() for each in errors)
        return answers.refused(request, piece, sentence, back, status=400)
    data = form.cleaned_data
    try:
        marking.set_words(piece, request.user, **data)
    except Stale as stale:
        return answers.stale_words(request, piece, stale, back)
    except WhyWanted as error:
        return answers.refused(request, piece, str(error), back, status=409, wants=WhyWanted)
    except (GradingError, NoRubric) as error:
        return answers.refused(request, piece, str(error), back, status=409)
    messages.success(request, f"Words for {piece.code} saved.")
    return redirect(back)


def _criterion(project: Project, criterion_id: int) -> Criterion:
    """A criterion of the rubric by which a project is judged, or 404."""
    criteria = Criterion.objects.filter(rubric__uses__project=project)
    return get_object_or_404(criteria.prefetch_related("levels", "limits"), pk=criterion_id)


def _safe_back(request: HttpRequest, otherwise: str) -> str:
    back = request.POST.get("back", "")
    own = url_has_allowed_host_and_scheme(
        back, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return back if own else otherwise
