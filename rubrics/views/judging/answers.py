"""What a save answers: JSON to a page's script, a page to a form without one."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.utils import timezone
from django.utils.dateformat import format as say_date

from rubrics.judging.batch import load_batch
from rubrics.judging.marking import KeptRest, ReasonWanted, Stale, Undone, Unseen, WhyWanted
from rubrics.models import Assessment, Criterion, Mark
from rubrics.views.judging import tiles
from studio.models import Piece, Project

FIELD_LABELS = {
    "reason_text": "Why does the level leave the suggestion?",
    "why": "This was sent. Why does it change?",
    "note": "To the student",
    "words": "Words for the student",
    "next_step": "One next step",
}
LONG_FIELDS = ("note", "words")


def wants_json(request: HttpRequest) -> bool:
    """Whether a script asks; a form's browser prefers a page."""
    return request.get_preferred_type(["text/html", "application/json"]) == "application/json"


def done_of(project: Project, criterion: Criterion) -> dict:
    """How many pieces of a project have one criterion decided."""
    pieces = project.pieces.exclude(state=Piece.State.LOST)
    marks = Mark.objects.decided().filter(
        criterion=criterion, assessment__kind=Assessment.Kind.TEACHER
    )
    return {
        "done": pieces.filter(assessments__marks__in=marks).distinct().count(),
        "of": pieces.count(),
    }


def saved(piece: Piece, criterion: Criterion, mark: Mark) -> dict:
    """The answer to a saved key."""
    suggested = None
    if not mark.decided:
        batch = load_batch(piece.project, pieces=[piece])
        suggested = batch.suggested(piece, criterion)
    return {
        "state": "saved",
        "mark": tiles.payload(piece, mark, suggested=suggested),
        **done_of(piece.project, criterion),
        "said": said(piece, mark),
    }


def said(piece: Piece, mark: Mark) -> str:
    """One line on what was saved."""
    state = tiles.state_of(mark, None, sent=False)
    if not mark.decided:
        return f"{piece.code}: saved, no level yet."
    if mark.excused:
        return f"{piece.code}: excused."
    words = "" if state.word == tiles.PLACED else f", {state.words}"
    return f"{piece.code}: {mark.level.number} {mark.level.name}{words}."


def kept_sentence(kept: KeptRest) -> str:
    """One line on what keeping the rest did and what it left."""
    parts = [f"{_pieces(len(kept.pieces))} kept as suggested."]
    if kept.in_question:
        parts.append(f"Left for you, a reading is in question: {_codes(kept.in_question)}.")
    if kept.changed:
        parts.append(
            f"Left for you, the suggestion changed since this page was opened: "
            f"{_codes(kept.changed)}. Reload to see it."
        )
    return " ".join(parts)


def kept(project: Project, criterion: Criterion, kept: KeptRest, sentence: str) -> dict:
    """The answer to the one key that keeps all the rest."""
    by_piece = {piece.pk: piece for piece in kept.pieces}
    marks = Mark.objects.filter(
        criterion=criterion,
        assessment__kind=Assessment.Kind.TEACHER,
        assessment__piece__project=project,
    ).select_related("level", "assessment")
    return {
        "marks": [
            tiles.payload(by_piece[mark.assessment.piece_id], mark)
            for mark in marks
            if mark.assessment.piece_id in by_piece
        ],
        **done_of(project, criterion),
        "said": sentence,
    }


def sure(unseen: Unseen) -> dict:
    """Ask before undo touches more than the page shows."""
    return {
        "state": "sure?",
        "words": unseen.words,
        "detail": unseen.detail,
        "latest": unseen.latest,
    }


def undone(project: Project, undone: Undone | None, sentence: str) -> dict:
    """The answer to undo: the marks as they stand now, which may be of another criterion."""
    if undone is None:
        return {"marks": [], "said": sentence}
    batch = load_batch(project, pieces=undone.pieces)
    return {
        "criterion": undone.criterion.pk,
        "marks": [tiles.payload_of(batch, piece, undone.criterion) for piece in batch.pieces],
        **done_of(project, undone.criterion),
        "said": sentence,
    }


def stale(
    request: HttpRequest, piece: Piece, criterion: Criterion, error: Stale, back: str
) -> HttpResponse:
    """Two answers to one question: show both, keep what stands until a person chooses."""
    sentence = f"{piece.code}, {criterion}: {error}"
    if wants_json(request):
        mark = piece.assessments.by_teacher().get().marks.get(criterion=criterion)
        answer = {
            "state": "conflict",
            "version": error.version,
            "mark": tiles.payload(piece, mark),
            "theirs": _mark_line(error.theirs),
            "mine": _mark_line(error.mine),
            "who": error.who,
            "at": say_date(timezone.localtime(error.at), "H:i") if error.at else "",
            "sentence": sentence,
        }
        return JsonResponse(answer, status=409)
    context = {
        "piece": piece,
        "sentence": sentence,
        "theirs": _mark_lines(error.theirs),
        "mine": _mark_lines(error.mine),
    }
    return _stale_page(request, context, error, back)


def stale_words(request: HttpRequest, piece: Piece, error: Stale, back: str) -> HttpResponse:
    """The same for the teacher's words."""
    lines = {
        name: [
            {"label": FIELD_LABELS[key], "value": state[key] or "nothing"}
            for key in ("words", "next_step")
        ]
        for name, state in (("theirs", error.theirs), ("mine", error.mine))
    }
    context = {"piece": piece, "sentence": str(error), **lines}
    seen = {f"seen_{key}": value for key, value in error.theirs.items()}
    return _stale_page(request, context, error, back, seen)


def _stale_page(request, context, error, back, renewed=None) -> HttpResponse:
    again = {"version": error.version} | (renewed or {})
    sent = {name: request.POST[name] for name in request.POST if name != "csrfmiddlewaretoken"}
    fields = [{"name": name, "value": value} for name, value in (sent | again).items()]
    context |= {"back": back, "action": request.path, "fields": fields}
    return TemplateResponse(request, "rubrics/judging/stale.html", context, status=409)


def refused(
    request: HttpRequest,
    piece: Piece,
    sentence: str,
    back: str,
    *,
    status: int,
    wants: type[Exception] | None = None,
) -> HttpResponse:
    """Say why a save was refused, with everything that was entered still in hand."""
    if wants_json(request):
        return JsonResponse({"state": "problem", "sentence": sentence}, status=status)
    sent = {name: request.POST[name] for name in request.POST if name != "csrfmiddlewaretoken"}
    if wants in (WhyWanted, ReasonWanted):
        sent.setdefault("why", "")
    if wants is ReasonWanted:
        sent.setdefault("reason_text", "")
    fields = [
        {
            "name": name,
            "value": value,
            "shown": name in FIELD_LABELS,
            "label": FIELD_LABELS.get(name, ""),
            "long": name in LONG_FIELDS,
        }
        for name, value in sent.items()
    ]
    context = {
        "piece": piece,
        "sentence": sentence,
        "fields": fields,
        "action": request.path,
        "back": back,
    }
    return TemplateResponse(request, "rubrics/judging/refused.html", context, status=status)


def plain_refusal(request: HttpRequest, sentence: str, back: str) -> HttpResponse:
    """Say why nothing was done, on the page it was asked from."""
    if wants_json(request):
        return JsonResponse({"state": "problem", "sentence": sentence}, status=409)
    messages.error(request, sentence)
    return redirect(back)


def _mark_line(state: dict) -> str:
    if state["excused"]:
        return "excused"
    return "no level" if state["level"] is None else f"level {state['level']}"


def _mark_lines(state: dict) -> list[dict]:
    reason = dict(Mark.Reason.choices).get(state["reason"], "")
    why = ": ".join(part for part in (reason, state["reason_text"]) if part)
    lines = [{"label": "Mark", "value": _mark_line(state)}]
    if why:
        lines.append({"label": "Why", "value": why})
    if state["note"]:
        lines.append({"label": "To the student", "value": state["note"]})
    return lines


def _pieces(count: int) -> str:
    return f"{count} piece{'' if count == 1 else 's'}"


def _codes(pieces) -> str:
    return ", ".join(piece.code for piece in pieces)
