"""One piece of the look-over: what will be sent of it, what to look at again, saved in place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from rubrics.access import get_piece_to_judge
from rubrics.families.portfolios import came_out
from rubrics.forms.judging.last_look import LastLookForm
from rubrics.judging import marking
from rubrics.judging.batch import Batch, NoRubric, load_batch
from rubrics.judging.grade import Grade
from rubrics.judging.last_look import LastLook, MarkToReview, last_look
from rubrics.judging.marking import GradingError, Stale
from rubrics.models import Criterion
from rubrics.publishing.publish import drafts, own_steps_written, plain_number
from rubrics.reports.outcomes import outcome_said
from rubrics.reports.shown import PublishedAssessment
from rubrics.views.judging import answers, tiles
from rubrics.views.judging.choices import reasons
from studio.kilns.unloading import rule
from studio.models import Outcome, Piece


@dataclass(slots=True)
class LookRow:
    """A piece in the look-over, in words."""

    look: LastLook
    grade: str
    version: int
    strong: str
    """The sentence that goes out; "" where none does."""
    step: str
    strength: str
    """The teacher's own sentence, in its field; "" where the proposed one goes out."""
    next_step: str
    words: str
    outcome: str
    overruled: list[str]
    asked: list[dict]
    """Marks that want a reason, each with what its fields hold."""
    rulings: list[dict]
    warnings: list[str]
    seen: dict[str, str]
    problem: str = ""
    is_open: bool = False


def look_rows(batch: Batch, looks: Iterable[LastLook]) -> list[LookRow]:
    """Put last looks into words; what was sent is frozen and has none to change."""
    looks = sorted(looks, key=_urgency)
    shown = drafts(batch, [look.piece for look in looks if not look.is_sent])
    steps = own_steps_written(batch)
    return [_row(batch, look, shown.get(look.piece.pk), steps) for look in looks]


def _urgency(look: LastLook) -> int:
    """What can be sent, or lacks but a reason, comes first; then the unfinished; then the sent."""
    if look.is_sent:
        return 2
    return 1 if look.missing else 0


def _row(
    batch: Batch, look: LastLook, shown: PublishedAssessment | None, steps: dict[int, str]
) -> LookRow:
    assessment = batch.assessments.get(look.piece.pk)
    own = {
        "strength": assessment.strength if assessment else "",
        "next_step": steps.get(look.piece.pk, ""),
        "words": assessment.words if assessment else "",
    }
    return LookRow(
        look=look,
        grade=grade_words(look.grade),
        version=batch.version(look.piece),
        strong=shown["strong"] if shown else "",
        step=next(iter(shown["next_steps"]), "") if shown else "",
        outcome=" ".join(outcome_said(came_out(each)) for each in look.outcomes),
        overruled=[_overruled(each) for each in look.overruled],
        asked=[_asked(each) for each in look.unreasoned],
        rulings=[_ruling(each) for each in look.to_rule],
        warnings=_warnings(look, shown),
        seen=dict(own),
        is_open=bool(look.unreasoned),
        **own,
    )


def _overruled(look: MarkToReview) -> str:
    mark = look.mark
    way = "up" if mark.level.number > mark.suggested else "down"
    said = tiles.reason_words(mark) or "No reason yet."
    levels = f"suggested {mark.suggested}, given {mark.level.number}, {way}"
    return f"{_letter(look.criterion)}: {levels}. {said}"


def _asked(look: MarkToReview) -> dict:
    mark = look.mark
    given = "excused" if mark.excused else f"suggested {mark.suggested}, given {mark.level.number}"
    pk = look.criterion.pk
    return {
        "name": _letter(look.criterion),
        "given": given,
        "field": f"reason_{pk}",
        "text_field": f"reason_text_{pk}",
        "reason": "",
        "text": "",
    }


def _ruling(outcome: Outcome) -> dict:
    return {
        "field": f"doing_{outcome.pk}",
        "kind": outcome.kind,
        "doing": outcome.doing,
        "choices": Outcome.Doing.choices,
    }


def _warnings(look: LastLook, shown: PublishedAssessment | None) -> list[str]:
    """What speaks for looking again, each in a sentence."""
    if shown is None:
        return []
    found = []
    if not shown["strong"]:
        found.append("It goes out without a word on what is strong.")
    if not shown["next_steps"]:
        found.append("It goes out without a next step.")
    by_stage: dict[str, list[Criterion]] = {}
    for criterion, stages in look.earlier:
        by_stage.setdefault(" and ".join(stages), []).append(criterion)
    found += [
        f"Measured {stages}, and {look.piece.stage} now: {_letters(criteria)}."
        for stages, criteria in by_stage.items()
    ]
    if look.unmeasured:
        found.append(f"Not measured, judged by eye: {_letters(look.unmeasured)}.")
    found += [f"Nobody said yet whose doing the {each.kind} is." for each in look.unruled]
    if look.in_question:
        found.append(f"A reading is still in question: {_letters(look.in_question)}.")
    for each in look.moved:
        was = each.mark.suggested or "none"
        now = each.suggested.level if each.suggested else "none"
        found.append(
            f"{_letter(each.criterion)}: readings changed since you decided; the suggestion "
            f"was {was} and is {now} today."
        )
    return found


def _letter(criterion: Criterion) -> str:
    return f"{criterion.letter} {criterion.name}"


def _letters(criteria: Iterable[Criterion]) -> str:
    return ", ".join(_letter(each) for each in criteria)


def grade_words(grade: Grade) -> str:
    """ "87 %, B"; with the weight counted where not all of it was."""
    if grade.percent is None:
        return "nothing to count"
    words = ", ".join(filter(None, [f"{grade.percent} %", grade.label]))
    if grade.counted == grade.total:
        return words
    counted, total = (plain_number(weight) for weight in (grade.counted, grade.total))
    return f"{words} ({counted} of {total} weight)"


# -- saving in place ---------------------------------------------------------------------------


@require_POST
def last_look_save(request: HttpRequest, piece_id: int) -> HttpResponse:
    """Save what was changed in one row; nothing that was typed is lost."""
    piece = get_piece_to_judge(request.user, piece_id)
    back = f"{reverse('look_over', args=[piece.project_id])}#look-{piece.pk}"
    try:
        look = last_look(load_batch(piece.project, pieces=[piece]), piece)
    except NoRubric as error:
        return answers.plain_refusal(request, str(error), back)
    form = LastLookForm(request.POST, look=look)
    problem, theirs, status = "", None, 200
    if not form.is_valid():
        problem = " ".join(each for errors in form.errors.values() for each in errors)
        status = 422
    else:
        try:
            _save(form, piece, request.user)
        except Stale as stale:
            problem, theirs, status = _stale_words(stale), stale.theirs, 409
        except (GradingError, ValueError) as error:
            problem, status = str(error), 409
    if not request.headers.get("HX-Request"):
        if problem:
            return answers.refused(request, piece, problem, back, status=status)
        return redirect(back)
    return _answer(request, piece, problem, theirs)


@transaction.atomic
def _save(form: LastLookForm, piece: Piece, by) -> None:
    version = form.cleaned_data["version"]
    marking.set_words(piece, by, **form.sentences(), why=form.cleaned_data["why"])
    for criterion, reason, text in form.reasons():
        marking.give_reason(
            piece,
            criterion,
            by,
            expected_version=version,
            reason=reason or "other",
            reason_text=text,
        )
    for outcome, doing in form.rulings():
        rule(outcome, doing)


def _stale_words(stale: Stale) -> str:
    if "level" in stale.theirs:
        return f"{stale} Reload the page to see the mark as it stands."
    stand = "; ".join(text for text in stale.theirs.values() if text) or "nothing"
    who = stale.who or "Another window"
    return f"{who} wrote here meanwhile: “{stand}”. Yours is still below; save again to put it in."


def _answer(request, piece: Piece, problem: str, theirs: dict | None) -> HttpResponse:
    """The row anew; with what was typed where it could not be saved."""
    batch = load_batch(piece.project, pieces=[piece])
    (row,) = look_rows(batch, [last_look(batch, piece)])
    if problem:
        row.problem, row.is_open = problem, True
        for name in ("strength", "next_step", "words"):
            setattr(row, name, request.POST.get(name, ""))
        row.seen = {name: request.POST.get(f"seen_{name}", "") for name in row.seen}
        if theirs and "words" in theirs:
            row.seen |= theirs
        for each in row.asked:
            each["reason"] = request.POST.get(each["field"], "")
            each["text"] = request.POST.get(each["text_field"], "")
        for each in row.rulings:
            each["doing"] = request.POST.get(each["field"], each["doing"])
    context = {"row": row, "reasons": reasons(), "said": "" if problem else "Saved."}
    # A fragment that htmx puts in place, whatever came of it.
    return TemplateResponse(request, "rubrics/judging/look_row.html", context)
