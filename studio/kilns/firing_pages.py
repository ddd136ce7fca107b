"""What the pages of a firing show, in a fixed number of queries."""

from dataclasses import dataclass

from django.db.models import Count, Prefetch

from studio.firing.verdict import FiringVerdict
from studio.kilns import log_and_cones
from studio.kilns.firings import ready
from studio.models import Firing, Load, Outcome, Project, WitnessCone
from studio.ware.outcomes import SOUND, UNCLEAR


@dataclass(frozen=True, kw_only=True)
class Inside:
    """A piece in the kiln with what was noted of it in this firing."""

    load: Load
    found: list[Outcome]
    to_rule: bool


@dataclass(frozen=True, kw_only=True)
class KilnShelf:
    """One shelf: its pieces, its cones and what they say. ``number`` is None where not told."""

    number: int | None
    pieces: list[Inside]
    cones: list[WitnessCone]
    told: FiringVerdict | None

    @property
    def name(self) -> str:
        if self.number is None:
            return "Shelf not told"
        return f"Shelf {self.number}" + (", the lowest" if self.number == 1 else "")


def shelves_of(firing: Firing, pieces) -> list[KilnShelf]:
    """The shelf map, the highest shelf first, of the pieces that its reader may see."""
    of_stage = Outcome.objects.filter(stage=firing.kind).select_related("hurt_by__piece")
    loads = (
        firing.loads.filter(piece__in=pieces)
        .select_related("piece__student", "piece__section", "piece__project")
        .prefetch_related(Prefetch("piece__outcomes", queryset=of_stage, to_attr="found"))
        .order_by("piece__code")
    )
    inside: dict[int | None, list[Inside]] = {}
    for load in loads:
        found = load.piece.found
        to_rule = any(each.doing == UNCLEAR and each.kind != SOUND for each in found)
        inside.setdefault(load.shelf, []).append(Inside(load=load, found=found, to_rule=to_rule))
    read: dict[int, list[WitnessCone]] = {}
    for each in sorted(firing.witness_cones.all(), key=_by_heat):
        read.setdefault(each.shelf, []).append(each)
    told = log_and_cones.shelf_verdicts(firing, [c for cones in read.values() for c in cones])
    numbers = [*range(firing.kiln.shelves, 0, -1), None]
    return [
        KilnShelf(
            number=number,
            pieces=inside.get(number, []),
            cones=read.get(number, []),
            told=told.get(number),
        )
        for number in numbers
        if number is not None or None in inside
    ]


def _by_heat(read: WitnessCone) -> int:
    return log_and_cones.cone(read.cone).place


def overview(firing: Firing, pieces) -> dict:
    """Everything the page of a firing shows."""
    shelves = shelves_of(firing, pieces)
    reckoned = log_and_cones.reckon(firing, firing.logs.filter(kept=True).first())
    seen = sum(len(shelf.pieces) for shelf in shelves)
    found = [each for shelf in shelves for inside in shelf.pieces for each in inside.found]
    return {
        "firing": firing,
        "shelves": shelves,
        "any_cones": any(shelf.cones for shelf in shelves),
        "load_count": seen,
        "others_count": firing.loads.count() - seen,
        "reckoned": reckoned,
        "opening": log_and_cones.opening_of(firing, reckoned),
        "drawing": log_and_cones.drawing_of(firing, reckoned),
        "segments": firing.segments.all(),
        "found_count": len([each for each in found if each.kind != SOUND]),
        "to_rule": [inside for shelf in shelves for inside in shelf.pieces if inside.to_rule],
    }


def ready_by_project(firing: Firing, pieces):
    """Projects with pieces that wait for this kind of firing, with ``waiting`` counted."""
    waiting = ready(firing, pieces)
    return (
        Project.objects.filter(pieces__in=waiting)
        .select_related("section")
        .annotate(waiting=Count("pieces"))
        .order_by("section__name", "number")
    )


# The step of a project's page has room for a bisque, a glaze firing and one that was repeated.
FIRINGS_AT_THE_STEP = 3


def of_project(firings, project: Project):
    """The last firings that hold pieces of a project, for the step of its page."""
    held = Load.objects.filter(piece__project=project).values("firing")
    return firings.filter(pk__in=held)[:FIRINGS_AT_THE_STEP]
