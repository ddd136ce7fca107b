"""Who may see which critiques, looks and remarks, on top of the doors of :mod:`studio.access`.

A teacher sees all of own sections. A head reads a shared one: the pieces, the counts and what came
through, but neither pairs kept apart nor who wrote what. A reader sees the pieces that were dealt
to it while the critique is open, its maker what came through.
"""

from __future__ import annotations

from django.http import Http404
from django.shortcuts import get_object_or_404

from rubrics.models import Critique, EyeSetting, Look, Remark
from studio import access
from studio.models import Piece, Section

WITH_PIECE = (
    "reader",
    "shown__critique__project__section",
    "shown__piece__student",
    "shown__piece__project",
)
"""What the pages of a look show of its piece."""


def critiques(user):
    """Critiques of the sections this user reads as a grown-up."""
    return Critique.objects.filter(project__section__in=access.read_sections(user)).select_related(
        "project__section"
    )


def taught_critiques(user):
    """Critiques this user runs."""
    return Critique.objects.filter(project__section__in=access.taught_sections(user))


def get_taught_critique(user, critique_id) -> Critique:
    """The critique to run, or 404 / 403."""
    return access.get_to_change(critiques(user), taught_critiques(user), pk=critique_id)


def looks(user):
    """What was dealt to this user to read, in critiques that are open."""
    own = Look.objects.standing().filter(reader__login=user, shown__critique__closed_at=None)
    return own.select_related(*WITH_PIECE)


def get_look_to_type(user, look_id) -> Look:
    """A look that a teacher types in for its reader, or 404 / 403."""
    visible = Look.objects.filter(shown__critique__in=critiques(user).values("pk")).select_related(
        *WITH_PIECE
    )
    own = Look.objects.filter(shown__critique__in=taught_critiques(user).values("pk"))
    return access.get_to_change(visible, own, pk=look_id)


def remarks_on(piece: Piece):
    """What came through on a piece, in the order in which it is told; whose it was is not fetched.

    The order is that of the deal's rows, which is by chance.
    """
    return (
        Remark.objects.passed()
        .filter(look__shown__piece=piece)
        .select_related("look__shown__critique", "before", "after")
        .order_by("-look__shown__critique_id", "look_id", "pk")
    )


def get_remark_to_answer(user, remark_id) -> Remark:
    """A remark on an own piece, or 404 / 403."""
    visible = Remark.objects.passed().filter(
        look__shown__piece__in=access.pieces(user).values("pk")
    )
    own = Remark.objects.filter(look__shown__piece__in=access.own_pieces(user).values("pk"))
    fetched = visible.select_related("look__shown__piece__student")
    return access.get_to_change(fetched, own, pk=remark_id)


def get_remark_to_take(user, remark_id) -> Remark:
    """A remark that a teacher may take over, or 404 / 403."""
    visible = Remark.objects.filter(
        look__shown__critique__in=critiques(user).values("pk")
    ).select_related("look__shown__piece__student", "look__shown__critique")
    own = Remark.objects.filter(look__shown__critique__in=taught_critiques(user).values("pk"))
    return access.get_to_change(visible, own, pk=remark_id)


def _sections_of_class(user):
    """Sections in which this user is a student now."""
    return Section.objects.filter(enrolments__student__login=user, enrolments__left_on=None)


def eye_settings(user):
    """Those of sections this user reads, teaches or learns in."""
    read = EyeSetting.objects.filter(project__section__in=access.read_sections(user).values("pk"))
    learn = EyeSetting.objects.filter(project__section__in=_sections_of_class(user).values("pk"))
    return (read | learn).select_related("project__section").distinct()


def get_eye_setting_to_answer(user, eye_id) -> EyeSetting:
    """One in which this user levels the cups: its teachers and its class; a head gets 403."""
    taught = EyeSetting.objects.filter(
        project__section__in=access.taught_sections(user).values("pk")
    )
    learn = EyeSetting.objects.filter(project__section__in=_sections_of_class(user).values("pk"))
    own = EyeSetting.objects.filter(pk__in=(taught | learn).values("pk"))
    return access.get_to_change(eye_settings(user), own, pk=eye_id)


def get_photo_of_look(user, look_id, photo_id):
    """A photo of a piece that was dealt to this user, or 404."""
    look = get_object_or_404(looks(user), pk=look_id)
    return get_object_or_404(look.shown.piece.photos, pk=photo_id)


def get_photo_of_cup(user, eye_id, photo_id):
    """A photo of an anchor cup, or 404."""
    setting = get_object_or_404(eye_settings(user), pk=eye_id)
    for cup in setting.cups.select_related("piece"):
        found = cup.piece.photos.filter(pk=photo_id).first()
        if found is not None:
            return found
    raise Http404("No such photo of these cups.")
