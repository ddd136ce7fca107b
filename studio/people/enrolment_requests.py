"""A place in a section, and whose word it takes to give one.

A student whom nobody teaches at present, or whom the teacher teaches already, is simply enrolled.
Anybody else is asked for: the teacher of the section where the student is answers on the first
page, and until then nothing of the student opens to the one who asks.
"""

from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone

from studio import access
from studio.models import Enrolment, Membership, PlaceRequest, Section, Student
from studio.people import act_log
from studio.people.act_log import Kind

BOTH, MOVE, REFUSE = "both", "move", "refuse"
ANSWERS = (BOTH, MOVE, REFUSE)


@dataclass(frozen=True, slots=True)
class RequestToDecide:
    """An open request, and the own sections that the student would leave."""

    request: PlaceRequest
    leaves: tuple[str, ...]


def must_ask(student: Student, by) -> bool:
    """Whether another teacher has to agree before ``by`` may enrol the student."""
    if by is None:
        return False
    now = student.enrolments.now()
    if now.filter(section__in=access.taught_sections(by)).exists():
        return False
    # Where no teacher is left who could answer, nobody is asked.
    return now.filter(
        section__memberships__role=Membership.Role.TEACHER,
        section__memberships__user__is_active=True,
    ).exists()


def ask(student: Student, section: Section, by, *, name: str) -> None:
    """Ask for a student by the name that was written; once is enough, however often it is sent."""
    _request, is_new = PlaceRequest.objects.get_or_create(
        student=student, section=section, answered_at=None, defaults={"asked_by": by, "name": name}
    )
    if is_new:
        act_log.note(Kind.ASKED, [student], by=by, detail=f"for {section}")
        act_log.note(Kind.ASKED, by=by, section=section, detail=_unnamed(name))


def _unnamed(name: str) -> str:
    """Who asks reads the name that they wrote, not the one that stands on record elsewhere."""
    return f"“{name}”, who is in another class"


def asked_by_section(section: Section):
    """What a section has asked for and nobody has answered."""
    return PlaceRequest.objects.filter(section=section, answered_at=None)


def to_answer(user):
    """Requests that this user answers: open, for somebody in a section the user teaches now."""
    mine = Enrolment.objects.now().filter(section__in=access.taught_sections(user))
    return PlaceRequest.objects.filter(
        answered_at=None, student__in=mine.values("student")
    ).select_related("student", "section", "asked_by")


def waiting_for(user) -> list[RequestToDecide]:
    """The requests for the first page. Two queries."""
    requests = list(to_answer(user))
    mine = Enrolment.objects.now().filter(
        section__in=access.taught_sections(user), student__in=[each.student_id for each in requests]
    )
    names: dict[int, list[str]] = {}
    for enrolment in mine.select_related("section"):
        names.setdefault(enrolment.student_id, []).append(enrolment.section.name)
    return [RequestToDecide(each, tuple(names.get(each.student_id, ()))) for each in requests]


@transaction.atomic
def answer(request: PlaceRequest, user, word: str) -> bool:
    """Let the student join as well, let the student go, or refuse; False where it was answered.

    Parameters
    ----------
    word : {"both", "move", "refuse"}
    """
    open_ones = PlaceRequest.objects.filter(pk=request.pk, answered_at=None)
    if not open_ones.update(answered_at=timezone.now()):
        return False
    student, section = request.student, request.section
    if word == REFUSE:
        act_log.note(Kind.REFUSED, [student], by=user, detail=f"for {section}")
        act_log.note(Kind.REFUSED, by=user, section=section, detail=_unnamed(request.name))
        return True
    if word == MOVE:
        for enrolment in student.enrolments.now().filter(section__in=access.taught_sections(user)):
            leave(enrolment.section, student, by=user)
    join(section, student, by=user)
    return True


def join(section: Section, student: Student, *, by) -> bool:
    """Give the place; who had left comes back. False where the student is there already."""
    enrolment, is_new = Enrolment.objects.get_or_create(student=student, section=section)
    if not is_new and enrolment.left_on is None:
        return False
    if not is_new:
        enrolment.left_on = None
        enrolment.save(update_fields=["left_on"])
    # A class that its teacher put away gives no rights; bringing it back shall give none either.
    put_away = student.enrolments.filter(left_on=None, section__archived_at__isnull=False)
    if by is not None:
        put_away = put_away.exclude(section__in=access.taught_sections(by))
    put_away.exclude(section=section).update(left_on=timezone.localdate())
    PlaceRequest.objects.filter(student=student, section=section, answered_at=None).update(
        answered_at=timezone.now()
    )
    act_log.note(
        Kind.JOINED, [student], by=by, section=section, detail=f"in {section}", to_former=True
    )
    return True


def leave(section: Section, student: Student, *, by) -> None:
    """End a student's time in a section as of today; pieces and marks stay."""
    ended = Enrolment.objects.filter(section=section, student=student, left_on=None).update(
        # Never before the day of joining, which the database insists on: the two are dates of
        # one calendar unless the server's clock was set back.
        left_on=timezone.localdate()
    )
    if ended:
        act_log.note(Kind.LEFT, [student], by=by, section=section, detail=f"in {section}")
