"""What can still be mended before the bisque firing: from a batch's evidence to one list.

What to do about a finding stands in the check's descriptor, for soft and for bone dry clay.
Dry clay is never sanded: the dust holds silica.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from rubrics.checks.advice import has_work, on_the_piece
from rubrics.checks.register import check_named
from rubrics.craft.results import OUTSIDE, WITHIN
from rubrics.craft.sheet import Sheet
from rubrics.craft.shrinkage import expected_fired_sizes
from rubrics.evidence.check_facts import facts_by_check
from rubrics.evidence.collect import Evidence
from rubrics.reports.result_json import Facts
from rubrics.reports.sentences import phrase
from rubrics.reports.wording import urgency
from studio.making.board import days_at_stage
from studio.models import Piece, Stage
from studio.ware.quantities import DIMENSIONS
from studio.ware.stages import UNFIRED_STAGES
from studio.ware.uncertainty import COVERAGE_FACTOR

# The sooner a stage ends, the sooner its pieces are looked at.
SOONEST = {Stage.LEATHER_HARD: 0, Stage.WET: 1, Stage.BONE_DRY: 2}


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing to mend: what was found, and the one action."""

    found: str
    action: str
    is_certain: bool


@dataclass(frozen=True, slots=True)
class FiredSize:
    """A size to expect of the fired piece, and whether the plan lies outside its interval."""

    words: str
    off_plan: bool


@dataclass(frozen=True, slots=True)
class ToMend:
    """One piece with its faults, the certain ones first, and the sizes to expect of it."""

    piece: Piece
    days: int | None
    faults: tuple[Fault, ...]
    sizes: tuple[FiredSize, ...]


@dataclass(frozen=True, slots=True)
class MendList:
    """Pieces to mend, the most urgent first; those that are fine; those nobody read yet."""

    to_mend: list[ToMend]
    fine: list[ToMend]
    unread: list[Piece]


def is_greenware(piece: Piece) -> bool:
    """Whether a piece is unfired and still there."""
    standing = piece.state in (Piece.State.IN_WORK, Piece.State.FINISHED)
    return standing and piece.stage in UNFIRED_STAGES


def mend_list(found: Evidence, today: date) -> MendList:
    """Sort the greenware of some evidence into what is to mend, what is fine, what is unread."""
    to_mend, fine, unread = [], [], []
    for piece in filter(is_greenware, found.pieces):
        if not found.rows.get(piece.pk):
            unread.append(piece)
            continue
        faults = sorted(_faults(found, piece), key=lambda fault: not fault.is_certain)
        each = ToMend(piece, days_at_stage(piece, today), tuple(faults), _sizes(found, piece))
        (to_mend if faults else fine).append(each)
    to_mend.sort(key=_urgency)
    return MendList(to_mend, fine, unread)


@dataclass(frozen=True, slots=True)
class OwnPiece:
    """What a student can still do to the own piece, and what is to be left as it is."""

    to_mend: ToMend | None
    leave: tuple[str, ...]
    """Names of the checks that lie within their limits."""


def own_piece(found: Evidence, piece: Piece, today: date) -> OwnPiece | None:
    """The mend list of one piece; None where it is no longer soft or dry, or nobody read it."""
    if not is_greenware(piece) or not found.rows.get(piece.pk):
        return None
    listed = mend_list(found, today)
    within = (
        name
        for name, facts in facts_by_check(found, piece).items()
        if facts.get("verdict") == WITHIN and check_named(name).is_mendable
    )
    leave = tuple(check_named(name).title for name in within)
    return OwnPiece(next(iter(listed.to_mend), None), leave)


def _urgency(each: ToMend) -> tuple:
    certain = any(fault.is_certain for fault in each.faults)
    return SOONEST[each.piece.stage], not certain, -(each.days or 0), each.piece.code


def _faults(found: Evidence, piece: Piece) -> list[Fault]:
    """What is not within its limits and can be mended now, each action once."""
    faults: dict[str, Fault] = {}
    for name, facts in facts_by_check(found, piece).items():
        for action, judged in work_on(name, facts):
            words = phrase(name, facts | {"judged": [judged]})
            fault = Fault(f"{words[:1].upper()}{words[1:]}", action, judged["verdict"] == OUTSIDE)
            faults.setdefault(action, fault)
    return list(faults.values())


def work_on(name: str, facts: Facts) -> list[tuple[str, dict]]:
    """What a check asks to do to the clay now, each with the figure it is for, the worst first."""
    check = check_named(name)
    if not check.is_mendable or facts.get("refused"):
        return []
    asked = []
    for judged in sorted(facts["judged"], key=urgency):
        told = facts | {"judged": [judged]}
        if has_work(told) and (action := on_the_piece(check, told, judged)):
            asked.append((action, judged))
    return asked


def _sizes(found: Evidence, piece: Piece) -> tuple[FiredSize, ...]:
    """Fired sizes to expect from what was read at the piece's own stage."""
    sheet = Sheet(row.reading for row in found.rows.get(piece.pk, ()))
    expected = expected_fired_sizes(sheet, piece.stage, found.plan)
    return tuple(
        _size(key, size.value_mm, COVERAGE_FACTOR * size.u_mm, found.plan.sizes_mm.get(key))
        for key, size in expected.items()
    )


def _size(key: str, fired_mm: float, doubt_mm: float, planned_mm: float | None) -> FiredSize:
    name, _, height = key.partition("@")
    label = DIMENSIONS.get(name, name.replace("_", " "))
    words = f"{label}{f' at {height} mm' if height else ''}: about {fired_mm:.0f} mm fired, "
    words += f"from {fired_mm - doubt_mm:.0f} to {fired_mm + doubt_mm:.0f}"
    if planned_mm is None:
        return FiredSize(words, off_plan=False)
    return FiredSize(f"{words}; planned {planned_mm:.0f}", abs(fired_mm - planned_mm) > doubt_mm)
