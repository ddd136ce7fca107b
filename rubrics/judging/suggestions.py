"""The level that the checks suggest for a criterion, and why, in one line; or why they do not."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from rubrics.checks.register import check_of, figure_of
from rubrics.craft import levels as craft
from rubrics.craft.results import SeamJoin
from rubrics.evidence.collect import Evidence
from rubrics.models import Criterion
from rubrics.reports.wording import limit_words, with_doubt
from rubrics.reports.wording import size as say_size
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

    ``criterion.limits`` should be prefetched. What was meant is not held against its maker: of a
    rim that is meant to be drawn out no rise or tilt suggests a level, and the line says so.
    """
    results = evidence.of(piece)
    limits, is_drawn = _limits(criterion, evidence, piece)
    found = craft.suggest(results, limits)
    if found is None or found.level is None:
        return None
    deciding = next(each for each in found.figures if each.figure == found.decides)
    limit = next(each for each in limits if each.figure == found.decides)
    checks = {each.figure.partition(".")[0] for each in found.figures}
    check = deciding.figure.partition(".")[0]
    result = results[check]
    through = isinstance(result, SeamJoin) and result.through
    return Suggested(
        level=found.level,
        why=(THROUGH if through else why(deciding, limit)) + (f" {DRAWN_OUT}" if is_drawn else ""),
        check=check,
        figure=deciding.figure,
        size=abs(deciding.value),
        doubt=deciding.reaches[0] != deciding.level,
        in_question=any(evidence.questions(piece, each) for each in checks),
        missing=tuple(figure_of(key).label for key in found.missing),
    )


def why_none(evidence: Evidence, piece: Piece, criterion: Criterion) -> str:
    """Why the readings of a criterion suggest no level, and what would settle it.

    "" where a level is suggested, and where nothing was measured that could suggest one.
    """
    limits, is_drawn = _limits(criterion, evidence, piece)
    found = craft.suggest(evidence.of(piece), limits)
    if found is None:
        return DRAWN_OUT if is_drawn else ""
    if found.level is not None:
        return ""
    rough = next(each for each in found.figures if each.figure == found.decides)
    limit = next(each for each in limits if each.figure == found.decides)
    return too_rough(rough, limit)


def _limits(
    criterion: Criterion, evidence: Evidence, piece: Piece
) -> tuple[list[craft.Limit], bool]:
    """The limits that hold for a piece, and whether some were set aside: those that ask a rim to be
    level which was read, and is meant to be drawn out."""
    limits = [
        craft.Limit(each.figure, float(each.a), float(each.b), float(each.c))
        for each in criterion.limits.all()
    ]
    if not evidence.rim_meant(piece):
        return limits, False
    fit = [each for each in limits if not _asks_level_rim(each)]
    results = evidence.of(piece)
    aside = (each for each in limits if _asks_level_rim(each))
    return fit, any(each.figure.partition(".")[0] in results for each in aside)


def _asks_level_rim(limit: craft.Limit) -> bool:
    return limit.figure.partition(".")[2] in check_of(limit.figure).unlike_drawn


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


def too_rough(found: craft.FigureLevel, limit: craft.Limit) -> str:
    """Say why a figure carries no level, and which reading would."""
    label = figure_of(found.figure).label
    figure = found.figure.partition(".")[2]
    value = with_doubt(figure, abs(found.value), found.u)
    settled = check_of(found.figure).settled_by
    low, high = found.reaches
    if found.at_least:
        return (
            f"{label} {value} or more: three places cannot see a rim that waves, so no level is "
            f"suggested. To settle it, {settled}."
        )
    reached = "every level" if (low, high) == (1, 4) else f"levels {low} to {high}"
    needed = say_size(figure, craft.COVERAGE_FACTOR * found.needed_u) if found.needed_u else ""
    fine = f" A reading good to ± {needed} would tell." if needed else ""
    return (
        f"{label} {value}: too rough to tell, since it reaches {reached} "
        f"({', '.join(limit_words(figure, bound) for bound in limit.bounds)}), so no level is "
        f"suggested.{fine} To settle it, {settled}."
    )


THROUGH = "Seam: a crack goes through the join."
DRAWN_OUT = "The rim is meant to be drawn out, so its rise suggests no level: judge it by eye."


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
    if found.reaches[1] == level:
        return f"{label} {value}: {place}, though the reading may lie beyond."
    edges = [
        text
        for text, number in zip((a, b, c), (4, 3, 2), strict=True)
        if found.reaches[0] < number <= found.reaches[1]
    ]
    return (
        f"{label} {value}: too close to {' and '.join(edges)} to call, so the higher level is kept."
    )
