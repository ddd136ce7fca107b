"""Which checks of a piece a kiln outcome spoils, and the last stage before it.

Which check an outcome spoils follows from what it does to the clay (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from studio.models import Outcome, Piece, Stage

ALL_CHECKS = frozenset(
    {
        "wall_evenness",
        "rim_level",
        "seam_join",
        "handle_alignment",
        "shrinkage",
        "squared_foot",
        "capacity",
    }
)
SURFACE = "surface"
"""What the eye judges of glaze and texture; no check reads it."""

TOUCHES: dict[str, frozenset[str]] = {
    "seam crack": frozenset({"seam_join", "capacity"}),
    "base crack": frozenset({"seam_join", "capacity"}),
    "dart crack": frozenset({"seam_join"}),
    "rim crack": frozenset({"seam_join", "rim_level"}),
    "warp": frozenset({"rim_level", "squared_foot", "handle_alignment", "capacity"}),
    "handle crack": frozenset({"handle_alignment"}),
    "handle off": frozenset({"handle_alignment"}),
    "blow-out": ALL_CHECKS | {SURFACE},
    "hit by shards": frozenset({"rim_level", SURFACE}),
    "dunt": frozenset({"seam_join", "capacity", SURFACE}),
    "bloat": frozenset({"wall_evenness", "shrinkage", "capacity", SURFACE}),
    "crawling": frozenset({SURFACE}),
    "pinholes": frozenset({SURFACE}),
    "glaze run": frozenset({"squared_foot", SURFACE}),
    "stuck to the shelf": frozenset({"squared_foot", SURFACE}),
    "neighbour's glaze": frozenset({SURFACE}),
    "craze": frozenset({SURFACE}),
    "shiver": frozenset({"rim_level", SURFACE}),
    "underfired": frozenset({"shrinkage", "capacity", SURFACE}),
    "overfired": frozenset({"shrinkage", "capacity", "rim_level", "squared_foot", SURFACE}),
    "chip": frozenset({"rim_level", SURFACE}),
}

_ORDER = {stage: place for place, stage in enumerate(Stage.values)}


@dataclass(frozen=True, slots=True)
class Touch:
    """One doing of the kiln: what it was, from which stage on, and what it touches."""

    kind: str
    stage: str
    note: str
    touches: frozenset[str]

    def spoils(self, check: str, stage: str) -> bool:
        """Whether a reading for a check, taken at a stage, shows the kiln rather than the hand."""
        return check in self.touches and _ORDER[stage] >= _ORDER[self.stage]


def touches_of(outcomes: Iterable[Outcome]) -> dict[int, tuple[Touch, ...]]:
    """By piece id, what the teacher holds the kiln to have done."""
    found: dict[int, list[Touch]] = {}
    for each in outcomes:
        if each.doing != Outcome.Doing.KILN:
            continue
        lost = each.severity == Outcome.Severity.LOSS
        touched = ALL_CHECKS | {SURFACE} if lost else TOUCHES.get(each.kind, frozenset())
        if touched:
            found.setdefault(each.piece_id, []).append(
                Touch(each.kind, each.stage, each.note, touched)
            )
    return {piece_id: tuple(touches) for piece_id, touches in found.items()}


def kiln_touches(pieces: Iterable[Piece]) -> dict[int, tuple[Touch, ...]]:
    """The same for the pieces of one project, in one query."""
    pieces = list(pieces)
    if not pieces:
        return {}
    wanted = {piece.pk for piece in pieces}
    # A list of ids grows with the batch and past what a query carries; the project does not.
    outcomes = Outcome.objects.filter(piece__project=pieces[0].project_id, doing="kiln")
    return touches_of(each for each in outcomes if each.piece_id in wanted)


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
