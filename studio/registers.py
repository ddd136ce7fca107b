"""Every write to sections and the people in them. Each is whole or not at all."""

import secrets
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from decimal import Decimal

from django.contrib.auth import get_user_model, hashers
from django.db import transaction
from django.utils import timezone
from django.utils.text import slugify

from studio.models import Enrolment, GradeBand, Membership, Section, Student

# A starting scale to be edited (common practice, no source); a school's own scale decides.
STARTER_BANDS = (("A", 90), ("B", 80), ("C", 70), ("D", 60), ("F", 0))

# Letters that nobody takes for a figure or for each other when a password is read from paper.
CONSONANTS, VOWELS, FIGURES = "bdfghkmnprstvz", "aeou", "23456789"
SYLLABLES_IN_A_PASSWORD, FIGURES_IN_A_PASSWORD = 6, 2


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
    """Somebody who joins a section: a student on record, or a new name with its number."""

    name: str = ""
    number: str = ""
    student: Student | None = None


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


def propose_username(name: str) -> str:
    """A user name that is free: the given name and the initial, with a number where taken."""
    words = slugify(name).split("-")
    base = ".".join([words[0] or "student", *[word[0] for word in words[-1:] if len(words) > 1]])
    users = get_user_model().objects
    taken = set(users.filter(username__startswith=base).values_list("username", flat=True))
    if base not in taken:
        return base
    number = next(n for n in range(2, len(taken) + 3) if f"{base}{n}" not in taken)
    return f"{base}{number}"


def make_password() -> str:
    """A password that can be read out and written from paper, of some 42 bits."""
    parts = [
        secrets.choice(CONSONANTS) + secrets.choice(VOWELS) for _ in range(SYLLABLES_IN_A_PASSWORD)
    ]
    pairs = ["".join(parts[i : i + 2]) for i in range(0, len(parts), 2)]
    figures = "".join(secrets.choice(FIGURES) for _ in range(FIGURES_IN_A_PASSWORD))
    return "-".join([*pairs, figures])


def give_login(student: Student, username: str) -> str:
    """Give a student a login, or the login a new password; return it, to be shown once.

    Raises
    ------
    RegisterError
        The user name belongs to somebody else, or the login is a grown-up's.
    """
    word = make_password()
    if student.login:
        _refuse_grown_up(student.login)
        student.login.set_password(word)
        student.login.save(update_fields=["password"])
    else:
        _new_login(student, username, hashers.make_password(word))
    return word


@transaction.atomic
def _new_login(student: Student, username: str, hashed: str) -> None:
    users = get_user_model().objects
    if users.filter(username__iexact=username).exists():
        raise RegisterError(f"The user name “{username}” is taken. Add a figure or a letter.")
    student.login = users.create(username=username, password=hashed)
    student.save(update_fields=["login"])


def give_logins(section: Section) -> list[tuple[Student, str]]:
    """Give a login to every student of a section who has none; return them with their passwords."""
    without = section.students.filter(
        enrolments__section=section, enrolments__left_on=None, login=None
    )
    given = [(student, make_password()) for student in without]
    # Hashing is slow on purpose, some tenths of a second each: before the database is held, and
    # side by side, for it lets go of the interpreter.
    with ThreadPoolExecutor() as pool:
        hashes = list(pool.map(hashers.make_password, (word for _, word in given)))
    with transaction.atomic():
        for (student, _), hashed in zip(given, hashes, strict=True):
            _new_login(student, propose_username(student.name), hashed)
    return given


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
