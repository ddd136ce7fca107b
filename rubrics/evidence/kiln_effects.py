"""Which checks of a piece a kiln outcome spoils, and the last stage before it.

Which check an outcome spoils follows from what it does to the clay (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from rubrics.checks.outcomes import TOUCHES_ALL, checks_touched_by
from rubrics.reports.outcomes import SURFACE_OUTCOMES
from studio.models import Outcome, Piece
from studio.ware.stages import STAGE_PLACE

SURFACE = "surface"
"""What the eye judges of glaze and texture; no check reads it."""


def touched_by(kind: str, *, lost: bool = False) -> frozenset[str]:
    """What an outcome touches: names of checks, and the surface."""
    touched = checks_touched_by(kind, lost=lost)
    surface = lost or kind in TOUCHES_ALL or kind in SURFACE_OUTCOMES
    return touched | ({SURFACE} if surface else frozenset())


@dataclass(frozen=True, slots=True)
class Touch:
    """One doing of the kiln: what it was, from which stage on, and what it touches."""

    kind: str
    stage: str
    note: str
    touches: frozenset[str]

    def spoils(self, check: str, stage: str) -> bool:
        """Whether a reading for a check, taken at a stage, shows the kiln rather than the hand."""
        return check in self.touches and STAGE_PLACE[stage] >= STAGE_PLACE[self.stage]


def touches_of(outcomes: Iterable[Outcome]) -> dict[int, tuple[Touch, ...]]:
    """By piece id, what the teacher holds the kiln to have done."""
    found: dict[int, list[Touch]] = {}
    for each in outcomes:
        if each.doing != Outcome.Doing.KILN:
            continue
        lost = each.severity == Outcome.Severity.LOSS
        touched = touched_by(each.kind, lost=lost)
        if touched:
            found.setdefault(each.piece_id, []).append(
                Touch(each.kind, each.stage, each.note, touched)
            )
    return {piece_id: tuple(touches) for piece_id, touches in found.items()}


def outcomes_of(pieces: Iterable[Piece]) -> dict[int, tuple[Outcome, ...]]:
    """By piece id, what happened to the pieces of one project, in one query."""
    pieces = list(pieces)
    if not pieces:
        return {}
    found: dict[int, list[Outcome]] = {piece.pk: [] for piece in pieces}
    # A list of ids grows with the batch and past what a query carries; the project does not.
    for each in Outcome.objects.filter(piece__project=pieces[0].project_id):
        if each.piece_id in found:
            found[each.piece_id].append(each)
    return {pk: tuple(outcomes) for pk, outcomes in found.items() if outcomes}


def last_good(
    rows: Iterable, touches: Sequence[Touch], quantities_of: Mapping[str, tuple[str, ...]]
) -> tuple[tuple, frozenset[str]]:
    """Set aside readings that show the kiln's doing, where an earlier stage was read as well.

    Parameters
    ----------
    rows : iterable of evidence rows
        With ``reading.quantity`` and ``reading.stage``.
    quantities_of : mapping
        The quantities on which each check lives.

    Returns
    -------
    rows, checks
        The rows that stay, and the checks that fall back to their last good stage. Where no
        earlier stage was read, the readings stay: the teacher sees them and may excuse.
    """
    rows, fallen = tuple(rows), set()
    touched = frozenset().union(*(touch.touches for touch in touches))
    # What a check lives on that the kiln did not touch stays, whoever else would use it.
    kept = {q for check, own in quantities_of.items() if check not in touched for q in own}
    for check in sorted(touched & quantities_of.keys()):
        own = [row for row in rows if row.reading.quantity in set(quantities_of[check]) - kept]
        spoiled = {
            id(row)
            for row in own
            if any(touch.spoils(check, row.reading.stage) for touch in touches)
        }
        if spoiled and len(spoiled) < len(own):
            fallen.add(check)
            rows = tuple(row for row in rows if id(row) not in spoiled)
    return rows, frozenset(fallen)
