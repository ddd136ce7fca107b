"""The camera's answer for the photos of one piece at one stage, kept with each of them."""

from __future__ import annotations

from dataclasses import replace

from studio.found import Found
from studio.models import Photo


def companions(photo: Photo) -> list[Photo]:
    """The photos that are measured together: same piece, same stage, not details."""
    if photo.piece_id is None or not photo.stage:
        return [photo]
    together = photo.piece.photos.filter(stage=photo.stage).exclude(view=Photo.View.DETAIL)
    return list(together.in_order()) or [photo]


def measure_together(photo: Photo) -> list[Photo]:
    """Measure a photo with its companions and keep what was found.

    What a hand confirmed keeps its points and sizes; it still helps the others.
    """
    together = companions(photo)
    for one in together:
        if one.confirmed_at is None:
            one.found = replace(Found.from_json(one.found), measured=True).to_json()
            one.save(update_fields=["found"])
    return together
