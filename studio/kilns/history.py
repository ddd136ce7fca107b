"""What a kiln does over time, bisque and glaze apart: losses by cause, cones, projects."""

from collections import Counter
from dataclasses import dataclass

from django.db.models import F, Q

from studio.firing.rates import RateShare, wilson
from studio.firing.verdict import ON, OVER, UNDER, UNTOLD
from studio.kilns.log_and_cones import shelf_verdicts
from studio.models import Firing, Kiln, Load, Outcome
from studio.ware.outcomes import SOUND

VERDICTS = (UNDER, ON, OVER, UNTOLD)


@dataclass(frozen=True, kw_only=True)
class Cause:
    """How often one cause took or marked a piece, with its interval."""

    kind: str
    doing: str
    share: RateShare


@dataclass(frozen=True, kw_only=True)
class ShelfRow:
    """How the planned cone came out on one shelf, counted over the firings."""

    shelf: int
    counts: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class ProjectRow:
    """Pieces of one project that this kiln fired and lost."""

    title: str
    section: str
    project_id: int
    share: RateShare


@dataclass(frozen=True, kw_only=True)
class KindHistory:
    """What came of one kind of firing: a bisque and a glaze firing lose for different reasons."""

    kind: str
    name: str
    firings: int
    fired: int
    losses: RateShare | None
    causes: list[Cause]
    kiln_marks: list[Cause]
    shelves: list[ShelfRow]
    projects: list[ProjectRow]


@dataclass(frozen=True, kw_only=True)
class History:
    """A kiln's record, over the pieces its reader may see. Bisque and glaze are never added up."""

    firings: int
    kinds: list[KindHistory]


def history(kiln: Kiln, firings, pieces) -> History:
    """Count what a kiln did, bisque and glaze loads apart.

    Parameters
    ----------
    firings, pieces : querysets
        Those that the reader may see; nothing else is counted.
    """
    chosen = list(firings.filter(kiln=kiln).prefetch_related("witness_cones"))
    loads = Load.objects.filter(
        firing__in=[each.pk for each in chosen],
        piece__in=pieces,
        firing__unloaded_on__isnull=False,
    )
    rows = list(
        loads.values_list(
            "pk", "firing__kind", "piece__project", "piece__project__title", "piece__section__name"
        )
    )
    outcomes = list(_outcomes(loads))
    return History(
        firings=len(chosen),
        kinds=[
            _of_kind(
                kind,
                [each for each in chosen if each.kind == kind],
                {row[0]: row[2:] for row in rows if row[1] == kind},
                outcomes,
            )
            for kind in Firing.Kind
            if any(each.kind == kind for each in chosen)
        ],
    )


def _of_kind(kind: Firing.Kind, firings: list[Firing], loads: dict, outcomes) -> KindHistory:
    lost, marked, lost_loads = Counter(), Counter(), set()
    for load, what, doing, severity in outcomes:
        if load not in loads or what == SOUND:
            continue
        if severity == Outcome.Severity.LOSS:
            lost[what, doing] += 1
            lost_loads.add(load)
        elif doing == Outcome.Doing.KILN:
            marked[what, doing] += 1
    fired = len(loads)
    return KindHistory(
        kind=kind.value,
        name=f"{kind.label.capitalize()} firings",
        firings=len(firings),
        fired=fired,
        losses=wilson(len(lost_loads), fired),
        causes=_causes(lost, fired),
        kiln_marks=_causes(marked, fired),
        shelves=_shelves(firings),
        projects=_projects(loads, lost_loads),
    )


def _outcomes(loads):
    """(load, kind, doing, severity) of what came of each load, however it was noted."""
    noted_of = Q(piece__outcomes__load=None) | Q(piece__outcomes__load=F("pk"))
    return loads.filter(noted_of, piece__outcomes__stage=F("firing__kind")).values_list(
        "pk", "piece__outcomes__kind", "piece__outcomes__doing", "piece__outcomes__severity"
    )


def _causes(counted: Counter, fired: int) -> list[Cause]:
    return [
        Cause(kind=kind, doing=Outcome.Doing(doing).label, share=wilson(count, fired))
        for (kind, doing), count in sorted(counted.items(), key=lambda each: (-each[1], each[0]))
    ]


def _shelves(firings: list[Firing]) -> list[ShelfRow]:
    counted: dict[int, Counter] = {}
    for firing in firings:
        for shelf, told in shelf_verdicts(firing, firing.witness_cones.all()).items():
            counted.setdefault(shelf, Counter())[told.verdict] += 1
    return [
        ShelfRow(shelf=shelf, counts=tuple(counts[each] for each in VERDICTS))
        for shelf, counts in sorted(counted.items(), reverse=True)
    ]


def _projects(loads: dict, lost_loads: set[int]) -> list[ProjectRow]:
    fired, lost, names = Counter(), Counter(), {}
    for load, (project, title, section) in loads.items():
        fired[project] += 1
        lost[project] += load in lost_loads
        names[project] = (title, section)
    return [
        ProjectRow(
            title=names[project][0],
            section=names[project][1],
            project_id=project,
            share=wilson(lost[project], count),
        )
        for project, count in sorted(fired.items())
    ]
