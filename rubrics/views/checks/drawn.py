"""Checks as drawings with their sentence, and levels as buttons: what two pages show alike."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from rubrics.evidence.check_facts import facts_by_check
from rubrics.judging.batch import Batch
from rubrics.judging.suggestions import Suggested
from rubrics.models import Criterion, Level, Mark
from rubrics.reports.result_json import Facts
from rubrics.reports.sentences import sentence
from rubrics.views.checks.pictures import CheckPicture, picture
from studio.models import Piece


@dataclass(frozen=True, slots=True)
class DrawnCheck:
    """One check as a judge sees it: its picture, and how far its readings are to be trusted."""

    picture: CheckPicture
    origin: str
    in_question: bool


def checks(batch: Batch, piece: Piece, names: Iterable[str], *, uid: str) -> list[DrawnCheck]:
    """Draw those named checks that the piece has readings for; ``uid`` is unique on a page."""
    facts = facts_by_check(batch.evidence, piece, refused=True)
    return [_drawn(batch, piece, name, facts[name], uid) for name in names if name in facts]


def _drawn(batch: Batch, piece: Piece, name: str, facts: Facts, uid: str) -> DrawnCheck:
    return DrawnCheck(
        picture=picture(name, facts, sentence(name, facts), uid=uid),
        origin=batch.evidence.origin(piece, name),
        in_question=bool(batch.evidence.questions(piece, name)),
    )


@dataclass(frozen=True, slots=True)
class LevelButton:
    """One of the four levels of a criterion, as it stands for a piece."""

    number: int
    name: str
    descriptor: str
    chosen: bool
    suggested: bool


def levels(
    criterion: Criterion, mark: Mark | None, suggested: Suggested | None
) -> list[LevelButton]:
    """The four levels, the highest first."""
    chosen = mark.level_id if mark else None
    return [_button(level, chosen, suggested) for level in criterion.levels.all()]


def _button(level: Level, chosen: int | None, suggested: Suggested | None) -> LevelButton:
    return LevelButton(
        number=level.number,
        name=level.name,
        descriptor=level.descriptor,
        chosen=level.pk == chosen,
        suggested=suggested is not None and suggested.level == level.number,
    )
