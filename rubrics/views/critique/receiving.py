"""What came of a critique: the maker reads and answers, the teacher lays it beside the levels."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from rubrics.critique import answering, doors, taking_over
from rubrics.critique.errors import CritiqueError
from rubrics.forms.critique.ruling import AnswerForm
from rubrics.judging.self_judging import own_assessment
from rubrics.models import Assessment, Remark
from rubrics.views.critique.pictures import pictures
from studio import access
from studio.models import Piece
from studio.projects import piece_sheet


@dataclass(frozen=True, slots=True)
class Came:
    """A remark with its number among those of a piece, its writer's name or "", and its form."""

    number: int
    remark: Remark
    writer: str
    form: AnswerForm | None = None


def full_photo(photo) -> str:
    """The address of a photo for somebody who sees the piece itself."""
    return reverse("photo", args=[photo.pk, "middle"])


@require_GET
def remarks(request: HttpRequest, piece_id: int) -> HttpResponse:
    """What came through on a piece, by its pins; its maker answers each."""
    return _remarks(request, _piece(request, piece_id))


def _piece(request: HttpRequest, piece_id: int) -> Piece:
    visible = access.pieces(request.user).select_related("project", "section", "student")
    return get_object_or_404(visible, pk=piece_id)


def _remarks(request: HttpRequest, piece: Piece, refused: AnswerForm | None = None, problem=""):
    photos = piece_sheet.photos_of(piece)
    own = access.own_pieces(request.user).filter(pk=piece.pk).exists()
    came = _came(piece, photos, with_forms=own, refused=refused)
    context = {
        "piece": piece,
        "project": piece.project,
        "section": piece.section,
        "own": own,
        "came": came,
        "open": sum(not row.remark.answer for row in came),
        "pictures": pictures(photos, [(row.number, row.remark) for row in came], full_photo),
        "refused": refused,
        "problem": problem,
    }
    status = 400 if problem else 200
    return TemplateResponse(request, "rubrics/critique/remarks.html", context, status=status)


def _came(piece: Piece, photos, *, with_forms: bool, refused: AnswerForm | None) -> list[Came]:
    rows = list(doors.remarks_on(piece))
    # Names are fetched for a critique that shows them, and for no other.
    shown = {each.look_id for each in rows if not each.look.shown.critique.names_hidden}
    names = dict(Remark.objects.filter(look__in=shown).values_list("look", "look__reader__name"))
    told = [(photo, number) for number, photo in enumerate(photos, start=1)]
    numbered = [(number, photo) for photo, number in told]
    return [
        Came(
            number,
            remark,
            names.get(remark.look_id, ""),
            _form(remark, numbered, refused) if with_forms else None,
        )
        for number, remark in enumerate(rows, start=1)
    ]


def _form(remark: Remark, numbered, refused: AnswerForm | None) -> AnswerForm:
    if refused is not None and refused.prefix == f"r{remark.pk}":
        return refused
    return AnswerForm(photos=numbered, remark=remark)


@require_POST
def remark_answer(request: HttpRequest, remark_id: int) -> HttpResponse:
    """Keep the maker's answer to one remark."""
    remark = doors.get_remark_to_answer(request.user, remark_id)
    piece = remark.look.shown.piece
    numbered = list(enumerate(piece_sheet.photos_of(piece), start=1))
    form = AnswerForm(request.POST, photos=numbered, remark=remark)
    problem = "" if form.is_valid() else form.sentence()
    if not problem:
        try:
            answering.answer(remark, request.user, form.answered())
        except CritiqueError as error:
            problem = str(error)
    if problem:
        return _remarks(request, _piece(request, piece.pk), form, problem)
    messages.success(request, "Kept. You can change it.")
    return redirect(f"{reverse('remarks', args=[piece.pk])}#r{remark.pk}")


@require_GET
def critique_piece(request: HttpRequest, critique_id: int, piece_id: int) -> HttpResponse:
    """Self, peers and teacher beside each other, as points to talk about."""
    critique = get_object_or_404(doors.critiques(request.user), pk=critique_id)
    piece = get_object_or_404(
        Piece.objects.select_related("project", "section", "student"),
        pk=piece_id,
        shown_in__critique=critique,
    )
    may_change = access.may_change(request.user, piece.section)
    own = own_assessment(piece)
    theirs = (
        Assessment.objects.by_teacher()
        .filter(piece=piece)
        .prefetch_related("marks__level", "marks__criterion", "next_steps")
        .first()
    )
    if theirs is not None and not may_change and theirs.published_at is None:
        # A head reads what was published, like everybody else.
        theirs = None
    rows = list(_of_critique(critique, piece, with_writers=may_change))
    context = {
        "critique": critique,
        "piece": piece,
        "project": piece.project,
        "section": piece.section,
        "came": [(number, each) for number, each in enumerate(rows, start=1)],
        "pictures": pictures(piece_sheet.photos_of(piece), enumerate(rows, start=1), full_photo),
        "own": own,
        "theirs": theirs,
        "levels": _levels(own, theirs),
        "may_change": may_change,
    }
    return TemplateResponse(request, "rubrics/critique/piece.html", context)


def _of_critique(critique, piece: Piece, *, with_writers: bool):
    """Remarks on a piece in one critique: all that were sent for its teacher, else what passed."""
    rows = (
        Remark.objects.filter(look__shown__critique=critique, look__shown__piece=piece)
        .select_related("before", "after")
        .order_by("look_id", "pk")
    )
    if not with_writers:
        return rows.passed()
    return rows.exclude(state=Remark.State.DRAFT).select_related(
        "before", "after", "look__reader", "look__typed_by"
    )


def _levels(own, theirs) -> list[dict]:
    """The two judgements by criterion, for those that either has."""
    rows: dict[str, dict] = {}
    for key, assessment in (("own", own), ("theirs", theirs)):
        for mark in assessment.marks.all() if assessment else ():
            row = rows.setdefault(mark.criterion.letter, {"criterion": mark.criterion})
            row[key] = "excused" if mark.excused else mark.level
    return [rows[letter] for letter in sorted(rows)]


@require_POST
def remark_take(request: HttpRequest, remark_id: int) -> HttpResponse:
    """Put a remark into the words or the next step of a piece's feedback."""
    remark = doors.get_remark_to_take(request.user, remark_id)
    try:
        taken = taking_over.take_over(remark, request.user, kind=request.POST.get("as", ""))
    except CritiqueError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"Taken {taken.get_taken_as_display()}, without a name.")
    shown = remark.look.shown
    return redirect("critique_piece", shown.critique_id, shown.piece_id)
