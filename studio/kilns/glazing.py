"""Which glaze many pieces wear, noted at once."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db import transaction

from studio.models import GlazeCoat, Piece


@dataclass(frozen=True)
class Glazed:
    """Pieces of which a glaze was noted, and those of which it was noted before."""

    noted: list[Piece]
    before: list[Piece]


@transaction.atomic
def note_coats(pieces: Iterable[Piece], coat: Mapping[str, object], user) -> Glazed:
    """Note one glaze on one part of every piece; three queries.

    A piece of which this glaze is noted there already keeps its own note, which may tell of
    other coats.

    Parameters
    ----------
    pieces : iterable of Piece
        Those that wear the glaze.
    coat : mapping
        The fields of :class:`~studio.models.GlazeCoat` that say which and how, ``glaze`` and
        ``part`` among them; ``thickness_mm`` in millimetres.
    user
        Who notes it.
    """
    pieces = list(pieces)
    same = GlazeCoat.objects.filter(piece__in=pieces, glaze=coat["glaze"], part=coat["part"])
    worn = set(same.values_list("piece", flat=True))
    fresh = [piece for piece in pieces if piece.pk not in worn]
    GlazeCoat.objects.bulk_create(GlazeCoat(piece=piece, noted_by=user, **coat) for piece in fresh)
    return Glazed(noted=fresh, before=[piece for piece in pieces if piece.pk in worn])
