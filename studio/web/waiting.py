"""Open tasks of a project, from the state of its pieces, the most urgent first.

A piece can be mended only while it is leather-hard, so that comes before everything that keeps.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum

from studio.models import Piece, Project, Stage


class Urgency(IntEnum):
    """The order in which things are told; the first spoils first."""

    MEND_NOW = 1
    BEFORE_THE_KILN = 2
    SLIPS = 3
    NOT_BEGUN = 4
    FINAL_MEASURE = 5
    RULING = 6


@dataclass(frozen=True, slots=True)
class Waiting:
    """One thing that waits: a sentence, and the page where it is done."""

    urgency: Urgency
    project: Project
    sentence: str
    action: str
    page: str
    object_id: int


@dataclass(frozen=True, slots=True)
class Tally:
    """A project's pieces, counted."""

    total: int
    stages: dict[str, int]
    states: dict[str, int]
    measured: int
    """At the stage they are at now."""
    ever_measured: int
    """At any stage."""
    unmeasured_leather_hard: int
    unmeasured_glazed: int
    dry_without_photo: int
    in_doubt: int
    to_rule: int
    without_outcome: int

    @property
    def gone(self) -> int:
        return self.states.get(Piece.State.LOST, 0) + self.states.get(Piece.State.BROKEN, 0)


def tally(pieces: Iterable[Piece]) -> Tally:
    """Count pieces that were asked for ``with_marks_of_work``."""
    pieces = list(pieces)
    going = [p for p in pieces if p.state in {Piece.State.IN_WORK, Piece.State.FINISHED}]
    stages = Counter(piece.stage for piece in going)

    def count(condition, among=going) -> int:
        return sum(1 for piece in among if condition(piece))

    return Tally(
        total=len(pieces),
        # Plain and in the order of the stages: a template asks a Counter for its key “items”.
        stages={stage: stages[stage] for stage in Stage.values if stages[stage]},
        states=dict(Counter(piece.state for piece in pieces)),
        measured=count(lambda p: p.is_measured),
        ever_measured=count(lambda p: p.was_measured),
        unmeasured_leather_hard=count(
            lambda p: p.stage == Stage.LEATHER_HARD and not p.is_measured
        ),
        # A piece that the teacher calls finished waits for nothing, measured or not.
        unmeasured_glazed=count(
            lambda p: (
                p.stage == Stage.GLAZED and p.state == Piece.State.IN_WORK and not p.is_measured
            )
        ),
        dry_without_photo=count(lambda p: p.stage == Stage.BONE_DRY and not p.has_photo),
        in_doubt=count(lambda p: p.in_doubt, pieces),
        to_rule=count(lambda p: p.to_rule, pieces),
        without_outcome=count(lambda p: p.stage == Stage.GLAZED and not p.has_outcome),
    )


def tallies(pieces) -> dict[int, Tally]:
    """The tally of every project among ``pieces``, a queryset, in one query."""
    by_project: dict[int, list[Piece]] = {}
    rows = pieces.with_marks_of_work().only("project_id", "section_id", "stage", "state")
    for piece in rows:
        by_project.setdefault(piece.project_id, []).append(piece)
    return {project_id: tally(batch) for project_id, batch in by_project.items()}


EMPTY = tally([])


def number_of(count: int, one: str, many: str) -> str:
    """“1 piece”, “3 pieces”."""
    return f"{count} {one if count == 1 else many}"


def waits(project: Project, batch: Tally, enrolled: int) -> list[Waiting]:
    """What waits in one project, the most urgent first."""
    told = [
        (
            batch.unmeasured_leather_hard,
            Urgency.MEND_NOW,
            ("piece is", "pieces are"),
            "leather-hard and not measured yet. What is found now can still be mended.",
            ("Measure", "measure"),
        ),
        (
            batch.dry_without_photo,
            Urgency.BEFORE_THE_KILN,
            ("bone-dry piece has", "bone-dry pieces have"),
            "no photo. One from before the kiln settles later whose doing a crack is.",
            ("Add photos", "photos_in"),
        ),
        (
            batch.in_doubt,
            Urgency.SLIPS,
            ("piece has", "pieces have"),
            "a reading that looks like a slip.",
            ("Answer", "measure"),
        ),
        (
            0 if batch.total else enrolled,
            Urgency.NOT_BEGUN,
            ("student has", "students have"),
            "no piece yet.",
            ("Begin the pieces", "pieces_new"),
        ),
        (
            batch.unmeasured_glazed,
            Urgency.FINAL_MEASURE,
            ("glazed piece waits", "glazed pieces wait"),
            "for the last measuring.",
            ("Measure", "measure"),
        ),
        (
            batch.to_rule,
            Urgency.RULING,
            ("piece waits", "pieces wait"),
            "for your ruling on an outcome: the making or the kiln?",
            ("See the pieces", "project"),
        ),
    ]
    return [
        Waiting(urgency, project, f"{number_of(count, *who)} {what}", *action, project.pk)
        for count, urgency, who, what, action in told
        if count
    ]
