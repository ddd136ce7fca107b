"""The demo's kiln: a bisque firing with a blow-out, a glaze firing with a stiff low shelf.

All invented. The logs in ``fixtures/demo`` are written by formula, the glaze firing's with a few
minutes missing and a line doubled, as controllers do.
"""

from datetime import timedelta
from pathlib import Path

from django.utils import timezone

from studio.firing.log import read_log
from studio.firing.ramp import Segment
from studio.kilns import firings, log_and_cones, unloading
from studio.models import Firing, GlazeCoat, Kiln, Load, Outcome, Piece, Stage

SHELVES = 3
GLAZES = ("Studio clear", "Tenmoku")
OPENED_C = 85.0
BURST, BESIDE, ABSENT = "K3-18", "K3-12", "K3-22"
LOW_SHELF = ("K3-10", "K3-14")
BISQUE_RAMP = (Segment(60, 95, 120), Segment(110, 600), Segment(100, 900), Segment(60, 1000, 8))
GLAZE_RAMP = (Segment(100, 120), Segment(150, 560), Segment(120, 1120), Segment(70, 1226, 6))
BISQUE_CONES = {(shelf, cone): bend for shelf in (1, 2, 3) for cone, bend in (("07", "flat"),)}
BISQUE_CONES |= {(1, "06"): "5", (2, "06"): "6", (3, "06"): "6"}
BISQUE_CONES |= {(shelf, "05"): "standing" for shelf in (1, 2, 3)}
# The low shelf's cone stood stiff, the other two came out as planned.
GLAZE_CONES = {
    (1, "5"): "3", (1, "6"): "standing", (1, "7"): "standing",
    (2, "5"): "flat", (2, "6"): "6", (2, "7"): "1",
    (3, "5"): "flat", (3, "6"): "6", (3, "7"): "1",
}  # fmt: skip


def build(folder: Path, pieces: dict[str, Piece], teacher) -> Kiln:
    """Fire the demo's pieces twice, through the functions that the pages call."""
    kiln = Kiln.objects.create(owner=teacher, name="Back-room kiln (invented)", shelves=SHELVES)
    today = timezone.localdate()
    fired = {code: piece for code, piece in pieces.items() if code != ABSENT}
    bisque = Firing(kiln=kiln, kind=Firing.Kind.BISQUE, planned_cone="06")
    bisque.fired_on = today - timedelta(days=9)
    firings.keep_firing(bisque, BISQUE_RAMP, teacher)
    _load(bisque, fired)
    whole = {code: piece for code, piece in fired.items() if code != BURST}
    glaze = Firing(kiln=kiln, kind=Firing.Kind.GLAZE, planned_cone="6")
    glaze.fired_on = today - timedelta(days=3)
    firings.keep_firing(glaze, GLAZE_RAMP, teacher)
    _load(glaze, whole)
    firings.keep_cones(bisque, BISQUE_CONES)
    firings.keep_cones(glaze, GLAZE_CONES)
    for firing, name in ((bisque, "bisque-log.csv"), (glaze, "glaze-log.csv")):
        log = read_log(
            (folder / name).read_bytes(), planned_peak_c=log_and_cones.planned_peak_c(firing)
        )
        firings.look_at_log(firing, log, name, teacher)
        firings.keep_log(firing)
    _glazed(whole, teacher)
    _came_out(bisque, glaze, pieces)
    for firing in (bisque, glaze):
        unloading.note_opening(firing, OPENED_C)
        unloading.finish(firing)
    return kiln


def _load(firing: Firing, pieces: dict[str, Piece]) -> None:
    """The two of the low shelf at the bottom, the rest on the shelves above in turn."""
    for shelf in (1, 2, 3):
        chosen = [
            piece
            for place, (code, piece) in enumerate(sorted(pieces.items()))
            if shelf == (1 if code in LOW_SHELF else 2 + (place % 2 if code != BURST else 1))
        ]
        firings.load_pieces(firing, chosen, shelf=shelf)


def _glazed(pieces: dict[str, Piece], teacher) -> None:
    """Two glazes in turn, in two coats or three (invented)."""
    GlazeCoat.objects.bulk_create(
        GlazeCoat(
            piece=piece,
            glaze=GLAZES[place % 2],
            part=GlazeCoat.Part.ALL,
            way=GlazeCoat.Way.BRUSHED,
            coats=2 + place // 2 % 2,
            thickness_mm=0.6 + 0.3 * (place // 2 % 2),
            noted_by=teacher,
        )
        for place, (_, piece) in enumerate(sorted(pieces.items()))
    )


def _came_out(bisque: Firing, glaze: Firing, pieces: dict[str, Piece]) -> None:
    """Hang the scenario's outcomes on the firing they came of; the blow-out names its neighbour."""
    burst = Outcome.objects.get(piece=pieces[BURST], kind="blow-out")
    hit = Outcome.objects.get(piece=pieces[BESIDE], kind="hit by shards")
    hit.stage, hit.hurt_by = Stage.BISQUE, burst
    hit.save(update_fields=["stage", "hurt_by"])
    for firing in (bisque, glaze):
        for load in Load.objects.filter(firing=firing):
            Outcome.objects.filter(piece=load.piece_id, stage=firing.kind).update(load=load)
