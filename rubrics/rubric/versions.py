"""Writing rubrics: a rubric in use is frozen, and a change makes a version of it."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from django.db import transaction
from django.db.models import Max, Q

from rubrics.models import Assessment, Criterion, Level, Limit, Mark, Rubric, RubricUse
from studio.models import Project

FINGERPRINT_LENGTH = 16
NAME_LENGTH = Rubric._meta.get_field("name").max_length


class RubricRefused(ValueError):  # noqa: N818  the name is what a view asks for
    """The rubric stays as it is; the message is a sentence for a teacher."""


@dataclass(frozen=True, slots=True)
class LevelContent:
    """One level: 4 is the highest."""

    number: int
    name: str
    points: Decimal
    descriptor: str


@dataclass(frozen=True, slots=True)
class LimitContent:
    """A figure and its limits: up to ``a`` is level 4, up to ``b`` 3, up to ``c`` 2."""

    figure: str
    a: Decimal
    b: Decimal
    c: Decimal


@dataclass(frozen=True, slots=True)
class CriterionContent:
    """One criterion whole; its place in the list is its position."""

    letter: str
    name: str
    weight: Decimal
    group: str = Criterion.Group.CRAFT
    description: str = ""
    levels: Sequence[LevelContent] = ()
    limits: Sequence[LimitContent] = field(default=())


def is_in_use(rubric: Rubric) -> bool:
    """Whether a piece was assessed by it, so that it must not change any more."""
    return rubric.frozen_at is not None or rubric.assessments.exists()


@transaction.atomic
def make_rubric(name: str, criteria: Sequence[CriterionContent], owner=None) -> Rubric:
    """Make a rubric, version 1."""
    rubric = Rubric.objects.create(owner=owner, name=name)
    _fill(rubric, criteria)
    return rubric


@transaction.atomic
def save_rubric(rubric: Rubric, *, name: str, criteria: Sequence[CriterionContent]) -> Rubric:
    """Replace what a rubric says.

    Raises
    ------
    RubricRefused
        It is in use, or another rubric of the owner has this name.
    """
    rubric = Rubric.objects.select_for_update().get(pk=rubric.pk)
    if is_in_use(rubric):
        raise RubricRefused(
            f"Pieces were judged by “{rubric}”, so it stays as it is. "
            "Make a new version to change it."
        )
    if name != rubric.name:
        family = _family(rubric)
        if _others(rubric.owner, name).exclude(pk__in=family).exists():
            raise RubricRefused(f"You have another rubric called “{name}”. Choose another name.")
        rubric.name = name
    rubric.save(update_fields=["name", "changed_at"])
    rubric.criteria.all().delete()
    _fill(rubric, criteria)
    return rubric


@transaction.atomic
def new_version(rubric: Rubric, by) -> Rubric:
    """A copy of an own rubric that can be changed, numbered after the latest.

    Projects keep the version they have until their teacher moves them.
    """
    if rubric.owner_id != by.pk:
        raise RubricRefused("Only its owner makes a version of a rubric; take a copy of your own.")
    latest = _others(by, rubric.name).aggregate(Max("version"))["version__max"]
    made = Rubric.objects.create(owner=by, name=rubric.name, version=latest + 1, previous=rubric)
    _fill(made, content_of(rubric))
    return made


@transaction.atomic
def copy_rubric(rubric: Rubric, by) -> Rubric:
    """A rubric of one's own with the same criteria, under a name not taken yet."""
    return take_rubric(rubric.name, content_of(rubric), by)


@transaction.atomic
def take_rubric(name: str, criteria: Sequence[CriterionContent], by) -> Rubric:
    """A rubric of one's own from elsewhere; a name that is taken gets a number."""
    free, number = name, 1
    while _others(by, free).exists():
        number += 1
        ending = f" ({number})"
        free = name[: NAME_LENGTH - len(ending)] + ending
    return make_rubric(free, criteria, owner=by)


def content_of(rubric: Rubric) -> list[CriterionContent]:
    """What a rubric says, to be filled into another or into a form."""
    return [
        CriterionContent(
            letter=criterion.letter,
            name=criterion.name,
            weight=criterion.weight,
            group=criterion.group,
            description=criterion.description,
            levels=[
                LevelContent(level.number, level.name, level.points, level.descriptor)
                for level in criterion.levels.all()
            ],
            limits=[
                LimitContent(limit.figure, limit.a, limit.b, limit.c)
                for limit in criterion.limits.all()
            ],
        )
        for criterion in rubric.criteria.prefetch_related("levels", "limits")
    ]


def fingerprint(rubric: Rubric) -> str:
    """Changes with what a rubric says: tells a form that another window saved meanwhile."""
    content = repr((rubric.name, content_of(rubric)))
    return hashlib.sha256(content.encode()).hexdigest()[:FINGERPRINT_LENGTH]


def newer_version(rubric: Rubric) -> Rubric | None:
    """The latest version after this one, if there is one."""
    if rubric.owner_id is None:
        return None
    later = Rubric.objects.filter(
        owner=rubric.owner_id, name=rubric.name, version__gt=rubric.version
    )
    return later.order_by("-version").first()


@transaction.atomic
def choose_rubric(project: Project, rubric: Rubric) -> RubricUse:
    """Judge a project by this version of a rubric from now on.

    Nothing that was marked is carried over to other words: while a piece of the project has a
    mark or a note, the project keeps its version. Assessments that are still empty move along.

    Raises
    ------
    RubricRefused
        A piece has been marked by the present one.
    """
    Project.objects.select_for_update().filter(pk=project.pk).values_list("pk").first()
    use = RubricUse.objects.filter(project=project).select_related("rubric").first()
    if use is not None and use.rubric_id == rubric.pk:
        return use
    assessments = Assessment.objects.by_teacher().filter(piece__project=project)
    marked = Mark.objects.filter(assessment__piece__project=project).filter(
        Q(level__isnull=False) | Q(excused=True) | ~Q(note="")
    )
    count = marked.values("assessment__piece").distinct().count()
    if count:
        raise RubricRefused(
            f"{count} {'piece is' if count == 1 else 'pieces are'} marked by “{use.rubric}” "
            "already. A mark means the words it was given by, so this project keeps them; "
            "use the other rubric for the next project."
        )
    Mark.objects.filter(assessment__in=assessments).delete()
    assessments.update(rubric=rubric)
    use, _made = RubricUse.objects.update_or_create(project=project, defaults={"rubric": rubric})
    return use


def _others(owner, name: str):
    return Rubric.objects.filter(owner=owner, name=name)


def _family(rubric: Rubric) -> list[int]:
    return list(_others(rubric.owner, rubric.name).values_list("pk", flat=True))


def _fill(rubric: Rubric, criteria: Sequence[CriterionContent]) -> None:
    rows = Criterion.objects.bulk_create(
        Criterion(
            rubric=rubric,
            position=position,
            letter=each.letter,
            name=each.name,
            group=each.group,
            weight=each.weight,
            description=each.description,
        )
        for position, each in enumerate(criteria, start=1)
    )
    pairs = list(zip(rows, criteria, strict=True))
    Level.objects.bulk_create(
        Level(
            criterion=row,
            number=level.number,
            name=level.name,
            points=level.points,
            descriptor=level.descriptor,
        )
        for row, each in pairs
        for level in each.levels
    )
    Limit.objects.bulk_create(
        Limit(criterion=row, figure=limit.figure, a=limit.a, b=limit.b, c=limit.c)
        for row, each in pairs
        for limit in each.limits
    )
