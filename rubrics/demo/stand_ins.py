"""Pictures of other rendered vessels for pieces that have none of their own, and say so.

They lie in ``fixtures/demo`` by code, stage and view. No size is taken from them.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from studio.models import Photo, Piece, Stage
from studio.photos import storing

CAPTION = "Rendered photograph of another piece, standing in"
STAGES = {"leather": Stage.LEATHER_HARD, "fired": Stage.GLAZED}


def hang(folder: Path, pieces: Mapping[str, Piece], teacher) -> int:
    """Give each of these pieces (by code) its picture, where there is one; how many were given."""
    files = [each for each in sorted(folder.glob("K*-side.jpg")) if _code(each) in pieces]
    for file in files:
        piece = pieces[_code(file)]
        # Stored beside the door for a class's photos: a slip in the picture names another piece.
        photo = storing.store(
            piece.section,
            piece,
            storing.take_in(file.read_bytes(), file.name),
            teacher,
            stage=STAGES[file.stem.rsplit("-", 2)[1]],
            view=Photo.View.SIDE,
        )
        photo.caption = CAPTION
        photo.save(update_fields=["caption"])
    return len(files)


def _code(file: Path) -> str:
    return file.stem.rsplit("-", 2)[0]
