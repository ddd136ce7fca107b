"""Unloading: outcomes for many pieces at once, with their cause and the pieces they damaged."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from django.db import transaction
from django.utils import timezone

from studio.models import Firing, Load, Outcome, Photo, Piece
from studio.ware.outcomes import DEFECTS, HIT, KILN, SOUND, UNCLEAR
from studio.ware.stages import STAGE_PLACE, STAGES


@dataclass(frozen=True, kw_only=True)
class Finding:
    """What is noted of one or many pieces; an empty doing takes the trade's usual answer."""

    kind: str
    severity: int = Outcome.Severity.MARK
    doing: str = ""
    note: str = ""
    photo: Photo | None = None
    hurt: Iterable[Load] = field(default=())


@transaction.atomic
def note_finding(firing: Firing, loads: Iterable[Load], finding: Finding, user) -> list[Outcome]:
    """Note one finding of every load; a loss breaks the piece, and neighbours are noted as hit.

    A finding that was noted before is changed; "sound" gives way to any other, and is not noted
    beside one.
    """
    noted = []
    for load in loads:
        outcome = _note(firing, load, finding, user)
        if outcome is None:
            continue
        noted.append(outcome)
        if finding.severity == Outcome.Severity.LOSS and finding.kind != SOUND:
            _break(load.piece, firing)
    if noted and finding.kind != SOUND:
        for neighbour in finding.hurt:
            if neighbour.piece_id not in {each.piece_id for each in noted}:
                _note_hit(firing, neighbour, noted[0], user)
    return noted


def rule(outcome: Outcome, doing: str) -> None:
    """Say whose doing an outcome was.

    Raises
    ------
    ValueError
        Not one of ``Outcome.Doing``.
    """
    if doing not in Outcome.Doing.values:
        raise ValueError(f"“{doing}” is not one of the answers; choose one of the list.")
    if outcome.doing != doing:
        outcome.doing = doing
        outcome.save(update_fields=["doing"])


def _note(firing: Firing, load: Load, finding: Finding, user) -> Outcome | None:
    stage = firing.kind
    beside = Outcome.objects.filter(piece_id=load.piece_id, stage=stage)
    if finding.kind == SOUND and beside.exclude(kind=SOUND).exists():
        return None
    if finding.kind != SOUND:
        beside.filter(kind=SOUND).delete()
    defect = DEFECTS.get(finding.kind)
    outcome = beside.filter(kind=finding.kind).first() or Outcome(
        piece=load.piece, stage=stage, kind=finding.kind, noted_by=user
    )
    outcome.load = load
    outcome.severity = finding.severity
    outcome.doing = finding.doing or (defect.doing if defect else UNCLEAR)
    outcome.note = finding.note or outcome.note
    outcome.photo = finding.photo or outcome.photo
    outcome.save()
    return outcome


def _note_hit(firing: Firing, load: Load, by: Outcome, user) -> None:
    hit = _note(firing, load, Finding(kind=HIT, doing=KILN), user)
    hit.hurt_by = by
    hit.note = hit.note or f"{by.piece.code} burst beside it."
    hit.save(update_fields=["hurt_by", "note"])


def _break(piece: Piece, firing: Firing) -> None:
    piece.state = Piece.State.BROKEN
    _move_on(piece, firing)
    piece.save(update_fields=["state", "stage", "stage_since"])


def _move_on(piece: Piece, firing: Firing) -> None:
    """To the stage this firing leads to, never back from a later one."""
    if STAGE_PLACE[piece.stage] < STAGE_PLACE[firing.kind]:
        piece.stage, piece.stage_since = firing.kind, timezone.localdate()


@transaction.atomic
def note_rest_sound(firing: Firing, loads, user) -> int:
    """Note every piece of ``loads`` of which nothing was noted as sound; return how many."""
    noted = Outcome.objects.filter(stage=firing.kind).values("piece")
    rest = list(loads.exclude(piece__in=noted).select_related("piece"))
    note_finding(firing, rest, Finding(kind=SOUND, doing=DEFECTS[SOUND].doing), user)
    return len(rest)


@transaction.atomic
def finish(firing: Firing) -> int:
    """Say that the kiln is empty: every piece has come to the firing's stage. Returns how many."""
    pieces = Piece.objects.filter(loads__firing=firing).going_on()
    earlier = STAGES[: STAGE_PLACE[firing.kind]]
    moved = pieces.filter(stage__in=earlier).update(
        stage=firing.kind, stage_since=timezone.localdate()
    )
    firing.unloaded_on = timezone.localdate()
    firing.save(update_fields=["unloaded_on"])
    return moved


def open_again(firing: Firing) -> None:
    """Take back that the kiln is empty; pieces keep their stage."""
    firing.unloaded_on = None
    firing.save(update_fields=["unloaded_on"])


def note_opening(firing: Firing, opened_c: float | None) -> None:
    """Note the temperature at which the kiln was first opened [°C]; None takes the note away."""
    firing.opened_c = opened_c
    firing.save(update_fields=["opened_c"])
