"""Every write to sections and the people in them. Each is whole or not at all."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from django.contrib.auth import get_user_model, hashers
from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from studio.models import Enrolment, GradeBand, Membership, Section, Student
from studio.paper.code_slips import CodeSlip
from studio.people import sign_in_codes
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


def archive(section: Section) -> None:
    """Put a section away: it is kept whole, but no longer stands on the first page."""
    section.archived_at = timezone.now()
    section.save(update_fields=["archived_at"])


def bring_back(section: Section) -> None:
    """Take a section out of the archive."""
    section.archived_at = None
    section.save(update_fields=["archived_at"])


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

    ``sourced_id`` is the key in the school's register; ``leaves`` are sections left for this one.
    """

    name: str = ""
    number: str = ""
    student: Student | None = None
    sourced_id: str = ""
    leaves: tuple[Section, ...] = ()


@transaction.atomic
def enrol(section: Section, joining: Iterable[Joining]) -> list[Student]:
    """Enrol students on record and new ones; who had left comes back. Returns who joined.

    Raises
    ------
    RegisterError
        A school number that another student has; nobody is enrolled then.
    """
    joined = []
    for each in joining:
        student = each.student or _new_student(each)
        _link(student, each.sourced_id)
        for left in each.leaves:
            retire(left, student)
        enrolment, is_new = Enrolment.objects.get_or_create(student=student, section=section)
        if not is_new and enrolment.left_on is None:
            continue
        if not is_new:
            enrolment.left_on = None
            enrolment.save(update_fields=["left_on"])
        joined.append(student)
    return joined


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


@transaction.atomic
def change_rosters(changes: Iterable[RosterChange]) -> tuple[int, int]:
    """Take lists into sections, all of them or none; return how many joined and left.

    Raises
    ------
    RegisterError
        A school number or a key of the register that another student has.
    """
    joined, left, made = 0, 0, {}
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
        students = enrol(change.section, joining)
        made |= {student.sourced_id: student for student in students if student.sourced_id}
        joined += len(students)
        for student in change.leaving:
            retire(change.section, student)
            left += 1
    return joined, left


def retire(section: Section, student: Student) -> None:
    """End a student's time in a section as of today; pieces and marks stay."""
    Enrolment.objects.filter(section=section, student=student, left_on=None).update(
        # Never before the day of joining, which the database insists on: the two are dates of
        # one calendar unless the server's clock was set back.
        left_on=timezone.localdate()
    )


def take_back(section: Section, student: Student) -> None:
    """Undo a leaving."""
    Enrolment.objects.filter(section=section, student=student).update(left_on=None)


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
    return CodeSlip(student.name, student.login.username, code)


def _new_login(student: Student, username: str) -> None:
    users = get_user_model().objects
    if users.filter(username__iexact=username).exists():
        raise RegisterError(f"The user name “{username}” is taken. Add a figure or a letter.")
    student.login = users.create(username=username, password=hashers.make_password(None))
    student.save(update_fields=["login"])


def waiting_for_code(section: Section) -> list[Student]:
    """Students of a section who have no login yet, or one without a password."""
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
    return [
        CodeSlip(student.name, student.login.username, codes[student.login_id])
        for student in students
    ]


def _refuse_grown_up(user) -> None:
    """A teacher who is also on a class list keeps the own password."""
    if user.is_staff or user.is_superuser or Membership.objects.filter(user=user).exists():
        raise RegisterError("This login is a teacher's or head's; they change the password.")


def take_login(student: Student) -> None:
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


def share(section: Section, username: str) -> Membership:
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
    return membership


def unshare(section: Section, membership_id: int) -> None:
    """Stop sharing with a head; the section's teachers are never taken out this way."""
    Membership.objects.filter(pk=membership_id, section=section, role=Membership.Role.HEAD).delete()
