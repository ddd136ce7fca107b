"""Checks as drawings with their sentence, and levels as buttons: what two pages show alike."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.safestring import SafeString, mark_safe

from rubrics.batch import Batch
from rubrics.models import Criterion, Level, Mark
from rubrics.reports.drawings import TITLES, draw
from rubrics.reports.facts import as_facts
from rubrics.reports.sentences import sentence
from rubrics.reports.svg import to_svg
from rubrics.suggestions import Suggested
from studio.models import Piece

DRAWING_WIDTH = 340.0


@dataclass(frozen=True, slots=True)
class DrawnCheck:
    """One check as a page shows it."""

    name: str
    title: str
    svg: SafeString
    sentence: str
    origin: str
    in_question: bool


def checks(batch: Batch, piece: Piece, names: Iterable[str], *, uid: str) -> list[DrawnCheck]:
    """Draw those named checks that the piece has readings for; ``uid`` is unique on a page."""
    results = batch.evidence.of(piece)
    seam = getattr(results.get("handle_alignment"), "seam_azimuth_deg", None)
    return [
        _drawn(batch, piece, name, as_facts(results[name], seam_azimuth_deg=seam), uid)
        for name in names
        if name in results
    ]


def _drawn(batch: Batch, piece: Piece, name: str, facts: dict, uid: str) -> DrawnCheck:
    words = sentence(name, facts)
    scene = draw(name, facts, width=DRAWING_WIDTH)
    svg = to_svg(scene, title=TITLES[name], desc=words, uid=f"{uid}-{name}")
    # Every word in the drawing was escaped when it was written.
    return DrawnCheck(
        name=name,
        title=TITLES[name],
        svg=mark_safe(svg),
        sentence=words,
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
