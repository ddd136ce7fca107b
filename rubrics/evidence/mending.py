"""What can still be mended before the bisque firing: from a batch's evidence to one list.

At leather-hard the checks' own next step is the action. Bone dry, little can be done: what can is
said here, common practice, no source. Dry clay is never sanded: the dust holds silica.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

from rubrics.craft.results import OUTSIDE, TOO_CLOSE, Refused, Result
from rubrics.craft.sheet import Sheet
from rubrics.craft.shrinkage import expected_fired_sizes
from rubrics.evidence.check_facts import facts_by_check
from rubrics.evidence.collect import Evidence
from rubrics.reports.facts import Facts
from rubrics.reports.sentences import next_step, phrase
from rubrics.reports.wording import quantity, where
from studio.making.board import days_at_stage
from studio.models import Piece, Stage
from studio.ware.quantities import DIMENSIONS
from studio.ware.stages import UNFIRED_STAGES
from studio.ware.uncertainty import COVERAGE_FACTOR

THIN_MM = 4.0
"""A wall thinner than this at leather-hard or bone dry is thin (our proposal, from memory). [mm]"""

SQRT2 = math.sqrt(2)

# The sooner a stage ends, the sooner its pieces are looked at.
SOONEST = {Stage.LEATHER_HARD: 0, Stage.WET: 1, Stage.BONE_DRY: 2}

CAN_BE_MENDED = (
    "wall_evenness",
    "rim_level",
    "seam_join",
    "handle_alignment",
    "squared_foot",
)

BONE_DRY_ACTIONS = {
    "rim_level": "Rub the high place down with a damp sponge, a little at a time. Never dry: "
    "the dust is harmful.",
    "seam_join": "Show it to your teacher before it is loaded: an open join seldom closes in "
    "the kiln.",
    "squared_foot": "Rub the high corner on a damp sponge until it stands. Never dry.",
}
"""What is left to do once a piece is bone dry (common practice, no source)."""

THICKEN = "Score and slip it inside, press on a thin patch of the same clay, and rib it smooth."
THIN_AND_DRY = (
    "It cannot be thickened now. Lift it by the foot, and give it a safe place in the kiln."
)


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


def _urgency(each: ToMend) -> tuple:
    certain = any(fault.is_certain for fault in each.faults)
    return SOONEST[each.piece.stage], not certain, -(each.days or 0), each.piece.code


def _faults(found: Evidence, piece: Piece) -> list[Fault]:
    results = found.of(piece)
    facts = facts_by_check(found, piece)
    faults = []
    for check in CAN_BE_MENDED:
        result = results.get(check)
        if result is None or isinstance(result, Refused):
            continue
        if check == "wall_evenness" and (thin := _thin(result, facts[check], piece)):
            faults.append(thin)
        if result.verdict in (OUTSIDE, TOO_CLOSE) and (action := _action(check, facts, piece)):
            words = phrase(check, facts[check])
            faults.append(
                Fault(f"{words[:1].upper()}{words[1:]}", action, result.verdict == OUTSIDE)
            )
    return faults


def _action(check: str, facts: dict[str, Facts], piece: Piece) -> str | None:
    if piece.stage == Stage.BONE_DRY:
        return BONE_DRY_ACTIONS.get(check)
    return next_step(check, facts[check])


def _thin(result: Result, facts: Facts, piece: Piece) -> Fault | None:
    """The thinnest place, where the reading says it is thin; its doubt is told."""
    thin = result.thinnest
    if thin is None or thin.value_mm >= THIN_MM:
        return None
    # Two readings make the spread: one of them has its share of the doubt.
    doubt = COVERAGE_FACTOR * result.u_spread_mm / SQRT2
    seam = facts.get("seam_azimuth_deg")
    at = "" if thin.azimuth_deg is None else f" {where(thin.azimuth_deg, seam)}"
    return Fault(
        f"The wall is only {quantity('_mm', thin.value_mm)} thick{at}, give or take "
        f"{quantity('_mm', doubt)}",
        THIN_AND_DRY if piece.stage == Stage.BONE_DRY else THICKEN,
        is_certain=thin.value_mm + doubt < THIN_MM,
    )


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
