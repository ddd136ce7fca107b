"""A kiln's doing proposes "excused" for the criteria it touched; the teacher applies it or not."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from rubrics.craft.results import Refused
from rubrics.evidence.kiln_effects import SURFACE, Touch
from rubrics.judging.batch import Batch
from rubrics.models import Criterion
from rubrics.reports.outcomes import SURFACE_WORDS, lesson_of
from studio.models import Outcome, Piece
from studio.ware.outcomes import DEFECTS


@dataclass(frozen=True, slots=True)
class ExcuseProposal:
    """What the kiln's doing means for one criterion, in a sentence.

    ``excuse`` is False where an earlier, good stage carries the judgement: then it only says so.
    """

    criterion: Criterion
    kind: str
    sentence: str
    excuse: bool


def proposals(batch: Batch, piece: Piece) -> dict[int, ExcuseProposal]:
    """By criterion id, for the criteria that the kiln touched."""
    touches = batch.evidence.touches.get(piece.pk, ())
    found = {}
    for criterion in batch.criteria:
        touch = next((each for each in touches if _concerns(each, criterion)), None)
        if touch is not None:
            found[criterion.pk] = _proposal(batch, piece, criterion, touch)
    return found


def _checks_of(criterion: Criterion) -> set[str]:
    return {limit.figure.partition(".")[0] for limit in criterion.limits.all()}


def _concerns(touch: Touch, criterion: Criterion) -> bool:
    checks = _checks_of(criterion)
    if checks:
        return bool(checks & touch.touches)
    words = f"{criterion.name} {criterion.description}"
    return SURFACE in touch.touches and bool(SURFACE_WORDS.search(words))


def _proposal(batch: Batch, piece: Piece, criterion: Criterion, touch: Touch) -> ExcuseProposal:
    checks = _checks_of(criterion) & touch.touches
    told = {
        name: result
        for name in checks
        if not isinstance(result := batch.evidence.of(piece).get(name), Refused | None)
    }
    doing = f"{touch.kind}, the kiln's doing"
    spoiled = [name for name, result in told.items() if touch.spoils(name, result.stage)]
    if told and not spoiled:
        stages = " and ".join(sorted({result.stage for result in told.values()}))
        return ExcuseProposal(
            criterion,
            touch.kind,
            f"{doing.capitalize()}: judged from {stages}, the last stage before it.",
            excuse=False,
        )
    why = "nothing from before it was measured" if checks else "it touched what this looks at"
    sentence = f"Proposed: excuse it. {doing.capitalize()}, and {why}."
    return ExcuseProposal(criterion, touch.kind, sentence, excuse=True)


@dataclass(frozen=True, slots=True)
class OutcomeLesson:
    """What an outcome teaches for the next piece, to be taken over into the feedback."""

    kind: str
    cause: str
    text: str


def advice(outcomes: Iterable[Outcome]) -> list[OutcomeLesson]:
    """What a piece's outcomes teach its maker; nothing where it was not the maker's doing."""
    return [
        OutcomeLesson(each.kind, DEFECTS[each.kind].cause, text)
        for each in outcomes
        if each.doing != Outcome.Doing.KILN and (text := lesson_of(each.kind))
    ]
