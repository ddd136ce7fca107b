"""Every write to kilns, firings, their loads, cones and logs. Each is whole or not at all."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from django.db import transaction

from studio.firing.log import Log, in_other_unit
from studio.firing.packing import pack
from studio.firing.ramp import Segment
from studio.kilns.log_and_cones import log_of
from studio.models import Firing, FiringLog, Load, Piece, RampSegment, Stage, WitnessCone
from studio.ware.stages import SOFT_STAGES

READY_FOR = {Firing.Kind.BISQUE: Stage.BONE_DRY, Firing.Kind.GLAZE: Stage.BISQUE}
CODE_SIGNS = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]*")
NAME_LENGTH = 120


class FiringError(ValueError):
    """A change that cannot be made; the message is a sentence for the teacher."""


@transaction.atomic
def keep_firing(firing: Firing, segments: Iterable[Segment], user) -> Firing:
    """Save a firing with its ramp, which replaces the one before."""
    if firing.pk is None:
        firing.begun_by = user
    firing.save()
    firing.segments.all().delete()
    RampSegment.objects.bulk_create(
        RampSegment(
            firing=firing,
            position=position,
            rate_c_per_h=each.rate_c_per_h,
            target_c=each.target_c,
            hold_min=each.hold_min,
        )
        for position, each in enumerate(segments, 1)
    )
    return firing


@transaction.atomic
def remove_firing(firing: Firing) -> None:
    """Take a firing away with its ramp, load, cones and log; outcomes stay with their pieces."""
    firing.delete()


# -- the load -----------------------------------------------------------------------------------


@dataclass(kw_only=True)
class Loaded:
    """What came of loading: pieces in, those that were in already, and what could not be."""

    new: list[Piece] = field(default_factory=list)
    already: list[Piece] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    """Codes as they were typed that loaded nothing."""
    warnings: list[str] = field(default_factory=list)


def codes_in(text: str) -> list[str]:
    """The codes in what was typed, pasted or scanned, each once and in order."""
    return list(dict.fromkeys(CODE_SIGNS.findall(text)))


def ready(firing: Firing, pieces):
    """Of ``pieces``, those that wait for this kind of firing and sit in no kiln yet."""
    waiting = Load.objects.filter(firing__unloaded_on=None).values("piece")
    return (
        pieces.going_on()
        .filter(stage=READY_FOR[Firing.Kind(firing.kind)])
        .exclude(pk__in=waiting)
        .select_related("student", "section")
    )


@transaction.atomic
def load_codes(firing: Firing, text: str, pieces, *, shelf: int | None = None) -> Loaded:
    """Put the pieces of these codes in the kiln; what is no code of ``pieces`` is told."""
    codes = codes_in(text)
    found: dict[str, list[Piece]] = {}
    lowered = [code.casefold() for code in codes]
    for piece in pieces.select_related("section", "student"):
        if piece.code.casefold() in lowered:
            found.setdefault(piece.code.casefold(), []).append(piece)
    came = Loaded()
    chosen = []
    for code in codes:
        piece = _one_of(firing, code, found.get(code.casefold(), []), came)
        if piece is None:
            came.refused.append(code)
        else:
            chosen.append(piece)
    return _load(firing, chosen, shelf, came)


def _one_of(firing: Firing, code: str, candidates: list[Piece], came: Loaded) -> Piece | None:
    going = [p for p in candidates if p.state not in {Piece.State.LOST, Piece.State.BROKEN}]
    fitting = [p for p in going if p.stage == READY_FOR[Firing.Kind(firing.kind)]] or going
    if len(fitting) == 1:
        return fitting[0]
    if fitting:
        places = " and ".join(sorted(str(piece.section) for piece in fitting))
        came.problems.append(f"{code} stands in {places}. Load it from its project's list.")
    elif candidates:
        came.problems.append(f"{code} is {candidates[0].state}; it cannot be loaded.")
    else:
        came.problems.append(f"There is no piece {code} in your sections. Check the code.")
    return None


@transaction.atomic
def load_pieces(firing: Firing, pieces: Iterable[Piece], *, shelf: int | None = None) -> Loaded:
    """Put pieces in the kiln."""
    return _load(firing, list(pieces), shelf, Loaded())


def _load(firing: Firing, pieces: list[Piece], shelf: int | None, came: Loaded) -> Loaded:
    _refuse_unloaded(firing)
    _refuse_shelf(firing, shelf)
    inside = {load.piece_id: load for load in firing.loads.filter(piece__in=pieces)}
    moved = [inside[piece.pk] for piece in pieces if piece.pk in inside]
    came.already += [piece for piece in pieces if piece.pk in inside]
    came.new += [piece for piece in pieces if piece.pk not in inside]
    Load.objects.bulk_create(Load(firing=firing, piece=p, shelf=shelf) for p in came.new)
    if shelf is not None:
        # A piece that was in already has been moved to this shelf.
        Load.objects.filter(pk__in=[load.pk for load in moved]).update(shelf=shelf)
    damp = [piece.code for piece in came.new if piece.stage in SOFT_STAGES]
    if damp:
        came.warnings.append(
            f"{', '.join(damp)}: on record as not dry yet. Damp clay bursts; look again before "
            "you fire."
        )
    if firing.kind == Firing.Kind.GLAZE:
        raw = [piece.code for piece in came.new if piece.stage == Stage.BONE_DRY]
        if raw:
            came.warnings.append(f"{', '.join(raw)}: no bisque firing is on record.")
    return came


def _refuse_unloaded(firing: Firing) -> None:
    if firing.unloaded_on is not None:
        raise FiringError("This firing is unloaded; open it again before you load or move pieces.")


def _refuse_shelf(firing: Firing, shelf: int | None) -> None:
    if shelf is not None and not 1 <= shelf <= firing.kiln.shelves:
        raise FiringError(
            f"{firing.kiln.name} has shelves 1 (the lowest) to {firing.kiln.shelves}."
        )


@transaction.atomic
def put_on_shelf(firing: Firing, loads, shelf: int | None) -> int:
    """Say of pieces in the kiln on which shelf they stand; returns how many."""
    _refuse_shelf(firing, shelf)
    return loads.filter(firing=firing).update(shelf=shelf)


@transaction.atomic
def take_out(firing: Firing, loads) -> int:
    """Take pieces out that were loaded by mistake; what was noted of them stays."""
    _refuse_unloaded(firing)
    count, _rows = loads.filter(firing=firing).delete()
    return count


# -- cones and log ------------------------------------------------------------------------------


@transaction.atomic
def keep_cones(firing: Firing, read: Mapping[tuple[int, str], str]) -> None:
    """Replace the witness cones: how each bent, by (shelf, cone); an empty bend is none."""
    for shelf, _cone in read:
        _refuse_shelf(firing, shelf)
    firing.witness_cones.all().delete()
    WitnessCone.objects.bulk_create(
        WitnessCone(firing=firing, shelf=shelf, cone=cone, bend=bend)
        for (shelf, cone), bend in read.items()
        if bend
    )


@transaction.atomic
def look_at_log(firing: Firing, log: Log, name: str, user) -> FiringLog:
    """Hold a log that was just read until the teacher has seen it; replaces one that waited."""
    firing.logs.filter(kept=False).delete()
    return FiringLog.objects.create(
        firing=firing,
        came_as=name[-NAME_LENGTH:],
        unit=log.unit,
        points=pack(log.minutes, log.celsius),
        line_count=log.line_count,
        problems=[[each.kind, each.sentence] for each in log.problems],
        added_by=user,
    )


@transaction.atomic
def turn_unit(waiting: FiringLog) -> FiringLog:
    """Read a waiting log in the other unit."""
    turned = in_other_unit(log_of(waiting))
    waiting.points, waiting.unit = pack(turned.minutes, turned.celsius), turned.unit
    waiting.problems = [each for each in waiting.problems if each[0] != "unit"]
    waiting.problems.append(["unit", f"Read as °{turned.unit} because you say so."])
    waiting.save(update_fields=["points", "unit", "problems"])
    return waiting


@transaction.atomic
def keep_log(firing: Firing) -> None:
    """Take the waiting log for the firing's own, in place of an earlier one."""
    waiting = firing.logs.filter(kept=False).first()
    if waiting is None:
        raise FiringError("There is no log to keep; choose the file again.")
    firing.logs.filter(kept=True).delete()
    waiting.kept = True
    waiting.save(update_fields=["kept"])


def drop_log(firing: Firing, *, kept: bool) -> None:
    """Take a log away: the one that waits, or the kept one."""
    firing.logs.filter(kept=kept).delete()
