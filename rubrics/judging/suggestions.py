"""The level that the checks suggest for a criterion, and why, in one line."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from rubrics.checks.register import figure_of
from rubrics.craft import levels as craft
from rubrics.craft.results import SeamJoin
from rubrics.evidence.collect import Evidence
from rubrics.models import Criterion
from rubrics.reports.wording import limit_words, with_doubt
from studio.models import Piece


@dataclass(frozen=True, slots=True)
class Suggested:
    """A level to suggest for one criterion of one piece."""

    level: int
    why: str
    """One line with the deciding figure, its uncertainty and the limits it stands between."""
    check: str
    figure: str
    """The deciding figure, as in "rim_level.rise_mm"."""
    size: float
    """Its magnitude, by which tiles stand in order on a shelf."""
    doubt: bool
    """Whether the reading could not tell, so that the higher level is kept."""
    in_question: bool
    """Whether a reading behind it still has an open question."""
    missing: tuple[str, ...] = ()
    """What else the criterion asks for and nobody measured, in words."""


def suggest_for(evidence: Evidence, piece: Piece, criterion: Criterion) -> Suggested | None:
    """Suggest a level, or None where the criterion has no limits or nothing was measured.

    ``criterion.limits`` should be prefetched.
    """
    limits = [
        craft.Limit(each.figure, float(each.a), float(each.b), float(each.c))
        for each in criterion.limits.all()
    ]
    if not limits:
        return None
    results = evidence.of(piece)
    found = craft.suggest(results, limits)
    if found is None:
        return None
    deciding = next(each for each in found.figures if each.figure == found.decides)
    limit = next(each for each in limits if each.figure == found.decides)
    checks = {each.figure.partition(".")[0] for each in found.figures}
    check = deciding.figure.partition(".")[0]
    result = results[check]
    through = isinstance(result, SeamJoin) and result.through
    return Suggested(
        level=found.level,
        why=THROUGH if through else why(deciding, limit),
        check=check,
        figure=deciding.figure,
        size=abs(deciding.value),
        doubt=deciding.reaches[0] != deciding.level,
        in_question=any(evidence.questions(piece, each) for each in checks),
        missing=tuple(figure_of(key).label for key in found.missing),
    )


def suggest_all(
    evidence: Evidence, criteria: Iterable[Criterion]
) -> Mapping[tuple[int, int], Suggested]:
    """Suggestions by (piece id, criterion id); no query when limits are prefetched."""
    criteria = list(criteria)
    return {
        (piece.pk, criterion.pk): suggested
        for piece in evidence.pieces
        for criterion in criteria
        if (suggested := suggest_for(evidence, piece, criterion)) is not None
    }


THROUGH = "Seam: a crack goes through the join."


def why(found: craft.FigureLevel, limit: craft.Limit) -> str:
    """Say in one line where a figure stands among its limits."""
    label = figure_of(found.figure).label
    figure = found.figure.partition(".")[2]
    value = with_doubt(figure, abs(found.value), found.u)
    a, b, c = (limit_words(figure, bound) for bound in limit.bounds)
    level = craft.level_of(abs(found.value), limit.bounds)
    place = {
        4: f"within {a}",
        3: f"between {a} and {b}",
        2: f"between {b} and {c}",
        1: f"beyond {c}",
    }[level]
    if found.reaches[0] == found.reaches[1]:
        return f"{label} {value}: {place}."
    edges = [
        text
        for text, number in zip((a, b, c), (4, 3, 2), strict=True)
        if found.reaches[0] < number <= found.reaches[1]
    ]
    return (
        f"{label} {value}: too close to {' and '.join(edges)} to call, so the higher level is kept."
    )
