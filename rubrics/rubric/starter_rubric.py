"""The rubrics that ship with the site, and making sure that they are there."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass

from django.db import transaction

from rubrics.models import Rubric
from rubrics.rubric.starter_criteria import FREE_FORM, PINCH_OR_COIL, SLAB_CUP, STARTER_LEVELS
from rubrics.rubric.versions import CriterionContent, make_rubric

__all__ = ["STARTERS", "STARTER_CRITERIA", "STARTER_LEVELS", "STARTER_NAME", "Starter"]


@dataclass(frozen=True, slots=True)
class Starter:
    """A rubric that ships with the site.

    ``uid`` names what it says: words that change get a new one, and a site that has the old words
    keeps them beside the new.
    """

    uid: uuid.UUID
    name: str
    criteria: Sequence[CriterionContent]


STARTER_NAME = "Slab cup with a squared foot"

STARTERS = (
    Starter(uuid.UUID("0c1f5a52-6d0e-4c3f-9b1e-3f6a1c2d7e01"), STARTER_NAME, SLAB_CUP),
    Starter(uuid.UUID("0c1f5a52-6d0e-4c3f-9b1e-3f6a1c2d7e02"), "Pinch or coil form", PINCH_OR_COIL),
    Starter(uuid.UUID("0c1f5a52-6d0e-4c3f-9b1e-3f6a1c2d7e03"), "Free form", FREE_FORM),
)

STARTER_CRITERIA = tuple(criterion for starter in STARTERS for criterion in starter.criteria)
"""Every criterion of every starter; several say the same."""


@transaction.atomic
def ensure_starter_rubrics() -> list[Rubric]:
    """The starter rubrics; those that are not there are made. One from before stays as it is."""
    return [_ensure(starter) for starter in STARTERS]


def ensure_starter_rubric() -> Rubric:
    """The starter rubric of the slab cup; made now if it is not there."""
    with transaction.atomic():
        return _ensure(STARTERS[0])


def _ensure(starter: Starter) -> Rubric:
    found = Rubric.objects.filter(uid=starter.uid).first()
    if found is not None:
        return found
    older = Rubric.objects.filter(owner=None, name=starter.name).order_by("-version").first()
    made = make_rubric(starter.name, starter.criteria)
    made.uid = starter.uid
    if older is not None:
        made.version, made.previous = older.version + 1, older
    made.save(update_fields=["uid", "version", "previous"])
    return made
