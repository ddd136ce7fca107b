"""What a student reads of a piece, the same on paper, how the grade comes about, what changed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from django.contrib import messages
from django.core.files.storage import default_storage
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.views.decorators.http import require_GET

from rubrics import access as doors
from rubrics.craft.grade import ASSESSED, EXCUSED, Share, Working, work_out
from rubrics.evidence.on_photo import OnPhoto, on_photo
from rubrics.judging.batch import NoRubric, load_batch
from rubrics.models import Assessment, Mark, MarkChange
from rubrics.publishing.feedback_context import OwnLevel, feedback_context
from rubrics.publishing.publish import freeze, plain_number
from rubrics.reports.feedback import feedback_pdf as draw_pdf
from rubrics.reports.shown import PublishedAssessment, ShownCriterion
from rubrics.views.checks.pictures import CheckPicture, picture
from studio import access
from studio.models import Photo, Piece

PHOTOS_ON_PAPER = 2
STATES = {ASSESSED: "", EXCUSED: "excused: it leaves both sums"}


@dataclass(slots=True)
class CriterionView:
    """One criterion as its reader sees it, with its checks drawn and the student's own level."""

    shown: ShownCriterion
    pictures: list[CheckPicture]
    own: OwnLevel | None = None
    on_photos: list[OnPhoto] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Feedback:
    """What is shown of a piece, and whether it is only a preview of it."""

    shown: PublishedAssessment
    is_draft: bool
    assessment: Assessment | None


@require_GET
def feedback(request: HttpRequest, piece_id: int) -> HttpResponse:
    """The student's page; for the teacher also a preview of what is not published yet."""
    piece = _piece(request, piece_id)
    may_judge = doors.may_judge(request.user, piece)
    try:
        told = _told(request, piece, may_judge)
    except NoRubric as error:
        messages.warning(request, str(error))
        return redirect("rubric_choose", piece.project_id)
    context = {"piece": piece, "may_judge": may_judge, "is_maker": _is_maker(request, piece)}
    if told is None:
        return TemplateResponse(request, "rubrics/publishing/feedback_not_yet.html", context)
    context |= _page(request, piece, told)
    context["beside"] = feedback_context(request.user, piece, told.assessment)
    for part in context["parts"]:
        part.own = context["beside"].levels.get(part.shown["letter"])
    return TemplateResponse(request, "rubrics/publishing/feedback.html", context)


@require_GET
def feedback_pdf(request: HttpRequest, piece_id: int) -> HttpResponse:
    """The published page on paper."""
    piece = _piece(request, piece_id)
    assessment = doors.published_assessment(request.user, piece)
    if assessment is None:
        if not doors.may_judge(request.user, piece):
            raise Http404("This is not published yet.")
        messages.warning(request, f"{piece} is not published yet; publish it, then print it.")
        return redirect("feedback", piece.pk)
    photos = _photos(request, piece, assessment.shown)[:PHOTOS_ON_PAPER]
    files = [data for photo in photos if (data := _bytes(photo))]
    size = "a4" if request.GET.get("paper") == "a4" else "letter"
    document = draw_pdf(assessment.shown, files, pagesize=size)
    response = HttpResponse(document, content_type="application/pdf")
    # The code alone: a file name travels further than the paper.
    response["Content-Disposition"] = f'inline; filename="{piece.code}-feedback.pdf"'
    return response


@require_GET
def working(request: HttpRequest, piece_id: int) -> HttpResponse:
    """Lay out the sum behind a grade, line by line."""
    piece = _piece(request, piece_id)
    try:
        told = _told(request, piece, doors.may_judge(request.user, piece))
    except NoRubric as error:
        messages.warning(request, str(error))
        return redirect("rubric_choose", piece.project_id)
    if told is None:
        raise Http404("This is not published yet.")
    sums = work_out_shown(told.shown)
    context = {
        "piece": piece,
        "is_maker": _is_maker(request, piece),
        "is_draft": told.is_draft,
        "shown": told.shown,
        "lines": [
            _sum_line(*pair) for pair in zip(told.shown["criteria"], sums.lines, strict=True)
        ],
        "earned": plain_number(sums.earned),
        "possible": plain_number(sums.possible),
        "exact": None if sums.exact is None else f"{sums.exact:.3f}",
        "is_rounded": sums.exact != sums.percent,
        "is_whole": sums.weight_counted == sums.weight_total,
    }
    return TemplateResponse(request, "rubrics/publishing/working.html", context)


@require_GET
def mark_changes(request: HttpRequest, piece_id: int) -> HttpResponse:
    """Every change of a piece's marks: who, when, from, to, why."""
    piece = get_object_or_404(doors.read_pieces(request.user), pk=piece_id)
    changes = (
        MarkChange.objects.filter(assessment__piece=piece, assessment__kind="teacher")
        .select_related("who", "mark__criterion", "assessment")
        .order_by("-pk")
    )
    teaches = doors.may_judge(request.user, piece)
    rows = [_change_row(change, _for_teacher if teaches else _for_head) for change in changes]
    context = {
        "piece": piece,
        "late": [row for row in rows if row.change.after_publishing],
        "early": [row for row in rows if not row.change.after_publishing],
    }
    return TemplateResponse(request, "rubrics/publishing/mark_changes.html", context)


def work_out_shown(shown: PublishedAssessment) -> Working:
    """The sum of a shown assessment, worked out again from what it showed."""
    return work_out(
        [
            Share(
                name=each["name"],
                weight=each["weight"],
                score=each["points"],
                top=each.get("top", "100"),
                excused=each["excused"],
            )
            for each in shown["criteria"]
        ]
    )


@dataclass(frozen=True, slots=True)
class SumLine:
    """One line of the sum in words and figures."""

    letter: str
    name: str
    level: str
    weight: str
    points: str
    earned: str
    possible: str
    counts: bool
    note: str


def _sum_line(criterion: ShownCriterion, line) -> SumLine:
    counts = line.state == ASSESSED
    return SumLine(
        letter=criterion["letter"],
        name=criterion["name"],
        level=f"{criterion['level']} {criterion['level_name']}" if counts else "",
        weight=plain_number(line.weight),
        points=plain_number(line.score) if counts else "",
        earned=plain_number(line.earned) if counts else "",
        possible=plain_number(line.possible) if counts else "",
        counts=counts,
        note=STATES.get(line.state, "not judged yet: it leaves both sums"),
    )


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One change in words."""

    change: MarkChange
    who: str
    what: str
    before: str
    after: str
    why: str


def _change_row(change: MarkChange, reason_said: Callable[[dict], str]) -> ChangeRow:
    why = "" if change.is_private and reason_said is not _for_teacher else change.why
    who = change.who.get_full_name() or change.who.get_username() if change.who else "somebody"
    if change.mark is None:
        before, after = (_words_said(state) for state in (change.before, change.after))
        return ChangeRow(change, who, "Words", before, after, why)
    before, after = (
        f"{_mark_said(state)}{reason_said(state)}" for state in (change.before, change.after)
    )
    return ChangeRow(change, who, str(change.mark.criterion), before, after, why)


def _words_said(state: dict) -> str:
    parts = [state.get("words", ""), state.get("next_step", "")]
    return " Next step: ".join(part for part in parts if part) or "nothing"


def _for_teacher(state: dict) -> str:
    """The reason of a mark, for who gave it."""
    label = Mark.Reason(state["reason"]).label if state["reason"] else ""
    said = ", ".join(part for part in (label, state["reason_text"]) if part)
    return f" ({said})" if said else ""


def _for_head(state: dict) -> str:
    """The same without an agreed accommodation, which stays between teacher and student."""
    return "" if state["reason"] == Mark.Reason.ACCESS else _for_teacher(state)


def _for_student(_state: dict) -> str:
    """A student reads the reason that stands, on the page itself."""
    return ""


def _mark_said(state: dict) -> str:
    level = "excused" if state["excused"] else f"level {state['level']}"
    if not state["excused"] and state["level"] is None:
        level = "no level"
    return level + (f", note “{state['note']}”" if state["note"] else "")


def _piece(request: HttpRequest, piece_id: int) -> Piece:
    visible = access.pieces(request.user).select_related(
        "student", "section", "project__section", "project__plan__clay"
    )
    return get_object_or_404(visible, pk=piece_id)


def _is_maker(request: HttpRequest, piece: Piece) -> bool:
    return piece.student.login_id == request.user.pk


def _told(request: HttpRequest, piece: Piece, may_judge: bool) -> Feedback | None:
    """What was published; for the teacher, else, what would be; None for anybody else."""
    assessment = doors.published_assessment(request.user, piece)
    if assessment is not None:
        return Feedback(assessment.shown, is_draft=False, assessment=assessment)
    if not may_judge:
        return None
    batch = load_batch(piece.project, pieces=[piece])
    return Feedback(freeze(batch, piece), is_draft=True, assessment=batch.assessments.get(piece.pk))


def _page(request: HttpRequest, piece: Piece, told: Feedback) -> dict:
    shown = told.shown
    parts = [_criterion_view(shown, criterion) for criterion in shown["criteria"]]
    drawn = {each.name for part in parts for each in part.pictures}
    photos = _photos(request, piece, shown)
    for part in parts:
        names = [each.name for each in part.pictures]
        drawn_on = (on_photo(name, shown["checks"][name]["facts"], photos) for name in names)
        part.on_photos = [each for each in drawn_on if each is not None]
    late = [] if told.is_draft else _late_changes(told.assessment)
    return {
        "shown": shown,
        "is_draft": told.is_draft,
        "parts": parts,
        "others": [_picture(shown, name) for name in shown["checks"] if name not in drawn],
        "first_photo": photos[0] if photos else None,
        "more_photos": photos[1:],
        "next_step": next(iter(shown["next_steps"]), ""),
        "late": late,
        "published_on": told.assessment.published_at if not told.is_draft else None,
        "rubric_id": told.assessment.rubric_id if told.assessment else None,
        "counts_less": shown["weight_counted"] != shown["weight_total"],
    }


def _late_changes(assessment: Assessment) -> list[ChangeRow]:
    """What changed after publishing, without why: that is between the grown-ups' records."""
    changes = assessment.changes.filter(after_publishing=True, mark__isnull=False)
    return [
        _change_row(each, _for_student) for each in changes.select_related("who", "mark__criterion")
    ]


def _criterion_view(shown: PublishedAssessment, criterion: ShownCriterion) -> CriterionView:
    names = [name for name in criterion["checks"] if name in shown["checks"]]
    return CriterionView(
        shown=criterion,
        pictures=[_picture(shown, name, criterion["letter"]) for name in names],
    )


def _picture(shown: PublishedAssessment, name: str, letter: str = "more") -> CheckPicture:
    check = shown["checks"][name]
    return picture(name, check["facts"], check["sentence"], uid=letter)


def _photos(request: HttpRequest, piece: Piece, shown: PublishedAssessment) -> list[Photo]:
    """The photos that were shown and are still there, the first one first."""
    found = access.photos(request.user).filter(piece=piece, pk__in=shown["photos"])
    by_id = {photo.pk: photo for photo in found}
    return [by_id[pk] for pk in shown["photos"] if pk in by_id]


def _bytes(photo: Photo) -> bytes:
    """The photo's file; empty where it is gone, since a page without it still tells the rest."""
    try:
        with default_storage.open(photo.middle.name) as file:
            return file.read()
    except OSError:
        return b""
