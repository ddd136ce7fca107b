"""Every write to sections and the people in them. Each is whole or not at all."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import NamedTuple

from django.contrib.auth import get_user_model, hashers
from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from studio.models import Enrolment, GradeBand, Membership, Section, Student
from studio.paper.code_slips import CodeSlip
from studio.people import act_log, enrolment_requests, sign_in_codes
from studio.people.act_log import Kind
from studio.people.user_names import propose_username

# A starting scale to be edited (common practice, no source); a school's own scale decides.
STARTER_BANDS = (("A", 90), ("B", 80), ("C", 70), ("D", 60), ("F", 0))


class RegisterError(ValueError):
    """A change that cannot be made; the message is a sentence for the teacher."""


@transaction.atomic
def open_section(section: Section, teacher) -> Section:
    """Save a new section with its teacher and a grade scale to start from."""
    section.save()
    Membership.objects.create(user=teacher, section=section, role=Membership.Role.TEACHER)
    GradeBand.objects.bulk_create(
        GradeBand(section=section, label=label, from_percent=edge) for label, edge in STARTER_BANDS
    )
    return section


@transaction.atomic
def archive(section: Section, *, by=None) -> None:
    """Put a section away: kept whole, but off the first page, and without rights over a student."""
    section.archived_at = timezone.now()
    section.save(update_fields=["archived_at"])
    act_log.note(Kind.PUT_AWAY, by=by, section=section, detail=str(section))


@transaction.atomic
def bring_back(section: Section, *, by=None) -> None:
    """Take a section out of the archive; wherever its students are by now, it is said."""
    section.archived_at = None
    section.save(update_fields=["archived_at"])
    here = section.enrolments.filter(left_on=None).values("student")
    told = Enrolment.objects.now().filter(student__in=here).values_list("section", flat=True)
    act_log.note_in(Kind.BROUGHT_BACK, {section.pk, *told}, by=by, detail=str(section))


@transaction.atomic
def set_grade_scale(section: Section, bands: Iterable[tuple[str, Decimal]]) -> None:
    """Replace the section's grade scale; published grades keep what they showed."""
    section.grade_bands.all().delete()
    GradeBand.objects.bulk_create(
        GradeBand(section=section, label=label, from_percent=edge) for label, edge in bands
    )


@dataclass(frozen=True, slots=True)
class Joining:
    """Somebody who joins a section: a student on record, or a new name with its number.

    ``name`` is as the list has it, also for a student on record;
    ``sourced_id`` is the key in the school's register; ``leaves`` are sections left for this one.
    """

    name: str = ""
    number: str = ""
    student: Student | None = None
    sourced_id: str = ""
    leaves: tuple[Section, ...] = ()


class Enrolled(NamedTuple):
    """Who joined, and who is asked for because another teacher has them now."""

    joined: list[Student]
    asked: list[Student]


@transaction.atomic
def enrol(section: Section, joining: Iterable[Joining], *, by=None) -> Enrolled:
    """Enrol students on record and new ones; who had left comes back.

    Whom another teacher has now is not enrolled but asked for. ``by`` is the teacher who enrols;
    None is the site itself, which asks nobody.

    Raises
    ------
    RegisterError
        A school number that another student has; nobody is enrolled then.
    """
    joined, asked = [], []
    for each in joining:
        student = each.student or _new_student(each)
        if each.student and enrolment_requests.must_ask(student, by):
            enrolment_requests.ask(student, section, by, name=each.name or student.name)
            asked.append(student)
            continue
        _link(student, each.sourced_id)
        # First the new place: a student between two places would be anybody's.
        if enrolment_requests.join(section, student, by=by):
            joined.append(student)
        for left in each.leaves:
            enrolment_requests.leave(left, student, by=by)
    return Enrolled(joined, asked)


def _new_student(each: Joining) -> Student:
    if each.number and Student.objects.filter(school_id=each.number).exists():
        raise RegisterError(
            f"The school number {each.number} belongs to another student already. "
            f"Check the number beside {each.name}; nobody was added."
        )
    return Student.objects.create(name=each.name, school_id=each.number)


def _link(student: Student, sourced_id: str) -> None:
    """Keep the register's key of a student who has none yet."""
    if not sourced_id or student.sourced_id == sourced_id:
        return
    if student.sourced_id or Student.objects.filter(sourced_id=sourced_id).exists():
        raise RegisterError(
            f"The school's register has another key for {student.name} than the record here. "
            "Nobody was added; look whether these are two people."
        )
    student.sourced_id = sourced_id
    student.save(update_fields=["sourced_id"])


@dataclass(frozen=True, slots=True)
class RosterChange:
    """What a list from outside changes in one section.

    ``known`` are students who are there already and get the register's key; ``sourced_id`` is the
    class's own key there.
    """

    section: Section
    joining: Sequence[Joining] = ()
    leaving: Sequence[Student] = ()
    known: Sequence[tuple[Student, str]] = ()
    sourced_id: str = ""


class EnrolmentChange(NamedTuple):
    """How many joined, left, and are asked of another teacher."""

    joined: int
    left: int
    asked: int


@transaction.atomic
def change_rosters(changes: Iterable[RosterChange], *, by=None) -> EnrolmentChange:
    """Take lists into sections, all of them or none.

    Raises
    ------
    RegisterError
        A school number or a key of the register that another student has.
    """
    joined, left, asked, made = 0, 0, 0, {}
    for change in changes:
        if change.sourced_id and change.section.sourced_id != change.sourced_id:
            change.section.sourced_id = change.sourced_id
            change.section.save(update_fields=["sourced_id"])
        for student, sourced_id in change.known:
            _link(student, sourced_id)
        # Somebody new to the house who is on two of the lists is one person.
        joining = [
            replace(each, student=made[each.sourced_id])
            if each.student is None and each.sourced_id in made
            else each
            for each in change.joining
        ]
        found = enrol(change.section, joining, by=by)
        made |= {student.sourced_id: student for student in found.joined if student.sourced_id}
        joined, asked = joined + len(found.joined), asked + len(found.asked)
        for student in change.leaving:
            enrolment_requests.leave(change.section, student, by=by)
            left += 1
    return EnrolmentChange(joined, left, asked)


def give_code(student: Student, username: str, *, by) -> CodeSlip:
    """Give a student a one-time code, and first a login if there is none.

    The password that stood before ends with it. The code is known only now, to be handed over.

    Raises
    ------
    RegisterError
        The user name belongs to somebody else, or the login is a grown-up's.
    """
    with transaction.atomic():
        if student.login:
            _refuse_grown_up(student.login)
        else:
            _new_login(student, username)
        code = sign_in_codes.give_codes([student.login], by=by)[student.login_id]
        act_log.note(Kind.CODE, [student], by=by)
    return CodeSlip(student.name, student.login.username, code)


def _new_login(student: Student, username: str) -> None:
    users = get_user_model().objects
    if users.filter(username__iexact=username).exists():
        raise RegisterError(f"The user name “{username}” is taken. Add a figure or a letter.")
    student.login = users.create(username=username, password=hashers.make_password(None))
    student.save(update_fields=["login"])


def waiting_for_code(section: Section) -> list[Student]:
    """Students who are in a section now and have no login yet, or one without a password."""
    if section.archived_at:
        return []
    here = section.students.filter(enrolments__section=section, enrolments__left_on=None)
    no_password = Q(login__password__startswith=hashers.UNUSABLE_PASSWORD_PREFIX)
    return list(here.filter(Q(login=None) | no_password).select_related("login"))


@transaction.atomic
def give_codes(section: Section, *, by) -> list[CodeSlip]:
    """A code for every student of a section who has not chosen a password yet.

    A slip that was handed out and not used ends: the newest sheet is the one that counts.
    """
    students = waiting_for_code(section)
    for student in students:
        if student.login is None:
            _new_login(student, propose_username(student.name))
    codes = sign_in_codes.give_codes([student.login for student in students], by=by)
    act_log.note(Kind.CODE, students, by=by)
    return [
        CodeSlip(student.name, student.login.username, codes[student.login_id])
        for student in students
    ]


def _refuse_grown_up(user) -> None:
    """A teacher who is also on a class list keeps the own password."""
    if user.is_staff or user.is_superuser or Membership.objects.filter(user=user).exists():
        raise RegisterError("This login is a teacher's or head's; they change the password.")


def take_login(student: Student, *, by=None) -> None:
    """Close a student's login; the record stays. The account is locked, not deleted."""
    login = student.login
    if login is None:
        return
    _refuse_grown_up(login)
    with transaction.atomic():
        student.login = None
        student.save(update_fields=["login"])
        login.is_active = False
        login.save(update_fields=["is_active"])
        act_log.note(Kind.LOGIN_CLOSED, [student], by=by)


@transaction.atomic
def share(section: Section, username: str, *, by=None) -> Membership:
    """Let a department head read a section.

    Raises
    ------
    RegisterError
        Nobody of that name, a student, or somebody who is in the section already.
    """
    user = get_user_model().objects.filter(username__iexact=username, is_active=True).first()
    if user is None or Student.objects.filter(login=user).exists():
        raise RegisterError(
            f"There is no teacher or head with the user name “{username}”. Ask for the exact name."
        )
    membership, is_new = Membership.objects.get_or_create(
        user=user, section=section, defaults={"role": Membership.Role.HEAD}
    )
    if not is_new:
        raise RegisterError(f"{user.get_full_name() or username} is in this section already.")
    act_log.note(Kind.SHARED, by=by, section=section, detail=act_log.said_name(user))
    return membership


@transaction.atomic
def unshare(section: Section, membership_id: int, *, by=None) -> None:
    """Stop sharing with a head; the section's teachers are never taken out this way."""
    found = Membership.objects.filter(
        pk=membership_id, section=section, role=Membership.Role.HEAD
    ).select_related("user")
    for membership in found:
        act_log.note(
            Kind.UNSHARED, by=by, section=section, detail=act_log.said_name(membership.user)
        )
        membership.delete()
