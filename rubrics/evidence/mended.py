"""What mending did: the same piece before and after, by the readings that were taken again.

A reading is never changed: what was read before the mending still stands behind what was read
after it, so that both can be checked by the same checks.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import timedelta
from itertools import pairwise

from rubrics.checks.compute import check_pieces
from rubrics.checks.register import check_named
from rubrics.craft.results import WITHIN
from rubrics.evidence.check_facts import facts_by_check
from rubrics.evidence.collect import HAND, STUDENT, Evidence, plan_of_piece, readings_of
from rubrics.evidence.mending import is_greenware, work_on
from rubrics.reports.result_json import Facts
from rubrics.reports.sentences import phrase
from studio.models import Piece, Reading

MENDING_TAKES = timedelta(minutes=3)
"""A value replaced sooner is a slip put right, not a place that was mended (our choice: to scrape,
compress and measure one place again takes longer)."""


@dataclass(frozen=True, slots=True)
class MendedChange:
    """One check before and after: what it said, what it says now."""

    title: str
    before: str
    after: str
    is_within: bool
    """Whether it lies within its limits now."""


@dataclass(frozen=True, slots=True)
class MendedPiece:
    """One piece whose mended places were read again."""

    piece: Piece
    changes: tuple[MendedChange, ...]

    @property
    def is_done(self) -> bool:
        """Whether all that was mended lies within its limits now."""
        return all(change.is_within for change in self.changes)


def mended_pieces(found: Evidence) -> list[MendedPiece]:
    """The pieces of some evidence that were mended, in its order."""
    changes = mended(found)
    return [MendedPiece(piece, changes[piece.pk]) for piece in found.pieces if piece.pk in changes]


def mended(found: Evidence) -> dict[int, tuple[MendedChange, ...]]:
    """What changed on the soft and dry pieces of some evidence, by piece id. One query.

    A check is told where it had something to mend by the first readings at the piece's own stage,
    and says something else by the last ones.
    """
    pieces = [piece for piece in found.pieces if is_greenware(piece)]
    first = _values_before(found, pieces)
    pieces = [piece for piece in pieces if first.get(piece.pk)]
    if not pieces:
        return {}
    rows = {
        piece.pk: tuple(
            replace(row, reading=replace(row.reading, value=before[key]))
            if (key := _key(row.reading)) in before and row.reading.stage == piece.stage
            else row
            for row in found.rows.get(piece.pk, ())
        )
        for piece in pieces
        for before in [first[piece.pk]]
    }
    readings = {pk: [row.reading for row in counted] for pk, counted in rows.items()}
    plans = {piece.pk: plan_of_piece(found.plan, piece) for piece in pieces}
    earlier = replace(found, pieces=tuple(pieces), rows=rows, results=check_pieces(readings, plans))
    changes = {
        piece.pk: _changes(facts_by_check(earlier, piece), facts_by_check(found, piece))
        for piece in pieces
    }
    return {pk: told for pk, told in changes.items() if told}


def _changes(before: dict[str, Facts], now: dict[str, Facts]) -> tuple[MendedChange, ...]:
    told = []
    for name, was in before.items():
        if name not in now or not work_on(name, was):
            continue
        words, after = phrase(name, was), phrase(name, now[name])
        if words != after:
            told.append(
                MendedChange(
                    check_named(name).title, words, after, now[name].get("verdict") == WITHIN
                )
            )
    return tuple(told)


def _values_before(
    found: Evidence, pieces: list[Piece]
) -> dict[int, dict[tuple[str, str, float | None, float | None], float]]:
    """What was read first at each place that was read again, by piece id, at its own stage."""
    stages = {piece.pk: piece.stage for piece in pieces}
    chains: dict[tuple, list[Reading]] = defaultdict(list)
    readings = readings_of(found.project, None if len(pieces) > 1 else list(stages))
    for reading in readings.filter(
        source__in=(HAND, STUDENT), taken_back_by__isnull=True, stage__in=set(stages.values())
    ).order_by("pk"):
        if stages.get(reading.piece_id) == reading.stage:
            chains[reading.piece_id, *_key(reading)].append(reading)
    first: dict[int, dict] = defaultdict(dict)
    for (pk, *place), chain in chains.items():
        for reading, following in pairwise(chain):
            # A teacher who reads a place after its student checks the reading, not the clay.
            is_check = reading.source == STUDENT and following.source == HAND
            is_later = following.made_at - reading.made_at >= MENDING_TAKES
            if is_later and not is_check and not reading.doubt:
                first[pk][tuple(place)] = reading.value
                break
    return first


def _key(reading) -> tuple[str, str, float | None, float | None]:
    return reading.quantity, reading.name, reading.height_mm, reading.azimuth_deg
