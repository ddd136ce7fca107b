"""The log of what is done with students' places, records and logins; lines are only ever added.

An act has a line in every section that the student is in, so that no teacher of theirs learns of it
last. No code, no password and no word of a private note stands in it.
"""

from collections.abc import Iterable
from datetime import timedelta

from django.db.models import Q
from django.utils import timezone

from studio.models import Act, Enrolment, Section, Student

KEPT = timedelta(days=2 * 365)
"""How long a line is kept (our choice): two school years, so that a summer hides nothing."""
RECENT = timedelta(days=7)
"""How long an act of somebody else stands on a teacher's first page (our choice)."""
MOST_TOLD = 8
"""Lines on the first page; the log has all."""
LONGEST_DETAIL = Act._meta.get_field("detail").max_length

Kind = Act.Kind


def note(
    kind: Kind,
    students: Iterable[Student] = (),
    *,
    by,
    section: Section | None = None,
    detail: str = "",
    to_former: bool = False,
) -> None:
    """Write what was done, a line for each student and section concerned.

    Parameters
    ----------
    students : iterable of Student
        Whom it was done to; none for an act on the section as a whole.
    by : user or None
        Who did it; None is the site itself, at the command line.
    section : Section, optional
        Where it was done, besides those in which the students are enrolled now.
    detail : str
        A few words more; never a code, a password or a private note.
    to_former : bool
        Whether sections that a student has left are told too.
    """
    students = list(students)
    concerned = dict.fromkeys((student.pk, section.pk) for student in students if section)
    places = Enrolment.objects.filter(student__in=students)
    if not to_former:
        places = places.filter(left_on=None)
    concerned |= dict.fromkeys(places.values_list("student_id", "section_id"))
    if section and not students:
        concerned = {(None, section.pk): None}
    _write(kind, concerned, by=by, detail=detail)


def note_in(kind: Kind, sections: Iterable[int], *, by, detail: str = "") -> None:
    """Write an act on whole sections, by their ids."""
    _write(kind, [(None, pk) for pk in sections], by=by, detail=detail)


def note_in_section(kind: Kind, student: Student, section: Section, *, by) -> None:
    """Write what is one section's alone, such as its private note on a student."""
    _write(kind, [(student.pk, section.pk)], by=by, detail="")


def _write(kind, concerned, *, by, detail) -> None:
    now = timezone.now()
    Act.objects.filter(at__lt=now - KEPT).delete()
    Act.objects.bulk_create(
        Act(
            section_id=section_id,
            student_id=student_id,
            by=by,
            by_name=said_name(by),
            kind=kind,
            detail=detail[:LONGEST_DETAIL],
        )
        for student_id, section_id in concerned
    )


def said_name(user) -> str:
    """A grown-up as the log calls them: full name and user name, which nobody else has."""
    if user is None:
        return "The site"
    full = user.get_full_name()
    return f"{full} ({user.get_username()})" if full else user.get_username()


def of_section(section: Section):
    """The log of a section, the latest first."""
    return Act.objects.filter(section=section).select_related("student", "section")


def by_others(user, sections):
    """What others did of late in these sections, for the first page."""
    return (
        Act.objects.filter(section__in=sections, at__gt=timezone.now() - RECENT)
        .exclude(Q(by=user) & Q(by__isnull=False))
        .select_related("student", "section")[:MOST_TOLD]
    )
