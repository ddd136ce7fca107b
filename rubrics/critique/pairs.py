"""Pairs of students that a teacher keeps apart, by section. Nobody but its teachers reads them."""

from __future__ import annotations

from django.db import transaction

from rubrics.critique.errors import CritiqueError
from rubrics.models import KeptApart
from studio.models import Section, Student


def pairs_of(section: Section) -> list[KeptApart]:
    """The pairs of a section, by name; one query."""
    found = KeptApart.objects.filter(section=section).select_related("one", "other")
    return sorted(found, key=lambda pair: (pair.one.name, pair.other.name))


def apart_in(section: Section) -> list[tuple[Student, Student]]:
    """The same as plain pairs, as the dealing takes them."""
    return [(pair.one, pair.other) for pair in pairs_of(section)]


@transaction.atomic
def keep_apart(section: Section, one: Student, other: Student) -> KeptApart:
    """Keep two students of a section apart from the next deal on; asked twice it is one pair."""
    if one.pk == other.pk:
        raise CritiqueError("Choose two students; nobody reads the own piece anyway.")
    if section.students.filter(pk__in=(one.pk, other.pk)).count() != len((one, other)):
        raise CritiqueError("Both have to be on this section's class list.")
    first, second = sorted((one, other), key=lambda student: student.pk)
    pair, _new = KeptApart.objects.get_or_create(section=section, one=first, other=second)
    return pair


def let_together(section: Section, pair_id: int) -> None:
    """Take a pair back; one that is gone already is no fault."""
    KeptApart.objects.filter(section=section, pk=pair_id).delete()
