"""Writes to projects and their plans. Each write is whole or not at all."""

from django.db import transaction
from django.db.models import Max

from studio.models import (
    Clay,
    Plan,
    PlannedSize,
    Project,
    Section,
)
from studio.planning.solve import Planned
from studio.projects.plan_wishes import fields_that_follow, sizes_that_follow
from studio.projects.signals import project_copied
from studio.projects.starter_plans import StarterPlan


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
