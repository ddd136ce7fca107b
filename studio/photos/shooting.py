"""Which photo comes next, piece after piece: nobody looks for a code with clay on her hands."""

from __future__ import annotations

from dataclasses import dataclass

from studio.models import Photo, Piece, Project

WANTED = (Photo.View.SIDE, Photo.View.TOP)
"""The two photos of each piece, in the order in which they are taken."""


@dataclass(frozen=True, slots=True)
class NextShot:
    """A photo to take: the piece, the view, and how many pieces still lack one."""

    piece: Piece
    view: str
    left: int


def lacking(project: Project) -> list[tuple[Piece, list[str]]]:
    """The pieces at hand, in order, with the views that they lack at the stage they are at now."""
    gone = (Piece.State.LOST, Piece.State.BROKEN)
    pieces = list(project.pieces.exclude(state__in=gone).in_order())
    photos = Photo.objects.filter(piece__in=pieces).exclude(view=Photo.View.DETAIL)
    have = set(photos.values_list("piece_id", "stage", "view"))
    return [
        (piece, [view for view in WANTED if (piece.pk, piece.stage, view) not in have])
        for piece in pieces
    ]


def next_turn(project: Project, *, first: int | None = None) -> NextShot | None:
    """The next photo to take; None when every piece has both.

    Parameters
    ----------
    first : int, optional
        The id of the piece to begin at; those before it come last. A piece chosen so that lacks
        nothing may be taken once more from the side.
    """
    rows = lacking(project)
    at = next((k for k, (piece, _) in enumerate(rows) if piece.pk == first), None)
    left = sum(bool(views) for _, views in rows)
    for piece, views in rows if at is None else rows[at:] + rows[:at]:
        if views:
            return NextShot(piece, views[0], left)
    return None
