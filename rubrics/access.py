"""Who may see which rubrics and assessments, on top of the doors of :mod:`studio.access`."""

from django.db.models import Q

from rubrics.models import Assessment, Rubric
from studio import access
from studio.models import Piece


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
