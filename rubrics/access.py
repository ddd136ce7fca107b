"""Who may see which rubrics and assessments, on top of the doors of :mod:`studio.access`."""

from django.db.models import Q
from django.shortcuts import get_object_or_404

from rubrics.models import Assessment, MeasuringStudy, Rubric, SecondLook
from studio import access
from studio.models import Photo, Piece


def rubrics(user):
    """Rubrics this user may read.

    Own ones, those by which a project it reads is judged, and those that ship with the site; a
    student reads those by which own pieces are judged.
    """
    read = Q(uses__project__in=access.projects(user))
    worn = Q(uses__project__in=access.own_pieces(user).values("project"))
    seen = Q(owner=user) | read | worn
    if access.is_grown_up(user):
        seen |= Q(owner=None)
    return Rubric.objects.filter(pk__in=Rubric.objects.filter(seen).values("pk"))


def own_rubrics(user):
    """Rubrics this user may edit, or make a version of."""
    return Rubric.objects.filter(owner=user)


def get_own_rubric(user, rubric_id) -> Rubric:
    """The rubric to change, or 404 / 403."""
    return access.get_to_change(rubrics(user), own_rubrics(user), pk=rubric_id)


def published_assessment(user, piece: Piece) -> Assessment | None:
    """What was published of a piece that this user may see; None while nothing is."""
    return (
        Assessment.objects.by_teacher()
        .published()
        .filter(piece__in=access.pieces(user), piece=piece)
        .select_related("piece__student", "piece__project__section", "rubric")
        .first()
    )


def may_judge(user, piece: Piece) -> bool:
    """Whether this user sees the drafts of a piece and judges it."""
    return access.taught_pieces(user).filter(pk=piece.pk).exists()


def read_pieces(user):
    """Pieces this user reads as a grown-up: checks and drafts are no student's, own or not."""
    return Piece.objects.filter(section__in=access.read_sections(user)).select_related(
        "student", "section", "project__section", "project__plan__clay"
    )


def get_piece_to_judge(user, piece_id) -> Piece:
    """The piece with all that judging it needs, or 404 / 403."""
    return access.get_to_change(read_pieces(user), access.taught_pieces(user), pk=piece_id)


def second_looks_to_do(user):
    """Second looks this user was asked for and that are still open: nothing else of the project
    opens with them, and they shut when the sample is closed."""
    return SecondLook.objects.still_open().filter(reader=user)


def second_look_photos(user, look_id):
    """Photos of the pieces of one such sample."""
    sample = second_looks_to_do(user).filter(pk=look_id).values("places__piece")
    return Photo.objects.filter(piece__in=sample)


def read_second_looks(user):
    """Second looks whose result this user may read as a grown-up of the section."""
    return SecondLook.objects.filter(project__in=access.projects(user))


def get_look_to_settle(user, look_id) -> SecondLook:
    """The second look of a taught project, or 404 / 403."""
    taught = SecondLook.objects.filter(project__in=access.taught_projects(user))
    return access.get_to_change(read_second_looks(user), taught, pk=look_id)


def get_look_to_close(user, look_id) -> SecondLook:
    """The second look that its reader hands back, or that the project's teacher ends."""
    to_do = second_looks_to_do(user).filter(pk=look_id).first()
    return to_do or get_look_to_settle(user, look_id)


def get_study(user, study_id) -> MeasuringStudy:
    """An own study of the measuring, or 404."""
    return get_object_or_404(MeasuringStudy, owner=user, pk=study_id)
