"""Every write to clays, projects, plans, pieces and outcomes. Each is whole or not at all."""

import re
from collections.abc import Iterable, Mapping

from django.db import transaction
from django.db.models import Exists, Max, OuterRef
from django.utils import timezone

from studio.models import (
    Clay,
    ClayShrinkage,
    Outcome,
    Piece,
    Plan,
    PlannedSize,
    Project,
    Section,
    Stage,
    Student,
)
from studio.planning.solve import Planned
from studio.projects.plan_wishes import fields_that_follow, sizes_that_follow
from studio.projects.signals import project_copied
from studio.projects.starter_plans import StarterPlan
from studio.ware.outcomes import DEFECTS, SOUND

DIGITS_IN_A_CODE = 2


class WorkshopError(ValueError):
    """A change that cannot be made; the message is a sentence for the teacher."""


@transaction.atomic
def keep_clay(clay: Clay, shrinkages: Mapping[str, tuple]) -> Clay:
    """Save a clay with its shrinkage and spread [%] by stage; a stage left out is taken away."""
    clay.save()
    clay.shrinkages.exclude(stage__in=shrinkages).delete()
    for stage, (percent, spread) in shrinkages.items():
        ClayShrinkage.objects.update_or_create(
            clay=clay, stage=stage, defaults={"percent": percent, "spread_percent": spread}
        )
    return clay


def next_project_number(section: Section) -> int:
    """One more than the highest number a project of the section has."""
    return (section.projects.aggregate(highest=Max("number"))["highest"] or 0) + 1


@transaction.atomic
def start_project(project: Project, starter: StarterPlan, clay: Clay | None) -> Project:
    """Save a new project with a plan that starts from a starter plan."""
    project.save()
    plan = Plan.objects.create(
        project=project,
        clay=clay,
        building=starter.building,
        slab_mm=starter.slab_mm,
        handle_from_seam_deg=starter.handle_from_seam_deg,
        fingers=starter.fingers,
        dart_count=starter.dart_count,
        capacity_ml=starter.capacity_ml,
    )
    PlannedSize.objects.bulk_create(
        PlannedSize(plan=plan, name=name, height_mm=height, fired_mm=size)
        for name, height, size in starter.sizes
    )
    return project


@transaction.atomic
def keep_plan(form, sizes, planned: Planned | None = None) -> Plan:
    """Save a plan and its sizes from their valid forms, both or neither.

    With ``planned`` what follows from the rest is kept as well, in place of what was typed.
    """
    if planned is not None:
        for name, value in fields_that_follow(form, planned).items():
            setattr(form.instance, name, value)
    sizes.instance = form.save()
    sizes.save()
    if planned is not None:
        for name, fired_mm in sizes_that_follow(form, planned).items():
            PlannedSize.objects.update_or_create(
                plan=sizes.instance, name=name, height_mm=None, defaults={"fired_mm": fired_mm}
            )
    return sizes.instance


@transaction.atomic
def copy_project(source: Project, section: Section, *, title: str) -> Project:
    """Copy a project with its plan and sizes into a section, without dates and pieces.

    Whoever keeps more about a project hears of it by the signal ``project_copied``.
    """
    copy = Project.objects.create(
        section=section, number=next_project_number(section), title=title, brief=source.brief
    )
    plan = Plan.objects.filter(project=source).first()
    if plan is not None:
        sizes = list(plan.sizes.all())
        plan.pk, plan.project, plan._state.adding = None, copy, True
        plan.save()
        for size in sizes:
            size.pk, size.plan, size._state.adding = None, plan, True
        PlannedSize.objects.bulk_create(sizes)
    project_copied.send(sender=Project, source=source, copy=copy)
    return copy


def propose_codes(section: Section, prefix: str, count: int) -> list[str]:
    """The next free codes of a section: ``prefix`` and a number of two figures."""
    taken = {code.casefold() for code in section.pieces.values_list("code", flat=True)}
    used = [
        int(match[1])
        for code in taken
        if (match := re.fullmatch(re.escape(prefix.casefold()) + r"([0-9]{1,4})", code))
    ]
    number, codes = max(used, default=0), []
    while len(codes) < count:
        number += 1
        codes.append(f"{prefix}{number:0{DIGITS_IN_A_CODE}}")
    return codes


@transaction.atomic
def begin_pieces(project: Project, codes: Iterable[tuple[Student, str]]) -> list[Piece]:
    """Create a wet piece for each student and code given."""
    today = timezone.localdate()
    return Piece.objects.bulk_create(
        Piece(
            section=project.section,
            project=project,
            student=student,
            code=code,
            stage_since=today,
        )
        for student, code in codes
    )


def move_to_stage(pieces, stage: str) -> int:
    """Say of many pieces at once that they have come to a stage; return how many moved."""
    return pieces.exclude(stage=stage).update(stage=stage, stage_since=timezone.localdate())


@transaction.atomic
def note_sound(pieces, user) -> int:
    """Note of fired pieces without an outcome at their stage that they are sound; return how many.

    What is flawed keeps its own note: a piece with any outcome at its stage is passed over.
    """
    fired = pieces.filter(stage__in=(Stage.BISQUE, Stage.GLAZED)).going_on()
    noted = Outcome.objects.filter(piece=OuterRef("pk"), stage=OuterRef("stage"))
    outcomes = Outcome.objects.bulk_create(
        Outcome(
            piece=piece, stage=piece.stage, kind=SOUND, doing=DEFECTS[SOUND].doing, noted_by=user
        )
        for piece in fired.exclude(Exists(noted))
    )
    return len(outcomes)


@transaction.atomic
def note_outcome(outcome: Outcome, user) -> Outcome:
    """Save an outcome with who noted it."""
    if outcome.pk is None:
        outcome.noted_by = user
    outcome.save()
    return outcome
