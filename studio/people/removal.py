"""Removing a student with every record, after the page has listed what will be deleted.

The usual way out is to let a student leave a section: work and marks stay. This is for the record
that must go, because a law or a family asks for it. Nothing of it can be brought back.
"""

from collections import Counter
from dataclasses import dataclass

from django.db import router, transaction
from django.db.models import Q
from django.db.models.deletion import Collector

from studio import access
from studio.models import FailedSignIn, Membership, Photo, Section, Student
from studio.people import act_log
from studio.people.sections import RegisterError
from studio.photos import storing


@dataclass(frozen=True, slots=True)
class Removal:
    """What a removal takes away: so many rows of each kind, and so many files."""

    counts: tuple[tuple[str, int], ...]
    files: int
    login: str


def refusal(user, student: Student) -> str:
    """Why this teacher may not remove the student; "" where nothing stands in the way."""
    theirs = Section.objects.exclude(pk__in=access.taught_sections(user).values("pk"))
    elsewhere = theirs.filter(Q(enrolments__student=student) | Q(pieces__student=student))
    if elsewhere.exists():
        return (
            f"{student.name} is or was in another teacher's section too, whose records would go "
            "with yours. Let the student leave your section instead: it keeps the work and takes "
            "the name off the list."
        )
    return ""


def what_goes(student: Student) -> Removal:
    """Count what goes, of every kind of row there is: what the database itself would take."""
    collector = Collector(using=router.db_for_write(Student), origin=student)
    collector.collect([student])
    counts: Counter = Counter()
    for model, rows in collector.data.items():
        counts[model] += len(rows)
    for rows in collector.fast_deletes:
        counts[rows.model] += rows.count()
    told = sorted((_said(m, n), n) for m, n in counts.items() if n and m is not Student)
    files = 3 * Photo.objects.filter(piece__student=student).count()
    login = student.login.get_username() if _own_login(student) else ""
    return Removal(tuple(told), files, login)


# Where the table's own name would puzzle a family: (one, several).
PLAINLY = {
    "enrolment": ("place in a class", "places in classes"),
    "load": ("place in a kiln", "places in kilns"),
    "outcome": ("thing noted of a firing", "things noted of firings"),
    "assessment": ("judgement of a piece", "judgements of pieces"),
    "mark": ("level", "levels"),
    "markchange": ("recorded change of a level", "recorded changes of levels"),
    "nextstep": ("next step", "next steps"),
    "report": ("set of words for the family", "sets of words for the family"),
    "act": ("line of the log", "lines of the log"),
    "placerequest": ("asking of another class", "askings of other classes"),
    "signincode": ("one-time code", "one-time codes"),
    "habittick": ("tick for a studio habit", "ticks for studio habits"),
}


def _said(model, count: int) -> str:
    meta = model._meta
    one, several = PLAINLY.get(
        meta.model_name, (str(meta.verbose_name), str(meta.verbose_name_plural))
    )
    return one if count == 1 else several


def _own_login(student: Student):
    """The login that goes along; a teacher's or head's stays, even where it is on a list."""
    login = student.login
    if login is None or login.is_staff or login.is_superuser:
        return None
    return None if Membership.objects.filter(user=login).exists() else login


@transaction.atomic
def remove(user, student: Student) -> None:
    """Remove a student, the work, its photos with their files, the marks and the login.

    What the student wrote about others' pieces stays with these, without the name.

    Raises
    ------
    RegisterError
        The student is or was in another teacher's section.
    """
    student = Student.objects.select_for_update().get(pk=student.pk)
    if refused := refusal(user, student):
        raise RegisterError(refused)
    gone = list(Photo.objects.filter(piece__student=student))
    login = _own_login(student)
    places = student.enrolments.values_list("section", flat=True)
    act_log.note_in(act_log.Kind.REMOVED, set(places), by=user)
    student.delete()
    if login is not None:
        FailedSignIn.objects.filter(name=login.get_username().lower()).delete()
        login.delete()
    for photo in gone:
        # Each by itself: one file that resists keeps no other from going.
        transaction.on_commit(lambda photo=photo: storing.remove_files(photo), robust=True)
