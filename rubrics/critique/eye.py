"""Setting the eye first: three anchor cups levelled by each alone, then compared."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.db import transaction
from django.db.models import Count, Exists, OuterRef, Q
from django.utils import timezone

from rubrics.critique.errors import CritiqueError
from rubrics.models import AnchorCup, Criterion, EyeLevel, EyeSetting
from studio.models import Piece, Project, Student

CUPS = 3
LEVELS = (4, 3, 2, 1)
HALF = 0.5
"""Where fewer than so many share the commonest level there is something to talk about."""
WIDE = 2
"""Levels between the highest and the lowest answer from which it is worth a word."""
MOST_POINTS = 6


@dataclass(frozen=True, slots=True)
class Spread:
    """The answers on one criterion of one cup. ``counts`` from level 4 down."""

    cup: AnchorCup
    criterion: Criterion
    counts: tuple[int, ...]
    teacher: int | None

    @property
    def answers(self) -> int:
        return sum(self.counts)

    @property
    def commonest_share(self) -> float:
        return max(self.counts) / self.answers if self.answers else 1.0

    @property
    def width(self) -> int:
        """Levels between the highest and the lowest answer."""
        given = [level for level, count in zip(LEVELS, self.counts, strict=True) if count]
        return max(given) - min(given) if given else 0

    @property
    def is_apart(self) -> bool:
        """Whether the answers are worth a word."""
        return self.commonest_share < HALF or self.width >= WIDE

    @property
    def said(self) -> str:
        """“11 answers, from 2 to 4; the teacher 3”."""
        if not self.answers:
            return "nobody answered"
        given = [level for level, count in zip(LEVELS, self.counts, strict=True) if count]
        span = f"all {given[0]}" if len(given) == 1 else f"from {min(given)} to {max(given)}"
        noun = "answer" if self.answers == 1 else "answers"
        teacher = f"; the teacher {self.teacher}" if self.teacher else ""
        return f"{self.answers} {noun}, {span}{teacher}"


@transaction.atomic
def open_setting(project: Project, by, pieces: Sequence[Piece]) -> EyeSetting:
    """Choose the three cups; earlier settings of the project stay.

    Raises
    ------
    CritiqueError
        Not three different pieces, or one without a photo.
    """
    if len({piece.pk for piece in pieces}) != CUPS or len(pieces) != CUPS:
        raise CritiqueError(f"Choose {CUPS} cups: a high one, a low one and one between.")
    bare = [piece.code for piece in pieces if not piece.photos.exists()]
    if bare:
        raise CritiqueError(f"There is no photo of {', '.join(bare)} to look at; choose another.")
    setting = EyeSetting.objects.create(project=project, opened_by=by)
    for number, piece in enumerate(pieces, start=1):
        AnchorCup.objects.create(setting=setting, piece=piece, number=number)
    return setting


Levels = Mapping[tuple[int, int], int]
"""By (cup id, criterion id)."""


@transaction.atomic
def answer(setting: EyeSetting, by, levels: Levels) -> int:
    """Keep one person's levels; an earlier answer is renewed, one typed in from paper too.

    Raises
    ------
    CritiqueError
        The answers are compared already.
    """
    cups = _hold(setting, "yours stand as they were")
    EyeLevel.objects.filter(Q(by=by) | Q(student__login=by), cup__in=cups).delete()
    return len(_keep(cups, levels, by=by))


@transaction.atomic
def answer_on_paper(setting: EyeSetting, answers: Mapping[Student, Levels]) -> int:
    """Keep what students wrote on paper: those named are renewed, an empty one is taken away.

    Returns how many students have an answer in it.

    Raises
    ------
    CritiqueError
        The answers are compared already, or somebody is not on the list or answered alone.
    """
    cups = _hold(setting, "what is on paper comes too late")
    able = {student.pk for student in on_paper(setting)}
    strange = sorted(student.name for student in answers if student.pk not in able)
    if strange:
        raise CritiqueError(f"{', '.join(strange)}: answered on the site, or not of this class.")
    EyeLevel.objects.filter(cup__in=cups, student__in=list(answers)).delete()
    kept = [_keep(cups, levels, student=student) for student, levels in answers.items()]
    return sum(bool(rows) for rows in kept)


def on_paper(setting: EyeSetting) -> list[Student]:
    """The class without those who answered on the site, by name; one query."""
    answered = EyeLevel.objects.filter(cup__setting=setting, by=OuterRef("login"))
    return list(
        Student.objects.filter(
            enrolments__section=setting.project.section_id, enrolments__left_on=None
        )
        .exclude(Exists(answered))
        .order_by("name", "pk")
    )


def _hold(setting: EyeSetting, otherwise: str) -> set[int]:
    """Ids of the cups, while answers are still taken."""
    # The row stands guard: an answer and the opening of the comparison come one after the other.
    now = EyeSetting.objects.select_for_update().get(pk=setting.pk)
    if now.compared_at is not None:
        raise CritiqueError(f"The answers are compared already; {otherwise}.")
    return {cup.pk for cup in setting.cups.all()}


def _keep(cups: set[int], levels: Levels, **whose) -> list[EyeLevel]:
    rows = [
        EyeLevel(cup_id=cup, criterion_id=criterion, level=level, **whose)
        for (cup, criterion), level in levels.items()
        if cup in cups
    ]
    return EyeLevel.objects.bulk_create(rows)


def levels_of(setting: EyeSetting, by) -> dict[tuple[int, int], int]:
    """One person's own answer, by (cup id, criterion id)."""
    rows = EyeLevel.objects.filter(cup__setting=setting, by=by)
    return {(row.cup_id, row.criterion_id): row.level for row in rows}


def levels_on_paper(setting: EyeSetting) -> dict[int, dict[tuple[int, int], int]]:
    """What was typed in from paper, by the id of the student; one query."""
    found: dict[int, dict[tuple[int, int], int]] = defaultdict(dict)
    for row in EyeLevel.objects.filter(cup__setting=setting, student__isnull=False):
        found[row.student_id][row.cup_id, row.criterion_id] = row.level
    return found


def answered_by(setting: EyeSetting) -> int:
    """How many people have answered, on the site or on paper."""
    counts = EyeLevel.objects.filter(cup__setting=setting).aggregate(
        here=Count("by", distinct=True), paper=Count("student", distinct=True)
    )
    return counts["here"] + counts["paper"]


@transaction.atomic
def compare(setting: EyeSetting) -> None:
    """Lay the answers open and end the answering."""
    EyeSetting.objects.filter(pk=setting.pk, compared_at=None).update(compared_at=timezone.now())


def spreads(setting: EyeSetting, criteria: Sequence[Criterion]) -> list[Spread]:
    """The answers criterion by criterion, cup by cup; two queries."""
    cups = list(setting.cups.all())
    counts: dict[tuple[int, int], Counter] = defaultdict(Counter)
    teacher: dict[tuple[int, int], int] = {}
    for row in EyeLevel.objects.filter(cup__setting=setting):
        counts[row.cup_id, row.criterion_id][row.level] += 1
        if row.by_id is not None and row.by_id == setting.opened_by_id:
            teacher[row.cup_id, row.criterion_id] = row.level
    return [
        Spread(
            cup,
            criterion,
            tuple(counts[cup.pk, criterion.pk][level] for level in LEVELS),
            teacher.get((cup.pk, criterion.pk)),
        )
        for criterion in criteria
        for cup in cups
    ]


def talking_points(found: Sequence[Spread]) -> list[Spread]:
    """Where the answers are furthest apart, the furthest first."""
    apart = [each for each in found if each.answers and each.is_apart]
    return sorted(apart, key=lambda each: (each.commonest_share, -each.width))[:MOST_POINTS]
