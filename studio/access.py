"""Who may see and change which rows. Every view starts from here; nothing else decides.

A teacher sees and changes own sections. A department head reads a section that its teacher
shares. A student sees own pieces. Nobody else sees anything. What is not yours does not exist
(404); what you may only read refuses a change (403).
"""

from django.core.exceptions import PermissionDenied
from django.db.models import Exists, OuterRef, Q
from django.shortcuts import get_object_or_404

from studio.models import (
    Clay,
    Enrolment,
    Firing,
    Instrument,
    Kiln,
    Membership,
    Photo,
    Piece,
    Project,
    Section,
    Student,
)

TEACHER, HEAD = Membership.Role.TEACHER, Membership.Role.HEAD


def taught_sections(user):
    """Sections this user teaches: those it may change."""
    return Section.objects.filter(memberships__user=user, memberships__role=TEACHER)


def read_sections(user):
    """Sections this user reads as a grown-up: taught, or shared with a head."""
    return Section.objects.filter(memberships__user=user)


def may_open_sections(user) -> bool:
    """Teachers of the house may open a section of their own."""
    return user.is_staff


def is_teacher(user) -> bool:
    """Whether the user teaches or may open a section."""
    return may_open_sections(user) or taught_sections(user).exists()


def is_grown_up(user) -> bool:
    """Whether the user reads sections as a teacher or a head, rather than own pieces."""
    return may_open_sections(user) or read_sections(user).exists()


def projects(user):
    """Projects of the sections this user reads."""
    return Project.objects.filter(section__in=read_sections(user))


def taught_projects(user):
    """Projects this user may change."""
    return Project.objects.filter(section__in=taught_sections(user))


def pieces(user):
    """Pieces this user may see: of read sections, or a student's own."""
    return Piece.objects.filter(Q(section__in=read_sections(user)) | Q(student__login=user))


def taught_pieces(user):
    """Pieces this user may change."""
    return Piece.objects.filter(section__in=taught_sections(user))


def own_pieces(user):
    """A student's own pieces."""
    return Piece.objects.filter(student__login=user)


def students(user):
    """Students of the sections this user reads, those who have left among them.

    It opens the name and the pieces of these sections; see :func:`taught_students` for the rest.
    """
    enrolled = Enrolment.objects.filter(section__in=read_sections(user)).values("student")
    return Student.objects.filter(pk__in=enrolled)


def taught_students(user):
    """Students who are now in a section this user teaches: whose record and login it may change.

    A time that ended gives no rights, and neither does a section that was put away.
    """
    now = Enrolment.objects.now().filter(section__in=taught_sections(user)).values("student")
    return Student.objects.filter(pk__in=now)


def kept_students(user):
    """Students whose whole record this user may save or remove.

    Those taught now, and those whom this user taught and nobody has now: a family may ask later.
    """
    taught = Enrolment.objects.filter(section__in=taught_sections(user)).values("student")
    elsewhere = Enrolment.objects.now().exclude(section__in=taught_sections(user))
    return Student.objects.filter(
        Q(pk__in=taught_students(user).values("pk"))
        | (Q(pk__in=taught) & ~Q(pk__in=elsewhere.values("student")))
    )


def own_enrolments(user):
    """Present times of students in sections this user teaches, with the private notes."""
    return Enrolment.objects.now().filter(section__in=taught_sections(user))


def photos(user):
    """Photos of pieces this user may see; those not filed yet only for the section's teacher."""
    return Photo.objects.filter(
        Q(piece__in=pieces(user)) | Q(piece__isnull=True, section__in=taught_sections(user))
    )


def taught_photos(user):
    """Photos this user may file, change or take away."""
    return Photo.objects.filter(section__in=taught_sections(user))


def clays(user):
    """Clays that ship with the site, own ones, and those that read sections use."""
    used = Clay.objects.filter(plan__project__section__in=read_sections(user)).values("pk")
    return Clay.objects.filter(Q(owner=None) | Q(owner=user) | Q(pk__in=used))


def own_clays(user):
    """Clays this user may change; those that ship with the site stay as they are."""
    return Clay.objects.filter(owner=user)


def instruments(user):
    """Instruments that ship with the site, and own ones."""
    return Instrument.objects.filter(Q(owner=None) | Q(owner=user))


def firings(user):
    """Firings of own kilns, own firings, and those that hold a piece this user reads."""
    held = Firing.objects.filter(loads__piece__section__in=read_sections(user)).values("pk")
    return Firing.objects.filter(Q(kiln__owner=user) | Q(begun_by=user) | Q(pk__in=held))


def taught_firings(user):
    """Firings this user may change: of an own kiln, begun by the user, or with a taught piece."""
    held = Firing.objects.filter(loads__piece__section__in=taught_sections(user)).values("pk")
    return Firing.objects.filter(Q(kiln__owner=user) | Q(begun_by=user) | Q(pk__in=held))


def kilns(user):
    """Own kilns, those of the house, and those in which a piece this user reads was fired."""
    used = firings(user).values("kiln")
    return Kiln.objects.filter(Q(owner=None) | Q(owner=user) | Q(pk__in=used))


def own_kilns(user):
    """Kilns this user may change."""
    return Kiln.objects.filter(owner=user)


def kilns_to_fire(user):
    """Kilns in which this user may begin a firing: a teacher's own, and those of the house."""
    house = Q(owner=None) if is_teacher(user) else Q(pk__in=())
    return Kiln.objects.filter(Q(owner=user) | house)


def may_change(user, section) -> bool:
    """Whether the user teaches this section."""
    return taught_sections(user).filter(pk=section.pk).exists()


def get_to_change(visible, changeable, **lookup):
    """Find a row that the user may change.

    Raises
    ------
    Http404
        The row is not among ``visible``.
    PermissionDenied
        It is, but not among ``changeable``.
    """
    own = Exists(changeable.filter(pk=OuterRef("pk")))
    row = get_object_or_404(visible.annotate(to_change=own), **lookup)
    if not row.to_change:
        raise PermissionDenied("You may read this, but only the section's teacher changes it.")
    return row


def get_taught_section(user, section_id) -> Section:
    """The section to change, or 404 / 403."""
    return get_to_change(read_sections(user), taught_sections(user), pk=section_id)


def get_taught_project(user, project_id) -> Project:
    """The project to change with its section and plan, or 404 / 403."""
    visible = projects(user).select_related("section", "plan", "plan__clay")
    return get_to_change(visible, taught_projects(user), pk=project_id)


def get_taught_piece(user, piece_id) -> Piece:
    """The piece to change with its project, or 404 / 403."""
    visible = pieces(user).select_related("project", "section", "student")
    return get_to_change(visible, taught_pieces(user), pk=piece_id)


def get_taught_student(user, student_id) -> Student:
    """The student to change with the login, or 404 / 403."""
    visible = students(user).select_related("login")
    return get_to_change(visible, taught_students(user), pk=student_id)


def get_kept_student(user, student_id) -> Student:
    """The student whose whole record is saved or removed, or 404 / 403."""
    visible = students(user).select_related("login")
    return get_to_change(visible, kept_students(user), pk=student_id)


def get_taught_photo(user, photo_id) -> Photo:
    """The photo to change with its piece, or 404 / 403."""
    visible = photos(user).select_related("piece", "section")
    return get_to_change(visible, taught_photos(user), pk=photo_id)


def get_taught_firing(user, firing_id) -> Firing:
    """The firing to change with its kiln, or 404 / 403."""
    visible = firings(user).select_related("kiln")
    return get_to_change(visible, taught_firings(user), pk=firing_id)
