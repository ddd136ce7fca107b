"""What waits on a student: measure, judge the own piece, read, answer. A fixed count of queries."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Exists, OuterRef

from rubrics.models import Assessment, NextStep, RubricUse
from studio import access
from studio.models import Piece, Reading, Stage
from studio.ware.stages import FIRED_STAGES

MEASURED_AT = (Stage.LEATHER_HARD, Stage.GLAZED)


@dataclass(frozen=True, slots=True)
class Task:
    """One thing that waits: a sentence, and the page where it is done, of the piece or a row."""

    sentence: str
    action: str
    page: str
    piece: Piece
    row: int | None = None

    @property
    def object_id(self) -> int:
        return self.row or self.piece.pk


@dataclass(frozen=True, slots=True)
class OwnWork:
    """What waits, and the promise of last time where a piece is in work."""

    tasks: tuple[Task, ...]
    promises: tuple[NextStep, ...]
    before: Piece | None
    may_see_progress: bool


def own_work(user) -> OwnWork:
    """Tell what waits on a student. Two queries."""
    told = Assessment.objects.by_teacher().published().filter(piece=OuterRef("pk"))
    own = Assessment.objects.filter(piece=OuterRef("pk"), kind="self", assessor=user)
    read = Reading.objects.current().filter(piece=OuterRef("pk"), stage=OuterRef("stage"))
    pieces = list(
        access.own_pieces(user)
        .select_related("project", "student")
        .annotate(
            is_told=Exists(told),
            is_judged_by_me=Exists(own),
            is_read=Exists(read),
            has_rubric=Exists(RubricUse.objects.filter(project=OuterRef("project"))),
        )
        .order_by("-project__number", "-project_id", "code")
    )
    steps: dict[int, list[NextStep]] = {}
    for step in NextStep.objects.filter(
        assessment__kind="teacher",
        assessment__published_at__isnull=False,
        assessment__piece__in=access.own_pieces(user),
    ).select_related("assessment"):
        steps.setdefault(step.assessment.piece_id, []).append(step)
    tasks = [task for piece in pieces for task in _tasks(piece, steps.get(piece.pk, []))]
    working = next((p for p in pieces if p.state == Piece.State.IN_WORK and not p.is_told), None)
    return OwnWork(
        tuple(tasks),
        tuple(_promised(pieces, working, steps)),
        working,
        any(piece.is_told for piece in pieces),
    )


def _tasks(piece: Piece, steps: list[NextStep]):
    code = piece.code
    if piece.is_told:
        open_steps = [each for each in steps if not (each.reply or each.taken_up_at)]
        if open_steps:
            yield Task(
                f"Your feedback on {code} is here. Read it, and say what you will try.",
                "Read and answer",
                "feedback",
                piece,
            )
        return
    if piece.state in (Piece.State.LOST, Piece.State.BROKEN):
        return
    if not piece.intent and piece.stage == Stage.WET:
        yield Task(f"{code} is begun. What do you want of it?", "Say it", "piece_intent", piece)
    if piece.stage in MEASURED_AT and not piece.is_read:
        later = (
            "What you find now you can still mend."
            if piece.stage == Stage.LEATHER_HARD
            else "This is its last measuring."
        )
        yield Task(f"{code} is {piece.stage}: measure it. {later}", "Measure", "measure_own", piece)
    if piece.stage in FIRED_STAGES and piece.has_rubric and not piece.is_judged_by_me:
        yield Task(
            f"Look at {code} and judge it, before your teacher's marks are published.",
            "Judge your own",
            "judge_own",
            piece,
        )


def _promised(pieces, working, steps):
    """What was said last time, for a piece that is in work."""
    if working is None:
        return []
    for piece in pieces:
        earlier = (piece.project.number, piece.project_id) < (
            working.project.number,
            working.project_id,
        )
        if earlier and piece.is_told and steps.get(piece.pk):
            return steps[piece.pk]
    return []
