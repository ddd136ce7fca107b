"""Where a photo belongs: its piece by the slip or the file's name, its view by the pose.

Everything here is a guess, which a teacher can change.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta

import cv2
import numpy as np
from django.db import transaction
from PIL import Image

from studio.camera import markers, mat, pose, slip
from studio.models import Photo, Piece, Section, Stage
from studio.photos import confirming, mats, storing
from studio.photos.camera_findings import PhotoFindings
from studio.photos.decoding_turns import turn
from studio.ware.stages import FIRED, FIRED_STAGES, STAGE_WORDS

TOP_FROM_DEG, SIDE_UP_TO_DEG = 55.0, 50.0
"""A top view looks 65 to 90 degrees down and a side view 8 to 35 (the mat's own terms); between
the two nothing is claimed but the nearer one."""
SAME_MINUTE = timedelta(seconds=60)

VIEW_WORDS = {
    "side": Photo.View.SIDE,
    "front": Photo.View.SIDE,
    "top": Photo.View.TOP,
    "above": Photo.View.TOP,
    "detail": Photo.View.DETAIL,
    "seam": Photo.View.DETAIL,
}


@dataclass(frozen=True, slots=True)
class Filed:
    """What taking a photo in came to. ``how`` is "slip", "name", "given" or "" (the tray)."""

    photo: Photo
    how: str
    is_new: bool


def identify(jpeg: bytes, focal_35mm: float | None, bar_mm: float | None) -> PhotoFindings:
    """The camera's place and the slip's code, without any size of the piece.

    Parameters
    ----------
    jpeg : bytes
        Upright, as it is kept.
    bar_mm : float or None
        The mat's check bar as a ruler reads it, None until one did. [mm]
    """
    with Image.open(io.BytesIO(jpeg)) as image:
        rgb = np.asarray(image.convert("RGB"))
    grey = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
    size = (rgb.shape[1], rgb.shape[0])
    try:
        seen = markers.find_markers(grey, markers.linear_light(grey))
        camera = pose.solve(seen, size, focal_35mm, mat.print_scale(bar_mm or mat.CHECK_BAR_MM))
    except pose.PoseError as error:
        return PhotoFindings(message=str(error), bar_mm=bar_mm)
    code = slip.read_code(grey, camera) or ""
    return PhotoFindings(code=code, view=view_of(camera), camera=camera, bar_mm=bar_mm)


def view_of(camera: pose.Camera) -> str:
    """The view that a pose means."""
    top = camera.elevation_deg >= (TOP_FROM_DEG + SIDE_UP_TO_DEG) / 2
    return Photo.View.TOP if top else Photo.View.SIDE


def words_of(name: str) -> set[str]:
    """The words of a file name, without its ending and in lower case."""
    return {word for word in re.split(r"[^a-z]+", name.rsplit(".", 1)[0].lower()) if word}


def piece_named(name: str, pieces: Iterable[Piece]) -> Piece | None:
    """The piece whose code stands in a file name, not inside another word or number.

    The longest code wins, so that K3-1 is not taken for K3-12, nor K3-1 for K3-1-b.
    """
    stem = name.rsplit(".", 1)[0].lower()
    found = [
        piece
        for piece in pieces
        if re.search(rf"(?<![a-z0-9]){re.escape(piece.code.lower())}(?![a-z0-9])", stem)
    ]
    longest = max((len(piece.code) for piece in found), default=0)
    best = [piece for piece in found if len(piece.code) == longest]
    return best[0] if len(best) == 1 else None


def guess_view(name: str, found: PhotoFindings) -> str:
    """The view: a detail by its name, else by the pose, else by the name, else a detail."""
    said = next((VIEW_WORDS[word] for word in VIEW_WORDS if word in words_of(name)), "")
    if said == Photo.View.DETAIL:
        return said
    return found.view or said or Photo.View.DETAIL


def guess_stage(name: str, piece: Piece | None) -> str:
    """The stage: as the file name says, else the piece's own."""
    words = words_of(name)
    said = next((STAGE_WORDS[word] for word in STAGE_WORDS if word in words), "")
    if said:
        return said
    own = piece.stage if piece else ""
    if FIRED in words and own not in FIRED_STAGES:
        return Stage.GLAZED
    return own


def take_and_file(
    section: Section, data: bytes, name: str, user, *, piece: Piece | None = None, slip_first=False
) -> Filed:
    """Take one file in, look at it, and file it: by its slip, by its name, else with ``piece``.

    With ``slip_first`` a name does not count: ``piece`` is known, and only a slip gainsays it.

    Raises
    ------
    PhotoError
        The file cannot be taken; the sentence says why.
    """
    prepared = storing.take_in(data, name)
    before = storing.known(section, prepared.sha256)
    if before is not None:
        return Filed(before, "", is_new=False)
    bar_mm = mats.current(user).bar_mm
    with turn(prepared.width * prepared.height):
        found = identify(prepared.full, prepared.focal_35mm, bar_mm)
    by_name = "" if slip_first and piece else prepared.came_as
    target, how = _target(section, found, by_name, piece)
    with transaction.atomic():
        photo = storing.store(
            section,
            target,
            prepared,
            user,
            stage=guess_stage(prepared.came_as, target),
            view=guess_view(prepared.came_as, found),
        )
        photo.found = found.to_json()
        photo.save(update_fields=["found"])
    return Filed(photo, how, is_new=True)


def _target(
    section, found: PhotoFindings, name: str, piece: Piece | None
) -> tuple[Piece | None, str]:
    if found.code:
        by_slip = section.pieces.filter(code__iexact=found.code).first()
        if by_slip is not None:
            return by_slip, "slip"
    by_name = piece_named(name, section.pieces.all())
    if by_name is not None:
        return by_name, "name"
    return (piece, "given") if piece else (None, "")


def likeliest(unfiled: Iterable[Photo], filed: Iterable[Photo]) -> dict[int, Piece]:
    """For each photo in the tray, the piece of the nearest filed photo within the same minute."""
    neighbours = [photo for photo in filed if photo.taken_at and photo.piece_id]
    offered = {}
    for photo in unfiled:
        if photo.taken_at is None:
            continue
        gaps = [(abs(other.taken_at - photo.taken_at), other.pk, other) for other in neighbours]
        near = min((gap for gap in gaps if gap[0] <= SAME_MINUTE), default=None)
        if near:
            offered[photo.pk] = near[2].piece
    return offered


@transaction.atomic
def change_many(
    chosen: Iterable[Photo], user, *, piece: Piece | None = None, stage: str = "", view: str = ""
) -> int:
    """File and label several photos at once; what is empty stays as it is. Returns how many.

    What was read from a photo that now belongs elsewhere is taken back: the photo is to be looked
    over again.
    """
    count = 0
    for photo in chosen:
        before = (photo.piece_id, photo.stage, photo.view)
        if piece is not None:
            photo.stage = photo.stage or guess_stage(photo.came_as, piece)
            photo.piece = piece
        photo.stage = stage or photo.stage
        photo.view = view or photo.view
        settle_change(photo, before, user)
        photo.save()
        count += 1
    return count


def settle_change(photo: Photo, before: tuple, user) -> None:
    """After piece, stage or view changed from ``before``: measure anew, take back what was read."""
    if before == (photo.piece_id, photo.stage, photo.view):
        return
    if photo.turning_id and before[:2] != (photo.piece_id, photo.stage):
        confirming.withdraw_turning(photo.turning, user)
        photo.turning = None  # of another piece or stage, it is one by itself
    if before[0] != photo.piece_id:
        photo.chosen = False  # it was chosen for the piece that it leaves
    if photo.found:
        photo.found = photo.found | {"measured": False}
        if photo.found.get("camera"):
            photo.found["message"] = ""  # on the sizes; without a camera it stays true
    confirming.withdraw(photo, user)
